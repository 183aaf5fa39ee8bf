//! One-time passwords that run out, and a word on which device a session was opened.

use sea_orm_migration::{prelude::*, schema::*};

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let until = timestamp_with_time_zone_null("one_time_until");
        manager.alter_table(Table::alter().table("staff").add_column(until).to_owned()).await?;
        let device = string_null("device");
        manager.alter_table(Table::alter().table("staff_session").add_column(device).to_owned()).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager.alter_table(Table::alter().table("staff_session").drop_column("device").to_owned()).await?;
        manager.alter_table(Table::alter().table("staff").drop_column("one_time_until").to_owned()).await
    }
}

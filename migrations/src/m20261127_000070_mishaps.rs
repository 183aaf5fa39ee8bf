//! What happened to a piece while it was with us and still stands: lost, damaged.

use sea_orm_migration::{prelude::*, schema::*};

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let column = json_binary_null("mishaps");
        manager.alter_table(Table::alter().table("piece").add_column(column).to_owned()).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager.alter_table(Table::alter().table("piece").drop_column("mishaps").to_owned()).await
    }
}

//! Which setup was checked before work began, by whom, and what was ticked.

use sea_orm_migration::{prelude::*, schema::*};

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table("setup_check")
                    .col(uuid("id").primary_key())
                    .col(string("station"))
                    .col(string("setup"))
                    .col(uuid_null("wheel_id"))
                    .col(uuid("by_staff"))
                    .col(timestamp_with_time_zone("at"))
                    .col(json_binary("ticks"))
                    .to_owned(),
            )
            .await?;
        manager
            .create_index(
                Index::create()
                    .name("setup_check_station_at")
                    .table("setup_check")
                    .col("station")
                    .col("at")
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager.drop_table(Table::drop().table("setup_check").to_owned()).await
    }
}

//! Who changed what in the shop's set-up, and when.

use sea_orm_migration::{prelude::*, schema::*};

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table("shop_change")
                    .col(uuid("id").primary_key())
                    .col(string("subject"))
                    .col(uuid_null("about"))
                    .col(json_binary("lines"))
                    .col(uuid_null("by_staff"))
                    .col(timestamp_with_time_zone("at"))
                    .to_owned(),
            )
            .await?;
        manager
            .create_index(
                Index::create()
                    .name("shop_change_subject_at")
                    .table("shop_change")
                    .col("subject")
                    .col("at")
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager.drop_table(Table::drop().table("shop_change").to_owned()).await
    }
}

//! The operations of each piece and the standing plan.

use sea_orm_migration::{prelude::*, schema::*};

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table("operation")
                    .col(pk_uuid("id"))
                    .col(uuid("piece_id"))
                    .col(integer("position"))
                    .col(string("kind"))
                    .col(string("station"))
                    .col(string("setup"))
                    .col(json_binary("step"))
                    .col(boolean("estimated"))
                    .col(string("state"))
                    .col(timestamp_with_time_zone_null("started_at"))
                    .col(timestamp_with_time_zone_null("done_at"))
                    .col(uuid_null("by_staff"))
                    // Where it was pinned to: person and instants, else null.
                    .col(json_binary_null("pin"))
                    .col(big_integer("version"))
                    .foreign_key(ForeignKey::create().from("operation", "piece_id").to("piece", "id"))
                    .to_owned(),
            )
            .await?;
        manager
            .create_index(
                Index::create()
                    .name("operation_piece_position")
                    .table("operation")
                    .col("piece_id")
                    .col("position")
                    .to_owned(),
            )
            .await?;
        manager
            .create_index(
                Index::create()
                    .name("operation_state_station")
                    .table("operation")
                    .col("state")
                    .col("station")
                    .to_owned(),
            )
            .await?;
        manager
            .create_table(
                Table::create()
                    .table("plan")
                    .col(pk_uuid("id"))
                    .col(timestamp_with_time_zone("made_at"))
                    .col(timestamp_with_time_zone("origin"))
                    .col(json_binary("body"))
                    .to_owned(),
            )
            .await?;
        manager
            .create_index(Index::create().name("plan_made_at").table("plan").col("made_at").to_owned())
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for table in ["plan", "operation"] {
            manager.drop_table(Table::drop().table(table).to_owned()).await?;
        }
        Ok(())
    }
}

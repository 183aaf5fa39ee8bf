//! Notices: written once, in the transaction that makes the fact true; sent later by a worker.

use sea_orm_migration::{prelude::*, schema::*};

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table("outbox")
                    // Counts up by itself and so keeps the order of notices even when the clock is set back.
                    .col(big_pk_auto("seq"))
                    .col(uuid("id").unique_key())
                    .col(string("kind"))
                    .col(uuid_null("about"))
                    .col(text("to_address"))
                    .col(text("to_name"))
                    .col(text("subject"))
                    .col(text("text"))
                    .col(text("html"))
                    .col(text_null("calendar"))
                    .col(text_null("unsubscribe_url"))
                    .col(timestamp_with_time_zone("queued_at"))
                    .col(timestamp_with_time_zone("due_at"))
                    .col(timestamp_with_time_zone_null("leased_until"))
                    .col(integer("attempts"))
                    .col(timestamp_with_time_zone_null("sent_at"))
                    .col(timestamp_with_time_zone_null("dead_at"))
                    .col(text_null("last_error"))
                    .to_owned(),
            )
            .await?;
        manager
            .create_index(
                Index::create().name("outbox_about_seq").table("outbox").col("about").col("seq").to_owned(),
            )
            .await?;
        // The worker looks at the waiting ones only; they are few among many sent ones.
        let waiting = "CREATE INDEX outbox_waiting ON outbox (due_at, seq) \
                       WHERE sent_at IS NULL AND dead_at IS NULL";
        manager.get_connection().execute_unprepared(waiting).await.map(|_| ())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager.drop_table(Table::drop().table("outbox").to_owned()).await
    }
}

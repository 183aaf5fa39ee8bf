//! The customer's side: the language of a visit, complaints, questions and answers, reminders that were asked for.

use sea_orm_migration::{prelude::*, schema::*};

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        // One column per statement: SQLite takes no more.
        let added = [
            ("visit", string("language").default("en").to_owned()),
            ("visit", uuid_null("complaint_of").clone()),
            ("customer", string("language").default("en").to_owned()),
            ("customer", timestamp_with_time_zone_null("remind_since").clone()),
            ("customer", timestamp_with_time_zone_null("reminded_at").clone()),
        ];
        for (table, column) in added {
            manager.alter_table(Table::alter().table(table).add_column(column).to_owned()).await?;
        }
        manager
            .create_table(
                Table::create()
                    .table("message")
                    .col(pk_uuid("id"))
                    .col(uuid("visit_id"))
                    // Nobody of the shop: the customer.
                    .col(uuid_null("by_staff"))
                    .col(text("body"))
                    .col(timestamp_with_time_zone("at"))
                    .foreign_key(ForeignKey::create().from("message", "visit_id").to("visit", "id"))
                    .to_owned(),
            )
            .await?;
        manager
            .create_index(
                Index::create().name("message_visit").table("message").col("visit_id").col("at").to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager.drop_table(Table::drop().table("message").to_owned()).await?;
        for (table, column) in [
            ("customer", "reminded_at"),
            ("customer", "remind_since"),
            ("customer", "language"),
            ("visit", "complaint_of"),
            ("visit", "language"),
        ] {
            manager.alter_table(Table::alter().table(table).drop_column(column).to_owned()).await?;
        }
        Ok(())
    }
}

//! Visits, their pieces, their pictures and the bills.

use sea_orm_migration::{prelude::*, schema::*};

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table("visit")
                    .col(pk_uuid("id"))
                    .col(string("reference").unique_key())
                    .col(uuid("customer_id"))
                    .col(string("arrival"))
                    // A counter slot is local time: it stays at ten o'clock whatever the clocks do.
                    .col(string_null("slot"))
                    .col(boolean("back_by_post"))
                    .col(big_integer("declared_minor"))
                    .col(boolean("rush"))
                    .col(boolean("recycle_refused"))
                    .col(boolean("begin_early"))
                    .col(timestamp_with_time_zone("promise_at"))
                    .col(timestamp_with_time_zone("booked_at"))
                    .col(timestamp_with_time_zone_null("confirmed_at"))
                    .col(timestamp_with_time_zone_null("cancelled_at"))
                    .col(timestamp_with_time_zone_null("received_at"))
                    .col(timestamp_with_time_zone_null("ready_at"))
                    .col(string_null("carrier"))
                    .col(string_null("parcel_number"))
                    .col(big_integer_null("paid_minor"))
                    .col(string_null("paid_how"))
                    .col(timestamp_with_time_zone_null("paid_at"))
                    .col(big_integer("version"))
                    .foreign_key(ForeignKey::create().from("visit", "customer_id").to("customer", "id"))
                    .to_owned(),
            )
            .await?;
        manager
            .create_index(Index::create().name("visit_customer").table("visit").col("customer_id").to_owned())
            .await?;
        manager
            .create_index(Index::create().name("visit_slot").table("visit").col("slot").to_owned())
            .await?;
        manager
            .create_table(
                Table::create()
                    .table("piece")
                    .col(pk_uuid("id"))
                    .col(uuid("visit_id"))
                    .col(uuid_null("knife_id"))
                    .col(integer("number"))
                    .col(string_null("tag"))
                    .col(string("name"))
                    .col(string("state"))
                    .col(string_null("waits_on"))
                    .col(text_null("waits_for"))
                    .col(json_binary("booked"))
                    .col(json_binary("estimate"))
                    .col(json_binary_null("inspection"))
                    .col(json_binary_null("verdict"))
                    .col(big_integer_null("agreed_minor"))
                    .col(text_null("turned_down"))
                    .col(timestamp_with_time_zone("due_at"))
                    .col(boolean("rush"))
                    .col(timestamp_with_time_zone_null("home_at"))
                    .col(big_integer("version"))
                    .foreign_key(ForeignKey::create().from("piece", "visit_id").to("visit", "id"))
                    .foreign_key(ForeignKey::create().from("piece", "knife_id").to("knife", "id"))
                    .to_owned(),
            )
            .await?;
        manager
            .create_index(
                Index::create()
                    .name("piece_visit_number")
                    .table("piece")
                    .col("visit_id")
                    .col("number")
                    .unique()
                    .to_owned(),
            )
            .await?;
        for column in ["state", "knife_id", "tag"] {
            manager
                .create_index(
                    Index::create().name(format!("piece_{column}")).table("piece").col(column).to_owned(),
                )
                .await?;
        }
        manager
            .create_table(
                Table::create()
                    .table("photo")
                    .col(pk_uuid("id"))
                    .col(uuid_null("piece_id"))
                    // A picture sent with a form that is not accepted yet hangs on the form's request key.
                    .col(string_null("draft_key"))
                    .col(integer_null("draft_place"))
                    .col(string("kind"))
                    .col(integer("width"))
                    .col(integer("height"))
                    .col(big_integer("n_bytes"))
                    .col(timestamp_with_time_zone("made_at"))
                    .foreign_key(ForeignKey::create().from("photo", "piece_id").to("piece", "id"))
                    .to_owned(),
            )
            .await?;
        for column in ["piece_id", "draft_key"] {
            manager
                .create_index(
                    Index::create().name(format!("photo_{column}")).table("photo").col(column).to_owned(),
                )
                .await?;
        }
        manager
            .create_table(
                Table::create()
                    .table("bill")
                    .col(pk_uuid("id"))
                    .col(big_integer("number").unique_key())
                    .col(uuid("visit_id"))
                    .col(timestamp_with_time_zone("issued_at"))
                    .col(json_binary("lines"))
                    .col(big_integer("total_minor"))
                    .col(big_integer("tax_minor"))
                    // A bill that cancels another one has its number here; bills are never deleted.
                    .col(uuid_null("cancels"))
                    .foreign_key(ForeignKey::create().from("bill", "visit_id").to("visit", "id"))
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for table in ["bill", "photo", "piece", "visit"] {
            manager.drop_table(Table::drop().table(table).to_owned()).await?;
        }
        Ok(())
    }
}

//! Customers, models, knives, wheels and the notes that the ledger only refers to.

use sea_orm_migration::{prelude::*, schema::*};

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table("customer")
                    .col(pk_uuid("id"))
                    .col(string("name"))
                    .col(string("email"))
                    .col(string("phone"))
                    .col(json_binary_null("address"))
                    .col(timestamp_with_time_zone("made_at"))
                    .col(timestamp_with_time_zone_null("erased_at"))
                    .col(big_integer("version"))
                    .to_owned(),
            )
            .await?;
        manager
            .create_index(Index::create().name("customer_email").table("customer").col("email").to_owned())
            .await?;
        manager
            .create_table(
                Table::create()
                    .table("model")
                    .col(pk_uuid("id"))
                    .col(string("mark").unique_key())
                    .col(string("name"))
                    .col(boolean("current"))
                    .col(json_binary("drawing"))
                    .col(big_integer("version"))
                    .to_owned(),
            )
            .await?;
        manager
            .create_table(
                Table::create()
                    .table("wheel")
                    .col(pk_uuid("id"))
                    .col(string("mark").unique_key())
                    .col(string("station"))
                    .col(string("setup"))
                    .col(json_binary("body"))
                    .col(timestamp_with_time_zone_null("retired_at"))
                    .col(big_integer("version"))
                    .to_owned(),
            )
            .await?;
        manager
            .create_table(
                Table::create()
                    .table("knife")
                    .col(pk_uuid("id"))
                    .col(string("tag").unique_key())
                    .col(string("name"))
                    .col(uuid_null("model_id"))
                    .col(uuid_null("owner_id"))
                    .col(json_binary_null("latest"))
                    .col(timestamp_with_time_zone("made_at"))
                    .col(big_integer("version"))
                    .foreign_key(ForeignKey::create().from("knife", "model_id").to("model", "id"))
                    .foreign_key(ForeignKey::create().from("knife", "owner_id").to("customer", "id"))
                    .to_owned(),
            )
            .await?;
        manager
            .create_index(Index::create().name("knife_owner").table("knife").col("owner_id").to_owned())
            .await?;
        manager
            .create_table(
                Table::create()
                    .table("note")
                    .col(pk_uuid("id"))
                    .col(uuid_null("visit_id"))
                    .col(text("body"))
                    .col(uuid_null("by_staff"))
                    .col(timestamp_with_time_zone("made_at"))
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for table in ["note", "knife", "wheel", "model", "customer"] {
            manager.drop_table(Table::drop().table(table).to_owned()).await?;
        }
        Ok(())
    }
}

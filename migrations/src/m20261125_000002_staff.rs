//! The people who work in the shop, and their open sessions.

use sea_orm_migration::{prelude::*, schema::*};

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table("staff")
                    .col(pk_uuid("id"))
                    .col(string("sign_in_name").unique_key())
                    .col(string("full_name"))
                    .col(boolean("desk"))
                    .col(boolean("bench"))
                    .col(boolean("owner"))
                    .col(text("password_hash"))
                    .col(boolean("must_change_password"))
                    .col(timestamp_with_time_zone("added_at"))
                    .col(timestamp_with_time_zone_null("left_at"))
                    .col(big_integer("version"))
                    .to_owned(),
            )
            .await?;
        manager
            .create_table(
                Table::create()
                    .table("staff_session")
                    .col(binary_len("token_sha256", 32).primary_key())
                    .col(uuid("staff_id"))
                    .col(timestamp_with_time_zone("opened_at"))
                    .col(timestamp_with_time_zone("seen_at"))
                    .col(timestamp_with_time_zone("expires_at"))
                    .foreign_key(
                        ForeignKey::create()
                            .name("staff_session_staff")
                            .from("staff_session", "staff_id")
                            .to("staff", "id")
                            .on_delete(ForeignKeyAction::Cascade),
                    )
                    .to_owned(),
            )
            .await?;
        manager
            .create_index(
                Index::create()
                    .name("staff_session_staff_id")
                    .table("staff_session")
                    .col("staff_id")
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for table in ["staff_session", "staff"] {
            manager.drop_table(Table::drop().table(table).to_owned()).await?;
        }
        Ok(())
    }
}

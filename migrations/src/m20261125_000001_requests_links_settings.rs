//! Request keys (a form sent twice acts once), private links, and the shop's settings.

use sea_orm_migration::{prelude::*, schema::*};

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table("request")
                    .col(string("what"))
                    .col(string("key"))
                    .col(timestamp_with_time_zone("claimed_at"))
                    .col(uuid_null("outcome"))
                    .primary_key(Index::create().col("what").col("key"))
                    .to_owned(),
            )
            .await?;
        manager
            .create_index(
                Index::create().name("request_claimed_at").table("request").col("claimed_at").to_owned(),
            )
            .await?;

        // Only a hash of the token is kept: whoever reads the database cannot use the links.
        manager
            .create_table(
                Table::create()
                    .table("link")
                    .col(pk_uuid("id"))
                    .col(binary_len("token_sha256", 32).unique_key())
                    .col(string("purpose"))
                    .col(uuid("about"))
                    .col(timestamp_with_time_zone("made_at"))
                    .col(timestamp_with_time_zone_null("expires_at"))
                    .col(timestamp_with_time_zone_null("revoked_at"))
                    .to_owned(),
            )
            .await?;
        manager
            .create_index(
                Index::create()
                    .name("link_about_purpose")
                    .table("link")
                    .col("about")
                    .col("purpose")
                    .to_owned(),
            )
            .await?;

        manager
            .create_table(
                Table::create()
                    .table("setting")
                    .col(string("name").primary_key())
                    .col(json_binary("doc"))
                    .col(big_integer("version"))
                    .col(timestamp_with_time_zone("changed_at"))
                    .col(uuid_null("changed_by"))
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for table in ["setting", "link", "request"] {
            manager.drop_table(Table::drop().table(table).to_owned()).await?;
        }
        Ok(())
    }
}

//! A code from a telephone as a second step of signing in (RFC 6238).

use sea_orm_migration::{prelude::*, schema::*};

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        // SQLite adds one column at a time.
        for column in [binary_null("second_step_key"), big_integer_null("second_step_used")] {
            manager.alter_table(Table::alter().table("staff").add_column(column).to_owned()).await?;
        }
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for column in ["second_step_key", "second_step_used"] {
            manager.alter_table(Table::alter().table("staff").drop_column(column).to_owned()).await?;
        }
        Ok(())
    }
}

//! The ledger: rows are added and never changed; the database itself refuses anything else.

use sea_orm_migration::sea_orm::{ConnectionTrait, DbBackend};
use sea_orm_migration::{prelude::*, schema::*};

#[derive(DeriveMigrationName)]
pub(crate) struct Migration;

const SQLITE: [&str; 2] = [
    "CREATE TRIGGER ledger_never_changed BEFORE UPDATE ON ledger \
     BEGIN SELECT RAISE(ABORT, 'the ledger is never edited; add a correcting entry'); END",
    "CREATE TRIGGER ledger_never_deleted BEFORE DELETE ON ledger \
     BEGIN SELECT RAISE(ABORT, 'the ledger is never edited; add a correcting entry'); END",
];

const POSTGRES: [&str; 3] = [
    "CREATE FUNCTION ledger_never_edited() RETURNS trigger LANGUAGE plpgsql AS $$ \
     BEGIN RAISE EXCEPTION 'the ledger is never edited; add a correcting entry'; END $$",
    "CREATE TRIGGER ledger_never_changed BEFORE UPDATE OR DELETE ON ledger \
     FOR EACH ROW EXECUTE FUNCTION ledger_never_edited()",
    "CREATE TRIGGER ledger_never_emptied BEFORE TRUNCATE ON ledger \
     FOR EACH STATEMENT EXECUTE FUNCTION ledger_never_edited()",
];

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table("ledger")
                    // Entries of one instant keep the order in which they were written.
                    .col(big_integer("seq").primary_key().auto_increment())
                    .col(uuid("id").unique_key())
                    .col(uuid("visit_id"))
                    .col(uuid_null("piece_id"))
                    .col(uuid_null("knife_id"))
                    .col(timestamp_with_time_zone("at"))
                    .col(json_binary("who"))
                    .col(json_binary("fact"))
                    .col(uuid_null("why"))
                    .to_owned(),
            )
            .await?;
        for column in ["visit_id", "piece_id", "knife_id"] {
            manager
                .create_index(
                    Index::create().name(format!("ledger_{column}")).table("ledger").col(column).to_owned(),
                )
                .await?;
        }
        let connection = manager.get_connection();
        let triggers: &[&str] = match manager.get_database_backend() {
            DbBackend::Postgres => &POSTGRES,
            _ => &SQLITE,
        };
        for trigger in triggers {
            connection.execute_unprepared(trigger).await?;
        }
        Ok(())
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager.drop_table(Table::drop().table("ledger").to_owned()).await?;
        if manager.get_database_backend() == DbBackend::Postgres {
            manager.get_connection().execute_unprepared("DROP FUNCTION ledger_never_edited()").await?;
        }
        Ok(())
    }
}

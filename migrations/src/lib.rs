//! Schema changes, one small file each, in the order in which they were made.
//!
//! A file that has been merged is never edited again: a later file widens the schema first and narrows it in
//! a later release, so that two versions of the program may run side by side for a while. Every file can be
//! undone; the server's tests run all of them up and down from an empty database on SQLite and PostgreSQL.
//!
//! The migrations run inside one transaction under a lock (see `server/src/store/migrate.rs`), so nothing in
//! here may need to run outside a transaction.

#![allow(clippy::wildcard_imports, reason = "a schema reads best in its own words, without prefixes")]

pub use sea_orm_migration::{MigratorTrait, SchemaManager, sea_orm, seaql_migrations};

use sea_orm_migration::MigrationTrait;

mod m20261125_000001_requests_links_settings;
mod m20261125_000002_staff;
mod m20261125_000003_outbox;
mod m20261125_000010_knives;
mod m20261125_000011_visits;
mod m20261125_000012_operations;
mod m20261125_000013_ledger;
mod m20261125_000020_setup_checks;
mod m20261125_000040_shop_changes;
mod m20261125_000050_customers_side;
mod m20261125_000060_leases;
mod m20261125_000061_second_step;
mod m20261127_000070_mishaps;
mod m20261127_000080_sessions;
mod m20261128_000090_decisions;

/// The list of all schema changes.
#[derive(Debug)]
pub struct Migrator;

impl MigratorTrait for Migrator {
    fn migrations() -> Vec<Box<dyn MigrationTrait>> {
        vec![
            Box::new(m20261125_000001_requests_links_settings::Migration),
            Box::new(m20261125_000002_staff::Migration),
            Box::new(m20261125_000003_outbox::Migration),
            Box::new(m20261125_000010_knives::Migration),
            Box::new(m20261125_000011_visits::Migration),
            Box::new(m20261125_000012_operations::Migration),
            Box::new(m20261125_000013_ledger::Migration),
            Box::new(m20261125_000020_setup_checks::Migration),
            Box::new(m20261125_000040_shop_changes::Migration),
            Box::new(m20261125_000050_customers_side::Migration),
            Box::new(m20261125_000060_leases::Migration),
            Box::new(m20261125_000061_second_step::Migration),
            Box::new(m20261127_000070_mishaps::Migration),
            Box::new(m20261127_000080_sessions::Migration),
            Box::new(m20261128_000090_decisions::Migration),
        ]
    }
}

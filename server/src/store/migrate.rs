//! Brings the database's schema up to this program's, all of it or none of it.
//!
//! Two servers that start together would each try to create the same tables. So everything runs in one
//! transaction under a lock: on SQLite the write lock itself, on PostgreSQL an advisory lock that ends with the
//! transaction. The second one then finds nothing left to do.

use migrations::{Migrator, MigratorTrait};
use sea_orm::ConnectionTrait;

use super::{Engine, Result, Store, WriteTx};

/// A number nobody else on the same PostgreSQL server is likely to lock: "whetledg" in ASCII.
const ADVISORY_LOCK: i64 = 0x7768_6574_6c65_6467;

/// Applies what is missing. Says how many changes were applied.
pub async fn up(store: &Store) -> Result<usize> {
    let tx = begin_locked(store).await?;
    let pending = Migrator::get_pending_migrations(&tx).await?.len();
    if pending > 0 {
        Migrator::up(&tx.0, None).await?;
    }
    tx.commit().await?;
    Ok(pending)
}

/// Undoes the last `steps` changes, or all of them. For tests and for going back after a bad release.
pub async fn down(store: &Store, steps: Option<u32>) -> Result<()> {
    let tx = begin_locked(store).await?;
    Migrator::down(&tx.0, steps).await?;
    tx.commit().await
}

/// The names of the changes that are not applied yet.
pub async fn pending(store: &Store) -> Result<Vec<String>> {
    let pending = Migrator::get_pending_migrations_read_only(store.read()).await?;
    Ok(pending.iter().map(|migration| migration.name().to_owned()).collect())
}

async fn begin_locked(store: &Store) -> Result<WriteTx> {
    let tx = store.begin_write().await?;
    if store.engine() == Engine::Postgres {
        tx.execute_unprepared(&format!("SELECT pg_advisory_xact_lock({ADVISORY_LOCK})")).await?;
    }
    Ok(tx)
}

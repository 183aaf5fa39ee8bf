//! Brings the database's schema up to this program's, all of it or none of it.
//!
//! Two servers that start together would each try to create the same tables. So everything runs in one
//! transaction under a lock: on SQLite the write lock itself, on PostgreSQL an advisory lock that ends with the
//! transaction. The second one then finds nothing left to do.

use std::collections::HashSet;

use migrations::{Migrator, MigratorTrait, SchemaManager, seaql_migrations};
use sea_orm::{ConnectionTrait, EntityTrait, QueryOrder};

use super::{Engine, Result, Store, StoreError, WriteTx};

/// A number nobody else on the same PostgreSQL server is likely to lock: "whetledg" in ASCII.
const ADVISORY_LOCK: i64 = 0x7768_6574_6c65_6467;

/// Applies what is missing. Says how many changes were applied.
///
/// # Errors
/// [`StoreError::Newer`] when a newer program has been at the database.
pub async fn up(store: &Store) -> Result<usize> {
    let newer = newer(store).await?;
    if !newer.is_empty() {
        return Err(StoreError::Newer { made: newer.join(", ") });
    }
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

/// The names of the changes that were applied and that this program does not know: a newer one runs beside it, or did.
pub async fn newer(store: &Store) -> Result<Vec<String>> {
    let db = store.read();
    if !SchemaManager::new(&db.0).has_table(Migrator::migration_table_name().to_string()).await? {
        return Ok(Vec::new());
    }
    let known: HashSet<String> = Migrator::migrations().iter().map(|one| one.name().to_owned()).collect();
    let query = seaql_migrations::Entity::find().order_by_asc(seaql_migrations::Column::Version);
    let applied = query.all(db).await?.into_iter().map(|one| one.version);
    Ok(applied.filter(|name| !known.contains(name)).collect())
}

async fn begin_locked(store: &Store) -> Result<WriteTx> {
    let tx = store.begin_write().await?;
    if store.engine() == Engine::Postgres {
        tx.execute_unprepared(&format!("SELECT pg_advisory_xact_lock({ADVISORY_LOCK})")).await?;
    }
    Ok(tx)
}

//! Opens the database by its address.

use std::path::Path;
use std::time::Duration;

use sea_orm::sqlx::Connection as _;
use sea_orm::sqlx::sqlite::{SqliteJournalMode, SqliteSynchronous};
use sea_orm::{ConnectOptions, Database};

use super::{Engine, FileId, Reader, Result, Store, StoreError};

/// How long a writer waits for another process that holds the write lock of a SQLite file.
const BUSY_TIMEOUT: Duration = Duration::from_secs(5);

/// How long a request waits for a free connection before it fails. Longer than the busy timeout, so that the
/// clearer of the two errors is the one that is seen; shorter than a browser's patience.
const ACQUIRE_TIMEOUT: Duration = Duration::from_secs(15);

impl Store {
    /// Opens `sqlite:path/to/file.db` (made when it is not there, with its folder) or `postgres://...`.
    /// `connections` is the size of the pool that reads (SQLite) or of the whole pool (PostgreSQL).
    pub async fn open(url: &str, connections: u32) -> Result<Self> {
        if let Some(path) = sqlite_path(url) {
            return open_sqlite(path, connections).await;
        }
        if url.starts_with("postgres://") || url.starts_with("postgresql://") {
            return open_postgres(url, connections).await;
        }
        Err(StoreError::Address("a database address starts with sqlite: or postgres://".to_owned()))
    }
}

/// The file behind a `sqlite:` address.
pub(super) fn sqlite_path(url: &str) -> Option<&Path> {
    let rest = url.strip_prefix("sqlite:")?;
    Some(Path::new(rest.strip_prefix("//").unwrap_or(rest)))
}

async fn open_sqlite(path: &Path, connections: u32) -> Result<Store> {
    if path.as_os_str().is_empty() || path == Path::new(":memory:") {
        return Err(StoreError::Address(
            "the shop's books need a file: sqlite:data/whetledger.db".to_owned(),
        ));
    }
    if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty()) {
        std::fs::create_dir_all(folder)
            .map_err(|error| StoreError::Address(format!("cannot make {}: {error}", folder.display())))?;
    }
    // The writer first: it creates the file and switches it to WAL, which the readers then find.
    let mut one = sqlite_options(path, 1);
    // After a commit that failed for want of room the driver may go on believing in a transaction: what is written next
    // runs inside it and is never committed, though every commit says it was (seen by `make soak`, disk_full; how the
    // driver gets there is not known yet). Such a connection is thrown away.
    one.map_sqlx_sqlite_before_acquire(|connection, _| {
        Box::pin(async move {
            // The rollback of a dropped transaction may still be on its way; this waits behind it.
            connection.ping().await?;
            Ok(!connection.is_in_transaction())
        })
    });
    let writing = Database::connect(one).await?;
    let reading = Database::connect(sqlite_options(path, connections.max(1))).await?;
    let id = FileId::of(path)
        .map_err(|error| StoreError::Address(format!("cannot see {}: {error}", path.display())))?;
    let file = Some((path.to_path_buf(), id));
    Ok(Store { engine: Engine::Sqlite, reading: Reader(reading), writing, file })
}

fn sqlite_options(path: &Path, connections: u32) -> ConnectOptions {
    let file = path.to_path_buf();
    let mut options = ConnectOptions::new(format!("sqlite:{}", path.display()));
    options
        .max_connections(connections)
        .acquire_timeout(ACQUIRE_TIMEOUT)
        .sqlx_logging(false)
        // No line to a file goes dead, and asking would cost every query a turn of the thread behind the connection.
        .test_before_acquire(false)
        .map_sqlx_sqlite_opts(move |sqlite| {
            sqlite
                .filename(&file)
                .create_if_missing(true)
                .foreign_keys(true)
                .busy_timeout(BUSY_TIMEOUT)
                .journal_mode(SqliteJournalMode::Wal)
                // NORMAL survives a crash of the program but may lose the last commits at a power cut;
                // a booking that was confirmed must stay.
                .synchronous(SqliteSynchronous::Full)
        });
    options
}

async fn open_postgres(url: &str, connections: u32) -> Result<Store> {
    let mut options = ConnectOptions::new(url);
    options
        .max_connections(connections.max(2))
        .acquire_timeout(ACQUIRE_TIMEOUT)
        .connect_timeout(ACQUIRE_TIMEOUT)
        .sqlx_logging(false)
        .set_application_name("whetledger");
    let pool = Database::connect(options).await?;
    Ok(Store { engine: Engine::Postgres, reading: Reader(pool.clone()), writing: pool, file: None })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sqlite_address_names_a_file_with_or_without_slashes() {
        for (url, path) in [
            ("sqlite:data/w.db", "data/w.db"),
            ("sqlite://data/w.db", "data/w.db"),
            ("sqlite:///var/lib/w.db", "/var/lib/w.db"),
            ("sqlite:/var/lib/w.db", "/var/lib/w.db"),
        ] {
            assert_eq!(sqlite_path(url), Some(Path::new(path)), "{url}");
        }
        assert_eq!(sqlite_path("postgres://localhost/w"), None);
    }
}

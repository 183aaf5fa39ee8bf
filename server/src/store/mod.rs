//! What the shop remembers. The only module that names `sea_orm`.
//!
//! A [`WriteTx`] is a value that is passed down and committed at one visible place; dropped, it rolls back.
//! Functions in here take `&impl ConnectionTrait` for reading (a [`WriteTx`] or [`Store::read`]) and `&WriteTx`
//! for writing, and give back the shop's own types, never rows.

use std::path::{Path, PathBuf};

use chrono::{DateTime, Utc};
use sea_orm::{
    ActiveModelTrait, ConnectionTrait, DatabaseConnection, DatabaseTransaction, DbBackend, DbErr,
    EntityTrait, ExecResult, QueryResult, SqliteTransactionMode, Statement, TransactionOptions,
    TransactionTrait,
};
use uuid::{NoContext, Timestamp, Uuid};

mod connect;
pub mod copy;
mod entities;
mod json;
pub mod messages;
pub mod migrate;
pub mod notify;

pub mod customers;
pub mod knives;
pub mod ledger;
pub mod notes;
pub mod operations;
pub mod photos;
pub mod pieces;
pub mod plans;
pub mod visits;
pub mod wheels;

pub mod bills;
pub mod changes;
pub mod documents;
pub mod figures;
pub mod leases;
pub mod links;
pub mod outbox;
pub mod persons;
pub mod requests;
pub mod settings;
pub mod setup_checks;
pub mod staff;

/// What a query runs on: [`Reader`] or [`WriteTx`]. For signatures outside the store, which never names the database.
pub use sea_orm::ConnectionTrait as Queries;

/// Result of anything the store does.
pub type Result<T> = std::result::Result<T, StoreError>;

/// Why the store could not do what was asked.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The database refused or is not there.
    #[error("the database refused: {0}")]
    Database(#[from] DbErr),
    /// Somebody else changed the same thing in the meantime; read it again.
    #[error("{what} was changed by somebody else in the meantime")]
    Stale {
        /// What was to be changed.
        what: &'static str,
    },
    /// The shop is not set up yet: one of its documents was never written.
    #[error("the shop is not set up: there is no {missing} document; start with the demo shop, or write it")]
    NotSetUp {
        /// Which document.
        missing: &'static str,
    },
    /// A row holds something this program never writes: a newer one does, or the row is spoilt.
    #[error("{what} holds something this program cannot read: {why}")]
    Unreadable {
        /// Which row or column.
        what: &'static str,
        /// What is wrong with it.
        why: String,
    },
    /// A newer program has changed the database.
    #[error(
        "a newer program has been at this database ({made}): start that one, or restore a backup of before"
    )]
    Newer {
        /// The names of its changes.
        made: String,
    },
    /// The database's address or file cannot be used.
    #[error("{0}")]
    Address(String),
}

/// Which database engine is behind the store.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Engine {
    /// One file, one machine.
    Sqlite,
    /// A PostgreSQL server, several machines.
    Postgres,
}

/// The connection pools. Cheap to clone.
#[derive(Debug, Clone)]
pub struct Store {
    engine: Engine,
    reading: Reader,
    writing: DatabaseConnection,
    /// The SQLite file, and which file that was when it was opened.
    file: Option<(PathBuf, FileId)>,
}

impl Store {
    /// Which engine this is.
    pub fn engine(&self) -> Engine {
        self.engine
    }

    /// For reading outside a transaction; every query sees what is committed when it starts.
    pub fn read(&self) -> &Reader {
        &self.reading
    }

    /// Starts a transaction that is going to write.
    ///
    /// On SQLite this takes the write lock at once (`BEGIN IMMEDIATE`): a transaction that reads first and
    /// writes later would fail without waiting as soon as two of them meet. There writers queue for the one
    /// writing connection of this process; another process is waited for five seconds.
    pub async fn begin_write(&self) -> Result<WriteTx> {
        let sqlite_transaction_mode = match self.engine {
            Engine::Sqlite => Some(SqliteTransactionMode::Immediate),
            Engine::Postgres => None,
        };
        let options = TransactionOptions { sqlite_transaction_mode, ..TransactionOptions::default() };
        Ok(WriteTx(self.writing.begin_with_options(options).await?))
    }

    /// Makes a database beside this one, on the same PostgreSQL server: empty, or as `template` is. Names are made of
    /// letters, digits and underscores. For tests.
    pub async fn create_database(&self, name: &str, template: Option<&str>) -> Result<()> {
        for name in template.into_iter().chain([name]) {
            if name.is_empty() || !name.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'_') {
                return Err(StoreError::Address(format!("{name} is no name for a database")));
            }
        }
        let like = template.map(|template| format!(" TEMPLATE \"{template}\"")).unwrap_or_default();
        self.writing.execute_unprepared(&format!("CREATE DATABASE \"{name}\"{like}")).await?;
        Ok(())
    }

    /// Asks the database for a sign of life.
    pub async fn check(&self) -> Result<()> {
        self.reading.0.execute_unprepared("SELECT 1").await?;
        if let Some((path, opened)) = &self.file {
            // A file that was removed or replaced under us still answers, and forgets everything when we close.
            let present = FileId::of(path).ok();
            if present != Some(*opened) {
                return Err(StoreError::Address(format!("{} is gone or was replaced", path.display())));
            }
        }
        Ok(())
    }

    /// The file behind a `sqlite:` address; `None` for any other address.
    pub fn sqlite_file(url: &str) -> Option<&Path> {
        connect::sqlite_path(url)
    }

    /// Writes the whole SQLite database as it is now into a new file, while others go on reading and writing.
    pub async fn snapshot(&self, to: &Path) -> Result<()> {
        let Some(to) = to.to_str().filter(|_| self.engine == Engine::Sqlite) else {
            return Err(StoreError::Address(
                "only SQLite writes itself into a file with a plain name".to_owned(),
            ));
        };
        let into = Statement::from_sql_and_values(DbBackend::Sqlite, "VACUUM INTO ?", [to.into()]);
        self.reading.0.execute_raw(into).await?;
        Ok(())
    }

    /// Lets a SQLite database check itself: what is wrong, or `None`.
    pub async fn complaint(&self) -> Result<Option<String>> {
        for check in ["PRAGMA integrity_check(1)", "PRAGMA foreign_key_check"] {
            let check = Statement::from_string(DbBackend::Sqlite, check);
            if let Some(row) = self.reading.0.query_one_raw(check).await? {
                let word: String = row.try_get_by_index(0)?;
                if word != "ok" {
                    return Ok(Some(word));
                }
            }
        }
        Ok(None)
    }

    /// Closes the pools, writing everything out. For the end of the program and of a test.
    pub async fn close(&self) -> Result<()> {
        self.reading.0.close_by_ref().await?;
        self.writing.close_by_ref().await?;
        Ok(())
    }
}

/// Which file a path leads to: a file of the same name may be another one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct FileId(u64, u64);

impl FileId {
    fn of(path: &Path) -> std::io::Result<Self> {
        use std::os::unix::fs::MetadataExt as _;
        let metadata = std::fs::metadata(path)?;
        Ok(Self(metadata.dev(), metadata.ino()))
    }
}

/// Reads outside a transaction.
#[derive(Debug, Clone)]
pub struct Reader(DatabaseConnection);

/// A transaction that writes. Dropped without [`WriteTx::commit`], it leaves no trace.
#[derive(Debug)]
#[must_use = "a transaction that is not committed leaves no trace"]
pub struct WriteTx(DatabaseTransaction);

impl WriteTx {
    /// Makes everything done in this transaction true, at once and for good.
    pub async fn commit(self) -> Result<()> {
        Ok(self.0.commit().await?)
    }
}

/// Lets queries run on our own types, so that a signature says whether a function writes.
macro_rules! runs_queries {
    ($kind:ty) => {
        #[async_trait::async_trait]
        impl ConnectionTrait for $kind {
            fn get_database_backend(&self) -> DbBackend {
                self.0.get_database_backend()
            }
            async fn execute_raw(&self, statement: Statement) -> std::result::Result<ExecResult, DbErr> {
                self.0.execute_raw(statement).await
            }
            async fn execute_unprepared(&self, sql: &str) -> std::result::Result<ExecResult, DbErr> {
                self.0.execute_unprepared(sql).await
            }
            async fn query_one_raw(
                &self,
                statement: Statement,
            ) -> std::result::Result<Option<QueryResult>, DbErr> {
                self.0.query_one_raw(statement).await
            }
            async fn query_all_raw(
                &self,
                statement: Statement,
            ) -> std::result::Result<Vec<QueryResult>, DbErr> {
                self.0.query_all_raw(statement).await
            }
        }
    };
}
runs_queries!(Reader);
runs_queries!(WriteTx);

/// A fresh id for a row that is written at `now` (UUID version 7, RFC 9562).
fn id_at(now: DateTime<Utc>) -> Uuid {
    let seconds = u64::try_from(now.timestamp()).unwrap_or(0);
    Uuid::new_v7(Timestamp::from_unix(NoContext, seconds, now.timestamp_subsec_nanos()))
}

/// Adds a row and does not ask for it back: the database would send all of it, documents included, only to be read again.
async fn insert<A: ActiveModelTrait>(tx: &WriteTx, row: A) -> Result<()> {
    A::Entity::insert(row).exec_without_returning(tx).await?;
    Ok(())
}

/// An update or insert that must have touched exactly one row; anything else means somebody was quicker.
fn exactly_one(what: &'static str, rows: u64) -> Result<()> {
    if rows == 1 { Ok(()) } else { Err(StoreError::Stale { what }) }
}

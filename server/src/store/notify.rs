//! What servers on one PostgreSQL tell each other (`LISTEN` and `NOTIFY`).

use sea_orm::sqlx::postgres::PgListener;
use sea_orm::{DbBackend, Statement};

use super::{ConnectionTrait as _, DbErr, Engine, Result, Store, StoreError};

/// The one channel of the program.
const CHANNEL: &str = "whetledger";

/// Hears what other servers on the same database say.
#[derive(Debug)]
pub struct Listener(PgListener);

impl Listener {
    /// Waits for the next word. `None`: the connection was lost and is open again; words may have been missed.
    pub async fn next(&mut self) -> Result<Option<String>> {
        let heard = self.0.try_recv().await.map_err(lost)?;
        Ok(heard.map(|heard| heard.payload().to_owned()))
    }
}

impl Store {
    /// A listener on this database; `None` on SQLite, where nobody else is.
    pub async fn listener(&self) -> Result<Option<Listener>> {
        if self.engine == Engine::Sqlite {
            return Ok(None);
        }
        let mut listener =
            PgListener::connect_with(self.reading.0.get_postgres_connection_pool()).await.map_err(lost)?;
        listener.listen(CHANNEL).await.map_err(lost)?;
        Ok(Some(listener)).map(|listener| listener.map(Listener))
    }

    /// Tells every listener on this database. At most 8,000 bytes, PostgreSQL says.
    pub async fn notify(&self, word: &str) -> Result<()> {
        let notify = Statement::from_sql_and_values(
            DbBackend::Postgres,
            "SELECT pg_notify($1, $2)",
            [CHANNEL.into(), word.into()],
        );
        self.reading.0.execute_raw(notify).await?;
        Ok(())
    }
}

fn lost(error: sea_orm::sqlx::Error) -> StoreError {
    StoreError::Database(DbErr::Custom(error.to_string()))
}

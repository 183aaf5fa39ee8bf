//! What most commands begin with: settings, log, database.

use std::fs::{DirBuilder, File};
use std::io::{IsTerminal as _, Write};
use std::os::unix::fs::DirBuilderExt as _;
use std::sync::{Arc, OnceLock};

use anyhow::Context as _;
use tracing_subscriber::EnvFilter;

use crate::clock::Clock;
use crate::config::{Config, LogFormat};
use crate::context::Ctx;
use crate::store::{Store, migrate};

/// The threads that everything runs on.
pub(super) fn runtime() -> anyhow::Result<tokio::runtime::Runtime> {
    tokio::runtime::Builder::new_multi_thread().enable_all().build().context("cannot start the runtime")
}

/// Reads the settings and starts the log.
pub(super) fn config() -> anyhow::Result<Config> {
    let config = Config::from_env().context("these settings have to be put right")?;
    let filter = EnvFilter::try_new(&config.log).context("WHETLEDGER_LOG: not understood")?;
    let log = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(|| OneLine(std::io::stderr()))
        // Where nobody reads the log any more, saying so fails as well, and that would end whatever wanted to log.
        .log_internal_errors(false)
        .with_ansi(std::io::stderr().is_terminal());
    // Set once per process; a second time is a test that has set its own.
    let _ = match config.log_format {
        LogFormat::Text => log.try_init(),
        LogFormat::Json => log.json().flatten_event(true).try_init(),
    };
    Ok(config)
}

/// Writes each event as one line: what an error says in several must not look like events of their own (OWASP ASVS 5, 16.4.1).
struct OneLine<W>(W);

impl<W: Write> Write for OneLine<W> {
    fn write(&mut self, event: &[u8]) -> std::io::Result<usize> {
        let (text, end) = match event.split_last() {
            Some((b'\n', text)) => (text, &b"\n"[..]),
            _ => (event, &b""[..]),
        };
        let mut line = Vec::with_capacity(event.len());
        for byte in text {
            match byte {
                b'\n' => line.extend(b"\\n"),
                b'\r' => line.extend(b"\\r"),
                other => line.push(*other),
            }
        }
        line.extend(end);
        self.0.write_all(&line)?;
        Ok(event.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.0.flush()
    }
}

/// Held for as long as this program lives, so that a restore waits until nobody works on the data folder.
static OPEN: OnceLock<File> = OnceLock::new();

fn lock_file(config: &Config) -> anyhow::Result<File> {
    let path = config.data.join(".open");
    File::create(&path).with_context(|| format!("WHETLEDGER_DATA: cannot write {}", path.display()))
}

/// Makes the data folder when it is not there, closed to everybody else on the machine.
fn make_folder(config: &Config) -> anyhow::Result<()> {
    DirBuilder::new()
        .recursive(true)
        .mode(0o700)
        .create(&config.data)
        .with_context(|| format!("WHETLEDGER_DATA: cannot make {}", config.data.display()))
}

/// Makes sure that nobody else works on the data folder, for as long as the answer is kept.
pub(super) fn alone(config: &Config) -> anyhow::Result<File> {
    make_folder(config)?;
    let lock = lock_file(config)?;
    lock.try_lock().context("the shop is open: stop the server first")?;
    Ok(lock)
}

/// Opens the database and brings it up to this program.
pub(super) async fn shop(config: Config) -> anyhow::Result<Ctx> {
    make_folder(&config)?;
    let lock = lock_file(&config)?;
    lock.try_lock_shared().context("a backup is just being restored into the data folder")?;
    let _ = OPEN.set(lock);
    let store = Store::open(config.database_url.reveal(), config.database_connections)
        .await
        .context("WHETLEDGER_DATABASE_URL: cannot open the database")?;
    let applied = migrate::up(&store).await.context("cannot bring the database up to this program")?;
    if applied > 0 {
        tracing::info!(applied, "the database is brought up to this program");
    }
    let clock = match &config.test_clock {
        None => Clock::System,
        Some(_) if !cfg!(debug_assertions) => {
            anyhow::bail!(
                "WHETLEDGER_TEST_CLOCK: only a development build lets its clock be moved; take the setting away"
            )
        }
        Some(file) => {
            tracing::warn!("the clock is moved by {}; this is for tests only", file.display());
            Clock::File(Arc::new(file.clone()))
        }
    };
    Ctx::new(store, clock, config)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_event_is_one_line_whatever_it_says() {
        let mut out = OneLine(Vec::new());
        let event = b"WARN it failed: first\r\n2026-03-02 INFO signed in\n";
        assert_eq!(out.write(event).unwrap(), event.len());
        assert_eq!(out.0, b"WARN it failed: first\\r\\n2026-03-02 INFO signed in\n");
    }
}

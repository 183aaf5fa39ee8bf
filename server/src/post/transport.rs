//! Hands a mail on: to a mail host, into a folder, or into memory for tests.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use anyhow::Context as _;
use lettre::message::Mailbox;

use super::message;
use super::smtp::{self, MailHost};
use crate::config::{Config, Post};
use crate::store::outbox::Kept;

/// No sending takes longer than this, whatever the mail host does.
pub const LONGEST: Duration = smtp::LONGEST;

/// The way notices leave the house.
#[derive(Debug, Clone)]
pub struct Transport {
    from: Mailbox,
    host: String,
    way: Way,
}

#[derive(Debug, Clone)]
enum Way {
    Smtp(Arc<MailHost>),
    Folder(PathBuf),
    Memory(Mailroom),
}

/// Why a notice did not leave.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SendError {
    /// Something that passes: a busy or unreachable mail host, a full disk.
    #[error("{0}")]
    Later(String),
    /// Something that stays: the address is refused.
    #[error("{0}")]
    Never(String),
}

impl Transport {
    /// Sets up what the settings say. `None` when notices are to be held.
    pub fn from_config(config: &Config) -> anyhow::Result<Option<Self>> {
        let way = match &config.post {
            Post::Hold => return Ok(None),
            Post::Folder(folder) => {
                std::fs::create_dir_all(folder)
                    .with_context(|| format!("WHETLEDGER_POST_FOLDER: cannot make {}", folder.display()))?;
                Way::Folder(folder.clone())
            }
            Post::Smtp(smtp) => Way::Smtp(Arc::new(MailHost::new(smtp)?)),
        };
        Ok(Some(Self::new(config, way)?))
    }

    /// Collects mails in memory, for tests.
    pub fn in_memory(config: &Config) -> anyhow::Result<(Self, Mailroom)> {
        let mailroom = Mailroom::default();
        Ok((Self::new(config, Way::Memory(mailroom.clone()))?, mailroom))
    }

    fn new(config: &Config, way: Way) -> anyhow::Result<Self> {
        let from = config.post_from.parse().context("WHETLEDGER_POST_FROM is no mailbox")?;
        Ok(Self { from, host: config.public_host().to_owned(), way })
    }

    /// How many notices may be on their way at once.
    pub fn lanes(&self) -> usize {
        match self.way {
            Way::Smtp(_) => smtp::CONNECTIONS,
            // One after another, in the order in which they were written.
            Way::Folder(_) | Way::Memory(_) => 1,
        }
    }

    /// Lets go of what is kept open between two notices.
    pub fn rest(&self) {
        if let Way::Smtp(host) = &self.way {
            host.rest();
        }
    }

    /// Sends one notice.
    pub async fn send(&self, kept: &Kept) -> Result<(), SendError> {
        let mail = message::build(kept, &self.from, &self.host)
            .map_err(|error| SendError::Never(error.to_string()))?;
        match &self.way {
            Way::Smtp(host) => host.send(&mail).await,
            Way::Folder(folder) => write_file(folder, kept, mail.formatted())
                .await
                .map_err(|error| SendError::Later(format!("cannot write into the folder: {error}"))),
            Way::Memory(mailroom) => mailroom.take_in(kept, mail.formatted()),
        }
    }
}

/// Writes `<time>-<id>.eml` beside its final name first, so that whoever watches the folder never sees half a mail.
async fn write_file(folder: &Path, kept: &Kept, mail: Vec<u8>) -> std::io::Result<()> {
    use tokio::io::AsyncWriteExt as _;

    let name = format!("{}-{}.eml", kept.queued_at.format("%Y%m%dT%H%M%S%3fZ"), kept.id);
    let unfinished = folder.join(format!("{name}.tmp"));
    let mut file = tokio::fs::File::create(&unfinished).await?;
    file.write_all(&mail).await?;
    file.sync_all().await?;
    drop(file);
    tokio::fs::rename(unfinished, folder.join(name)).await
}

/// Mails that went out in a test, and what is to happen to the next ones.
#[derive(Debug, Clone, Default)]
pub struct Mailroom(Arc<Mutex<Inside>>);

#[derive(Debug, Default)]
struct Inside {
    out: Vec<OutMail>,
    failures: std::collections::VecDeque<SendError>,
}

/// A mail that went out in a test.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutMail {
    /// The notice.
    pub notice: Kept,
    /// The whole mail as it would go over the wire.
    pub mail: String,
}

impl Mailroom {
    /// What went out so far, oldest first.
    pub fn out(&self) -> Vec<OutMail> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).out.clone()
    }

    /// Lets the next sending fail; several calls line up.
    pub fn fail_next(&self, error: SendError) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).failures.push_back(error);
    }

    fn take_in(&self, kept: &Kept, mail: Vec<u8>) -> Result<(), SendError> {
        let mut inside = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(error) = inside.failures.pop_front() {
            return Err(error);
        }
        let mail = String::from_utf8_lossy(&mail).into_owned();
        inside.out.push(OutMail { notice: kept.clone(), mail });
        Ok(())
    }
}

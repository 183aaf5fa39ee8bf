//! Hands a mail on: to a mail host, into a folder, or into memory for tests.

use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use anyhow::Context as _;
use lettre::message::Mailbox;
use lettre::transport::smtp::PoolConfig;
use lettre::transport::smtp::authentication::Credentials;
use lettre::transport::smtp::client::{Certificate, Tls, TlsParameters};
use lettre::{AsyncSmtpTransport, AsyncTransport as _, Tokio1Executor};

use super::message;
use crate::config::{Config, Post, Smtp, SmtpTls};
use crate::store::outbox::Kept;

/// A mail host that is silent for this long has failed. Shorter than the worker's lease, so that nobody else
/// takes the notice up while we still wait.
const SMTP_TIMEOUT: Duration = Duration::from_secs(30);

/// The way notices leave the house.
#[derive(Debug, Clone)]
pub struct Transport {
    from: Mailbox,
    host: String,
    way: Way,
}

#[derive(Debug, Clone)]
enum Way {
    Smtp(AsyncSmtpTransport<Tokio1Executor>),
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
            Post::Smtp(smtp) => Way::Smtp(smtp_transport(smtp)?),
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

    /// Sends one notice.
    pub async fn send(&self, kept: &Kept) -> Result<(), SendError> {
        let mail = message::build(kept, &self.from, &self.host)
            .map_err(|error| SendError::Never(error.to_string()))?;
        match &self.way {
            Way::Smtp(smtp) => {
                // In a task of its own, so that it ends even when nobody waits any more: a conversation broken off in the
                // middle would go back into the pool, and the next notice would take the answers to this one for its own.
                let smtp = smtp.clone();
                match tokio::spawn(async move { smtp.send(mail).await }).await {
                    Ok(sent) => sent.map(|_| ()).map_err(|error| verdict(&error)),
                    Err(_) => Err(SendError::Later("sending was broken off".to_owned())),
                }
            }
            Way::Folder(folder) => write_file(folder, kept, mail.formatted())
                .await
                .map_err(|error| SendError::Later(format!("cannot write into the folder: {error}"))),
            Way::Memory(mailroom) => mailroom.take_in(kept, mail.formatted()),
        }
    }
}

/// A refusal of the address stays; everything else may pass. A refused sign-in (530 to 539) is the settings'
/// fault and not the notice's, so it waits until somebody has mended them. A quarrel about the order of commands (500 to
/// 504) is the connection's.
fn verdict(error: &lettre::transport::smtp::Error) -> SendError {
    let what = error.to_string();
    match error.status().map(u16::from) {
        Some(500..=504 | 530..=539) => SendError::Later(what),
        Some(_) if error.is_permanent() => SendError::Never(what),
        _ => SendError::Later(what),
    }
}

fn smtp_transport(smtp: &Smtp) -> anyhow::Result<AsyncSmtpTransport<Tokio1Executor>> {
    let mut tls = TlsParameters::builder(smtp.host.clone());
    if let Some(file) = &smtp.ca_file {
        let pem = std::fs::read(file)
            .with_context(|| format!("WHETLEDGER_SMTP_CA_FILE: cannot read {}", file.display()))?;
        tls = tls.add_root_certificate(
            Certificate::from_pem(&pem).context("WHETLEDGER_SMTP_CA_FILE: no certificate")?,
        );
    }
    let tls = match smtp.tls {
        SmtpTls::Tls => Tls::Wrapper(tls.build()?),
        SmtpTls::StartTls => Tls::Required(tls.build()?),
        SmtpTls::None => Tls::None,
    };
    let mut builder = AsyncSmtpTransport::<Tokio1Executor>::builder_dangerous(&smtp.host)
        .port(smtp.port)
        .tls(tls)
        .timeout(Some(SMTP_TIMEOUT))
        .pool_config(PoolConfig::new().max_size(2).idle_timeout(Duration::from_secs(30)));
    if let (Some(user), Some(password)) = (&smtp.user, &smtp.password) {
        builder = builder.credentials(Credentials::new(user.clone(), password.reveal().to_owned()));
    }
    Ok(builder.build())
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

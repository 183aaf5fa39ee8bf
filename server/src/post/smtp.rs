//! Hands mails to a mail host (SMTP, RFC 5321) over a few connections that are kept open.
//!
//! Commands and answers, TLS and sign-in are lettre's. Its own pooled transport is not used for two reasons. It sends a mail
//! and the full stop behind it in two writes, and the second waits until the host has acknowledged the first (Nagle's
//! algorithm against delayed acknowledgement: 40 ms a mail, measured). And it waits for a silent host without end.

use std::fmt;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use anyhow::Context as _;
use lettre::address::Envelope;
use lettre::transport::smtp::Error;
use lettre::transport::smtp::authentication::{Credentials, DEFAULT_MECHANISMS};
use lettre::transport::smtp::client::{AsyncSmtpConnection, Certificate, TlsParameters};
use lettre::transport::smtp::commands::{Data, Mail, Rcpt};
use lettre::transport::smtp::extension::{ClientId, Extension, MailBodyParameter, MailParameter};
use lettre::{Address, Message};
use tokio::time::timeout;

use super::transport::SendError;
use crate::config::{Smtp, SmtpTls};

/// How many mails are on their way at once, each over a connection of its own. Mail hosts put up with a few of one sender.
pub(super) const CONNECTIONS: usize = 4;

/// A mail host that has not taken sender and receiver after this long has failed.
const GREETING: Duration = Duration::from_secs(45);

/// A mail host that has not said whether it took the mail after this long has failed. It may have taken it, so it is asked for
/// longer than for anything else.
const VERDICT: Duration = Duration::from_secs(75);

/// No sending takes longer.
pub(super) const LONGEST: Duration = Duration::from_secs(GREETING.as_secs() + VERDICT.as_secs());

/// How long a host is waited for when we take our leave.
const FAREWELL: Duration = Duration::from_secs(5);

/// A mail host.
pub(super) struct MailHost {
    host: String,
    port: u16,
    tls: SmtpTls,
    parameters: TlsParameters,
    credentials: Option<Credentials>,
    /// [`GREETING`], but for a test.
    greeting: Duration,
    /// Connections between two mails. One that broke off in the middle of something never comes back here.
    kept: Mutex<Vec<AsyncSmtpConnection>>,
}

impl fmt::Debug for MailHost {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.host, self.port)
    }
}

impl MailHost {
    /// A host as the settings say. Nothing is connected yet.
    pub(super) fn new(smtp: &Smtp) -> anyhow::Result<Self> {
        let mut tls = TlsParameters::builder(smtp.host.clone());
        if let Some(file) = &smtp.ca_file {
            let pem = std::fs::read(file)
                .with_context(|| format!("WHETLEDGER_SMTP_CA_FILE: cannot read {}", file.display()))?;
            tls = tls.add_root_certificate(
                Certificate::from_pem(&pem).context("WHETLEDGER_SMTP_CA_FILE: no certificate")?,
            );
        }
        let credentials = match (&smtp.user, &smtp.password) {
            (Some(user), Some(password)) => {
                Some(Credentials::new(user.clone(), password.reveal().to_owned()))
            }
            _ => None,
        };
        Ok(Self {
            host: smtp.host.clone(),
            port: smtp.port,
            tls: smtp.tls,
            parameters: tls.build()?,
            credentials,
            greeting: GREETING,
            kept: Mutex::default(),
        })
    }

    /// Sends one mail. Dropped half-way, it closes its connection.
    pub(super) async fn send(&self, mail: &Message) -> Result<(), SendError> {
        let silent = |_| SendError::Later("the mail host does not answer".to_owned());
        let bytes = mail.formatted();
        let mut connection = timeout(self.greeting, async {
            let mut connection = self.connection().await.map_err(|error| verdict(&error))?;
            announce(&mut connection, mail.envelope(), &bytes).await?;
            Ok(connection)
        })
        .await
        .map_err(silent)??;
        timeout(VERDICT, connection.command(Whole(&bytes)))
            .await
            .map_err(silent)?
            .map_err(|error| verdict(&error))?;
        self.keep(connection);
        Ok(())
    }

    /// One that is kept and still good, or a new one.
    async fn connection(&self) -> Result<AsyncSmtpConnection, Error> {
        // Hosts hang up after so many mails, and say so when they are asked.
        while let Some(mut connection) = self.take() {
            if connection.test_connected().await {
                return Ok(connection);
            }
        }
        let hello = ClientId::default();
        let at_once = matches!(self.tls, SmtpTls::Tls).then(|| self.parameters.clone());
        let address = (self.host.as_str(), self.port);
        let mut connection =
            AsyncSmtpConnection::connect_tokio1(address, Some(GREETING), &hello, at_once, None).await?;
        if matches!(self.tls, SmtpTls::StartTls) {
            connection.starttls(self.parameters.clone(), &hello).await?;
        }
        if let Some(credentials) = &self.credentials {
            connection.auth(DEFAULT_MECHANISMS, credentials).await?;
        }
        Ok(connection)
    }

    /// Takes leave of the host, for now there is nothing to send. Nobody waits for it.
    pub(super) fn rest(&self) {
        while let Some(mut connection) = self.take() {
            tokio::spawn(async move { timeout(FAREWELL, connection.quit()).await });
        }
    }

    fn take(&self) -> Option<AsyncSmtpConnection> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner).pop()
    }

    fn keep(&self, connection: AsyncSmtpConnection) {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner).push(connection);
    }
}

/// Says from whom and to whom, up to where the host waits for the mail. What the host refuses ends the connection politely.
async fn announce(
    connection: &mut AsyncSmtpConnection,
    envelope: &Envelope,
    mail: &[u8],
) -> Result<(), SendError> {
    // What is not plain ASCII is only given to hosts that say they take it (RFC 6531, RFC 6152).
    let mut with = Vec::new();
    let takes = |extension| connection.server_info().supports_feature(extension);
    let plain = |address: &Address| AsRef::<str>::as_ref(address).is_ascii();
    if !envelope.to().iter().chain(envelope.from()).all(plain) {
        if !takes(Extension::SmtpUtfEight) {
            return Err(SendError::Never(
                "the mail host takes no addresses with letters beyond ASCII".to_owned(),
            ));
        }
        with.push(MailParameter::SmtpUtfEight);
    }
    if !mail.is_ascii() {
        if !takes(Extension::EightBitMime) {
            return Err(SendError::Never(
                "the mail host takes no mails with letters beyond ASCII".to_owned(),
            ));
        }
        with.push(MailParameter::Body(MailBodyParameter::EightBitMime));
    }
    let said = async {
        connection.command(Mail::new(envelope.from().cloned(), with)).await?;
        for to in envelope.to() {
            connection.command(Rcpt::new(to.clone(), Vec::new())).await?;
        }
        connection.command(Data).await
    }
    .await;
    if said.is_err() {
        connection.abort().await;
    }
    said.map(|_| ()).map_err(|error| verdict(&error))
}

/// A refusal of the address stays; everything else may pass. A refused sign-in (530 to 539) is the settings'
/// fault and not the notice's, so it waits until somebody has mended them. A quarrel about the order of commands (500 to
/// 504) is the connection's.
fn verdict(error: &Error) -> SendError {
    let what = error.to_string();
    match error.status().map(u16::from) {
        Some(500..=504 | 530..=539) => SendError::Later(what),
        Some(_) if error.is_permanent() => SendError::Never(what),
        _ => SendError::Later(what),
    }
}

/// A whole mail as it goes over the wire, with the full stop that ends it (RFC 5321, 4.5.2), so that it leaves in one write.
struct Whole<'a>(&'a [u8]);

impl fmt::Display for Whole<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // What lettre makes is text; a byte that is none would be a fault of ours and is shown as such.
        let mail = String::from_utf8_lossy(self.0);
        for line in mail.split_inclusive('\n') {
            if line.starts_with('.') {
                f.write_str(".")?;
            }
            f.write_str(line)?;
        }
        f.write_str(if mail.ends_with("\r\n") { ".\r\n" } else { "\r\n.\r\n" })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_that_begins_with_a_full_stop_does_not_end_the_mail() {
        for (mail, sent) in [
            ("a\r\n.\r\nb", "a\r\n..\r\nb\r\n.\r\n"),
            (".a\r\n", "..a\r\n.\r\n"),
            ("", "\r\n.\r\n"),
            ("ü.\r\n..x\r\n", "ü.\r\n...x\r\n.\r\n"),
        ] {
            assert_eq!(Whole(mail.as_bytes()).to_string(), sent);
        }
    }

    #[tokio::test]
    async fn a_host_that_says_nothing_is_not_waited_for_without_end() {
        let silent = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
        let mut host = MailHost::new(&Smtp {
            host: "127.0.0.1".to_owned(),
            port: silent.local_addr().unwrap().port(),
            tls: SmtpTls::None,
            user: None,
            password: None,
            ca_file: None,
        })
        .unwrap();
        host.greeting = Duration::from_millis(1);
        let mail = Message::builder()
            .from("shop@example.com".parse().unwrap())
            .to("bob@example.org".parse().unwrap())
            .body(String::new())
            .unwrap();
        let said = host.send(&mail).await.unwrap_err();
        assert!(matches!(&said, SendError::Later(why) if why.contains("does not answer")), "{said:?}");
    }
}

//! TLS by the program itself: the certificate and key that the settings name, read again while it runs.
//!
//! A handshake never holds up the next visitor, and a certificate that was renewed on the disk is in use half a minute later
//! without a restart. Files that do not fit together (one of two is written already) are left alone until they do.

use std::net::SocketAddr;
use std::sync::{Arc, PoisonError, RwLock};
use std::time::Duration;

use anyhow::{Context as _, bail, ensure};
use chrono::{DateTime, NaiveDateTime, Utc};
use rustls::ServerConfig;
use rustls::crypto::CryptoProvider;
use rustls::pki_types::pem::PemObject as _;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use rustls::server::{ClientHello, ResolvesServerCert};
use rustls::sign::CertifiedKey;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, mpsc};
use tokio_rustls::TlsAcceptor;
use tokio_rustls::server::TlsStream;
use tokio_util::sync::CancellationToken;

use crate::config::TlsFiles;

/// How often the files are looked at.
const EVERY: Duration = Duration::from_secs(30);

/// A visitor who takes longer to shake hands is let go.
const MOST_HANDSHAKE_TIME: Duration = Duration::from_secs(10);

/// So many may shake hands at once; the next waits in the system's own queue.
const MOST_HANDSHAKES: usize = 512;

/// What does the arithmetic: the same as for SMTP and PostgreSQL.
pub fn provider() -> CryptoProvider {
    rustls::crypto::ring::default_provider()
}

/// The certificate that is shown just now.
#[derive(Debug)]
pub struct Certificates {
    files: TlsFiles,
    shown: RwLock<Arc<CertifiedKey>>,
}

impl Certificates {
    /// Reads certificate and key.
    ///
    /// # Errors
    /// A sentence that names the file that cannot be read, holds nothing of its kind, or does not fit the other.
    pub fn read(files: &TlsFiles) -> anyhow::Result<Arc<Self>> {
        let shown = RwLock::new(Arc::new(read(files)?));
        Ok(Arc::new(Self { files: files.clone(), shown }))
    }

    /// Reads the files again. True: they hold another certificate, which is shown from now on. Connections that are open
    /// stay as they are.
    ///
    /// # Errors
    /// As [`Self::read`]; the certificate that was good goes on being shown.
    pub fn read_again(&self) -> anyhow::Result<bool> {
        let found = read(&self.files)?;
        let mut shown = self.shown.write().unwrap_or_else(PoisonError::into_inner);
        if shown.cert == found.cert {
            return Ok(false);
        }
        *shown = Arc::new(found);
        Ok(true)
    }

    fn server_config(self: &Arc<Self>) -> anyhow::Result<ServerConfig> {
        let mut config = ServerConfig::builder_with_provider(Arc::new(provider()))
            .with_safe_default_protocol_versions()
            .context("TLS cannot be set up")?
            .with_no_client_auth()
            .with_cert_resolver(Arc::<Self>::clone(self));
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(config)
    }

    /// Looks at the files until the program stops.
    pub async fn watch(self: Arc<Self>, stop: CancellationToken) {
        let mut complained = false;
        loop {
            tokio::select! {
                () = tokio::time::sleep(EVERY) => {}
                () = stop.cancelled() => return,
            }
            match self.read_again() {
                Ok(changed) => {
                    if changed {
                        tracing::info!("another certificate is shown from now on");
                    }
                    complained = false;
                }
                Err(error) if !complained => {
                    complained = true;
                    tracing::warn!(
                        "the certificate on the disk is not good, the one before stays: {error:#}"
                    );
                }
                Err(_) => {}
            }
        }
    }
}

impl ResolvesServerCert for Certificates {
    fn resolve(&self, _: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        Some(Arc::clone(&self.shown.read().unwrap_or_else(PoisonError::into_inner)))
    }
}

fn read(files: &TlsFiles) -> anyhow::Result<CertifiedKey> {
    let (cert, key) = (files.certificate.display(), files.key.display());
    let bytes = std::fs::read(&files.certificate).with_context(|| format!("cannot read {cert}"))?;
    let chain: Vec<_> = CertificateDer::pem_slice_iter(&bytes)
        .collect::<Result<_, _>>()
        .with_context(|| format!("{cert} is no PEM file of certificates"))?;
    ensure!(!chain.is_empty(), "{cert} holds no certificate");
    let bytes = std::fs::read(&files.key).with_context(|| format!("cannot read {key}"))?;
    let private = PrivateKeyDer::from_pem_slice(&bytes)
        .with_context(|| format!("{key} holds no private key in PEM form"))?;
    CertifiedKey::from_der(chain, private, &provider())
        .with_context(|| format!("the key in {key} does not fit the certificate in {cert}"))
}

/// Until when the certificate in the files holds.
///
/// # Errors
/// As [`Certificates::read`], or when the certificate cannot be taken apart.
pub fn good_until(files: &TlsFiles) -> anyhow::Result<DateTime<Utc>> {
    let found = read(files)?;
    let first = found.cert.first().context("no certificate")?;
    let Some(end) = not_after(first) else { bail!("{} has no end", files.certificate.display()) };
    Ok(end)
}

/// The end of a certificate's validity (RFC 5280, 4.1.2.5).
fn not_after(certificate: &[u8]) -> Option<DateTime<Utc>> {
    const SEQUENCE: u8 = 0x30;
    const VERSION: u8 = 0xA0;
    let (_, certificate, _) = element(certificate)?;
    let (_, mut rest, _) = element(certificate)?;
    let (kind, _, after) = element(rest)?;
    if kind == VERSION {
        rest = after;
    }
    // Serial number, algorithm, issuer; then the validity, of two instants.
    for _ in 0..3 {
        rest = element(rest)?.2;
    }
    let (SEQUENCE, validity, _) = element(rest)? else { return None };
    let (_, _, end) = element(validity)?;
    let (kind, text, _) = element(end)?;
    let text = std::str::from_utf8(text).ok()?;
    let full = match kind {
        // UTCTime has two digits for the year: 50 and later are of the last century.
        0x17 if text.get(..2)?.parse::<u8>().ok()? >= 50 => format!("19{text}"),
        0x17 => format!("20{text}"),
        0x18 => text.to_owned(),
        _ => return None,
    };
    Some(NaiveDateTime::parse_from_str(&full, "%Y%m%d%H%M%SZ").ok()?.and_utc())
}

/// One element of DER (X.690): its kind, its contents, and what follows it.
fn element(bytes: &[u8]) -> Option<(u8, &[u8], &[u8])> {
    let (&kind, rest) = bytes.split_first()?;
    let (&first, rest) = rest.split_first()?;
    let (length, rest) = if first < 0x80 {
        (usize::from(first), rest)
    } else {
        let n = usize::from(first & 0x7F);
        if n > 4 {
            return None;
        }
        let (digits, rest) = rest.split_at_checked(n)?;
        (digits.iter().fold(0, |length, digit| length << 8 | usize::from(*digit)), rest)
    };
    let (contents, rest) = rest.split_at_checked(length)?;
    Some((kind, contents, rest))
}

/// Hands out connections that have shaken hands.
pub struct Listener {
    shaken: mpsc::Receiver<(TlsStream<TcpStream>, SocketAddr)>,
    address: SocketAddr,
}

impl Listener {
    /// Puts TLS around a port until the program stops.
    ///
    /// # Errors
    /// When the port's own address cannot be told.
    pub fn around(
        tcp: TcpListener,
        certificates: &Arc<Certificates>,
        stop: CancellationToken,
    ) -> anyhow::Result<Self> {
        let acceptor = TlsAcceptor::from(Arc::new(certificates.server_config()?));
        let address = tcp.local_addr()?;
        let (give, shaken) = mpsc::channel(64);
        tokio::spawn(async move {
            tokio::select! {
                () = shake_hands(tcp, acceptor, give) => {}
                () = stop.cancelled() => {}
            }
        });
        Ok(Self { shaken, address })
    }
}

async fn shake_hands(
    tcp: TcpListener,
    acceptor: TlsAcceptor,
    give: mpsc::Sender<(TlsStream<TcpStream>, SocketAddr)>,
) {
    let at_once = Arc::new(Semaphore::new(MOST_HANDSHAKES));
    while let Ok(permit) = Arc::clone(&at_once).acquire_owned().await {
        let (stream, peer) = match tcp.accept().await {
            Ok(found) => found,
            Err(error) => {
                // Out of file handles, most likely: others are about to close theirs.
                tracing::warn!("a connection could not be taken: {error}");
                tokio::time::sleep(Duration::from_secs(1)).await;
                continue;
            }
        };
        let (acceptor, give) = (acceptor.clone(), give.clone());
        tokio::spawn(async move {
            let _permit = permit;
            // Strangers knock with whatever they like: that is no event.
            if let Ok(Ok(stream)) = tokio::time::timeout(MOST_HANDSHAKE_TIME, acceptor.accept(stream)).await {
                let _ = give.send((stream, peer)).await;
            }
        });
    }
}

impl axum::serve::Listener for Listener {
    type Io = TlsStream<TcpStream>;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Self::Io, Self::Addr) {
        match self.shaken.recv().await {
            Some(found) => found,
            // The program stops; nobody comes any more.
            None => std::future::pending().await,
        }
    }

    fn local_addr(&self) -> std::io::Result<SocketAddr> {
        Ok(self.address)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn until(year: i32, month: u8, day: u8) -> Vec<u8> {
        let mut params = rcgen::CertificateParams::new(vec!["shop.example.com".to_owned()]).unwrap();
        params.not_after = rcgen::date_time_ymd(year, month, day);
        params.self_signed(&rcgen::KeyPair::generate().unwrap()).unwrap().der().to_vec()
    }

    #[test]
    fn the_end_of_a_certificate_is_read_in_both_of_its_spellings() {
        // RFC 5280: through 2049 as UTCTime, from 2050 on as GeneralizedTime.
        for (year, text) in [(2049, "2049-12-31T00:00:00Z"), (2050, "2050-12-31T00:00:00Z")] {
            assert_eq!(not_after(&until(year, 12, 31)), Some(text.parse().unwrap()));
        }
    }

    #[test]
    fn what_is_no_certificate_is_no_failure() {
        let whole = until(2030, 1, 1);
        for cut in 0..whole.len() {
            let _ = not_after(&whole[..cut]);
        }
        assert_eq!(not_after(&whole[..40]), None);
        assert_eq!(not_after(b"\x30\x84\xff\xff\xff\xff\x00"), None);
        assert_eq!(not_after(b""), None);
    }
}

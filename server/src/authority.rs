//! A certificate authority of the shop's own, for tablets and the desk inside its walls, where no public one can come.
//!
//! It can only ever vouch for the names it was made for (RFC 5280, 4.2.1.10), so that whoever steals its key cannot pretend
//! to be a bank to the shop's tablets.

use std::io::Write as _;
use std::net::IpAddr;
use std::os::unix::fs::{DirBuilderExt as _, PermissionsExt as _};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use anyhow::{Context as _, bail, ensure};
use chrono::{DateTime, Datelike as _, TimeDelta, Utc};
use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DistinguishedName, DnType, ExtendedKeyUsagePurpose,
    GeneralSubtree, IsCa, Issuer, KeyPair, KeyUsagePurpose, NameConstraints,
};
use rustls::RootCertStore;
use rustls::client::WebPkiServerVerifier;
use rustls::client::danger::ServerCertVerifier as _;
use rustls::pki_types::pem::PemObject as _;
use rustls::pki_types::{CertificateDer, ServerName, UnixTime};

use crate::tls;

/// What a tablet calls the authority; several are told apart by their keys.
const AUTHORITY: &str = "Whetledger: this workshop's own authority";

/// The authority stays on the tablets this long.
const AUTHORITY_LASTS: TimeDelta = TimeDelta::days(3650);

/// A certificate lasts this long; some tablets take none that lasts longer than 825 days (from memory).
const CERTIFICATE_LASTS: TimeDelta = TimeDelta::days(730);

/// Clocks of tablets differ a little.
const BEGINS_BEFORE: TimeDelta = TimeDelta::days(1);

/// What was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// The authority's certificate, which goes onto the tablets.
    pub authority: PathBuf,
    /// The authority's key, which makes further certificates.
    pub authority_key: PathBuf,
    /// The server's certificate.
    pub certificate: PathBuf,
    /// The server's key.
    pub key: PathBuf,
    /// The names it is good for.
    pub names: Vec<String>,
    /// The authority was made just now and is on no tablet yet.
    pub authority_is_new: bool,
    /// Until when the certificate is good.
    pub until: DateTime<Utc>,
}

/// Makes a certificate for `names` (host names and IP addresses; this machine's own are always among them) in `folder`, by
/// the authority that is there, or by a new one.
///
/// # Errors
/// A sentence: a name that is none, a folder that cannot be written, or an authority that was made for other names.
pub fn make(folder: &Path, names: &[String], now: DateTime<Utc>) -> anyhow::Result<Written> {
    let names = all_names(names)?;
    std::fs::DirBuilder::new()
        .recursive(true)
        .mode(0o700)
        .create(folder)
        .with_context(|| format!("cannot make {}", folder.display()))?;
    let at = |name: &str| folder.join(name);
    let (authority, authority_key) = (at("authority.pem"), at("authority-key.pem"));
    let authority_is_new = !authority.exists();
    if authority_is_new {
        let (pem, key) = new_authority(&names, now)?;
        write(&authority_key, &key, 0o600)?;
        write(&authority, &pem, 0o644)?;
    }
    let pem = std::fs::read_to_string(&authority)
        .with_context(|| format!("cannot read {}", authority.display()))?;
    let key = std::fs::read_to_string(&authority_key).with_context(|| {
        format!("cannot read {}: put it back to renew the certificate", authority_key.display())
    })?;
    // Of an issuer only its name and its key go into what it signs.
    let mut authority_params = CertificateParams::default();
    authority_params.distinguished_name = named(AUTHORITY);
    let issuer = Issuer::from_params(
        &authority_params,
        KeyPair::from_pem(&key).context("the authority's key is none")?,
    );

    let mut params = CertificateParams::new(names.clone())?;
    params.distinguished_name = named(&names[0]);
    valid(&mut params, now, CERTIFICATE_LASTS);
    params.use_authority_key_identifier_extension = true;
    params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
    params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    let own_key = KeyPair::generate()?;
    let made = params.signed_by(&own_key, &issuer)?;
    check(&pem, made.der(), &names, now).with_context(|| {
        format!(
            "the authority in {} was made for other names: move the folder away, run this again, and put the new authority.pem onto the tablets",
            folder.display()
        )
    })?;
    let (certificate, own) = (at("certificate.pem"), at("key.pem"));
    write(&own, &own_key.serialize_pem(), 0o600)?;
    write(&certificate, &made.pem(), 0o644)?;
    let files = crate::config::TlsFiles { certificate: certificate.clone(), key: own.clone() };
    let until = tls::good_until(&files)?;
    Ok(Written { authority, authority_key, certificate, key: own, names, authority_is_new, until })
}

/// The names asked for, small, once each, and those by which a machine calls itself.
fn all_names(asked: &[String]) -> anyhow::Result<Vec<String>> {
    let mut names: Vec<String> = Vec::new();
    for name in asked.iter().map(String::as_str).chain(["localhost", "127.0.0.1"]) {
        let name = name.trim().to_lowercase();
        if ServerName::try_from(name.clone()).is_err() {
            bail!(
                "{name:?} is neither a host name nor an address, such as bench.example.com or 192.168.1.20"
            );
        }
        if !names.contains(&name) {
            names.push(name);
        }
    }
    ensure!(names.len() <= 50, "50 names are the most");
    Ok(names)
}

fn new_authority(names: &[String], now: DateTime<Utc>) -> anyhow::Result<(String, String)> {
    let mut params = CertificateParams::default();
    params.distinguished_name = named(AUTHORITY);
    params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
    valid(&mut params, now, AUTHORITY_LASTS);
    let subtree = |name: &String| match name.parse::<IpAddr>() {
        Ok(address) => {
            let whole = if address.is_ipv4() { 32 } else { 128 };
            GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(address, whole))
        }
        Err(_) => GeneralSubtree::DnsName(name.clone()),
    };
    params.name_constraints = Some(NameConstraints {
        permitted_subtrees: names.iter().map(subtree).collect(),
        excluded_subtrees: Vec::new(),
    });
    let key = KeyPair::generate()?;
    Ok((params.self_signed(&key)?.pem(), key.serialize_pem()))
}

fn named(name: &str) -> DistinguishedName {
    let mut named = DistinguishedName::new();
    named.push(DnType::CommonName, name);
    named
}

fn valid(params: &mut CertificateParams, now: DateTime<Utc>, lasts: TimeDelta) {
    let day = |at: DateTime<Utc>| rcgen::date_time_ymd(at.year(), at.month() as u8, at.day() as u8);
    params.not_before = day(now - BEGINS_BEFORE);
    params.not_after = day(now + lasts);
}

/// Asks what a tablet will ask: does this authority vouch for this certificate under each of the names?
fn check(
    authority: &str,
    certificate: &CertificateDer<'_>,
    names: &[String],
    now: DateTime<Utc>,
) -> anyhow::Result<()> {
    let mut roots = RootCertStore::empty();
    roots.add(CertificateDer::from_pem_slice(authority.as_bytes())?)?;
    let verifier =
        WebPkiServerVerifier::builder_with_provider(Arc::new(roots), Arc::new(tls::provider())).build()?;
    let since = std::time::Duration::from_secs(u64::try_from(now.timestamp()).unwrap_or(0));
    for name in names {
        let server = ServerName::try_from(name.as_str())?;
        verifier
            .verify_server_cert(certificate, &[], &server, &[], UnixTime::since_unix_epoch(since))
            .with_context(|| name.clone())?;
    }
    Ok(())
}

/// Writes a file whole or not at all, readable by whom `mode` says from its first byte on.
fn write(path: &Path, text: &str, mode: u32) -> anyhow::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let mut file = tempfile::NamedTempFile::new_in(folder)?;
    file.as_file().set_permissions(std::fs::Permissions::from_mode(mode))?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()?;
    file.persist(path).with_context(|| format!("cannot write {}", path.display()))?;
    Ok(())
}

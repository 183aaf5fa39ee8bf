//! Notices through a real mail host. Needs `WHETLEDGER_TEST_PYTHON`, a Python with aiosmtpd; `make test` has one.

use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};

use server::post::transport::{SendError, Transport};
use server::store::outbox::{self, Kept};

use crate::test_shop::{Engine, TestShop};

struct MailHost {
    child: Child,
    lines: BufReader<ChildStdout>,
    port: u64,
}

impl MailHost {
    fn start(certificate: &[&Path]) -> Option<Self> {
        let Some(python) = std::env::var_os("WHETLEDGER_TEST_PYTHON").filter(|path| !path.is_empty()) else {
            eprintln!("no WHETLEDGER_TEST_PYTHON: not run");
            return None;
        };
        let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/it/smtp_host.py");
        let mut child = Command::new(python)
            .arg(script)
            .args(certificate)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let lines = BufReader::new(child.stdout.take().unwrap());
        let mut host = Self { child, lines, port: 0 };
        host.port = host.next()["port"].as_u64().unwrap();
        Some(host)
    }

    /// The next line it says.
    fn next(&mut self) -> serde_json::Value {
        let mut line = String::new();
        self.lines.read_line(&mut line).unwrap();
        serde_json::from_str(&line).unwrap_or_else(|error| panic!("{error}: {line:?}"))
    }
}

impl Drop for MailHost {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A shop that sends through the host, and one of its notices.
async fn shop_with(host: &MailHost, settings: &[(&str, &str)]) -> (TestShop, Transport, Kept) {
    let port = host.port.to_string();
    let usual =
        [("WHETLEDGER_POST", "smtp"), ("WHETLEDGER_SMTP_HOST", "localhost"), ("WHETLEDGER_SMTP_PORT", &port)];
    let all: Vec<_> = usual.into_iter().chain(settings.iter().copied()).collect();
    let shop = TestShop::open_with(Engine::Sqlite, &all).await.unwrap();
    let transport = Transport::from_config(&shop.ctx.config).unwrap().unwrap();
    let id = shop.queue(None, "Grüße aus der Werkstatt").await;
    let kept = outbox::by_id(shop.ctx.store.read(), id).await.unwrap().unwrap();
    (shop, transport, kept)
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_mail_host_gets_the_notice_and_its_refusals_are_told_apart() {
    let Some(mut host) = MailHost::start(&[]) else { return };
    let (_shop, transport, kept) = shop_with(&host, &[("WHETLEDGER_SMTP_TLS", "none")]).await;
    transport.send(&kept).await.unwrap();
    let mail = host.next();
    assert_eq!(mail["from"], "shop@example.com");
    assert_eq!(mail["to"], serde_json::json!(["bob@example.org"]));
    let text = mail["mail"].as_str().unwrap();
    assert!(text.contains(&format!("Message-ID: <{}@shop.example.com>", kept.id)), "{text}");
    assert!(text.contains("Subject: =?utf-8?b?"), "{text}");

    let to = |address: &str| Kept { to_address: address.to_owned(), ..kept.clone() };
    let refused = transport.send(&to("refused@example.org")).await.unwrap_err();
    assert!(matches!(&refused, SendError::Never(why) if why.contains("no such mailbox")), "{refused:?}");
    let busy = transport.send(&to("busy@example.org")).await.unwrap_err();
    assert!(matches!(&busy, SendError::Later(why) if why.contains("too busy")), "{busy:?}");
    let nonsense = transport.send(&to("not an address")).await.unwrap_err();
    assert!(matches!(nonsense, SendError::Never(_)), "{nonsense:?}");
    transport.send(&kept).await.unwrap();
    assert_eq!(host.next()["to"], serde_json::json!(["bob@example.org"]), "the connection is still good");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_mail_host_that_is_not_there_is_tried_again_later() {
    let Some(host) = MailHost::start(&[]) else { return };
    let (_shop, transport, kept) = shop_with(&host, &[("WHETLEDGER_SMTP_TLS", "none")]).await;
    drop(host);
    assert!(matches!(transport.send(&kept).await.unwrap_err(), SendError::Later(_)));
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn starttls_is_required_and_the_certificate_is_checked() {
    let folder = tempfile::tempdir().unwrap();
    let Some(()) = make_certificate(folder.path()) else { return };
    let path = |name: &str| folder.path().join(name);
    let Some(mut host) = MailHost::start(&[&path("host.pem"), &path("host.key")]) else { return };

    let ca = path("ca.pem").to_str().unwrap().to_owned();
    let (_shop, transport, kept) = shop_with(&host, &[("WHETLEDGER_SMTP_CA_FILE", &ca)]).await;
    transport.send(&kept).await.unwrap();
    assert_eq!(host.next()["tls"], true);

    let (_shop, transport, kept) = shop_with(&host, &[]).await;
    let stranger = transport.send(&kept).await.unwrap_err();
    assert!(matches!(&stranger, SendError::Later(why) if why.contains("certificate")), "{stranger:?}");
}

/// A certificate authority and a host's certificate for localhost, made by the system's openssl.
fn make_certificate(folder: &Path) -> Option<()> {
    let openssl = |args: &str| {
        let done = Command::new("openssl").args(args.split(' ')).current_dir(folder).output();
        done.ok().filter(|output| output.status.success())
    };
    if openssl("version").is_none() {
        eprintln!("no openssl: not run");
        return None;
    }
    std::fs::write(folder.join("host.ext"), "subjectAltName=DNS:localhost\nbasicConstraints=CA:FALSE\n")
        .unwrap();
    for args in [
        "req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -keyout ca.key -out ca.pem -days 2 -subj /CN=test-ca",
        "req -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -keyout host.key -out host.csr -subj /CN=localhost",
        "x509 -req -in host.csr -CA ca.pem -CAkey ca.key -CAcreateserial -out host.pem -days 2 -extfile host.ext",
    ] {
        openssl(args).unwrap_or_else(|| panic!("openssl {args}"));
    }
    Some(())
}

//! Notices through a real mail host. Needs `WHETLEDGER_TEST_PYTHON`, a Python with aiosmtpd; `make test` has one.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};

use server::post::transport::{SendError, Transport};
use server::store::outbox::{self, Kept};

use crate::desk;
use crate::test_shop::{Engine, TestShop};
use chrono::TimeDelta;
use server::post::worker;
use server::store::outbox::Which;
use uuid::Uuid;

struct MailHost {
    child: Child,
    lines: BufReader<ChildStdout>,
    port: u64,
}

impl MailHost {
    fn start(certificate: &[&Path]) -> Option<Self> {
        let args: Vec<_> = certificate.iter().map(|path| path.as_os_str()).collect();
        Self::run("smtp_host.py", &args)
    }

    fn run(script: &str, args: &[&OsStr]) -> Option<Self> {
        let Some(python) = std::env::var_os("WHETLEDGER_TEST_PYTHON").filter(|path| !path.is_empty()) else {
            eprintln!("no WHETLEDGER_TEST_PYTHON: not run");
            return None;
        };
        let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it").join(script);
        let mut child = Command::new(python)
            .arg(script)
            .args(args)
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

/// How many notices go through the wretched host: a few in every test, 2,000 in `end2end/post_torture`.
fn how_many() -> usize {
    std::env::var("WHETLEDGER_TORTURE").ok().and_then(|n| n.parse().ok()).unwrap_or(120)
}

/// What a wretched host took, in its order.
struct Taken(std::sync::mpsc::Receiver<serde_json::Value>);

impl Taken {
    fn by(mut host: MailHost) -> Self {
        let (tell, taken) = std::sync::mpsc::channel();
        std::thread::spawn(move || {
            let mut line = String::new();
            while host.lines.read_line(&mut line).is_ok_and(|n| n > 0) {
                let Ok(mail) = serde_json::from_str(&line) else { break };
                if tell.send(mail).is_err() {
                    break;
                }
                line.clear();
            }
        });
        Self(taken)
    }
}

/// Slow, refusing, hanging up before and after it took a mail, away for a while; and a worker is killed in every round.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_wretched_mail_host_loses_nothing_doubles_nothing_and_keeps_the_order() {
    let Some(host) = MailHost::run("smtp_wretched.py", &[]) else { return };
    let (shop, transport, _) = shop_with(&host, &[("WHETLEDGER_SMTP_TLS", "none")]).await;
    let taken = Taken::by(host);
    let n = how_many();
    let visits: Vec<Uuid> = (0..n.div_ceil(4)).map(|_| shop.ctx.new_id()).collect();
    let mut refused = BTreeSet::new();
    for i in 0..n {
        let (visit, nth) = (i % visits.len(), i / visits.len());
        let letter = server::post::notice::Notice::Trial { by: "Ann".to_owned() }.letter(
            &format!("{}{i}@example.org", if i % 50 == 7 { "refused" } else { "someone" }),
            "Grüße, Jemand",
        );
        let letter = outbox::Letter {
            about: Some(visits[visit]),
            subject: format!("visit {visit} notice {nth} für Sie"),
            ..letter
        };
        let tx = shop.ctx.store.begin_write().await.unwrap();
        let id = outbox::queue(&tx, shop.ctx.new_id(), letter, shop.ctx.now()).await.unwrap();
        tx.commit().await.unwrap();
        if i % 50 == 7 {
            refused.insert(id);
        }
    }
    let began = std::time::Instant::now();
    let mut mails = Vec::new();
    let mut rounds = 0;
    while outbox::count(shop.ctx.store.read(), Which::Waiting).await.unwrap() > 0 {
        rounds += 1;
        assert!(rounds < 400, "it never ends");
        let workers: Vec<_> = (0..3)
            .map(|_| {
                let (ctx, transport) = (shop.ctx.clone(), transport.clone());
                tokio::spawn(async move { worker::work_through(&ctx, &transport).await.unwrap() })
            })
            .collect();
        // One of them dies wherever it stands when the first mail of the round has arrived, as by kill -9.
        let first =
            tokio::task::block_in_place(|| taken.0.recv_timeout(std::time::Duration::from_millis(200)).ok());
        workers[0].abort();
        mails.extend(first);
        for worker in workers {
            let _ = worker.await;
        }
        mails.extend(taken.0.try_iter());
        // Past every lease and every pause.
        shop.wait(TimeDelta::minutes(75));
    }
    let seconds = began.elapsed().as_secs_f64();
    while let Ok(mail) = taken.0.recv_timeout(std::time::Duration::from_millis(300)) {
        mails.push(mail);
    }

    let text = |mail: &serde_json::Value, name: &str| mail[name].as_str().unwrap_or_default().to_owned();
    let mut ids_of: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let mut order: BTreeMap<String, Vec<u64>> = BTreeMap::new();
    for mail in mails.iter().filter(|mail| text(mail, "subject").starts_with("visit ")) {
        assert_eq!(mail["defects"], serde_json::json!([]), "{mail}");
        assert_eq!(text(mail, "auto"), "auto-generated");
        assert!(text(mail, "to").contains("Grüße, Jemand"), "{mail}");
        let subject = text(mail, "subject");
        let words: Vec<_> = subject.split(' ').collect();
        if ids_of.entry(subject.clone()).or_default().insert(text(mail, "id")) {
            order.entry(words[1].to_owned()).or_default().push(words[3].parse().unwrap());
        }
    }
    let given_up = outbox::list(shop.ctx.store.read(), Which::GivenUp, None, n as u64).await.unwrap();
    assert_eq!(given_up.iter().map(|k| k.id).collect::<BTreeSet<_>>(), refused, "given up: the refused only");
    assert_eq!(ids_of.len(), n - refused.len(), "nothing is lost");
    assert!(ids_of.values().all(|ids| ids.len() == 1), "a repeat carries the same Message-ID");
    for (visit, order) in &order {
        assert!(order.is_sorted(), "visit {visit} came in the order {order:?}");
    }
    let repeats = mails.len() - ids_of.len();
    eprintln!(
        "{n} notices through a wretched host: {rounds} rounds, {repeats} sent twice under one Message-ID, {:.0} a second",
        n as f64 / seconds
    );
}

/// Every kind of notice of two visits, in both languages, read by Python's mail parser and its calendar by icalendar.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_kind_of_notice_reads_cleanly_elsewhere() {
    let Some(mut host) = MailHost::run("smtp_wretched.py", &[OsStr::new("kind")]) else { return };
    let (shop, transport, _) = shop_with(&host, &[("WHETLEDGER_SMTP_TLS", "none")]).await;
    desk::open_shop(&shop).await;
    for (email, lang) in [("ines@example.org", "en"), ("jörg@example.org", "de")] {
        shop.post("/language", &[("lang", lang), ("back", "/")]).await.expect(303);
        let email = email.replace('ö', "oe");
        let visit = desk::in_hand(&shop, &email, &["Säge & Söhne", "Petty"]).await;
        let chip = [("chips[0][depth]", "1"), ("chips[0][choice]", "all")];
        for piece in &visit.pieces {
            desk::measure(&shop, piece, &chip).await.expect(303);
        }
        shop.post("/link", &[("email", &email)]).await.expect(200);
    }
    let mut seen = BTreeSet::new();
    for kept in outbox::list(shop.ctx.store.read(), Which::All, None, 2000).await.unwrap() {
        if !seen.insert((kept.kind.clone(), kept.html.contains("lang=\"de\""))) {
            continue;
        }
        let kept = Kept { unsubscribe_url: Some("https://shop.example.com/stop/x".to_owned()), ..kept };
        transport.send(&kept).await.unwrap();
        let mail = host.next();
        assert_eq!(mail["defects"], serde_json::json!([]), "{}", kept.kind);
        assert_eq!(mail["subject"].as_str().unwrap(), kept.subject);
        assert!(kept.subject.chars().count() < 60, "{}", kept.subject);
        // On the way every line ends with CR LF.
        assert_eq!(mail["text"].as_str().unwrap().replace("\r\n", "\n").trim_end(), kept.text.trim_end());
        assert_eq!(mail["calendars"].as_u64().unwrap(), u64::from(kept.calendar.is_some()));
        assert_eq!(mail["one_click"], "List-Unsubscribe=One-Click");
        assert!(mail["longest"].as_u64().unwrap() <= 998, "RFC 5322, 2.1.1");
        assert!(mail["date"].is_string());
    }
    assert!(seen.len() >= 9, "{seen:?}");
}

/// A good host: everything leaves in one round. The figure is what `end2end/post_torture` is for.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_good_mail_host_gets_everything_at_once() {
    let Some(host) = MailHost::run("smtp_wretched.py", &[OsStr::new("quick")]) else { return };
    let (shop, transport, _) = shop_with(&host, &[("WHETLEDGER_SMTP_TLS", "none")]).await;
    let taken = Taken::by(host);
    let n = how_many();
    for i in 0..n {
        shop.queue(Some(Uuid::from_u128(i as u128 % 500)), &format!("notice {i}")).await;
    }
    let began = std::time::Instant::now();
    worker::work_through(&shop.ctx, &transport).await.unwrap();
    let seconds = began.elapsed().as_secs_f64();
    assert_eq!(outbox::count(shop.ctx.store.read(), Which::Sent).await.unwrap(), n as u64 + 1);
    let arrived = (0..=n).map(|_| taken.0.recv_timeout(std::time::Duration::from_secs(5)).unwrap());
    assert_eq!(arrived.map(|mail| mail["id"].to_string()).collect::<BTreeSet<_>>().len(), n + 1);
    eprintln!(
        "{n} notices to a good host: {:.0} a second, {} at once",
        n as f64 / seconds,
        transport.lanes()
    );
}

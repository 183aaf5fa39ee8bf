//! TLS by the program itself, asked by a client that is not ours (Python's ssl, which is OpenSSL).

use std::os::unix::fs::PermissionsExt as _;
use std::path::Path;
use std::process::{Command, Stdio};

use chrono::TimeDelta;
use server::authority;
use server::clock::Clock;
use server::config::TlsFiles;
use server::http::serve;
use server::tls::{self, Certificates};
use tokio::net::TcpListener;

use crate::test_shop::{Engine, TestShop};

/// Asks for a page over TLS as somebody who trusts `authority`; says the certificate's serial number, the status and what
/// the answer says of HSTS and the cookie.
const CLIENT: &str = r#"
import http.client, ssl, sys
host, port, authority, path = sys.argv[1:5]
context = ssl.create_default_context(cafile=authority)
asked = http.client.HTTPSConnection(host, int(port), context=context, timeout=10)
try:
    asked.request("GET" if path != "/language" else "POST", path, body="lang=de&back=/" if path == "/language" else None,
                  headers={"Content-Type": "application/x-www-form-urlencoded"})
    serial = asked.sock.getpeercert()["serialNumber"]
    answer = asked.getresponse()
    print(serial, answer.status, asked.sock.version(), answer.getheader("strict-transport-security"), answer.getheader("set-cookie"))
except ssl.SSLCertVerificationError as error:
    print("refused:", error.verify_message)
"#;

async fn ask(host: &str, port: u16, authority: &Path, path: &str) -> Option<String> {
    let python = std::env::var("WHETLEDGER_TEST_PYTHON").ok()?;
    let mut command = Command::new(python);
    command.args(["-c", CLIENT, host, &port.to_string()]).arg(authority).arg(path).stderr(Stdio::inherit());
    let output = tokio::task::spawn_blocking(move || command.output()).await.unwrap().unwrap();
    assert!(output.status.success(), "the client failed");
    Some(String::from_utf8(output.stdout).unwrap().trim().to_owned())
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_port_speaks_tls_and_takes_a_renewed_certificate() {
    let folder = tempfile::tempdir().unwrap();
    let made =
        authority::make(&folder.path().join("tls"), &["Bench.Example.com".to_owned()], Clock::System.now())
            .unwrap();
    assert!(made.authority_is_new);
    assert_eq!(made.names, ["bench.example.com", "localhost", "127.0.0.1"]);
    let text = |path: &Path| path.to_str().unwrap().to_owned();
    let settings = [
        ("WHETLEDGER_TLS_CERTIFICATE", text(&made.certificate)),
        ("WHETLEDGER_TLS_KEY", text(&made.key)),
        ("WHETLEDGER_PUBLIC_URL", "https://localhost:3000".to_owned()),
    ];
    let settings = settings.each_ref().map(|(name, value)| (*name, value.as_str()));
    let shop = TestShop::open_with(Engine::Sqlite, &settings).await.unwrap();
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let port = listener.local_addr().unwrap().port();
    let serving = tokio::spawn(serve::serve(listener, shop.router(), shop.ctx.clone()));
    // Somebody who knocks and says nothing holds nobody up, and neither does one who speaks no TLS.
    let _silent = tokio::net::TcpStream::connect(("127.0.0.1", port)).await.unwrap();

    // Without Python there is nobody to ask.
    let Some(first) = ask("localhost", port, &made.authority, "/healthz").await else { return };
    assert!(first.contains(" 200 TLSv1.3 max-age=63072000"), "{first}");
    let by_address = ask("127.0.0.1", port, &made.authority, "/healthz").await.unwrap();
    assert!(by_address.contains(" 200 "), "{by_address}");
    let cookie = ask("localhost", port, &made.authority, "/language").await.unwrap();
    assert!(cookie.contains("__Host-whetledger-language=de") && cookie.ends_with("Secure"), "{cookie}");

    // Another authority of the same name does not vouch for it.
    let other =
        authority::make(&folder.path().join("other"), &["bench.example.com".to_owned()], Clock::System.now())
            .unwrap();
    let refused = ask("localhost", port, &other.authority, "/healthz").await.unwrap();
    assert!(refused.starts_with("refused:"), "{refused}");

    // A key without its certificate yet: the one before stays. Then both are there, by the authority the tablets know.
    let files = TlsFiles { certificate: made.certificate.clone(), key: made.key.clone() };
    let certificates = Certificates::read(&files).unwrap();
    let key = std::fs::read(&made.key).unwrap();
    std::fs::copy(&other.key, &made.key).unwrap();
    assert!(certificates.read_again().unwrap_err().to_string().contains("does not fit"));
    std::fs::write(&made.key, key).unwrap();
    assert!(!certificates.read_again().unwrap(), "nothing new");
    let renewed =
        authority::make(&folder.path().join("tls"), &["bench.example.com".to_owned()], Clock::System.now())
            .unwrap();
    assert!(!renewed.authority_is_new);
    assert!(certificates.read_again().unwrap());
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let port = listener.local_addr().unwrap().port();
    let shaken = tls::Listener::around(listener, &certificates, shop.ctx.stop.clone()).unwrap();
    let router = shop.router();
    tokio::spawn(async move { axum::serve(shaken, router.into_make_service()).await });
    let second = ask("localhost", port, &made.authority, "/healthz").await.unwrap();
    assert!(second.contains(" 200 "), "{second}");
    assert_ne!(first.split(' ').next(), second.split(' ').next(), "the renewed certificate is shown");
    shop.ctx.stop.cancel();
    serving.await.unwrap().unwrap();
}

#[test]
fn an_authority_vouches_for_its_own_names_only() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let make = |names: &[&str]| {
        authority::make(
            at,
            &names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>(),
            Clock::System.now(),
        )
    };
    make(&["bench.example.com", "192.168.1.20", "2001:db8::20"]).unwrap();
    make(&["192.168.1.20"]).unwrap();
    for other in ["shop.example.org", "192.168.1.21", "2001:db8::21"] {
        let before = std::fs::read(at.join("certificate.pem")).unwrap();
        let refused = make(&[other]).unwrap_err().to_string();
        assert!(refused.contains("made for other names"), "{refused}");
        assert_eq!(std::fs::read(at.join("certificate.pem")).unwrap(), before, "the good one stays");
    }
    for bad in ["", "not a name", "http://bench.example.com", "192.168.1"] {
        assert!(make(&[bad]).is_err(), "{bad}");
    }
    for secret in ["key.pem", "authority-key.pem"] {
        let mode = std::fs::metadata(at.join(secret)).unwrap().permissions().mode();
        assert_eq!(mode & 0o077, 0, "{secret} is for nobody else");
    }
    let files = TlsFiles { certificate: at.join("certificate.pem"), key: at.join("key.pem") };
    let left = tls::good_until(&files).unwrap() - Clock::System.now();
    assert!(left > TimeDelta::days(728) && left < TimeDelta::days(731), "{left}");
}

//! A shop of one's own for every test: a migrated private database, mail in memory and a clock that one moves.
//!
//! ```ignore
//! on_both_engines!(a_trial_notice_arrives, async |shop: &TestShop| {
//!     shop.sign_in_as(Roles::OWNER).await;
//!     ...
//! });
//! ```

use std::collections::BTreeMap;
use std::sync::Mutex;

use axum::Router;
use axum::body::Body;
use chrono::{DateTime, TimeDelta, Utc};
use http::{HeaderMap, Request, StatusCode, header};
use http_body_util::BodyExt as _;
use server::clock::Clock;
use server::config::Config;
use server::context::Ctx;
use server::passwords;
use server::post::transport::{Mailroom, Transport};
use server::post::worker;
use server::store::outbox::{self, Letter};
use server::store::staff::{self, NewPerson, Person, Roles};
use server::store::{Store, migrate};
use server::token::Token;
use server::use_cases::seed_demo;
use server::use_cases::sign_in::SESSION_LASTS;
use tempfile::TempDir;
use tokio::sync::OnceCell;
use tower::ServiceExt as _;
use uuid::Uuid;

/// The password of everybody a test adds.
pub(crate) const PASSWORD: &str = "four unrelated words";

/// A Monday morning.
pub(crate) const MONDAY: &str = "2026-03-02T08:00:00Z";

/// The database engine under a test.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Engine {
    Sqlite,
    Postgres,
}

/// A shop of one's own.
pub(crate) struct TestShop {
    pub(crate) ctx: Ctx,
    pub(crate) mail: Mailroom,
    pub(crate) transport: Transport,
    router: Router,
    cookies: Mutex<BTreeMap<String, String>>,
    _folder: TempDir,
}

/// An answer, read whole.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: StatusCode,
    pub(crate) headers: HeaderMap,
    pub(crate) body: String,
}

impl Answer {
    /// A header as text; empty when it is not there.
    pub(crate) fn header(&self, name: &str) -> &str {
        self.headers.get(name).map_or("", |value| value.to_str().unwrap())
    }

    /// Insists on a status and shows the page when it is another.
    #[track_caller]
    pub(crate) fn expect(self, status: u16) -> Self {
        assert_eq!(self.status.as_u16(), status, "\nlocation: {}\n{}", self.header("location"), self.body);
        self
    }

    /// Insists that the page says something.
    #[track_caller]
    pub(crate) fn says(self, words: &str) -> Self {
        assert!(self.body.contains(words), "{words:?} is not in:\n{}", self.body);
        self
    }
}

impl TestShop {
    /// Opens a shop on a database of its own. `None`: there is no PostgreSQL to test on.
    pub(crate) async fn open(engine: Engine) -> Option<Self> {
        Self::open_with(engine, &[]).await
    }

    /// Opens a shop with settings of its own.
    pub(crate) async fn open_with(engine: Engine, settings: &[(&str, &str)]) -> Option<Self> {
        let folder = tempfile::tempdir().unwrap();
        let url = migrated(engine, &folder).await?;
        Some(Self::open_on(&url, folder, settings).await)
    }

    /// Opens the demo shop with the weeks it has lived through, on SQLite. They are lived through once; every test has
    /// a copy.
    pub(crate) async fn open_with_weeks(settings: &[(&str, &str)]) -> Self {
        static LIVED: OnceCell<TempDir> = OnceCell::const_new();
        let lived = LIVED
            .get_or_init(async || {
                let shop = Self::open(Engine::Sqlite).await.unwrap();
                seed_demo::with_history(&shop.ctx).await.unwrap().unwrap();
                let kept = tempfile::tempdir().unwrap();
                shop.ctx.store.snapshot(&kept.path().join("shop.db")).await.unwrap();
                shop.close().await;
                kept
            })
            .await;
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("shop.db");
        std::fs::copy(lived.path().join("shop.db"), &file).unwrap();
        Self::open_on(&format!("sqlite:{}", file.display()), folder, settings).await
    }

    async fn open_on(url: &str, folder: TempDir, settings: &[(&str, &str)]) -> Self {
        let data = folder.path().join("data").to_str().unwrap().to_owned();
        let site = folder.path().join("site").to_str().unwrap().to_owned();
        let mut vars: BTreeMap<String, String> = [
            ("WHETLEDGER_DATABASE_URL", url),
            ("WHETLEDGER_DATABASE_CONNECTIONS", "4"),
            ("WHETLEDGER_DATA", &data),
            ("WHETLEDGER_SITE", &site),
            ("WHETLEDGER_PUBLIC_URL", "http://shop.example.com"),
            ("WHETLEDGER_POST_FROM", "The shop <shop@example.com>"),
        ]
        .into_iter()
        .chain(settings.iter().copied())
        .map(|(name, value)| (name.to_owned(), value.to_owned()))
        .collect();
        vars.retain(|_, value| !value.is_empty());
        let config = Config::from_vars(vars).unwrap();
        std::fs::create_dir_all(&config.data).unwrap();
        let store = Store::open(config.database_url.reveal(), config.database_connections).await.unwrap();
        // Nothing to do on a copy of a migrated database.
        migrate::up(&store).await.unwrap();
        let (transport, mail) = Transport::in_memory(&config).unwrap();
        let monday = DateTime::parse_from_rfc3339(MONDAY).unwrap().with_timezone(&Utc);
        let ctx = Ctx::new(store, Clock::standing_at(monday), config).unwrap();
        let router = server::http::router(ctx.clone());
        Self { ctx, mail, transport, router, cookies: Mutex::default(), _folder: folder }
    }

    /// Ends the test: insists that no notice is left unsent that could have gone.
    pub(crate) async fn close(self) {
        let waiting = outbox::list(self.ctx.store.read(), outbox::Which::Waiting, None, 10).await.unwrap();
        let due: Vec<_> = waiting
            .iter()
            .filter(|kept| matches!(kept.standing, outbox::Standing::Waiting { failed: None, .. }))
            .map(|kept| kept.subject.as_str())
            .collect();
        assert!(due.is_empty(), "left unsent: {due:?}");
        self.ctx.store.close().await.unwrap();
    }

    /// Moves the clock.
    pub(crate) fn wait(&self, time: TimeDelta) {
        self.ctx.clock.advance(time);
    }

    /// Lets the post worker send what may go now. Says how many notices it took up.
    pub(crate) async fn send_post(&self) -> usize {
        worker::work_through(&self.ctx, &self.transport).await.unwrap().all()
    }

    /// Queues a plain notice about something. Gives its id.
    pub(crate) async fn queue(&self, about: Option<Uuid>, subject: &str) -> Uuid {
        let letter = Letter {
            kind: "trial",
            about,
            to_address: "bob@example.org".to_owned(),
            to_name: "Bob Example".to_owned(),
            subject: subject.to_owned(),
            text: format!("{subject}\n"),
            html: format!("<!DOCTYPE html><title>{subject}</title>"),
            calendar: None,
            unsubscribe_url: None,
        };
        let tx = self.ctx.store.begin_write().await.unwrap();
        let id = outbox::queue(&tx, self.ctx.new_id(), letter, self.ctx.now()).await.unwrap();
        tx.commit().await.unwrap();
        id
    }

    /// The subjects of what went out so far.
    pub(crate) fn sent(&self) -> Vec<String> {
        self.mail.out().into_iter().map(|out| out.notice.subject).collect()
    }

    /// Asks for a page.
    pub(crate) async fn get(&self, path: &str) -> Answer {
        self.ask(Request::get(path).body(Body::empty()).unwrap()).await
    }

    /// Sends a form, as a browser on one of our pages does.
    pub(crate) async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let body = fields
            .iter()
            .map(|(name, value)| format!("{}={}", encode(name), encode(value)))
            .collect::<Vec<_>>()
            .join("&");
        let request = Request::post(path)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .header("sec-fetch-site", "same-origin")
            .body(Body::from(body))
            .unwrap();
        self.ask(request).await
    }

    /// Sends any request, with this browser's cookies.
    pub(crate) async fn ask(&self, mut request: Request<Body>) -> Answer {
        let cookies = self
            .cookies
            .lock()
            .unwrap()
            .iter()
            .map(|(name, value)| format!("{name}={value}"))
            .collect::<Vec<_>>()
            .join("; ");
        if !cookies.is_empty() {
            request.headers_mut().insert(header::COOKIE, cookies.parse().unwrap());
        }
        request.headers_mut().entry(header::HOST).or_insert("shop.example.com".parse().unwrap());
        let response = self.router.clone().oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        for cookie in parts.headers.get_all(header::SET_COOKIE) {
            let (pair, rest) = cookie.to_str().unwrap().split_once(';').unwrap();
            let (name, value) = pair.split_once('=').unwrap();
            let mut cookies = self.cookies.lock().unwrap();
            if rest.contains("Max-Age=0") {
                cookies.remove(name);
            } else {
                cookies.insert(name.to_owned(), value.to_owned());
            }
        }
        let bytes = body.collect().await.unwrap().to_bytes();
        // The markers Leptos puts between children say nothing to anybody who reads the page.
        let body = String::from_utf8_lossy(&bytes).replace("<!>", "");
        Answer { status: parts.status, headers: parts.headers, body }
    }

    /// Forgets this browser's cookies, as another browser would not have them.
    pub(crate) fn forget_cookies(&self) {
        self.cookies.lock().unwrap().clear();
    }

    /// This browser's cookies.
    pub(crate) fn cookies(&self) -> BTreeMap<String, String> {
        self.cookies.lock().unwrap().clone()
    }

    /// Becomes the browser that has these cookies.
    pub(crate) fn set_cookies(&self, cookies: BTreeMap<String, String>) {
        *self.cookies.lock().unwrap() = cookies;
    }

    /// The router, for tests that need a real socket.
    pub(crate) fn router(&self) -> Router {
        self.router.clone()
    }

    /// Signs Ann in once more, as after a week without a visit.
    pub(crate) async fn sign_in_again(&self) {
        self.post("/sign-in", &[("name", "ann"), ("password", PASSWORD)]).await.expect(303);
    }

    /// Adds somebody who has chosen a password, and gives this browser a session of theirs. Signing in through the pages
    /// is tested by itself; here each of its hashes would cost every test a good part of its time.
    pub(crate) async fn sign_in_as(&self, roles: Roles) {
        let ann = self.add_person("ann", "Ann Example", roles).await;
        let token = Token::fresh().unwrap();
        let now = self.ctx.now();
        let tx = self.ctx.store.begin_write().await.unwrap();
        staff::open_session(&tx, ann.id, &token, "", now, now + SESSION_LASTS).await.unwrap();
        tx.commit().await.unwrap();
        let https = self.ctx.config.is_https();
        let name = if https { "__Host-whetledger" } else { "whetledger" };
        self.cookies.lock().unwrap().insert(name.to_owned(), token.to_string());
    }

    /// Adds somebody who has chosen [`PASSWORD`].
    pub(crate) async fn add_person(&self, name: &str, full_name: &str, roles: Roles) -> Person {
        static HASH: OnceCell<String> = OnceCell::const_new();
        let hash = HASH.get_or_init(async || passwords::hash(PASSWORD.to_owned()).await.unwrap()).await;
        let person = NewPerson {
            id: self.ctx.new_id(),
            sign_in_name: name.to_owned(),
            full_name: full_name.to_owned(),
            roles,
            password_hash: hash.clone(),
            one_time_until: self.ctx.one_time_until(),
        };
        let tx = self.ctx.store.begin_write().await.unwrap();
        let person = staff::add(&tx, person, self.ctx.now()).await.unwrap().unwrap();
        staff::set_password(&tx, person.id, hash.clone(), None).await.unwrap();
        tx.commit().await.unwrap();
        Person { must_change_password: false, one_time_until: None, ..person }
    }
}

/// Runs one test on both engines: `on_both_engines!(name, async |shop: &TestShop| { ... });`. Without
/// `WHETLEDGER_TEST_POSTGRES` the second one has nothing to run on and says so.
#[macro_export]
macro_rules! on_both_engines {
    ($name:ident, $test:expr) => {
        mod $name {
            use super::*;

            async fn run(engine: $crate::test_shop::Engine) {
                let Some(shop) = $crate::test_shop::TestShop::open(engine).await else {
                    eprintln!("no WHETLEDGER_TEST_POSTGRES: not run");
                    return;
                };
                ($test)(&shop).await;
                shop.close().await;
            }

            #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn sqlite() {
                run($crate::test_shop::Engine::Sqlite).await;
            }

            #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn postgres() {
                run($crate::test_shop::Engine::Postgres).await;
            }
        }
    };
}

/// An empty database of its own: a file in the test's folder, or a fresh one on the server the environment names.
pub(crate) async fn database_url(engine: Engine, folder: &TempDir) -> Option<String> {
    match engine {
        Engine::Sqlite => Some(format!("sqlite:{}", folder.path().join("shop.db").display())),
        Engine::Postgres => Some(on_postgres(None).await?.1),
    }
}

/// A database for a shop. On PostgreSQL it has its tables already: they are made once and copied, for there making them
/// takes longer than many a test.
async fn migrated(engine: Engine, folder: &TempDir) -> Option<String> {
    static TEMPLATE: OnceCell<Option<String>> = OnceCell::const_new();
    if engine == Engine::Sqlite {
        return database_url(engine, folder).await;
    }
    let template = TEMPLATE.get_or_init(async || {
        let (name, url) = on_postgres(None).await?;
        let store = Store::open(&url, 2).await.unwrap();
        migrate::up(&store).await.unwrap();
        // PostgreSQL copies only what nobody is connected to.
        store.close().await.unwrap();
        Some(name)
    });
    Some(on_postgres(Some(template.await.as_ref()?)).await?.1)
}

/// A new database on the server the environment names, empty or as another one is: its name and its address.
async fn on_postgres(template: Option<&str>) -> Option<(String, String)> {
    let server = std::env::var("WHETLEDGER_TEST_POSTGRES").ok().filter(|url| !url.is_empty())?;
    let name = format!("whetledger_test_{}", Uuid::new_v4().simple());
    let store = Store::open(&server, 2).await.expect("WHETLEDGER_TEST_POSTGRES");
    store.create_database(&name, template).await.expect("a database for the test");
    store.close().await.unwrap();
    let (base, query) = server.split_once('?').map_or((server.as_str(), ""), |(base, query)| (base, query));
    let (base, _) = base.rsplit_once('/').expect("postgres://.../NAME");
    let query = if query.is_empty() { String::new() } else { format!("?{query}") };
    let url = format!("{base}/{name}{query}");
    Some((name, url))
}

fn encode(text: &str) -> String {
    text.bytes()
        .map(|byte| match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'.' => char::from(byte).to_string(),
            b' ' => "+".to_owned(),
            other => format!("%{other:02X}"),
        })
        .collect()
}

//! How fast the pages answer and how many bookings a second are kept: `make bench` runs it.
//!
//! The real program serves a demo shop with weeks behind it on SQLite (WAL, synchronous FULL), as it does for `make run`. Beside it
//! stands a bare axum handler in this process that asks the same questions of the same database and writes none of it down but a
//! count; both are asked in turns, so that whatever else the machine does meets both. The ratio is what pages, drawings, sessions,
//! headers and logs cost. Then forms are booked for ten seconds, each through the whole path: request key, checks, promise,
//! customer, visit, piece, operations, ledger, links, notice, commit.

#![allow(clippy::print_stdout, reason = "a report is printed")]

mod asking;
#[path = "../../tests/it/plain_booking.rs"]
mod plain_booking;

use std::net::SocketAddr;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use anyhow::{Context as _, ensure};
use asking::Browser;
use axum::Router;
use axum::extract::{Path as Asked, State};
use axum::routing::get;
use server::clock::Clock;
use server::config::Config;
use server::context::Ctx;
use server::store::{Store, staff};
use server::token::Token;
use server::use_cases::{offer, promise, show_plan, show_run};
use shop::booking::Arrival;

/// What the 99th percentile may be of the bare handler's.
const MOST_RATIO: f64 = 2.0;
/// What has to be kept.
const LEAST_BOOKINGS_A_SECOND: f64 = 200.0;
/// So many ask at once.
const AT_ONCE: usize = 4;
/// Each asks so often in one turn, and there are so many turns.
const A_TURN: usize = 25;
const TURNS: usize = 12;
/// So many book at once, for so long.
const BOOKERS: usize = 8;
const BOOKING_TIME: Duration = Duration::from_secs(10);

struct Program(Child);

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

#[tokio::main]
async fn main() -> anyhow::Result<()> {
    let program = std::env::args().nth(1).context("say which program: load target/release/whetledger")?;
    let folder = tempfile::tempdir()?;
    let port = std::net::TcpListener::bind("127.0.0.1:0")?.local_addr()?.port();
    let address = SocketAddr::from(([127, 0, 0, 1], port));
    let data = folder.path().join("data");
    let vars = [
        ("WHETLEDGER_DATA", data.to_str().context("a folder whose name is text")?.to_owned()),
        ("WHETLEDGER_BIND", address.to_string()),
        // Each booker comes from an address of their own, as customers do.
        ("WHETLEDGER_PROXIES", "127.0.0.1".to_owned()),
    ];
    let child = Command::new(program)
        .args(["serve", "--demo"])
        .envs(vars.iter().map(|(name, value)| (*name, value.as_str())))
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()?;
    let _program = Program(child);
    await_open(address).await?;
    let vars = vars.into_iter().map(|(name, value)| (name.to_owned(), value)).collect();
    let config = Config::from_vars(vars)?;
    let store = Store::open(config.database_url.reveal(), config.database_connections).await?;
    let ctx = Ctx::new(store, Clock::System, config)?;
    let session = signed_in(&ctx).await?;
    let bare = serve_bare(ctx.clone()).await?;

    let floor = show_run::show_floor(&ctx).await?.context("the demo shop has a bench")?;
    let busy = floor.bench.stations.iter().find(|station| floor.next_run(station).is_some());
    let bench = format!("/bench/{}", busy.context("no station has work")?.id);
    println!("{:<18} {:>14} {:>14} {:>8}", "page", "ours 50 / 99 %", "bare 50 / 99 %", "99 %");
    let mut met = true;
    // The booking form is for whoever comes; the others are for those who work there.
    let pages = [("booking", "/book", ""), ("plan", "/plan", &session), ("bench", bench.as_str(), &session)];
    for (name, path, cookie) in pages {
        let (mut ours, mut plain) = (Vec::new(), Vec::new());
        let (mut to_ours, mut to_bare) = (open(address).await?, open(bare).await?);
        // Nothing counts until every connection, plan and prepared statement is warm.
        for turn in 0..=TURNS {
            let (mut found, mut beside);
            (to_ours, found) = ask(to_ours, path, cookie).await?;
            (to_bare, beside) = ask(to_bare, path, "").await?;
            if turn > 0 {
                ours.append(&mut found);
                plain.append(&mut beside);
            }
        }
        let ratio = at(&mut ours, 0.99) / at(&mut plain, 0.99);
        met &= ratio <= MOST_RATIO;
        let both = |times: &mut Vec<f64>| format!("{:.1} / {:.1} ms", at(times, 0.5), at(times, 0.99));
        println!("{name:<18} {:>14} {:>14} {ratio:>7.2}×", both(&mut ours), both(&mut plain));
    }
    println!(
        "{:.0} writes a second reach this disk one after the other (4 kB and fsync)",
        disk(folder.path())?
    );
    let rate = book(address).await?;
    met &= rate >= LEAST_BOOKINGS_A_SECOND;
    println!("{rate:.0} bookings a second for {} s, {BOOKERS} at once", BOOKING_TIME.as_secs());
    println!("targets: 99 % within {MOST_RATIO}× of bare, {LEAST_BOOKINGS_A_SECOND} bookings a second");
    ensure!(met, "not every target is met");
    Ok(())
}

async fn await_open(address: SocketAddr) -> anyhow::Result<()> {
    for _ in 0..600 {
        if let Ok(mut browser) = Browser::open(address).await
            && browser.get("/healthz", "").await.is_ok_and(|answer| answer.status == 200)
        {
            // The first plan is searched for in these seconds.
            tokio::time::sleep(Duration::from_secs(8)).await;
            return Ok(());
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    anyhow::bail!("the program did not open within a minute")
}

/// The cookie of somebody who may see everything.
async fn signed_in(ctx: &Ctx) -> anyhow::Result<String> {
    let people = staff::list(ctx.store.read()).await?;
    let owner = people.iter().find(|person| person.roles.owner).context("the demo shop has an owner")?;
    let (token, now) = (Token::fresh()?, ctx.now());
    let tx = ctx.store.begin_write().await?;
    staff::open_session(&tx, owner.id, &token, "", now, now + chrono::TimeDelta::hours(1)).await?;
    // The one-time password would lead to the account page only.
    staff::set_password(&tx, owner.id, "nobody signs in with this".to_owned(), None).await?;
    tx.commit().await?;
    Ok(format!("whetledger={token}"))
}

/// The same questions, asked by handlers that draw nothing.
async fn serve_bare(ctx: Ctx) -> anyhow::Result<SocketAddr> {
    async fn booking(State(ctx): State<Ctx>) -> String {
        let Ok(Some(offer)) = offer::load(&ctx).await else { return String::new() };
        let arrival = promise::arrival(&offer.profile, &Arrival::Post, ctx.now());
        let ready = promise::promise(&ctx, &offer.profile, &[], arrival, false).await;
        format!("{} {}", offer.slots.len(), ready.is_ok())
    }
    async fn plan(State(ctx): State<Ctx>) -> String {
        let found = show_plan::show_plan(&ctx).await;
        format!("{}", found.is_ok_and(|found| found.is_some()))
    }
    async fn bench(State(ctx): State<Ctx>, Asked(station): Asked<String>) -> String {
        let found = show_run::show_run(&ctx, &station).await;
        format!("{}", found.is_ok_and(|found| found.is_some()))
    }
    let router = Router::new()
        .route("/book", get(booking))
        .route("/plan", get(plan))
        .route("/bench/{station}", get(bench))
        .with_state(ctx);
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await?;
    let address = listener.local_addr()?;
    tokio::spawn(async move { axum::serve(listener, router).await });
    Ok(address)
}

/// Connections that stay open over all turns.
async fn open(address: SocketAddr) -> anyhow::Result<Vec<Browser>> {
    let mut browsers = Vec::with_capacity(AT_ONCE);
    for _ in 0..AT_ONCE {
        browsers.push(Browser::open(address).await?);
    }
    Ok(browsers)
}

/// Asks for a page by every connection at once, each for itself; the connections, and milliseconds of each answer.
async fn ask(browsers: Vec<Browser>, path: &str, cookie: &str) -> anyhow::Result<(Vec<Browser>, Vec<f64>)> {
    let mut asking = tokio::task::JoinSet::new();
    for mut browser in browsers {
        let (path, cookie) = (path.to_owned(), cookie.to_owned());
        asking.spawn(async move {
            let mut times = Vec::with_capacity(A_TURN);
            for _ in 0..A_TURN {
                let began = Instant::now();
                let answer = browser.get(&path, &cookie).await?;
                times.push(began.elapsed().as_secs_f64() * 1e3);
                ensure!(answer.status == 200, "{path} answered {}", answer.status);
            }
            anyhow::Ok((browser, times))
        });
    }
    let (mut browsers, mut all) = (Vec::with_capacity(AT_ONCE), Vec::new());
    while let Some(turn) = asking.join_next().await {
        let (browser, times) = turn??;
        browsers.push(browser);
        all.extend(times);
    }
    Ok((browsers, all))
}

/// The time within which this share of the answers came.
fn at(times: &mut [f64], share: f64) -> f64 {
    times.sort_unstable_by(f64::total_cmp);
    let place = (times.len() as f64 * share).ceil() as usize;
    times.get(place.saturating_sub(1)).copied().unwrap_or(f64::NAN)
}

/// Bookings a second, kept for good.
async fn book(address: SocketAddr) -> anyhow::Result<f64> {
    let n = Arc::new(AtomicU64::new(0));
    let began = Instant::now();
    let mut booking = tokio::task::JoinSet::new();
    for who in 0..BOOKERS {
        let n = Arc::clone(&n);
        booking.spawn(async move {
            let mut browser = Browser::open(address).await?;
            let mut turn = 0_u32;
            while began.elapsed() < BOOKING_TIME {
                turn += 1;
                let (key, email) =
                    (uuid::Uuid::new_v4().to_string(), format!("ines-{who}-{turn}@example.org"));
                let plain = plain_booking::FIELDS.iter().filter(|(name, _)| *name != "email");
                let fields: Vec<_> =
                    plain.copied().chain([("key", key.as_str()), ("email", email.as_str())]).collect();
                let body = asking::form(&fields);
                let from = format!("10.{who}.{}.{}", turn / 250, turn % 250 + 1);
                let answer = browser.post("/book", &from, &body).await?;
                ensure!(answer.status == 303, "a booking answered {}:\n{}", answer.status, answer.body);
                n.fetch_add(1, Ordering::Relaxed);
            }
            anyhow::Ok(())
        });
    }
    while let Some(done) = booking.join_next().await {
        done??;
    }
    Ok(n.load(Ordering::Relaxed) as f64 / began.elapsed().as_secs_f64())
}

/// How many small writes a second reach the disk, one after the other: what no database of one file can beat.
fn disk(folder: &Path) -> anyhow::Result<f64> {
    use std::io::Write as _;
    let mut file = std::fs::File::create(folder.join("probe"))?;
    let (began, mut n) = (Instant::now(), 0_u32);
    while began.elapsed() < Duration::from_secs(2) {
        file.write_all(&[7; 4096])?;
        file.sync_data()?;
        n += 1;
    }
    Ok(f64::from(n) / began.elapsed().as_secs_f64())
}

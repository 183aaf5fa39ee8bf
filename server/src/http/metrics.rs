//! Figures for whoever watches the server: Prometheus text (exposition format 0.0.4). No names, no addresses, no references.
//!
//! Open to this machine itself, and to whoever shows the token that is set. A request that came through a proxy is not
//! from this machine, whatever the last hop is.

use std::fmt::Write as _;
use std::sync::atomic::{AtomicU64, Ordering};

use axum::Router;
use axum::extract::State;
use axum::http::{HeaderMap, header};
use axum::response::IntoResponse as _;
use axum::routing::get;
use subtle::ConstantTimeEq as _;

use super::caller::Caller;
use super::{Answer, Problem};
use crate::context::Ctx;
use crate::store::outbox::{self, Which};
use crate::store::{figures, migrate};
use crate::use_cases::nightly_backup;

/// Answers since the start, by the first figure of their status.
static ANSWERS: [AtomicU64; 6] = [const { AtomicU64::new(0) }; 6];
/// Milliseconds spent on them.
static ANSWERING_MS: AtomicU64 = AtomicU64::new(0);

/// Counts an answer.
pub(super) fn count(status: u16, took_ms: u64) {
    let class = usize::from(status / 100).min(ANSWERS.len() - 1);
    ANSWERS[class].fetch_add(1, Ordering::Relaxed);
    ANSWERING_MS.fetch_add(took_ms, Ordering::Relaxed);
}

pub(super) fn routes() -> Router<Ctx> {
    Router::new().route("/metrics", get(show))
}

/// Whether this caller may see the figures.
fn may_see(ctx: &Ctx, caller: &Caller, headers: &HeaderMap) -> bool {
    if let Some(token) = &ctx.config.metrics_token {
        let shown = headers.get(header::AUTHORIZATION).and_then(|value| value.to_str().ok());
        let shown = shown.and_then(|value| value.strip_prefix("Bearer ")).unwrap_or_default();
        if bool::from(shown.as_bytes().ct_eq(token.reveal().as_bytes())) {
            return true;
        }
    }
    let forwarded =
        ["x-forwarded-for", "forwarded", "x-real-ip", "via"].iter().any(|name| headers.contains_key(*name));
    caller.address().is_loopback() && !forwarded
}

async fn show(State(ctx): State<Ctx>, caller: Caller, headers: HeaderMap) -> Answer {
    if !may_see(&ctx, &caller, &headers) {
        return Err(Problem::NotFound);
    }
    let db = ctx.store.read();
    let mut text = Text::default();
    text.family("whetledger_info", "gauge", "The program's version.");
    text.line("whetledger_info", &format!("version=\"{}\"", env!("CARGO_PKG_VERSION")), 1.0);
    text.family(
        "whetledger_database_is_newer",
        "gauge",
        "1 when a newer program has been at the database: renew this one.",
    );
    let newer = !migrate::newer(&ctx.store).await?.is_empty();
    text.line("whetledger_database_is_newer", "", f64::from(u8::from(newer)));
    text.family("whetledger_answers_total", "counter", "Answers since the start, by class of status.");
    for (class, n) in ANSWERS.iter().enumerate().skip(1) {
        text.line(
            "whetledger_answers_total",
            &format!("class=\"{class}xx\""),
            n.load(Ordering::Relaxed) as f64,
        );
    }
    text.family("whetledger_answering_seconds_total", "counter", "Time spent on these answers.");
    text.line("whetledger_answering_seconds_total", "", ANSWERING_MS.load(Ordering::Relaxed) as f64 / 1000.0);
    text.family("whetledger_notices", "gauge", "Notices by how they stand.");
    for (name, which) in [("waiting", Which::Waiting), ("sent", Which::Sent), ("given_up", Which::GivenUp)] {
        let n = outbox::count(db, which).await?;
        text.line("whetledger_notices", &format!("standing=\"{name}\""), n as f64);
    }
    if let Some(due) = figures::oldest_waiting(db).await? {
        text.family(
            "whetledger_oldest_notice_due_timestamp_seconds",
            "gauge",
            "When the oldest waiting notice was to leave.",
        );
        text.line("whetledger_oldest_notice_due_timestamp_seconds", "", due.timestamp() as f64);
    }
    text.family("whetledger_pieces", "gauge", "Pieces by state.");
    for (state, n) in figures::pieces_by_state(db).await? {
        text.line("whetledger_pieces", &format!("state=\"{}\"", state.code()), n as f64);
    }
    if let Some(at) = figures::planned_at(db).await? {
        text.family("whetledger_plan_timestamp_seconds", "gauge", "When the standing plan was made.");
        text.line("whetledger_plan_timestamp_seconds", "", at.timestamp() as f64);
    }
    if let Some(at) = nightly_backup::latest(&ctx.config.backup_folder).unwrap_or_default() {
        text.family("whetledger_backup_timestamp_seconds", "gauge", "When the newest backup was made.");
        text.line("whetledger_backup_timestamp_seconds", "", at.timestamp() as f64);
    }
    let headers = [
        (header::CONTENT_TYPE, "text/plain; version=0.0.4; charset=utf-8"),
        (header::CACHE_CONTROL, "no-store"),
    ];
    Ok((headers, text.0).into_response())
}

/// The text, family by family.
#[derive(Default)]
struct Text(String);

impl Text {
    fn family(&mut self, name: &str, kind: &str, help: &str) {
        let _ = writeln!(self.0, "# HELP {name} {help}\n# TYPE {name} {kind}");
    }

    fn line(&mut self, name: &str, labels: &str, value: f64) {
        let labels = if labels.is_empty() { String::new() } else { format!("{{{labels}}}") };
        let _ = writeln!(self.0, "{name}{labels} {value}");
    }
}

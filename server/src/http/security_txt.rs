//! Whom to tell about a hole in the fence: `/.well-known/security.txt` (RFC 9116).

use axum::Router;
use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse as _;
use axum::routing::get;
use chrono::{Days, SecondsFormat};
use shop::profile::Profile;

use super::{Answer, Problem};
use crate::context::Ctx;
use crate::store::settings;

/// How long what is said holds. RFC 9116, 2.5.5 recommends less than a year.
const HOLDS: Days = Days::new(180);

pub(super) fn routes() -> Router<Ctx> {
    Router::new().route("/.well-known/security.txt", get(show))
}

async fn show(State(ctx): State<Ctx>) -> Answer {
    let profile = settings::get::<Profile>(ctx.store.read()).await?.ok_or(Problem::NotFound)?.value;
    // Whole days, so that caches may keep it.
    let until = ctx.now().date_naive().checked_add_days(HOLDS).ok_or(Problem::NotFound)?;
    let until = until.and_time(chrono::NaiveTime::MIN).and_utc().to_rfc3339_opts(SecondsFormat::Secs, true);
    let mut text = format!("Contact: mailto:{}\nExpires: {until}\nPreferred-Languages: en\n", profile.email);
    if ctx.config.is_https() {
        text.push_str(&format!("Canonical: {}\n", ctx.url("/.well-known/security.txt")));
    }
    Ok(([(header::CONTENT_TYPE, "text/plain; charset=utf-8")], text).into_response())
}

//! The owner's pages: one file for each subject, and here what their forms have in common.

mod crew;
mod customers;
mod exchange;
mod figures;
mod models;
mod overview;
mod settings;
mod stations;
mod steels;
mod wheels;
mod wording;

use axum::Router;
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect, Response};
use axum::routing::{get, post};
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use leptos::prelude::*;
use serde::Deserialize;
use shop::owner::{Typed, changes};
use shop::profile::Profile;
use uuid::Uuid;
use web::pages::shop::{History, Sheet};

use super::caller::Caller;
use super::{Answer, Problem, page};
use crate::context::Ctx;
use crate::local;
use crate::store::changes::Subject;
use crate::store::settings as documents;
use crate::use_cases::set_up::{NotSaved, Remembered, remembered};

pub(super) fn routes() -> Router<Ctx> {
    Router::new()
        .route("/shop", get(overview::show))
        .route("/shop/profile", get(settings::show_profile).post(settings::save_profile))
        .route("/shop/hours", get(settings::show_hours).post(settings::save_hours))
        .route("/shop/prices", get(settings::show_prices).post(settings::save_prices))
        .route("/shop/wording", get(wording::show).post(wording::save))
        .route("/shop/models", get(models::list))
        .route("/shop/models/new", get(models::show_new).post(models::add))
        .route("/shop/models/{id}", get(models::show).post(models::save))
        .route("/shop/models/{id}/offer", post(models::offer))
        .route("/shop/wheels", get(wheels::list))
        .route("/shop/wheels/new", get(wheels::show_new).post(wheels::add))
        .route("/shop/wheels/{id}", get(wheels::show).post(wheels::save))
        .route("/shop/wheels/{id}/dress", post(wheels::dress))
        .route("/shop/wheels/{id}/retire", post(wheels::retire))
        .route("/shop/steels", get(steels::list))
        .route("/shop/steels/new", get(steels::show_new).post(steels::add))
        .route("/shop/steels/{name}", get(steels::show).post(steels::save))
        .route("/shop/steels/{name}/remove", post(steels::remove))
        .route("/shop/stations", get(stations::list))
        .route("/shop/stations/new", get(stations::show_new).post(stations::add))
        .route("/shop/stations/{id}", get(stations::show).post(stations::save))
        .route("/shop/stations/{id}/remove", post(stations::remove))
        .route("/shop/crew", get(crew::list).post(crew::hire))
        .route("/shop/crew/second-step", post(crew::ask_second_step))
        .route("/shop/crew/sessions", post(crew::end_sessions))
        .route("/shop/crew/{id}", get(crew::show).post(crew::save))
        .route("/shop/crew/{id}/left", post(crew::left))
        .route("/shop/crew/{id}/password", post(crew::password))
        .route("/shop/figures", get(figures::show))
        .route("/shop/figures/learned", post(figures::use_learned))
        .route("/shop/figures/changeovers", post(figures::use_changes))
        .route("/shop/csv", get(exchange::show).post(exchange::import))
        .route("/shop/csv/{table}", get(exchange::export))
        .route("/shop/customers", get(customers::show))
        .route("/shop/customers/erase", post(customers::erase))
        .route("/shop/customers/{id}/export", get(customers::export))
}

/// What a page's address may say.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Query {
    said: String,
    reference: String,
}

/// The version a form was read at; a form without one was never ours.
fn version(typed: &Typed) -> Result<i64, Problem> {
    typed.get("version").parse().map_err(|_| Problem::BadRequest("The form carries no version.".to_owned()))
}

/// An id out of an address.
fn id(text: &str) -> Result<Uuid, Problem> {
    text.parse().map_err(|_| Problem::NotFound)
}

/// The shop's clock; UTC until it is set up.
async fn zone(ctx: &Ctx) -> Result<Tz, Problem> {
    let profile = documents::get::<Profile>(ctx.store.read()).await?;
    Ok(profile.map_or(Tz::UTC, |found| local::zone(&found.value)))
}

/// An instant as people read it.
fn when(zone: Tz, at: DateTime<Utc>) -> String {
    local::shown(zone, at).format("%-d %B %Y, %-H:%M").to_string()
}

/// Earlier changes as pages show them.
fn history_of(zone: Tz, found: Vec<Remembered>) -> Vec<History> {
    found
        .into_iter()
        .map(|change| History {
            head: format!("{}, {}: {}", when(zone, change.at), change.who, change.subject),
            lines: change.lines,
        })
        .collect()
}

/// Puts the latest changes under a form.
async fn with_history(
    ctx: &Ctx,
    mut sheet: Sheet,
    subject: Subject,
    about: Option<Uuid>,
) -> Result<Sheet, Problem> {
    sheet.history = history_of(zone(ctx).await?, remembered(ctx, Some(subject), about, 20).await?);
    Ok(sheet)
}

/// What is said after something was done and the page was asked for again.
fn said(code: &str) -> Option<String> {
    let words = match code {
        "saved" => "Saved. It holds from now on.",
        "added" => "Added.",
        "dressed" => "Noted: a new generation begins.",
        "retired" => "It is out of use.",
        "back" => "It is in use again.",
        "offered" => "It is made again.",
        "ended" => "It is no longer made.",
        "taken-out" => "It is taken out.",
        "removed" => "The station is taken away.",
        "left" => "Their sessions are ended and the plan no longer counts on them.",
        "second-step" => "Saved. Whoever it is asked of sets it up with their next page.",
        "sessions" => "Everybody else is signed out, and you too but for this browser.",
        "again" => "They can sign in again.",
        "learned" => "Taken over: new estimates count on it.",
        "changeovers" => "The table of changeovers says so now; the plan counts on it.",
        "erased" => "The person is erased. The knives' technical record stays.",
        _ => return None,
    };
    Some(words.to_owned())
}

/// After something was done: asks for a page again, so that loading it anew does nothing twice.
fn done(path: &str, said: &str) -> Response {
    Redirect::to(&format!("{path}{}said={said}", if path.contains('?') { '&' } else { '?' })).into_response()
}

/// A form that was not saved: what was typed, with what is wrong, and the status that says so. `now` is what is stored at
/// present and its version, for when somebody else was quicker.
fn refused(
    refused: NotSaved,
    typed: Typed,
    read_at: i64,
    now: (&Typed, i64),
) -> Result<(Sheet, StatusCode), Problem> {
    match refused {
        NotSaved::Fields(errors) => {
            let sheet = Sheet { typed, errors, version: read_at, ..Sheet::default() };
            Ok((sheet, StatusCode::UNPROCESSABLE_ENTITY))
        }
        NotSaved::Stale => {
            let mut ours = typed.clone();
            ours.0.remove("version");
            let stale = Some(changes(now.0, &ours));
            Ok((Sheet { typed, version: now.1, stale, ..Sheet::default() }, StatusCode::CONFLICT))
        }
        NotSaved::Gone => Err(Problem::NotFound),
        NotSaved::Store(error) => Err(error.into()),
    }
}

/// A button that did not do what it says: the page around it is asked for again by hand.
fn problem(refused: NotSaved) -> Problem {
    match refused {
        NotSaved::Fields(errors) => {
            Problem::Conflict(errors.0.into_iter().map(|error| error.message).collect::<Vec<_>>().join(" "))
        }
        NotSaved::Stale => Problem::Conflict("Somebody else has changed it in the meantime.".to_owned()),
        NotSaved::Gone => Problem::NotFound,
        NotSaved::Store(error) => error.into(),
    }
}

/// Renders one of the owner's pages.
async fn rendered<V: IntoView + 'static>(
    caller: &Caller,
    status: StatusCode,
    title: &str,
    view: impl FnOnce() -> V + Send + 'static,
) -> Answer {
    Ok(page::with_status(caller, status, title, view).await)
}

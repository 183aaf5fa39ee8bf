//! The bench's pages: which station next, setup checks, and the forms of a piece that is worked on.

use axum::extract::{DefaultBodyLimit, Multipart, Path, RawQuery, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect};
use axum::routing::{get, post};
use axum::{Json, Router};
use leptos::prelude::*;
use serde::Deserialize;
use shop::ids::{OperationId, PieceId, StaffId};
use shop::work::{RawCheck, RawDone};
use web::pages::bench::{FloorPage, FloorView, StationPage, Typed};

use super::caller::{Caller, Staff};
use super::desk::MOST_PHOTO_BYTES;
use super::form::{self, Posted};
use super::plan::capital;
use super::pressed::Pressed;
use super::{Answer, Problem, page};
use crate::context::Ctx;
use crate::store::requests::RequestKey;
use crate::store::staff::Person;
use crate::use_cases::hands::Refused;
use crate::use_cases::tend_wheel::Tended;
use crate::use_cases::{
    check_piece, confirm_setup, finish_operation, photograph_piece, show_run, split_run, start_operation,
    stop_operation, tend_wheel,
};

mod view;

use view::{floor_of, view_of};

pub(super) fn routes() -> Router<Ctx> {
    let photo = post(photo).layer(DefaultBodyLimit::max(MOST_PHOTO_BYTES));
    Router::new()
        .route("/bench", get(floor))
        .route("/bench/{station}", get(station))
        .route("/bench/{station}/setup", post(setup))
        .route("/bench/{station}/start", post(start))
        .route("/bench/{station}/done", post(done))
        .route("/bench/{station}/check", post(check))
        .route("/bench/{station}/photo", photo)
        .route("/bench/{station}/stop", post(stop))
        .route("/bench/{station}/more", post(more))
        .route("/bench/{station}/go-on", post(go_on))
        .route("/bench/{station}/hand-over", post(hand_over))
        .route("/bench/{station}/split", post(split))
        .route("/bench/{station}/wheel", post(wheel))
}

async fn floor(State(ctx): State<Ctx>, caller: Caller, Staff(person): Staff) -> Answer {
    let view = match show_run::show_floor(&ctx).await? {
        None => FloorView { bare: true, ..FloorView::default() },
        Some(floor) => floor_of(&floor, &person, ctx.now()),
    };
    Ok(page::render(&caller, "Bench", move || view! { <FloorPage floor=view /> }).await)
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Query {
    said: String,
}

async fn station(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Path(id): Path<String>,
    RawQuery(query): RawQuery,
) -> Answer {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    let said = match query.said.as_str() {
        "checked" => Some("The setup is checked. Gloves stay off."),
        "done" => Some("Done, and counted."),
        "passed" => Some("Passed."),
        "rework" => Some("It goes back to the bench; its new steps are in the plan."),
        "stopped" => Some("Stopped. It is put down."),
        "asked" => Some("It is put down, and the customer is asked."),
        "goes-on" => Some("It goes on."),
        "handed" => Some("Handed over."),
        "split" => Some("The run is split; the plan makes room for other work."),
        "tended" => Some("Written down for the wheel."),
        "photo" => Some("The picture is kept."),
        _ => None,
    };
    show(&ctx, &caller, &person, &id, said, None, Typed::default(), StatusCode::OK).await
}

#[expect(clippy::too_many_arguments, reason = "one page, shown by every form of it")]
async fn show(
    ctx: &Ctx,
    caller: &Caller,
    person: &Person,
    id: &str,
    said: Option<&str>,
    problem: Option<String>,
    typed: Typed,
    status: StatusCode,
) -> Answer {
    let found = show_run::show_run(ctx, id).await?.ok_or(Problem::NotFound)?;
    let mut view = view_of(&found, person, ctx.now());
    view.said = said.map(str::to_owned);
    view.problem = problem;
    view.typed = typed;
    let title = view.name.clone();
    Ok(page::with_status(caller, status, &title, move || view! { <StationPage view=view /> }).await)
}

/// Everything the forms of this page may send; each uses its own part.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
struct Raw {
    operation: String,
    piece: String,
    key: String,
    setup: String,
    ticks: Vec<String>,
    diameter: String,
    reason: String,
    what: String,
    price: String,
    to: String,
    note: String,
    minutes: String,
    height: String,
    behind_edge: String,
    angle: String,
    length: String,
    bow: String,
    good: Vec<String>,
    method: String,
    number: String,
    before: String,
    dressed: bool,
    until: String,
    verdict: String,
    again: Vec<String>,
}

impl Raw {
    fn key(&self, what: &'static str) -> Result<RequestKey, Problem> {
        RequestKey::parse(what, &self.key)
            .ok_or_else(|| Problem::BadRequest("The form has no key; reload the page.".to_owned()))
    }

    fn operation(&self) -> Result<OperationId, Problem> {
        self.operation.parse().map_err(|_| Problem::NotFound)
    }

    fn done(&self) -> RawDone {
        RawDone {
            minutes: self.minutes.clone(),
            height: self.height.clone(),
            behind_edge: self.behind_edge.clone(),
            angle: self.angle.clone(),
            length: self.length.clone(),
            bow: self.bow.clone(),
            note: self.note.clone(),
        }
    }

    fn check(&self) -> RawCheck {
        RawCheck {
            good: self.good.clone(),
            angle: self.angle.clone(),
            height: self.height.clone(),
            bow: self.bow.clone(),
            method: self.method.clone(),
            number: self.number.clone(),
            before: self.before.clone(),
            verdict: self.verdict.clone(),
            again: self.again.clone(),
            note: self.note.clone(),
        }
    }

    /// What was typed, to be shown again.
    fn typed(&self, id: &str, form: &str, words: &str) -> Typed {
        Typed {
            id: id.to_owned(),
            form: form.to_owned(),
            done: self.done(),
            check: self.check(),
            reason: self.reason.clone(),
            words: words.to_owned(),
            price: self.price.clone(),
            ticks: self.ticks.clone(),
            diameter: self.diameter.clone(),
            errors: Default::default(),
        }
    }
}

/// Who sent a form, from which station's page.
struct Sent<'a> {
    caller: &'a Caller,
    pressed: &'a Pressed,
    station: &'a str,
}

impl Sent<'_> {
    /// Back to the station; or the same page again with what was typed and what is wrong with it. A tablet that sends
    /// what it kept gets the same in a word or a sentence.
    async fn answer(&self, outcome: Result<(), Refused>, said: &str, mut typed: Typed) -> Answer {
        let (problem, status) = match outcome {
            Ok(()) if self.caller.wants_json() => {
                return Ok(Json(serde_json::json!({ "said": said })).into_response());
            }
            Ok(()) => {
                return Ok(Redirect::to(&format!("/bench/{}?said={said}", self.station)).into_response());
            }
            Err(Refused::Fields(errors)) => {
                typed.errors = errors;
                (None, StatusCode::UNPROCESSABLE_ENTITY)
            }
            Err(Refused::First(sentence)) => (Some(sentence), StatusCode::CONFLICT),
            Err(Refused::NotNow(not_now)) => {
                (Some(format!("{}.", capital(&not_now.to_string()))), StatusCode::CONFLICT)
            }
            Err(Refused::Stale(_)) => (
                Some(
                    "Somebody was quicker. This is how it stands now; do it again if it is still right."
                        .to_owned(),
                ),
                StatusCode::CONFLICT,
            ),
            Err(other) => return Err(other.into()),
        };
        if self.caller.wants_json() {
            let sentences = typed.errors.0.iter().map(|e| e.message.as_str());
            let error = problem.unwrap_or_else(|| sentences.collect::<Vec<_>>().join(" "));
            let mut answer = (status, Json(serde_json::json!({ "error": error }))).into_response();
            answer.extensions_mut().insert(page::Rendered);
            return Ok(answer);
        }
        let Pressed { ctx, person } = self.pressed;
        show(ctx, self.caller, person, self.station, None, problem, typed, status).await
    }
}

macro_rules! sent {
    ($caller:ident, $pressed:ident, $station:ident) => {
        Sent { caller: &$caller, pressed: &$pressed, station: &$station }
    };
}

async fn setup(
    caller: Caller,
    pressed: Pressed,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let (key, Pressed { ctx, person }) = (raw.key("setup")?, &pressed);
    let outcome =
        confirm_setup::confirm_setup(ctx, person, &key, &station, &raw.setup, &raw.ticks, &raw.diameter)
            .await;
    sent!(caller, pressed, station).answer(outcome, "checked", raw.typed(&raw.setup, "setup", "")).await
}

async fn start(
    caller: Caller,
    pressed: Pressed,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let (key, id) = (raw.key("start")?, raw.operation()?);
    let outcome = start_operation::start_operation(&pressed.ctx, &pressed.person, &key, id).await;
    sent!(caller, pressed, station).answer(outcome, "begun", Typed::default()).await
}

async fn done(
    caller: Caller,
    pressed: Pressed,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let (key, id) = (raw.key("done")?, raw.operation()?);
    let outcome =
        finish_operation::finish_operation(&pressed.ctx, &pressed.person, &key, id, &raw.done()).await;
    sent!(caller, pressed, station).answer(outcome, "done", raw.typed(&raw.operation, "done", "")).await
}

async fn check(
    caller: Caller,
    pressed: Pressed,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let (key, id) = (raw.key("check")?, raw.operation()?);
    let outcome = check_piece::check_piece(&pressed.ctx, &pressed.person, &key, id, &raw.check()).await;
    let said = if raw.verdict == "pass" { "passed" } else { "rework" };
    sent!(caller, pressed, station).answer(outcome, said, raw.typed(&raw.operation, "check", "")).await
}

async fn stop(
    caller: Caller,
    pressed: Pressed,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let (key, id, Pressed { ctx, person }) = (raw.key("stop")?, raw.operation()?, &pressed);
    let outcome = stop_operation::stop_operation(ctx, person, &key, id, &raw.reason, &raw.note).await;
    let typed = raw.typed(&raw.operation, "stop", &raw.note);
    sent!(caller, pressed, station).answer(outcome, "stopped", typed).await
}

async fn more(
    caller: Caller,
    pressed: Pressed,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let (key, id, Pressed { ctx, person }) = (raw.key("more")?, raw.operation()?, &pressed);
    let outcome = stop_operation::needs_more(ctx, person, &key, id, &raw.what, &raw.price).await;
    let typed = raw.typed(&raw.operation, "more", &raw.what);
    sent!(caller, pressed, station).answer(outcome, "asked", typed).await
}

async fn go_on(
    caller: Caller,
    pressed: Pressed,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let id: PieceId = raw.piece.parse().map_err(|_| Problem::NotFound)?;
    let (key, Pressed { ctx, person }) = (raw.key("go-on")?, &pressed);
    let outcome = stop_operation::goes_on(ctx, person, &key, id, &raw.price, &raw.note).await;
    let typed = raw.typed(&raw.piece, "go-on", &raw.note);
    sent!(caller, pressed, station).answer(outcome, "goes-on", typed).await
}

async fn hand_over(
    caller: Caller,
    pressed: Pressed,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let to: StaffId = raw.to.parse().map_err(|_| Problem::NotFound)?;
    let (key, id, Pressed { ctx, person }) = (raw.key("hand-over")?, raw.operation()?, &pressed);
    let outcome = start_operation::hand_over(ctx, person, &key, id, to).await;
    sent!(caller, pressed, station).answer(outcome, "handed", Typed::default()).await
}

async fn split(
    caller: Caller,
    pressed: Pressed,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let key = raw.key("split")?;
    let outcome = split_run::split_run(&pressed.ctx, &key, &station, raw.operation()?, &raw.until).await;
    let typed = raw.typed(&station, "split", "");
    sent!(caller, pressed, station).answer(outcome.map(|_| ()), "split", typed).await
}

async fn wheel(
    caller: Caller,
    pressed: Pressed,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let (key, Pressed { ctx, person }) = (raw.key("wheel")?, &pressed);
    let tended = Tended { dressed: raw.dressed, diameter: raw.diameter.clone() };
    let outcome = tend_wheel::tend_wheel(ctx, person, &key, &station, &raw.setup, &tended).await;
    sent!(caller, pressed, station).answer(outcome, "tended", raw.typed(&raw.setup, "wheel", "")).await
}

async fn photo(caller: Caller, pressed: Pressed, Path(station): Path<String>, mut form: Multipart) -> Answer {
    let broken = || Problem::BadRequest("The picture did not arrive whole.".to_owned());
    let (mut raw, mut bytes) = (Raw::default(), Vec::new());
    while let Some(field) = form.next_field().await.map_err(|_| broken())? {
        match field.name() {
            Some("photo") => bytes = field.bytes().await.map_err(|_| Problem::TooLarge)?.to_vec(),
            Some("key") => raw.key = field.text().await.map_err(|_| broken())?,
            Some("piece") => raw.piece = field.text().await.map_err(|_| broken())?,
            _ => {}
        }
    }
    let id: PieceId = raw.piece.parse().map_err(|_| Problem::NotFound)?;
    let (key, Pressed { ctx, person }) = (raw.key("photo")?, &pressed);
    let outcome = photograph_piece::photograph_piece(ctx, person, &key, id, "check", bytes).await;
    sent!(caller, pressed, station).answer(outcome, "photo", raw.typed(&raw.piece, "photo", "")).await
}

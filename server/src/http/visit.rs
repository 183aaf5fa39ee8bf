//! A customer's private page, opened by the link in a notice.

use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect, Response};
use axum::routing::{get, post};
use leptos::prelude::*;
use serde::Deserialize;
use shop::booking::{Arrival, RawWayBack};
use shop::field::FieldErrors;
use shop::ids::{PieceId, VisitId};
use shop::money::Money;
use web::pages::home::{LinkPage, LostLinkPage};
use web::pages::visit::{PieceView, VisitPage, VisitView};

use super::caller::Caller;
use super::form::{self, Posted};
use super::limits::Door;
use super::problem::Problem;
use super::{Answer, page};
use crate::context::Ctx;
use crate::use_cases::answer_quote::{self, AnswerError, asked};
use crate::use_cases::cancel_visit::{self, CancelError, may_cancel};
use crate::use_cases::change_way_back::{self, ChangeError, may_change};
use crate::use_cases::confirm_visit::{self, ConfirmError};
use crate::use_cases::private_link::{self, Opened};
use crate::use_cases::renew_link;
use crate::use_cases::show_visit::{self, Shown};
use crate::{calendar, local, when};

pub(super) fn routes() -> Router<Ctx> {
    Router::new()
        .route("/v/{token}", get(show))
        .route("/v/{token}/confirm", post(confirm))
        .route("/v/{token}/back", post(change_back))
        .route("/v/{token}/cancel", post(cancel))
        .route("/v/{token}/answer", post(answer))
        .route("/v/{token}/ledger", post(ledger))
        .route("/v/{token}/renew", post(renew))
}

/// What a link opened, or the page that says why it opens nothing.
pub(super) enum Entrance {
    /// The visit, and whether the link came by mail.
    Open(VisitId, bool),
    /// The calm page.
    Shut(Response),
}

/// Opens the link in the path; slows down whoever guesses.
pub(super) async fn open(ctx: &Ctx, caller: &Caller, token: &str) -> Result<Entrance, Problem> {
    caller.knock(Door::Link, ctx)?;
    Ok(match private_link::open(ctx, token).await? {
        Opened::Visit { visit, by_mail } => Entrance::Open(visit, by_mail),
        Opened::Stale(_) => {
            let token = token.to_owned();
            Entrance::Shut(
                page::with_status(caller, StatusCode::GONE, "This link is past its day", move || {
                    view! { <LostLinkPage stale=Some(token) /> }
                })
                .await,
            )
        }
        Opened::Unknown => Entrance::Shut(
            page::with_status(caller, StatusCode::NOT_FOUND, "This link opens nothing", || {
                view! { <LostLinkPage stale=None /> }
            })
            .await,
        ),
    })
}

/// The visit for whoever may act on it: the link has to have come by mail.
async fn open_to_act(ctx: &Ctx, caller: &Caller, token: &str) -> Result<Result<VisitId, Response>, Problem> {
    Ok(match open(ctx, caller, token).await? {
        Entrance::Open(visit, true) => Ok(visit),
        Entrance::Open(_, false) => return Err(Problem::Forbidden),
        Entrance::Shut(page) => Err(page),
    })
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct ShowQuery {
    said: String,
}

async fn show(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(token): Path<String>,
    RawQuery(query): RawQuery,
) -> Answer {
    let query: ShowQuery = form::read(query.unwrap_or_default().as_bytes())?;
    let (visit, by_mail) = match open(&ctx, &caller, &token).await? {
        Entrance::Open(visit, by_mail) => (visit, by_mail),
        Entrance::Shut(page) => return Ok(page),
    };
    let shown = show_visit::show_visit(&ctx, visit).await?.ok_or(Problem::NotFound)?;
    let said = match query.said.as_str() {
        "booked" => Some("Booked. Thank you! One thing is left to do: confirm it by the link in our mail."),
        "confirmed" => Some("Confirmed. We look forward to your knives."),
        "back" => Some("Changed. They go back as you say below."),
        "cancelled" => Some("It is called off."),
        "agree" => Some("Thank you. It goes into line now."),
        "decline" => Some("Noted: it goes back as it is."),
        _ => None,
    };
    let title = format!("Visit {}", shown.visit.reference);
    let mut view = view_of(&shown, &token, by_mail);
    view.just_booked = query.said == "booked" && !by_mail;
    view.said = said.map(str::to_owned);
    Ok(page::render(&caller, &title, move || view! { <VisitPage view=view /> }).await)
}

fn view_of(shown: &Shown, token: &str, by_mail: bool) -> VisitView {
    let Shown { visit, profile, knows, history } = shown;
    let zone = local::zone(profile);
    let path = format!("/v/{token}");
    let pieces = visit.pieces.iter().map(|piece| PieceView {
        drawing: shown.drawing(piece),
        history: history
            .get(&piece.id)
            .into_iter()
            .flatten()
            .map(|entry| (when::short(zone, entry.at), entry.fact.sentence()))
            .collect(),
        photos: piece.photos.iter().map(|id| format!("{path}/photo/{id}")).collect(),
        asked: asked(piece),
        due: when::day(local::date(zone, piece.due_at)),
        piece: piece.clone(),
    });
    let arrives = match &visit.arrival {
        Arrival::Post if visit.received_at.is_some() => "by post; they are here".to_owned(),
        Arrival::Post => format!("by post, please by {}", when::day(calendar::send_by(visit, profile))),
        Arrival::Counter { slot } => {
            format!("at our counter, {}, {}: {}", profile.street, profile.town, when::day_and_time(*slot))
        }
    };
    VisitView {
        pieces: pieces.collect(),
        by_mail,
        may_cancel: may_cancel(visit),
        booked: when::short(zone, visit.booked_at),
        arrives,
        promise: when::day(local::date(zone, visit.promise_at)),
        withdrawn: knows.prices.withdrawn,
        said: None,
        just_booked: false,
        way_back: (by_mail && may_change(visit)).then(|| {
            let address = visit.contact.address.clone().unwrap_or_default();
            let raw = RawWayBack {
                back: if visit.back_by_post { "post" } else { "counter" }.to_owned(),
                street: address.street,
                postcode: address.postcode,
                town: address.town,
                country: address.country,
            };
            (raw, FieldErrors::default())
        }),
        visit: visit.clone(),
        profile: profile.clone(),
        path,
    }
}

async fn confirm(State(ctx): State<Ctx>, caller: Caller, Path(token): Path<String>) -> Answer {
    let visit = match open_to_act(&ctx, &caller, &token).await? {
        Ok(visit) => visit,
        Err(page) => return Ok(page),
    };
    match confirm_visit::confirm_visit(&ctx, visit).await {
        Ok(()) => Ok(Redirect::to(&format!("/v/{token}?said=confirmed")).into_response()),
        Err(ConfirmError::Cancelled) => {
            Err(Problem::Conflict("This booking was called off before.".to_owned()))
        }
        Err(ConfirmError::Gone) => Err(Problem::NotFound),
        Err(ConfirmError::Store(error)) => Err(error.into()),
    }
}

async fn change_back(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(token): Path<String>,
    Posted(raw): Posted<RawWayBack>,
) -> Answer {
    let visit = match open_to_act(&ctx, &caller, &token).await? {
        Ok(visit) => visit,
        Err(page) => return Ok(page),
    };
    let to = match raw.check() {
        Ok(to) => to,
        Err(errors) => {
            let shown = show_visit::show_visit(&ctx, visit).await?.ok_or(Problem::NotFound)?;
            let title = format!("Visit {}", shown.visit.reference);
            let mut view = view_of(&shown, &token, true);
            view.way_back = Some((raw, errors));
            let page = move || view! { <VisitPage view=view /> };
            return Ok(page::with_status(&caller, StatusCode::UNPROCESSABLE_ENTITY, &title, page).await);
        }
    };
    match change_way_back::change_way_back(&ctx, visit, to).await {
        Ok(()) => Ok(Redirect::to(&format!("/v/{token}?said=back")).into_response()),
        Err(ChangeError::TooLate) => Err(Problem::Conflict("They are on their way back already.".to_owned())),
        Err(ChangeError::Gone) => Err(Problem::NotFound),
        Err(ChangeError::Store(error)) => Err(error.into()),
    }
}

/// Calls a visit off. The browser that booked may do that too, as long as nobody has confirmed: it was its own booking.
async fn cancel(State(ctx): State<Ctx>, caller: Caller, Path(token): Path<String>) -> Answer {
    let visit = match open(&ctx, &caller, &token).await? {
        Entrance::Open(visit, _) => visit,
        Entrance::Shut(page) => return Ok(page),
    };
    match cancel_visit::cancel_visit(&ctx, visit).await {
        Ok(()) => Ok(Redirect::to(&format!("/v/{token}?said=cancelled")).into_response()),
        Err(CancelError::Arrived) => {
            Err(Problem::Conflict("Some of it has arrived already; please write to us.".to_owned()))
        }
        Err(CancelError::Gone) => Err(Problem::NotFound),
        Err(CancelError::Store(error)) => Err(error.into()),
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct AnswerRaw {
    piece: String,
    total: String,
    answer: String,
}

async fn answer(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(token): Path<String>,
    Posted(raw): Posted<AnswerRaw>,
) -> Answer {
    let visit = match open_to_act(&ctx, &caller, &token).await? {
        Ok(visit) => visit,
        Err(page) => return Ok(page),
    };
    let piece: PieceId = raw.piece.parse().map_err(|_| Problem::NotFound)?;
    let total = raw.total.parse().map(Money);
    let answer = match (raw.answer.as_str(), total) {
        ("agree", Ok(total)) => answer_quote::Answer::Agree(total),
        ("decline", _) => answer_quote::Answer::Decline,
        _ => return Err(Problem::BadRequest("The answer was neither yes nor no.".to_owned())),
    };
    match answer_quote::answer_quote(&ctx, visit, piece, answer).await {
        Ok(()) => Ok(Redirect::to(&format!("/v/{token}?said={}", raw.answer)).into_response()),
        Err(AnswerError::Gone) => Err(Problem::NotFound),
        Err(AnswerError::NotAsked) => {
            Err(Problem::Conflict("This knife does not wait for an answer any more.".to_owned()))
        }
        Err(AnswerError::OtherPrice) => {
            Err(Problem::Conflict("The price has changed since this page was opened.".to_owned()))
        }
        Err(AnswerError::Store(error)) => Err(error.into()),
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct LedgerRaw {
    piece: String,
}

/// Opens a knife's ledger. It is a post because it makes a link, which the owner may hand on with the knife.
async fn ledger(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(token): Path<String>,
    Posted(raw): Posted<LedgerRaw>,
) -> Answer {
    let visit = match open_to_act(&ctx, &caller, &token).await? {
        Ok(visit) => visit,
        Err(page) => return Ok(page),
    };
    let piece: PieceId = raw.piece.parse().map_err(|_| Problem::NotFound)?;
    let path = private_link::to_ledger(&ctx, visit, piece).await?.ok_or(Problem::NotFound)?;
    Ok(Redirect::to(&path).into_response())
}

async fn renew(State(ctx): State<Ctx>, caller: Caller, Path(token): Path<String>) -> Answer {
    caller.knock(Door::Booking, &ctx)?;
    match private_link::open(&ctx, &token).await? {
        Opened::Visit { .. } => return Ok(Redirect::to(&format!("/v/{token}")).into_response()),
        Opened::Stale(visit) => renew_link::for_visit(&ctx, visit).await?,
        // The same answer to everybody: whether a link was ever ours is not told.
        Opened::Unknown => {}
    }
    Ok(page::render(&caller, "Look into your mail", || {
        view! { <LinkPage address=String::new() error=None sent=true /> }
    })
    .await)
}

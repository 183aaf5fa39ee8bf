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
use web::pages::talk::{ComplaintView, LetterLine, RawComplaint};
use web::pages::visit::{PieceView, TalkView, VisitPage, VisitView};

use super::caller::Caller;
use super::form::{self, Posted};
use super::limits::Door;
use super::problem::Problem;
use super::{Answer, page};
use crate::context::Ctx;
use crate::store::messages::Message;
use crate::store::requests::RequestKey;
use crate::use_cases::answer_quote::{self, AnswerError, asked};
use crate::use_cases::cancel_visit::{self, CancelError, may_cancel};
use crate::use_cases::change_way_back::{self, ChangeError, may_change};
use crate::use_cases::complain::{self, ComplainError, Complaint};
use crate::use_cases::confirm_visit::{self, ConfirmError};
use crate::use_cases::private_link::{self, Opened};
use crate::use_cases::renew_link;
use crate::use_cases::show_visit::{self, Shown};
use crate::use_cases::write_letter::{self, LetterError};
use crate::{calendar, local};

pub(super) fn routes() -> Router<Ctx> {
    Router::new()
        .route("/v/{token}", get(show))
        .route("/v/{token}/confirm", post(confirm))
        .route("/v/{token}/back", post(change_back))
        .route("/v/{token}/cancel", post(cancel))
        .route("/v/{token}/answer", post(answer))
        .route("/v/{token}/ask", post(ask))
        .route("/v/{token}/complaint", post(complain))
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
            caller.speak(caller.asked_language());
            Entrance::Shut(
                page::with_status(caller, StatusCode::GONE, &caller.say("link-stale"), move || {
                    view! { <LostLinkPage stale=Some(token) /> }
                })
                .await,
            )
        }
        Opened::Unknown => {
            caller.speak(caller.asked_language());
            Entrance::Shut(
                page::with_status(caller, StatusCode::NOT_FOUND, &caller.say("link-nothing"), || {
                    view! { <LostLinkPage stale=None /> }
                })
                .await,
            )
        }
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

/// What a page may say was just done, by the word in its address.
const SAID: [&str; 8] =
    ["booked", "confirmed", "back", "cancelled", "agree", "decline", "asked", "complained"];

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
    caller.speak(shown.visit.language);
    let said = SAID.contains(&query.said.as_str()).then(|| caller.say(&format!("said-{}", query.said)));
    let title = title(&caller, &shown);
    let mut view = view_of(&ctx, &caller, &shown, &token, by_mail);
    view.just_booked = query.said == "booked" && !by_mail;
    view.said = said;
    Ok(page::render(&caller, &title, move || view! { <VisitPage view=view /> }).await)
}

fn title(caller: &Caller, shown: &Shown) -> String {
    caller.say_with("page-visit", &[("reference", shown.visit.reference.to_string().into())])
}

fn view_of(ctx: &Ctx, caller: &Caller, shown: &Shown, token: &str, by_mail: bool) -> VisitView {
    let Shown { visit, profile, knows, history, .. } = shown;
    let lang = visit.language;
    let phrases = words::phrasebook(lang, &[]);
    let day = |at| lang.day(local::date(local::zone(profile), at));
    let moment = |at| lang.short(local::shown(local::zone(profile), at));
    let path = format!("/v/{token}");
    let pieces = visit.pieces.iter().map(|piece| PieceView {
        drawing: phrases.say_drawing(&shown.drawing(piece)),
        history: history
            .get(&piece.id)
            .into_iter()
            .flatten()
            .map(|entry| (moment(entry.at), entry.fact.sentence()))
            .collect(),
        photos: piece.photos.iter().map(|id| format!("{path}/photo/{id}")).collect(),
        asked: asked(piece),
        due: day(piece.due_at),
        piece: piece.clone(),
    });
    let arrives = match &visit.arrival {
        Arrival::Post if visit.received_at.is_some() => caller.say("arrives-here"),
        Arrival::Post => {
            let by = lang.day(calendar::send_by(visit, profile));
            caller.say_with("arrives-post", &[("day", by.into())])
        }
        Arrival::Counter { slot } => {
            let place = format!("{}, {}", profile.street, profile.town);
            let time = lang.day_and_time(*slot);
            caller.say_with("arrives-counter", &[("place", place.into()), ("time", time.into())])
        }
    };
    VisitView {
        pieces: pieces.collect(),
        by_mail,
        may_cancel: may_cancel(visit),
        booked: moment(visit.booked_at),
        arrives,
        promise: day(visit.promise_at),
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
        talk: by_mail.then(|| TalkView {
            letters: letters(caller, shown),
            key: RequestKey::fresh(),
            ..TalkView::default()
        }),
        complaint: by_mail.then(|| complaint_view(ctx, shown)).flatten(),
        complained: shown.complained.as_ref().map(|v| v.reference.to_string()),
        visit: visit.clone(),
        profile: profile.clone(),
        path,
    }
}

/// Questions and answers; of the shop's people only their names.
fn letters(caller: &Caller, shown: &Shown) -> Vec<LetterLine> {
    let zone = local::zone(&shown.profile);
    let line = |m: &Message| LetterLine {
        by_shop: m.by_staff.is_some(),
        who: match m.by_staff {
            None => caller.say("talk-you"),
            Some(id) => shown.staff.get(&id.0).cloned().unwrap_or_else(|| caller.say("talk-shop")),
        },
        when: shown.visit.language.short(local::shown(zone, m.at)),
        body: m.body.clone(),
    };
    shown.letters.iter().map(line).collect()
}

/// The form for something that was not right, while there is time for it and nothing of it is looked at already.
fn complaint_view(ctx: &Ctx, shown: &Shown) -> Option<ComplaintView> {
    if shown.complained.is_some() {
        return None;
    }
    let lang = shown.visit.language;
    let phrases = words::phrasebook(lang, &["name"]);
    let (until, pieces) = complain::may_complain(&shown.visit, &shown.profile, ctx.now())?;
    let arrival = if shown.visit.back_by_post { "post" } else { "counter" };
    Some(ComplaintView {
        pieces: pieces.iter().map(|p| (p.id.to_string(), phrases.say(&p.name))).collect(),
        slots: shown.slots.clone(),
        raw: RawComplaint {
            key: RequestKey::fresh(),
            arrival: arrival.to_owned(),
            ..RawComplaint::default()
        },
        errors: FieldErrors::default(),
        until: lang.day(until),
    })
}

async fn ask(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(token): Path<String>,
    Posted(raw): Posted<AskRaw>,
) -> Answer {
    caller.knock(Door::Booking, &ctx)?;
    let visit = match open_to_act(&ctx, &caller, &token).await? {
        Ok(visit) => visit,
        Err(page) => return Ok(page),
    };
    match write_letter::by_customer(&ctx, visit, &raw.key, &raw.body).await {
        Ok(()) => Ok(Redirect::to(&format!("/v/{token}?said=asked#talk")).into_response()),
        Err(LetterError::Gone) => Err(Problem::NotFound),
        Err(LetterError::Store(error)) => Err(error.into()),
        Err(LetterError::Fields(errors)) => {
            let shown = show_visit::show_visit(&ctx, visit).await?.ok_or(Problem::NotFound)?;
            caller.speak(shown.visit.language);
            let mut view = view_of(&ctx, &caller, &shown, &token, true);
            let errors = errors.said(&words::phrasebook(shown.visit.language, &["form"]));
            if let Some(talk) = &mut view.talk {
                talk.error = errors.of("body").map(str::to_owned);
                talk.typed = raw.body;
            }
            refused(&caller, &shown, view).await
        }
    }
}

/// The page again, with what is wrong.
async fn refused(caller: &Caller, shown: &Shown, view: VisitView) -> Answer {
    let title = title(caller, shown);
    let page = move || view! { <VisitPage view=view /> };
    Ok(page::with_status(caller, StatusCode::UNPROCESSABLE_ENTITY, &title, page).await)
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct AskRaw {
    key: String,
    body: String,
}

async fn complain(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(token): Path<String>,
    Posted(raw): Posted<RawComplaint>,
) -> Answer {
    caller.knock(Door::Booking, &ctx)?;
    let visit = match open_to_act(&ctx, &caller, &token).await? {
        Ok(visit) => visit,
        Err(page) => return Ok(page),
    };
    let key = RequestKey::parse("complaint", &raw.key)
        .ok_or_else(|| Problem::BadRequest("The form has lost its key.".to_owned()))?;
    let slot = chrono::NaiveDateTime::parse_from_str(&raw.slot, "%Y-%m-%dT%H:%M").ok();
    let arrival = match (raw.arrival.as_str(), slot) {
        ("post", _) => Ok(Arrival::Post),
        ("counter", Some(slot)) => Ok(Arrival::Counter { slot }),
        ("counter", None) => Err(("slot", "Please choose a time.")),
        _ => Err(("arrival", "Please choose how the knives come to us.")),
    };
    let pieces = raw.pieces.iter().filter_map(|id| id.parse().ok()).collect();
    let done = match arrival {
        Ok(arrival) => {
            let said = Complaint { key, pieces, what: raw.what.clone(), arrival };
            complain::complain(&ctx, visit, said).await
        }
        Err((field, why)) => {
            let mut errors = FieldErrors::default();
            errors.add(field, why);
            Err(ComplainError::Fields(errors))
        }
    };
    match done {
        // The page of the new visit is opened by the link in its mail.
        Ok(_) => Ok(Redirect::to(&format!("/v/{token}?said=complained")).into_response()),
        Err(ComplainError::Gone) => Err(Problem::NotFound),
        Err(ComplainError::Store(error)) => Err(error.into()),
        Err(ComplainError::Fields(errors)) => {
            let shown = show_visit::show_visit(&ctx, visit).await?.ok_or(Problem::NotFound)?;
            caller.speak(shown.visit.language);
            let mut view = view_of(&ctx, &caller, &shown, &token, true);
            if let Some(complaint) = &mut view.complaint {
                complaint.errors = errors.said(&words::phrasebook(shown.visit.language, &["form"]));
                complaint.raw = raw;
            }
            refused(&caller, &shown, view).await
        }
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
            caller.speak(shown.visit.language);
            let mut view = view_of(&ctx, &caller, &shown, &token, true);
            let errors = errors.said(&words::phrasebook(shown.visit.language, &["form"]));
            view.way_back = Some((raw, errors));
            return refused(&caller, &shown, view).await;
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
    caller.speak(caller.asked_language());
    Ok(page::render(&caller, &caller.say("link-sent-title"), || {
        view! { <LinkPage address=String::new() error=None sent=true /> }
    })
    .await)
}

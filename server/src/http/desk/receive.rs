//! `/desk/visit/{reference}`: a visit at the desk, and receiving it.

use axum::extract::{Path, RawQuery, State};
use axum::http::StatusCode;
use axum::response::Response;
use leptos::prelude::*;
use serde::Deserialize;
use shop::booking::{self, Arrival, BookedKnife, RawKnife};
use shop::field::FieldErrors;
use shop::piece::PieceState;
use shop::read::Visit;
use shop::tag::Tag;
use web::pages::desk::harm::HarmTyped;
use web::pages::desk::visit::{RawFound, RawParcel, VisitPage, VisitView};

use super::super::caller::{Caller, Staff};
use super::super::form::{self, Posted};
use super::super::problem::Problem;
use super::super::{Answer, page};
use super::letters;
use crate::context::Ctx;
use crate::store::bills;
use crate::store::requests::RequestKey;
use crate::use_cases::receive_visit::{self, Came, Parcel};
use crate::use_cases::tag_piece::Wears;
use crate::use_cases::{confirm_by_desk, issue_bill, knowledge, record_payment, show_desk};
use crate::{local, when};

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Query {
    said: String,
}

/// What was just done, by the word in the address.
fn said_words(said: &str) -> Option<&'static str> {
    Some(match said {
        "received" => "Received. The customer is told; print the tags now.",
        "confirmed" => "Confirmed for the customer.",
        "agreed" => "Saved, and agreed by itself: it gets its place in the plan.",
        "asked" => "Saved. The customer is asked about the price.",
        "stopped" => "Saved. It is stopped: turn it down, or look again.",
        "turned-down" => "Turned down; the customer is told why.",
        "answered" => "The answer is noted.",
        "tagged" => "It has its tag; print it now.",
        "held" => "It is held.",
        "harmed" => {
            "Written down. The customer is told in five minutes; until then it can be taken back below."
        }
        "settled" => "Settled. The customer is told in five minutes; until then it can be worded anew below.",
        "righted" => "Set right. The ledger keeps both entries.",
        "released" => "It goes on.",
        "photo" => "The picture is kept.",
        "paid" => "The payment is recorded.",
        "written" => "Sent; the customer gets it by mail.",
        "returned" => "Handed back; the customer is told.",
        _ => return None,
    })
}

pub(super) async fn show(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(reference): Path<String>,
    RawQuery(query): RawQuery,
) -> Answer {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    let visit = super::find_visit(&ctx, &reference).await?;
    let mut view = view(&ctx, visit, None, FieldErrors::default()).await?;
    view.done = said_words(&query.said).map(str::to_owned);
    Ok(render(&caller, StatusCode::OK, view).await)
}

/// The page again, with what is wrong.
pub(super) async fn again(
    ctx: &Ctx,
    caller: &Caller,
    reference: &str,
    parcel: Option<RawParcel>,
    errors: FieldErrors,
) -> Answer {
    again_with(ctx, caller, reference, parcel, None, errors).await
}

/// The same, with what was typed about harm to a piece.
pub(super) async fn again_with(
    ctx: &Ctx,
    caller: &Caller,
    reference: &str,
    parcel: Option<RawParcel>,
    harm: Option<HarmTyped>,
    errors: FieldErrors,
) -> Answer {
    let visit = super::find_visit(ctx, reference).await?;
    let mut view = view(ctx, visit, parcel, errors).await?;
    view.harm = harm;
    Ok(render(caller, StatusCode::UNPROCESSABLE_ENTITY, view).await)
}

async fn render(caller: &Caller, status: StatusCode, view: VisitView) -> Response {
    let title = format!("Visit {}", view.visit.reference);
    page::with_status(caller, status, &title, move || view! { <VisitPage view=view /> }).await
}

async fn view(
    ctx: &Ctx,
    visit: Visit,
    parcel: Option<RawParcel>,
    errors: FieldErrors,
) -> Result<VisitView, Problem> {
    let profile = knowledge::profile(ctx).await?;
    let knows = knowledge::load(ctx).await?;
    let zone = local::zone(&profile);
    let currency = profile.currency.clone();
    let arrives = match (&visit.arrival, visit.received_at) {
        (_, Some(at)) => format!("received {}", when::short(zone, at)),
        (Arrival::Counter { slot }, None) => format!("over the counter, {}", when::day_and_time(*slot)),
        (Arrival::Post, None) => {
            format!("by post, expected {}", when::day(show_desk::expected_on(&visit, &profile, zone)))
        }
    };
    let issued = bills::of_visit(ctx.store.read(), visit.id).await?;
    let stands = issue_bill::standing(&issued).map(|b| b.number);
    let total = issue_bill::total(&visit, &knows.prices);
    let open = record_payment::open(&visit, total);
    let paid = match &visit.paid {
        Some((paid, how)) => format!("{} ({how}); open {}", paid.show(&currency), open.show(&currency)),
        None => "nothing yet".to_owned(),
    };
    let mut parcel = parcel.unwrap_or_default();
    if RequestKey::parse("receive", &parcel.key).is_none() {
        parcel.key = RequestKey::fresh();
    }
    // What is typed stays; the version is the one on the page now, so that sending it again is a fresh decision.
    parcel.version = visit.version.to_string();
    Ok(VisitView {
        promised: when::day(local::date(zone, visit.promise_at)),
        arrives,
        paid,
        open: if open.0 == 0 { String::new() } else { format!("{}.{:02}", open.0 / 100, open.0 % 100) },
        models: knows.models.iter().map(|m| (m.id.to_string(), format!("{} {}", m.mark, m.name))).collect(),
        parcel,
        payment_key: RequestKey::fresh(),
        ways: record_payment::WAYS.iter().map(|(c, w)| ((*c).to_owned(), (*w).to_owned())).collect(),
        bills: issued.iter().map(|b| (b.number, stands == Some(b.number))).collect(),
        errors,
        done: None,
        harm: None,
        talk: letters::talk(ctx, &visit, zone).await?,
        currency,
        visit,
    })
}

pub(super) async fn receive(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(by): Staff,
    Path(reference): Path<String>,
    Posted(mut raw): Posted<RawParcel>,
) -> Answer {
    let visit = super::find_visit(&ctx, &reference).await?;
    if raw.r#do == "more" {
        raw.knives.push(RawKnife { dull: true, ..RawKnife::default() });
        let view = view(&ctx, visit, Some(raw), FieldErrors::default()).await?;
        return Ok(render(&caller, StatusCode::OK, view).await);
    }
    if raw.r#do == "all" {
        all_here(&visit, &mut raw);
    }
    let parcel = match checked(&ctx, &visit, &raw).await? {
        Ok(parcel) => parcel,
        Err(errors) => return again(&ctx, &caller, &reference, Some(raw), errors).await,
    };
    match receive_visit::receive_visit(&ctx, &by, parcel).await {
        Ok(()) => Ok(super::to_visit(&visit, "received")),
        Err(refused) => {
            let errors = super::complaints(refused)?;
            again(&ctx, &caller, &reference, Some(raw), errors).await
        }
    }
}

/// “All are here” decides what nobody has decided otherwise.
fn all_here(visit: &Visit, raw: &mut RawParcel) {
    let waits = |s| matches!(s, PieceState::Expected | PieceState::Missing | PieceState::Lapsed);
    for piece in visit.pieces.iter().filter(|p| waits(p.state)) {
        let id = piece.id.to_string();
        match raw.pieces.iter_mut().find(|f| f.id == id) {
            Some(found) if found.came.is_empty() => found.came = "here".into(),
            Some(_) => {}
            None => raw.pieces.push(RawFound { id, came: "here".into(), ..RawFound::default() }),
        }
    }
}

fn wears(tag: &str, lost: bool, field: &str, errors: &mut FieldErrors) -> Wears {
    if lost {
        return Wears::Lost;
    }
    if tag.trim().is_empty() {
        return Wears::Nothing;
    }
    match tag.parse::<Tag>() {
        Ok(tag) => Wears::Tag(tag),
        Err(error) => {
            errors.add(field, format!("This tag cannot be right: {error}."));
            Wears::Nothing
        }
    }
}

async fn checked(ctx: &Ctx, visit: &Visit, raw: &RawParcel) -> Result<Result<Parcel, FieldErrors>, Problem> {
    let mut errors = FieldErrors::default();
    let key = RequestKey::parse("receive", &raw.key)
        .ok_or_else(|| Problem::BadRequest("The form carries no key.".to_owned()))?;
    let mut found = Vec::new();
    for (i, row) in raw.pieces.iter().enumerate() {
        let Ok(id) = row.id.parse() else { continue };
        let came = match row.came.as_str() {
            "here" => Came::Here(wears(&row.tag, row.lost, &format!("pieces[{i}][tag]"), &mut errors)),
            "missing" => Came::Missing,
            _ => continue,
        };
        found.push((id, came));
    }
    let knows = knowledge::load(ctx).await?;
    let mut unbooked: Vec<(BookedKnife, Wears)> = Vec::new();
    for (i, knife) in raw.knives.iter().enumerate() {
        let untouched = [&knife.model, &knife.make, &knife.length, &knife.edge, &knife.tag];
        if untouched.iter().all(|t| t.trim().is_empty()) {
            continue;
        }
        if let Some(booked) = booking::check_knife(knife, i, &knows.models, &mut errors) {
            let wears = booked.tag.map_or(Wears::Nothing, Wears::Tag);
            unbooked.push((booked, wears));
        }
    }
    let note = shop::field::text(&mut errors, "note", &raw.note, "the note", 1000).unwrap_or_default();
    if !errors.is_empty() {
        return Ok(Err(errors));
    }
    let version = raw.version.parse().unwrap_or(-1);
    Ok(Ok(Parcel { key, visit: visit.id, version, found, unbooked, note }))
}

pub(super) async fn confirm(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(by): Staff,
    Path(reference): Path<String>,
) -> Answer {
    let visit = super::find_visit(&ctx, &reference).await?;
    match confirm_by_desk::confirm_by_desk(&ctx, &by, visit.id).await {
        Ok(()) => Ok(super::to_visit(&visit, "confirmed")),
        Err(refused) => {
            let errors = super::complaints(refused)?;
            again(&ctx, &caller, &reference, None, errors).await
        }
    }
}

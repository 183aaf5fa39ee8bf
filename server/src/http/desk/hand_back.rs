//! `/desk/visit/{reference}/hand-back`: every knife checked by its tag.

use axum::extract::{Path, State};
use axum::http::StatusCode;
use leptos::prelude::*;
use shop::field::FieldErrors;
use shop::ids::PieceId;
use shop::money::Money;
use shop::read::Visit;
use web::pages::desk::hand_back::{HandBackPage, HandBackView, RawHandBack};

use super::super::caller::{Caller, Staff};
use super::super::form::Posted;
use super::super::problem::Problem;
use super::super::{Answer, page};
use crate::context::Ctx;
use crate::store::requests::RequestKey;
use crate::use_cases::hand_back::{self, HandBack, may_go};
use crate::use_cases::show_desk::{self, Place};
use crate::use_cases::{issue_bill, knowledge, record_payment};

pub(super) async fn show(State(ctx): State<Ctx>, caller: Caller, Path(reference): Path<String>) -> Answer {
    let visit = super::find_visit(&ctx, &reference).await?;
    let way = if visit.back_by_post { "post" } else { "counter" };
    let raw = RawHandBack {
        key: RequestKey::fresh(),
        version: visit.version.to_string(),
        way: way.to_owned(),
        how: "cash".to_owned(),
        ..RawHandBack::default()
    };
    render(&ctx, &caller, StatusCode::OK, visit, raw, FieldErrors::default(), None).await
}

async fn render(
    ctx: &Ctx,
    caller: &Caller,
    status: StatusCode,
    visit: Visit,
    mut raw: RawHandBack,
    errors: FieldErrors,
    scanned: Option<(bool, String)>,
) -> Answer {
    let prices = knowledge::load(ctx).await?.prices;
    let profile = knowledge::profile(ctx).await?;
    let total = issue_bill::total(&visit, &prices);
    let paid = visit.paid.as_ref().map_or(Money(0), |(paid, _)| *paid);
    let open = record_payment::open(&visit, total);
    let words = |money: Money| money.show(&profile.currency);
    let mut money = vec![
        ("In all".to_owned(), words(total)),
        ("Paid".to_owned(), words(paid)),
        ("Open".to_owned(), words(open)),
    ];
    if profile.paid_first {
        money.push(("House rule".to_owned(), "handed over when paid".to_owned()));
    }
    raw.version = visit.version.to_string();
    let view = HandBackView {
        visit,
        raw,
        errors,
        scanned,
        money,
        currency: profile.currency.clone(),
        ways: record_payment::WAYS.iter().map(|(c, w)| ((*c).to_owned(), (*w).to_owned())).collect(),
    };
    let title = format!("Hand back {}", view.visit.reference);
    Ok(page::with_status(caller, status, &title, move || view! { <HandBackPage view=view /> }).await)
}

pub(super) async fn hand_back(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(by): Staff,
    Path(reference): Path<String>,
    Posted(mut raw): Posted<RawHandBack>,
) -> Answer {
    let visit = super::find_visit(&ctx, &reference).await?;
    // Enter in the scanning field, or a scanner that presses it, checks the tag and hands nothing over.
    if raw.r#do != "go" || !raw.scan.trim().is_empty() {
        let (good, words) = scan(&ctx, &visit, &mut raw).await?;
        let (status, mut errors) = (StatusCode::OK, FieldErrors::default());
        if !good {
            errors.add("scan", words.clone());
        }
        let status = if good { status } else { StatusCode::UNPROCESSABLE_ENTITY };
        raw.scan.clear();
        return render(&ctx, &caller, status, visit, raw, errors, good.then_some((true, words))).await;
    }
    let mut errors = FieldErrors::default();
    let by_post = match raw.way.as_str() {
        "post" => true,
        "counter" => false,
        _ => {
            errors.add("way", "Please choose how they go.");
            false
        }
    };
    let way = hand_back::way(by_post, &raw.taken_by, &raw.carrier, &raw.number, &mut errors);
    let payment = record_payment::typed(&raw.amount, &raw.how, &mut errors);
    let pieces: Vec<PieceId> = raw.pieces.iter().filter_map(|id| id.parse().ok()).collect();
    let (Some(way), true) = (way, errors.is_empty()) else {
        return render(&ctx, &caller, StatusCode::UNPROCESSABLE_ENTITY, visit, raw, errors, None).await;
    };
    let key = RequestKey::parse("hand_back", &raw.key)
        .ok_or_else(|| Problem::BadRequest("The form carries no key.".to_owned()))?;
    let version = raw.version.parse().unwrap_or(-1);
    let asked = HandBack { key, visit: visit.id, version, pieces, way, payment, part: raw.part };
    match hand_back::hand_back(&ctx, &by, asked).await {
        Ok(()) => Ok(super::to_visit(&visit, "returned")),
        Err(refused) => {
            let errors = super::complaints(refused)?;
            let visit = super::find_visit(&ctx, &reference).await?;
            render(&ctx, &caller, StatusCode::UNPROCESSABLE_ENTITY, visit, raw, errors, None).await
        }
    }
}

/// Ticks the piece that wears a scanned tag, or says loudly why not.
async fn scan(ctx: &Ctx, visit: &Visit, raw: &mut RawHandBack) -> Result<(bool, String), Problem> {
    Ok(match show_desk::find(ctx, &raw.scan).await? {
        Place::Visit(other, Some(piece)) if other.id != visit.id => {
            let who = other.contact.name;
            (false, format!("STOP: {} belongs to {who}, visit {}.", piece.name, other.reference))
        }
        Place::Visit(_, Some(piece)) if may_go(piece.state) => {
            let id = piece.id.to_string();
            if !raw.pieces.contains(&id) {
                raw.pieces.push(id);
            }
            let left = visit
                .pieces
                .iter()
                .filter(|p| may_go(p.state) && !raw.pieces.contains(&p.id.to_string()))
                .count();
            let rest = match left {
                0 => "That was the last one.".to_owned(),
                n => format!("{n} to go."),
            };
            (true, format!("{} is right. {rest}", piece.name))
        }
        Place::Visit(_, Some(piece)) => (false, format!("{} is {} and stays here.", piece.name, piece.state)),
        Place::Visit(_, None) => (false, "That is a reference; scan the tag on the knife.".to_owned()),
        Place::Knife(tag) => (false, format!("The knife with tag {tag} is in no open visit.")),
        Place::Nothing => (false, "No knife of ours wears this tag.".to_owned()),
        Place::NotACode(why) => (false, why),
    })
}

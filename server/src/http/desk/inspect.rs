//! `/desk/piece/{id}/inspect`: the inspection sheet, and turning a piece down.

use axum::body::Bytes;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::Response;
use leptos::prelude::*;
use shop::asking::Told;
use shop::field::FieldErrors;
use shop::inspection::{RawChip, RawInspection};
use shop::prefill;
use shop::read::{Piece, Visit};
use shop::route::OperationKind;
use shop::units::short;
use web::pages::desk::inspect::{InspectPage, RawRoute, RawTurnDown, SheetView};
use web::pages::desk::sheet::Aid;

use super::super::caller::{Caller, Staff};
use super::super::form::{self, Posted};
use super::super::problem::Problem;
use super::super::{Answer, page};
use crate::context::Ctx;
use crate::store::{knives, ledger, staff};
use crate::use_cases::hands::Refused;
use crate::use_cases::inspect_piece::{self, Outcome, RouteChanges, Sheet, may_measure};
use crate::use_cases::{knowledge, turn_down_piece};
use crate::{local, when};

/// What was sent, to be shown again.
#[derive(Debug, Default)]
struct Sent {
    raw: Option<RawInspection>,
    route: RawRoute,
    turn_down: Option<RawTurnDown>,
    errors: FieldErrors,
    conflict: Option<String>,
}

pub(super) async fn show(State(ctx): State<Ctx>, caller: Caller, Path(id): Path<String>) -> Answer {
    let (piece, visit) = super::find_piece(&ctx, &id).await?;
    render(&ctx, &caller, StatusCode::OK, piece, visit, Sent::default()).await
}

pub(super) async fn save(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(by): Staff,
    Path(id): Path<String>,
    body: Bytes,
) -> Answer {
    let (piece, visit) = super::find_piece(&ctx, &id).await?;
    let mut raw: RawInspection = form::read(&body)?;
    let route: RawRoute = form::read(&body)?;
    raw.chips.retain(|c| [&c.depth, &c.width, &c.at].iter().any(|t| !t.trim().is_empty()));
    if route.r#do == "more" {
        raw.chips.push(RawChip::default());
    }
    let sheet = Sheet { raw: raw.clone(), ask: route.ask, changes: changes(&route) };
    if route.r#do != "save" {
        let knows = knowledge::load(&ctx).await?;
        let errors = match (route.r#do.as_str(), inspect_piece::judge(&knows, &piece, &sheet)) {
            ("more", _) | (_, Ok(_)) => FieldErrors::default(),
            (_, Err(errors)) => errors,
        };
        let status = if errors.is_empty() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
        let sent = Sent { raw: Some(raw), route, errors, ..Sent::default() };
        return render(&ctx, &caller, status, piece, visit, sent).await;
    }
    match inspect_piece::inspect_piece(&ctx, &by, piece.id, &sheet).await {
        Ok(outcome) => {
            let said = match outcome {
                Outcome::Agreed => "agreed",
                Outcome::Asked => "asked",
                Outcome::Stopped => "stopped",
            };
            Ok(super::to_visit(&visit, said))
        }
        Err(Refused::Stale(_)) => {
            let conflict = Some(last_change(&ctx, &piece).await?);
            let sent = Sent { raw: Some(raw), route, conflict, ..Sent::default() };
            render(&ctx, &caller, StatusCode::CONFLICT, piece, visit, sent).await
        }
        Err(refused) => {
            let errors = super::complaints(refused)?;
            let sent = Sent { raw: Some(raw), route, errors, ..Sent::default() };
            render(&ctx, &caller, StatusCode::UNPROCESSABLE_ENTITY, piece, visit, sent).await
        }
    }
}

pub(super) async fn turn_down(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(by): Staff,
    Path(id): Path<String>,
    Posted(raw): Posted<RawTurnDown>,
) -> Answer {
    let (piece, visit) = super::find_piece(&ctx, &id).await?;
    let version = raw.version.parse().unwrap_or(-1);
    match turn_down_piece::turn_down_piece(&ctx, &by, piece.id, version, &raw.code, &raw.reason).await {
        Ok(()) => Ok(super::to_visit(&visit, "turned-down")),
        Err(refused) => {
            let errors = super::complaints(refused)?;
            let sent = Sent { turn_down: Some(raw), errors, ..Sent::default() };
            render(&ctx, &caller, StatusCode::UNPROCESSABLE_ENTITY, piece, visit, sent).await
        }
    }
}

/// The changes to the route, from the form. Words that are no operations of ours change nothing.
fn changes(raw: &RawRoute) -> RouteChanges {
    let kind = |word: &str| word.parse::<OperationKind>().ok();
    let steps = raw.steps.iter().filter_map(|s| Some((kind(&s.kind)?, s)));
    let minutes = raw.add_minutes.trim().parse().ok();
    RouteChanges {
        leave_out: steps.clone().filter(|(_, s)| s.leave_out).map(|(k, _)| k).collect(),
        add: kind(&raw.add).map(|k| (k, minutes)).into_iter().collect(),
        places: steps.filter_map(|(k, s)| Some((k, s.place.trim().parse().ok()?))).collect(),
        reason: raw.route_reason.clone(),
    }
}

/// Who changed a piece last, and what they did.
async fn last_change(ctx: &Ctx, piece: &Piece) -> Result<String, Problem> {
    let db = ctx.store.read();
    let entries = ledger::of_piece(db, piece.id).await?;
    let Some(last) = entries.last() else { return Ok("The piece was changed.".to_owned()) };
    let zone = local::zone(&knowledge::profile(ctx).await?);
    let who = match last.who {
        shop::ledger::Who::Staff(id) => {
            staff::by_id(db, id.0).await?.map_or("Somebody".into(), |p| p.full_name)
        }
        shop::ledger::Who::Customer => "The customer".to_owned(),
        shop::ledger::Who::Program => "The program".to_owned(),
    };
    Ok(format!("{who}, {}: {}", when::short(zone, last.at), last.fact.sentence()))
}

async fn render(
    ctx: &Ctx,
    caller: &Caller,
    status: StatusCode,
    piece: Piece,
    visit: Visit,
    sent: Sent,
) -> Answer {
    let knows = knowledge::of_knife(ctx, piece.knife).await?;
    let profile = knowledge::profile(ctx).await?;
    let zone = local::zone(&profile);
    let db = ctx.store.read();
    let knife = match piece.knife {
        Some(id) => knives::get(db, id).await?,
        None => None,
    };
    let model = piece.booked.model.and_then(|id| knows.model(id)).cloned();
    let before = knife.as_ref().and_then(|k| k.latest.as_ref()).filter(|_| piece.inspection.is_none());
    let mut raw = sent.raw.unwrap_or_else(|| match &piece.inspection {
        Some(saved) => prefill::typed(saved),
        None => prefill::prefill(&piece.booked, model.as_ref(), before),
    });
    raw.version = piece.version.to_string();
    let last = before.map(|sheet| {
        let at = knife.as_ref().and_then(|k| k.heights.last()).map(|(at, _)| when::short(zone, *at));
        let mm = |v: f64| format!("{} mm", short(v, 2));
        let figures = vec![
            ("Height, middle".to_owned(), mm(sheet.heights_mm.1)),
            ("Behind the edge".to_owned(), mm(sheet.behind_edge_mm)),
            ("Angle".to_owned(), format!("{}°", short(sheet.angle_deg, 1))),
            ("Chips".to_owned(), sheet.chips.len().to_string()),
        ];
        (at.unwrap_or_default(), figures)
    });
    let unbooked = inspect_piece::was_unbooked(db, piece.id).await?;
    let setups = setups(&knows);
    let aid = Aid {
        setups: setups.iter().map(|(id, _)| id.clone()).collect(),
        told: Told::about(&piece, unbooked),
        rush: piece.rush,
        currency: profile.currency.clone(),
        knows: assess::Knowledge { models: model.into_iter().collect(), ..knows.clone() },
    };
    let sheet = Sheet { raw: raw.clone(), ask: sent.route.ask, changes: changes(&sent.route) };
    let answer =
        inspect_piece::judge(&knows, &piece, &sheet).ok().map(|j| aid.about(&j.inspection, j.verdict));
    let turn_down = sent.turn_down.unwrap_or_else(|| fresh_turn_down(&piece));
    let open = may_measure(piece.state) && piece.tag.is_some();
    let view = SheetView {
        reference: visit.reference.to_string(),
        visit_href: format!("/desk/visit/{}", visit.reference.plain()),
        raw,
        route: sent.route,
        turn_down: RawTurnDown { version: piece.version.to_string(), ..turn_down },
        errors: sent.errors,
        conflict: sent.conflict,
        answer,
        aid,
        last,
        setups,
        steels: knows.rates.all_steels().map(|s| s.name.to_string()).collect(),
        open,
        piece,
    };
    let title = format!("Measure {}", view.piece.name);
    let response: Response =
        page::with_status(caller, status, &title, move || view! { <InspectPage view=view /> }).await;
    Ok(response)
}

/// A verdict that says no proposes the words; somebody still has to mean them.
fn fresh_turn_down(piece: &Piece) -> RawTurnDown {
    let refusal = piece.verdict.as_ref().and_then(|v| v.refusal.clone());
    let (code, reason) = refusal.unwrap_or_default();
    RawTurnDown { version: String::new(), code, reason }
}

/// The setups teeth are cut on, each with its wheel as it is now.
fn setups(knows: &assess::Knowledge) -> Vec<(String, String)> {
    inspect_piece::tooth_setups(knows)
        .into_iter()
        .map(|id| {
            let station = knows.bench.stations.iter().find(|s| s.setups.iter().any(|x| x.id == id));
            let name = station.map_or_else(|| id.clone(), |s| knows.bench.setup_name(&s.id, &id));
            let wheel = knows.wheels.iter().find(|w| w.setup == id).map(|w| {
                let teeth = w.teeth.map(|t| {
                    let radius = t.ridge_radius_mm.map(|r| format!(", ridge R {}", short(r, 1)));
                    format!(", pitch {} mm{}", short(t.pitch_mm, 2), radius.unwrap_or_default())
                });
                format!(" ({}, Ø {} mm{})", w.mark, short(w.diameter_mm, 1), teeth.unwrap_or_default())
            });
            (id, format!("{name}{}", wheel.unwrap_or_default()))
        })
        .collect()
}

//! A piece is measured: what is wrong, what it takes, what it costs, which way it goes, and whether the customer is asked.

use assess::Knowledge;
use chrono::{DateTime, TimeDelta, Utc};
use shop::asking::Told;
use shop::bench::{Model, Want};
use shop::field::FieldErrors;
use shop::ids::PieceId;
use shop::inspection::{self, Inspection, RawInspection};
use shop::ledger::Fact;
use shop::money::Money;
use shop::piece::{Event, PieceState, Waiting, WaitsOn};
use shop::prefill;
use shop::read::{OperationState, Piece, Verdict, Visit};
use shop::route::{OperationKind, RouteStep};

use super::hands::{self, Refused};
use super::receive_visit::planned;
use super::{answer_quote, knowledge};
use crate::context::Ctx;
use crate::post::notice::Notice;
use crate::post::visit::QuoteAsked;
use crate::store::staff::Person;
use crate::store::{StoreError, WriteTx, knives, ledger, operations, outbox, pieces, visits};

/// Minutes of a step somebody adds without saying how long it takes.
const ADDED_MINUTES: u32 = 10;

/// How the proposed route is changed by hand.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RouteChanges {
    /// Steps left out.
    pub leave_out: Vec<OperationKind>,
    /// Steps added, with minutes where they were given.
    pub add: Vec<(OperationKind, Option<u32>)>,
    /// Places in the route, from 1, where they were typed.
    pub places: Vec<(OperationKind, u32)>,
    /// Why.
    pub reason: String,
}

/// A sheet as typed, and what else stands on the page.
#[derive(Debug, Clone, Default)]
pub struct Sheet {
    /// The figures.
    pub raw: RawInspection,
    /// Ask the customer even when the price lies within the booked range.
    pub ask: bool,
    /// Changes to the proposed route.
    pub changes: RouteChanges,
}

/// What a sheet comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The checked figures.
    pub inspection: Inspection,
    /// What we say, with the route as changed.
    pub verdict: Verdict,
    /// The route differs from the proposed one.
    pub changed: bool,
}

/// What came of saving a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Agreed by itself.
    Agreed,
    /// The customer is asked.
    Asked,
    /// It must not be ground; somebody decides.
    Stopped,
}

/// The ids of all setups teeth can be cut on.
pub fn tooth_setups(knows: &Knowledge) -> Vec<String> {
    let cuts = |k: &OperationKind| matches!(k, OperationKind::Serrate | OperationKind::Tooth);
    let stations = knows.bench.stations.iter().filter(|s| s.does.iter().any(cuts));
    stations.flat_map(|s| s.setups.iter().map(|x| x.id.clone())).collect()
}

/// Checks a sheet and says what it comes to. Writes nothing.
pub fn judge(knows: &Knowledge, piece: &Piece, sheet: &Sheet) -> Result<Judged, FieldErrors> {
    let model = piece.booked.model.and_then(|id| knows.model(id));
    let mut raw = sheet.raw.clone();
    prefill::complete(&mut raw, model);
    let inspection = inspection::check(&raw, &tooth_setups(knows))?;
    let mut verdict = verdict(knows, &inspection, model, piece)?;
    let changed = change_route(knows, &inspection, &mut verdict, &sheet.changes)?;
    Ok(Judged { inspection, verdict, changed })
}

fn verdict(
    knows: &Knowledge,
    inspection: &Inspection,
    model: Option<&Model>,
    piece: &Piece,
) -> Result<Verdict, FieldErrors> {
    assess::inspected(knows, inspection, model, piece.rush, is_free(piece)).map_err(|unsound| {
        let mut errors = FieldErrors::default();
        errors.add(unsound.field, unsound.message);
        errors
    })
}

/// A complaint: its estimate says that nothing is asked.
fn is_free(piece: &Piece) -> bool {
    piece.estimate.price.high == Money(0) && !piece.estimate.quote.lines.is_empty()
}

/// Steps nobody may leave out: nothing goes home that has not been measured and has not cut.
fn may_leave_out(kind: OperationKind) -> bool {
    !matches!(kind, OperationKind::Inspect | OperationKind::Prove)
}

fn change_route(
    knows: &Knowledge,
    inspection: &Inspection,
    verdict: &mut Verdict,
    changes: &RouteChanges,
) -> Result<bool, FieldErrors> {
    let mut errors = FieldErrors::default();
    let proposed: Vec<OperationKind> = verdict.route.iter().map(|s| s.kind).collect();
    for kind in &changes.leave_out {
        if !may_leave_out(*kind) && proposed.contains(kind) {
            errors.add("route", format!("“{kind}” cannot be left out: nothing goes home that has not cut."));
        }
    }
    verdict.route.retain(|s| !changes.leave_out.contains(&s.kind) || !may_leave_out(s.kind));
    for (kind, minutes) in &changes.add {
        if verdict.route.iter().any(|s| s.kind == *kind) {
            continue;
        }
        match added(knows, inspection, *kind, minutes.unwrap_or(ADDED_MINUTES), &changes.reason) {
            Some(step) => verdict.route.push(step),
            None => errors.add("add", format!("No open station of ours can {kind}.")),
        }
    }
    let natural = |kind: OperationKind| kind as u32 * 2 + 1;
    let by_nature = |s: &RouteStep| natural(s.kind);
    verdict.route.sort_by_key(by_nature);
    move_to_places(&mut verdict.route, &changes.places);
    let now: Vec<OperationKind> = verdict.route.iter().map(|s| s.kind).collect();
    let changed = now != proposed;
    if changed && changes.reason.trim().chars().count() < 5 {
        errors.add("route_reason", "Please say why the route is another one.");
    }
    let minutes = verdict.route.iter().map(|s| s.minutes).sum();
    verdict.minutes = (minutes, minutes);
    errors.or(Some(changed))
}

/// Puts the steps that were given a place there, counted from 1; the others keep their order around them.
fn move_to_places(route: &mut Vec<RouteStep>, places: &[(OperationKind, u32)]) {
    let mut places: Vec<_> = places.to_vec();
    places.sort_by_key(|p| p.1);
    let mut moved = Vec::new();
    for (kind, place) in places {
        // A place that is the natural one moves nothing.
        if let Some(at) = route.iter().position(|s| s.kind == kind) {
            moved.push((route.remove(at), place));
        }
    }
    for (step, place) in moved {
        let at = (place.max(1) as usize - 1).min(route.len());
        route.insert(at, step);
    }
}

fn added(
    knows: &Knowledge,
    inspection: &Inspection,
    kind: OperationKind,
    minutes: u32,
    reason: &str,
) -> Option<RouteStep> {
    let edge = matches!(kind, OperationKind::Bevel | OperationKind::Hone | OperationKind::Serrate)
        .then_some(inspection.edge);
    let setup = inspection
        .teeth
        .as_ref()
        .and_then(|t| t.setup.as_deref())
        .filter(|_| matches!(kind, OperationKind::Serrate | OperationKind::Tooth));
    let angle = inspection.target_angle_deg.unwrap_or(inspection.angle_deg);
    let (station, setup) = knows.bench.place(kind, Want { setup, angle_deg: Some(angle), edge })?;
    let minutes = minutes.clamp(1, 480);
    Some(RouteStep {
        kind,
        station: station.id.clone(),
        setup: setup.id.clone(),
        minutes,
        attended: station.attended.map(|a| a.min(minutes)),
        lag: station.rest,
        max_lag: None,
        skill: station.skill.clone(),
        cut: None,
        not_before: None,
        targets: Vec::new(),
        reason: reason.trim().to_owned(),
    })
}

/// Saves a sheet.
pub async fn inspect_piece(ctx: &Ctx, by: &Person, id: PieceId, sheet: &Sheet) -> Result<Outcome, Refused> {
    let knife = pieces::get(ctx.store.read(), id).await?.ok_or(Refused::Gone)?.knife;
    let knows = knowledge::of_knife(ctx, knife).await?;
    let version = sheet.raw.version.trim().parse().map_err(|_| Refused::Stale("this piece"))?;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut piece = hands::piece(&tx, id, version).await?;
    piece.state.after(Event::Measure)?;
    if piece.tag.is_none() {
        return Err(Refused::field("which", "This piece has no tag: say first which knife it is."));
    }
    let judged = judge(&knows, &piece, sheet).map_err(Refused::Fields)?;
    let profile = hands::profile(&tx).await?;
    let unbooked = was_unbooked(&tx, id).await?;
    let why = Told::about(&piece, unbooked)
        .why_ask(&judged.inspection, &judged.verdict, &profile.currency)
        .or_else(|| sheet.ask.then(|| "The desk wants the customer to decide.".to_owned()));
    let outcome = settle(&mut piece, judged, why)?;
    let facts = facts(&piece, outcome, sheet);
    let note = if piece.waiting.is_some() || sheet.changes.reason.trim().is_empty() {
        sheet.raw.note.clone()
    } else {
        sheet.changes.reason.clone()
    };
    hands::save(&tx, &mut piece, None, hands::who(by), &facts, &note, now).await?;
    lay_route(ctx, &tx, &piece, outcome.0, by, now).await?;
    if let (Some(knife), Some(latest)) = (piece.knife, &piece.inspection) {
        knives::set_latest(&tx, knife, latest).await?;
    }
    let visit = visits::get(&tx, piece.visit).await?.ok_or(Refused::Gone)?;
    if outcome.0 == Outcome::Asked {
        ask(ctx, &tx, &visit, knows.prices.withdrawn).await?;
    } else {
        no_more_to_measure(ctx, &tx, &visit, knows.prices.withdrawn).await?;
    }
    tx.commit().await?;
    hands::ring(ctx, visit.id);
    Ok(outcome.0)
}

/// The piece as it stands with its new verdict, and whether its route was changed by hand.
fn settle(piece: &mut Piece, judged: Judged, why_ask: Option<String>) -> Result<(Outcome, bool), Refused> {
    piece.state = piece.state.after(Event::Measure)?;
    let total = judged.verdict.quote.total;
    let outcome = if let Some((_, why)) = &judged.verdict.refusal {
        piece.agreed = None;
        piece.waiting = Some(Waiting { on: WaitsOn::Shop, what: format!("Stopped: {why}") });
        Outcome::Stopped
    } else if let Some(why) = why_ask {
        piece.agreed = None;
        piece.waiting = Some(Waiting { on: WaitsOn::Customer, what: why });
        Outcome::Asked
    } else {
        piece.agreed = Some(total);
        piece.waiting = None;
        piece.state = piece.state.after(Event::Agree)?;
        Outcome::Agreed
    };
    piece.inspection = Some(judged.inspection);
    piece.verdict = Some(judged.verdict);
    Ok((outcome, judged.changed))
}

fn facts(piece: &Piece, (outcome, changed): (Outcome, bool), sheet: &Sheet) -> Vec<Fact> {
    let (Some(verdict), Some(inspection)) = (&piece.verdict, &piece.inspection) else { return Vec::new() };
    let total: Money = verdict.quote.total;
    let mut measures = assess::measures(inspection);
    if sheet.raw.behind_edge.trim().is_empty() {
        // Worked out from the drawing, so not measured.
        measures.behind_edge_mm = None;
    }
    let mut facts = vec![Fact::Measured {
        measures,
        recession_mm: verdict.likely_mm(),
        services_left: verdict.services_after,
        limited_by: verdict.limited_by.clone(),
    }];
    if changed {
        facts.push(Fact::RouteChanged { operations: verdict.route.iter().map(|s| s.kind).collect() });
    }
    match outcome {
        Outcome::Agreed => {
            facts.push(Fact::Quoted { total });
            facts.push(Fact::Agreed { total, within_range: true });
        }
        Outcome::Asked => {
            facts.push(Fact::Quoted { total });
            facts.push(Fact::Waits { on: WaitsOn::Customer });
        }
        Outcome::Stopped => facts.push(Fact::Waits { on: WaitsOn::Shop }),
    }
    facts
}

/// Replaces what is still open by the real route; looking and measuring is done by now.
async fn lay_route(
    ctx: &Ctx,
    tx: &WriteTx,
    piece: &Piece,
    outcome: Outcome,
    by: &Person,
    now: DateTime<Utc>,
) -> Result<(), StoreError> {
    let mut first = 0;
    for mut op in operations::of_piece(tx, piece.id).await? {
        let open = matches!(op.state, OperationState::Open | OperationState::Started);
        if op.step.kind == OperationKind::Inspect && open {
            op.state = OperationState::Done;
            op.done_at = Some(now);
            op.by = Some(shop::ids::StaffId(by.id));
            operations::save(tx, &op).await?;
        }
        if op.state != OperationState::Open {
            first = first.max(op.position + 1);
        }
    }
    operations::drop_open(tx, piece.id).await?;
    let done: Vec<_> = operations::of_piece(tx, piece.id).await?.iter().map(|op| op.step.kind).collect();
    if let (Some(verdict), true) = (&piece.verdict, outcome != Outcome::Stopped) {
        let once = |kind| matches!(kind, OperationKind::Inspect | OperationKind::Clean);
        let route: Vec<_> = verdict
            .route
            .iter()
            .filter(|s| s.kind != OperationKind::Inspect && !(once(s.kind) && done.contains(&s.kind)))
            .cloned()
            .collect();
        operations::insert(tx, &planned(ctx, piece, &route, false, first)).await?;
    }
    Ok(())
}

/// Nobody has ever told the customer a price for it.
pub async fn was_unbooked(db: &impl crate::store::Queries, piece: PieceId) -> Result<bool, StoreError> {
    let entries = ledger::of_piece(db, piece).await?;
    Ok(entries.iter().any(|e| matches!(e.fact, Fact::Received { unbooked: true, .. })))
}

/// A question waits this long for the other knives of its visit that are in hand and not measured yet, so that whoever
/// brings five knives gets one letter and not five.
const GATHERED: TimeDelta = TimeDelta::minutes(15);

/// Asks about every piece of the visit that waits for an answer, in one letter; one that still waits in the post is taken
/// back for it.
async fn ask(ctx: &Ctx, tx: &WriteTx, visit: &Visit, withdrawn: Money) -> Result<(), Refused> {
    if visit.contact.email.is_empty() {
        return Ok(());
    }
    let profile = hands::profile(tx).await?;
    let link = hands::link(ctx, tx, visit.id).await?;
    let notice = Notice::QuoteAsked(Box::new(QuoteAsked {
        visit: visit.clone(),
        profile,
        withdrawn,
        link,
        again: false,
    }));
    outbox::take_back(tx, visit.id.0, notice.kind()).await?;
    let more = visit.pieces.iter().any(|p| p.state == PieceState::InHand && p.waiting.is_none());
    let now = ctx.now();
    let due_at = if more { now + GATHERED } else { now };
    let letter = notice.letter(&visit.contact.email, &visit.contact.name);
    outbox::queue_for(tx, ctx.new_id(), letter, due_at, now).await?;
    Ok(())
}

/// The last piece of a visit that was in hand is measured: a question that was held back for it may go.
async fn no_more_to_measure(ctx: &Ctx, tx: &WriteTx, visit: &Visit, withdrawn: Money) -> Result<(), Refused> {
    let asked = visit.pieces.iter().any(|p| answer_quote::asked(p).is_some());
    let more = visit.pieces.iter().any(|p| p.state == PieceState::InHand && p.waiting.is_none());
    let held = !more && asked && outbox::take_back(tx, visit.id.0, "quote").await? > 0;
    if held { ask(ctx, tx, visit, withdrawn).await } else { Ok(()) }
}

/// True while a piece may be measured.
pub fn may_measure(state: PieceState) -> bool {
    state.after(Event::Measure).is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn step(kind: OperationKind) -> RouteStep {
        RouteStep {
            kind,
            station: "s".into(),
            setup: "x".into(),
            minutes: 5,
            attended: None,
            lag: 0,
            max_lag: None,
            skill: None,
            cut: None,
            not_before: None,
            targets: vec![],
            reason: String::new(),
        }
    }

    #[test]
    fn a_step_goes_to_the_place_it_was_given() {
        use OperationKind::{Bevel, Hone, Prove, Repair};
        let mut route: Vec<_> = [Repair, Bevel, Hone, Prove].map(step).to_vec();
        move_to_places(&mut route, &[(Hone, 1)]);
        assert_eq!(route.iter().map(|s| s.kind).collect::<Vec<_>>(), [Hone, Repair, Bevel, Prove]);
        move_to_places(&mut route, &[(Repair, 99)]);
        assert_eq!(route.iter().map(|s| s.kind).collect::<Vec<_>>(), [Hone, Bevel, Prove, Repair]);
    }
}

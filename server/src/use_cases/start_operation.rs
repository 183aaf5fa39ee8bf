//! Somebody begins an operation, or hands one that is begun to a colleague.

use chrono::{DateTime, TimeDelta, Utc};
use shop::bench::Bench;
use shop::ids::{OperationId, StaffId};
use shop::ledger::Fact;
use shop::piece::{Event, PieceState};
use shop::profile::Profile;
use shop::read::{Operation, OperationState, Piece};
use shop::route::OperationKind;
use shop::safety;

use super::hands::{self, Refused};
use crate::context::Ctx;
use crate::local;
use crate::store::documents::Crew;
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::setup_checks;
use crate::store::staff::{self, Person, Role};
use crate::store::{WriteTx, operations, settings, wheels};

/// Begins an operation. Whoever is second is told who was first.
pub async fn start_operation(
    ctx: &Ctx,
    by: &Person,
    key: &RequestKey,
    id: OperationId,
) -> Result<(), Refused> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(_) = requests::claim(&tx, key, now).await? {
        return Ok(());
    }
    let (mut operation, mut piece) = hands::operation(&tx, id).await?;
    match operation.state {
        OperationState::Open => {}
        OperationState::Started if operation.by == Some(StaffId(by.id)) => return Ok(()),
        OperationState::Started => {
            let name = name_of(&tx, operation.by).await?;
            return Err(Refused::first(format!(
                "{name} has already begun this one. Take another, or ask {name}."
            )));
        }
        OperationState::Done => return Err(Refused::first("This is already done.")),
        OperationState::Dropped => return Err(Refused::first("This is no longer on the route.")),
    }
    if let Some(waiting) = &piece.waiting {
        return Err(Refused::first(format!(
            "It waits: {}. It goes on when that is settled.",
            waiting.what.trim_end_matches('.')
        )));
    }
    in_turn(&tx, &operation, now).await?;
    let wheel = station_is_ready(&tx, by, &operation, now).await?;
    let event = event_of(&piece, operation.step.kind)?;
    if operation.pinned {
        operations::pin(&tx, &operation, None).await?;
        operation.version += 1;
        operation.pinned = false;
    }
    operation.state = OperationState::Started;
    operation.started_at = Some(now);
    operation.step.not_before = None;
    operation.by = Some(StaffId(by.id));
    hands::save_operation(&tx, &mut operation).await?;
    let fact = Fact::Started { operation: id, kind: operation.step.kind, wheel };
    hands::save(&tx, &mut piece, event, hands::who(by), &[fact], "", now).await?;
    requests::settle(&tx, key, id.0).await?;
    tx.commit().await?;
    hands::ring(ctx, piece.visit);
    Ok(())
}

/// Hands an operation that is begun to a colleague.
pub async fn hand_over(
    ctx: &Ctx,
    by: &Person,
    key: &RequestKey,
    id: OperationId,
    to: StaffId,
) -> Result<(), Refused> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(_) = requests::claim(&tx, key, now).await? {
        return Ok(());
    }
    let (mut operation, mut piece) = hands::operation(&tx, id).await?;
    if operation.state != OperationState::Started {
        return Err(Refused::first("Only work that is begun can be handed over."));
    }
    let colleague = staff::by_id(&tx, to.0).await?.filter(|p| p.left_at.is_none()).ok_or(Refused::Gone)?;
    may_do(&tx, &colleague, &operation).await?;
    operation.by = Some(to);
    hands::save_operation(&tx, &mut operation).await?;
    let facts = [
        Fact::Stopped { operation: id, code: "handed_over".into() },
        Fact::Started { operation: id, kind: operation.step.kind, wheel: None },
    ];
    let note = format!("Handed over to {}.", colleague.full_name);
    hands::save(&tx, &mut piece, None, hands::who(by), &facts, &note, now).await?;
    requests::settle(&tx, key, id.0).await?;
    tx.commit().await?;
    hands::ring(ctx, piece.visit);
    Ok(())
}

/// What beginning this kind of work means for the piece. Looking and washing take no steel and need no agreement.
fn event_of(piece: &Piece, kind: OperationKind) -> Result<Option<Event>, Refused> {
    let harmless = matches!(kind, OperationKind::Inspect | OperationKind::Clean);
    match piece.state {
        PieceState::InHand | PieceState::Measured if harmless => Ok(None),
        PieceState::InHand => Err(Refused::first("It has not been inspected yet. Measure it first.")),
        PieceState::Measured => {
            Err(Refused::first("Its price is not agreed yet. Never grind what nobody has agreed to."))
        }
        PieceState::Expected => Err(Refused::first("It has not been received yet.")),
        PieceState::AtBench | PieceState::Proven => Ok(None),
        _ => {
            piece.state.after(Event::Start)?;
            Ok(Some(Event::Start))
        }
    }
}

/// What comes before on the route is done, and has rested.
async fn in_turn(tx: &WriteTx, operation: &Operation, now: DateTime<Utc>) -> Result<(), Refused> {
    let route = operations::of_piece(tx, operation.piece).await?;
    let before: Vec<_> = route.iter().filter(|o| o.position < operation.position).collect();
    if let Some(open) = before.iter().find(|o| o.state != OperationState::Done) {
        return Err(Refused::first(format!("First it has to be done: {}.", open.step.kind)));
    }
    if let Some((last, done_at)) = before.last().and_then(|o| Some((o, o.done_at?))) {
        let rested = done_at + TimeDelta::minutes(i64::from(last.step.lag));
        if rested > now {
            let zone =
                settings::get::<Profile>(tx).await?.map_or(chrono_tz::Tz::UTC, |p| local::zone(&p.value));
            return Err(Refused::first(format!(
                "It rests until {} after “{}”.",
                local::shown(zone, rested).format("%-H:%M"),
                last.step.kind
            )));
        }
    }
    Ok(())
}

/// The station has room, its setup was checked today, what runs there may run, and whoever begins knows the work.
async fn station_is_ready(
    tx: &WriteTx,
    by: &Person,
    operation: &Operation,
    now: DateTime<Utc>,
) -> Result<Option<shop::ids::WheelId>, Refused> {
    let bench = settings::get::<Bench>(tx).await?.ok_or(Refused::Gone)?.value;
    let station = bench.station(&operation.step.station).ok_or(Refused::Gone)?;
    let setup = station.setups.iter().find(|s| s.id == operation.step.setup).ok_or(Refused::Gone)?;
    if station.closed {
        return Err(Refused::first(format!("The {} is out of order.", station.name)));
    }
    let begun: Vec<Operation> = operations::ahead(tx)
        .await?
        .into_iter()
        .map(|(op, _)| op)
        .filter(|op| op.state == OperationState::Started && op.step.station == station.id)
        .collect();
    if begun.len() >= station.basin.max(1) as usize {
        let name = name_of(tx, begun.first().and_then(|op| op.by)).await?;
        return Err(Refused::first(format!(
            "The {} is taken: {name} works there. Finish or stop that one first.",
            station.name
        )));
    }
    if let Some(other) = begun.iter().find(|op| op.step.setup != operation.step.setup) {
        return Err(Refused::first(format!(
            "In the {} are pieces in another setup ({}).",
            station.name, other.step.setup
        )));
    }
    let wheel = wheels::for_setup(tx, &station.id, &setup.id).await?.into_iter().next().map(|k| k.wheel);
    let checks = safety::setup_checks(station, setup, wheel.as_ref()).map_err(Refused::First)?;
    if !checks.is_empty() && !is_checked(tx, &station.id, &setup.id, now).await? {
        return Err(Refused::first("Go through the setup checks first."));
    }
    may_do(tx, by, operation).await?;
    Ok(wheel.map(|w| w.id))
}

/// Whether the station stands in this setup, checked today.
pub(super) async fn is_checked(
    tx: &WriteTx,
    station: &str,
    setup: &str,
    now: DateTime<Utc>,
) -> Result<bool, Refused> {
    let zone = settings::get::<Profile>(tx).await?.map_or(chrono_tz::Tz::UTC, |p| local::zone(&p.value));
    let last = setup_checks::latest(tx, station).await?;
    Ok(last.is_some_and(|c| c.setup == setup && local::date(zone, c.at) == local::date(zone, now)))
}

/// Whoever does it has the skill it takes. The owner decides for themselves.
async fn may_do(tx: &WriteTx, who: &Person, operation: &Operation) -> Result<(), Refused> {
    let Some(skill) = &operation.step.skill else { return Ok(()) };
    let crew = settings::get_or_default::<Crew>(tx).await?.value;
    let knows = crew.hands.iter().any(|h| h.staff.0 == who.id && h.skills.contains(skill));
    if knows || crew.hands.is_empty() || who.roles.include(Role::Owner) {
        return Ok(());
    }
    Err(Refused::first(format!(
        "This is for somebody who knows how to {skill}; {} is not on that list.",
        who.full_name
    )))
}

async fn name_of(tx: &WriteTx, who: Option<StaffId>) -> Result<String, Refused> {
    let person = match who {
        Some(id) => staff::by_id(tx, id.0).await?,
        None => None,
    };
    Ok(person.map_or_else(|| "Somebody".to_owned(), |p| p.full_name))
}

//! Somebody has done an operation: the minutes are counted, what was measured is kept, and the last one finishes the piece.

use chrono::{DateTime, Utc};
use shop::ids::OperationId;
use shop::ledger::{Fact, Measures};
use shop::piece::Event;
use shop::read::{Operation, OperationState, Piece};
use shop::route::OperationKind;
use shop::work::{self, Done, RawDone};

use super::hands::{self, Refused};
use super::ready;
use crate::context::Ctx;
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::staff::Person;
use crate::store::{WriteTx, operations, wheels};

/// How often a finish is tried that meets another one at the same visit or wheel: everything is read afresh each time.
pub(super) const TRIES: u32 = 4;

/// Finishes an operation. Sent twice it counts once.
pub async fn finish_operation(
    ctx: &Ctx,
    by: &Person,
    key: &RequestKey,
    id: OperationId,
    raw: &RawDone,
) -> Result<(), Refused> {
    let done = work::done(raw).map_err(Refused::Fields)?;
    for _ in 1..TRIES {
        match once(ctx, by, key, id, &done).await {
            Err(Refused::Stale(_)) => {}
            other => return other,
        }
    }
    once(ctx, by, key, id, &done).await
}

async fn once(ctx: &Ctx, by: &Person, key: &RequestKey, id: OperationId, done: &Done) -> Result<(), Refused> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(_) = requests::claim(&tx, key, now).await? {
        return Ok(());
    }
    let (mut operation, mut piece) = hands::operation(&tx, id).await?;
    match operation.step.kind {
        OperationKind::Prove => return Err(Refused::first("A check is passed or not: use its own form.")),
        OperationKind::Inspect => {
            return Err(Refused::first("An inspection ends with its sheet, at the desk."));
        }
        _ => {}
    }
    let fact = end(&tx, &mut operation, done.minutes, done.measures, now).await?;
    hands::save(&tx, &mut piece, None, hands::who(by), &[fact], &done.note, now).await?;
    if is_last(&tx, &piece).await? {
        ready::finish(ctx, &tx, &mut piece, hands::who(by), now).await?;
    }
    requests::settle(&tx, key, id.0).await?;
    tx.commit().await?;
    hands::ring(ctx, piece.visit);
    Ok(())
}

/// Ends a begun operation: counts its minutes, and the piece on the wheel it was done with.
pub(super) async fn end(
    tx: &WriteTx,
    operation: &mut Operation,
    minutes: Option<u32>,
    measures: Measures,
    now: DateTime<Utc>,
) -> Result<Fact, Refused> {
    if operation.state != OperationState::Started {
        return Err(Refused::first(match operation.state {
            OperationState::Done => "This is already done.",
            _ => "This has not been begun. Press start first, so that its minutes count.",
        }));
    }
    let counted = operation
        .started_at
        .map_or(1, |at| (now - at).num_seconds().max(0).unsigned_abs().div_ceil(60).max(1));
    let minutes = minutes.unwrap_or_else(|| u32::try_from(counted).unwrap_or(u32::MAX));
    operation.state = OperationState::Done;
    operation.done_at = Some(now);
    hands::save_operation(tx, operation).await?;
    let step = &operation.step;
    for mut known in wheels::for_setup(tx, &step.station, &step.setup).await?.into_iter().take(1) {
        known.wheel.count_piece();
        wheels::save(tx, &known, None).await?;
    }
    Ok(Fact::Done { operation: operation.id, kind: step.kind, minutes, measures })
}

/// Whether nothing is left to do on a piece.
pub(super) async fn is_last(tx: &WriteTx, piece: &Piece) -> Result<bool, Refused> {
    let route = operations::of_piece(tx, piece.id).await?;
    let nothing_open = route.iter().all(|o| o.state == OperationState::Done);
    // A piece that was washed before its inspection is not finished.
    Ok(nothing_open && piece.state.after(Event::Finish).is_ok())
}

//! Somebody has done an operation: the minutes are counted, what was measured is kept, and the last one finishes the piece.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use shop::field::FieldErrors;
use shop::ids::OperationId;
use shop::ledger::{Fact, Measures};
use shop::piece::Event;
use shop::read::{Operation, OperationState, Piece};
use shop::route::OperationKind;
use shop::units;

use super::bench::{self, Refused};
use super::ready;
use crate::context::Ctx;
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::staff::Person;
use crate::store::{WriteTx, operations, wheels};

/// How often a finish that met another one at the same visit is tried again.
const TRIES: u32 = 4;

/// What was measured afterwards, as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct RawDone {
    /// Minutes, where they were not those of the clock.
    pub minutes: String,
    /// Height at the middle.
    pub height: String,
    /// Thickness behind the edge.
    pub behind_edge: String,
    /// Angle.
    pub angle: String,
    /// Edge length.
    pub length: String,
    /// Bow that is left.
    pub bow: String,
    /// A remark.
    pub note: String,
}

/// The same, checked.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Done {
    /// Minutes, where they were not those of the clock.
    pub minutes: Option<u32>,
    /// The figures.
    pub measures: Measures,
    /// A remark.
    pub note: String,
}

/// Checks what was typed.
pub fn check(raw: &RawDone) -> Result<Done, FieldErrors> {
    let mut errors = FieldErrors::default();
    let minutes = match raw.minutes.trim() {
        "" => None,
        typed => typed.parse().ok().filter(|m| (1..=1440).contains(m)).or_else(|| {
            errors.add("minutes", "Please give whole minutes from 1 to 1440, or leave it to the clock.");
            None
        }),
    };
    let measures = Measures {
        height_mm: figure(&mut errors, "height", &raw.height, "the height", 4.0, 150.0),
        behind_edge_mm: figure(&mut errors, "behind_edge", &raw.behind_edge, "the thickness behind the edge", 0.02, 4.0),
        angle_deg: figure(&mut errors, "angle", &raw.angle, "the angle in degrees", 4.0, 50.0),
        length_mm: figure(&mut errors, "length", &raw.length, "the edge's length", 15.0, 700.0),
        bow_mm: figure(&mut errors, "bow", &raw.bow, "the bow", 0.0, 50.0),
        ..Measures::default()
    };
    let note = shop::field::line(&mut errors, "note", &raw.note, "the remark", 300, false).unwrap_or_default();
    errors.or(Some(Done { minutes, measures, note }))
}

/// A figure that may stay empty. Lengths may come in inches; angles are read the same way, without a unit.
pub(super) fn figure(
    errors: &mut FieldErrors,
    field: &str,
    typed: &str,
    what: &str,
    least: f64,
    most: f64,
) -> Option<f64> {
    if typed.trim().is_empty() {
        return None;
    }
    let read = units::length(typed.trim().trim_end_matches('°')).map(|t| t.mm);
    let fits = read.filter(|mm| (least..=most).contains(mm));
    if fits.is_none() {
        let (least, most) = (units::short(least, 2), units::short(most, 0));
        errors.add(field, format!("Please give {what} as a figure from {least} to {most}, or leave it empty."));
    }
    fits
}

/// Finishes an operation. Sent twice it counts once.
pub async fn finish_operation(
    ctx: &Ctx,
    by: &Person,
    key: &RequestKey,
    id: OperationId,
    raw: &RawDone,
) -> Result<(), Refused> {
    let done = check(raw).map_err(Refused::Fields)?;
    again_when_stale(async || {
        let now = ctx.now();
        let tx = ctx.store.begin_write().await?;
        if let Claim::Done(_) = requests::claim(&tx, key, now).await? {
            return Ok(());
        }
        let (mut operation, mut piece) = bench::operation(&tx, id).await?;
        match operation.step.kind {
            OperationKind::Prove => return Err(Refused::first("A check is passed or not: use its own form.")),
            OperationKind::Inspect => return Err(Refused::first("An inspection ends with its sheet, at the desk.")),
            _ => {}
        }
        let fact = end(&tx, &mut operation, done.minutes, done.measures, now).await?;
        bench::save(&tx, &mut piece, None, bench::who(by), &[fact], &done.note, now).await?;
        if is_last(&tx, &piece).await? {
            ready::finish(ctx, &tx, &mut piece, bench::who(by), now).await?;
        }
        requests::settle(&tx, key, id.0).await?;
        tx.commit().await?;
        bench::ring(ctx, piece.visit);
        Ok(())
    })
    .await
}

/// Repeats what met somebody else at the same row: everything is read afresh. A person's own page being old is another
/// matter; use cases that compare versions with a page do not go through here.
pub(super) async fn again_when_stale(
    mut act: impl AsyncFnMut() -> Result<(), Refused>,
) -> Result<(), Refused> {
    let mut tries = 1;
    loop {
        match act().await {
            Err(Refused::Stale(_)) if tries < TRIES => tries += 1,
            other => return other,
        }
    }
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
    let counted = operation.started_at.map_or(1, |at| (now - at).num_seconds().max(0).unsigned_abs().div_ceil(60).max(1));
    let minutes = minutes.unwrap_or_else(|| u32::try_from(counted).unwrap_or(u32::MAX));
    operation.state = OperationState::Done;
    operation.done_at = Some(now);
    bench::save_operation(tx, operation).await?;
    let step = &operation.step;
    for mut known in wheels::for_setup(tx, &step.station, &step.setup).await?.into_iter().take(1) {
        known.wheel.pieces_since_dressing += 1;
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_after_the_work_come_in_mm_or_inches_and_may_be_left_empty() {
        let raw = RawDone { height: "1 13/16 in".into(), angle: "15°".into(), ..RawDone::default() };
        let done = check(&raw).unwrap();
        assert!((done.measures.height_mm.unwrap() - 46.0375).abs() < 1e-9);
        assert_eq!(done.measures.angle_deg, Some(15.0));
        assert_eq!(done.measures.behind_edge_mm, None);
        let wrong = RawDone { height: "460".into(), minutes: "0".into(), ..RawDone::default() };
        let errors = check(&wrong).unwrap_err();
        assert!(errors.of("height").is_some() && errors.of("minutes").is_some());
    }
}

//! Somebody dresses or measures a wheel while a run goes on: it is written down at once, not at the end of the day.

use chrono::{DateTime, Utc};
use shop::bench::Bond;
use shop::units::short;
use shop::work;

use super::finish_operation::TRIES;
use super::hands::Refused;
use crate::context::Ctx;
use crate::store::changes::{self, Subject};
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::staff::Person;
use crate::store::wheels::{self, KnownWheel};
use crate::store::{StoreError, WriteTx};

/// What was done to it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tended {
    /// It was dressed: a new generation begins, and its pieces are counted anew.
    pub dressed: bool,
    /// Its diameter afterwards, as typed; empty: not measured.
    pub diameter: String,
}

/// Writes down what was done to the wheel of a setup.
pub async fn tend_wheel(
    ctx: &Ctx,
    by: &Person,
    key: &RequestKey,
    station: &str,
    setup: &str,
    tended: &Tended,
) -> Result<(), Refused> {
    for _ in 1..TRIES {
        // A piece that is finished meanwhile counts on the same wheel: look again.
        match once(ctx, by, key, station, setup, tended).await {
            Err(Refused::Stale(_)) => {}
            other => return other,
        }
    }
    once(ctx, by, key, station, setup, tended).await
}

async fn once(
    ctx: &Ctx,
    by: &Person,
    key: &RequestKey,
    station: &str,
    setup: &str,
    tended: &Tended,
) -> Result<(), Refused> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(_) = requests::claim(&tx, key, now).await? {
        return Ok(());
    }
    let known = wheels::for_setup(&tx, station, setup).await?.into_iter().next().ok_or(Refused::Gone)?;
    if tended.dressed && known.wheel.bond == Bond::Plated {
        return Err(Refused::field("dressed", "A plated wheel has one layer of grain and is never dressed."));
    }
    let measured = work::worn_to(&tended.diameter, &known.wheel).map_err(Refused::Fields)?;
    if !tended.dressed && measured.is_none() {
        return Err(Refused::field("diameter", "Please give the diameter, or tick that it was dressed."));
    }
    let id = known.wheel.id.0;
    wear(&tx, known, tended.dressed, measured, by, now).await?;
    requests::settle(&tx, key, id).await?;
    tx.commit().await?;
    ctx.planner.ring();
    ctx.live.tell("bench", None);
    Ok(())
}

/// Saves what a dressing or a measurement changed, with the line that says who saw it. Nothing changed: nothing saved.
pub(super) async fn wear(
    tx: &WriteTx,
    mut known: KnownWheel,
    dressed: bool,
    measured: Option<f64>,
    by: &Person,
    now: DateTime<Utc>,
) -> Result<(), StoreError> {
    let before = known.wheel.clone();
    let wheel = &mut known.wheel;
    let mut lines = Vec::new();
    if dressed {
        wheel.generation += 1;
        wheel.pieces_since_dressing = 0;
        let n = before.pieces_since_dressing;
        lines.push(format!("dressed after {n} pieces: generation {}", wheel.generation));
    }
    if let Some(mm) = measured.filter(|mm| (mm - before.diameter_mm).abs() > f64::EPSILON) {
        wheel.diameter_mm = mm;
        lines.push(format!("{} → {} mm", short(before.diameter_mm, 2), short(mm, 2)));
    }
    if lines.is_empty() {
        return Ok(());
    }
    let id = wheel.id.0;
    wheels::save(tx, &known, None).await?;
    changes::add(tx, Subject::Wheel, Some(id), &[lines.join(", ")], Some(by.id), now).await
}

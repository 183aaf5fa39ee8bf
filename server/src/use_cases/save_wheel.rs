//! The owner adds, changes, dresses or retires a wheel, stone or belt.

use shop::bench::{Bench, Wheel};
use shop::ids::WheelId;
use shop::owner::{Typed, check_dressing, check_wheel, fill_wheel};
use shop::units::short;

use super::set_up::{NotSaved, saved, write_down};
use crate::context::Ctx;
use crate::store::changes::{self, Subject};
use crate::store::staff::Person;
use crate::store::wheels::{self, KnownWheel};
use crate::store::{WriteTx, settings};

/// Adds a wheel (`known` is `None`), or saves what was typed over the one that was read at a version. Gives its id.
pub async fn save_wheel(
    ctx: &Ctx,
    by: &Person,
    known: Option<(WheelId, i64)>,
    typed: &Typed,
) -> Result<WheelId, NotSaved> {
    saved(ctx, async |tx| put(ctx, tx, by, known, typed).await).await
}

/// The same inside a transaction.
pub(super) async fn put(
    ctx: &Ctx,
    tx: &WriteTx,
    by: &Person,
    known: Option<(WheelId, i64)>,
    typed: &Typed,
) -> Result<WheelId, NotSaved> {
    let before = match known {
        None => None,
        Some((id, _)) => Some(wheels::get(tx, id).await?.ok_or(NotSaved::Gone)?.wheel),
    };
    let id = known.map_or_else(|| WheelId(ctx.new_id()), |(id, _)| id);
    let after = check_wheel(typed, id, before.as_ref())?;
    fits(tx, &after).await?;
    match known {
        None => wheels::insert(tx, &after).await?,
        Some((_, version)) => wheels::save(tx, &KnownWheel { wheel: after.clone(), version }, None).await?,
    }
    let was = before.as_ref().map(fill_wheel).unwrap_or_default();
    write_down(tx, (Subject::Wheel, Some(id.0)), by, (&was, &fill_wheel(&after)), ctx.now()).await?;
    Ok(id)
}

/// Notes that a wheel was dressed: a new generation begins, and it is a little smaller.
pub async fn dress_wheel(
    ctx: &Ctx,
    by: &Person,
    id: WheelId,
    version: i64,
    typed: &Typed,
) -> Result<(), NotSaved> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let before = wheels::get(&tx, id).await?.ok_or(NotSaved::Gone)?.wheel;
    let after = check_dressing(typed, &before)?;
    let line = format!(
        "dressed after {} pieces: generation {}, {} → {} mm",
        before.pieces_since_dressing,
        after.generation,
        short(before.diameter_mm, 2),
        short(after.diameter_mm, 2)
    );
    wheels::save(&tx, &KnownWheel { wheel: after, version }, None).await?;
    changes::add(&tx, Subject::Wheel, Some(id.0), &[line], Some(by.id), now).await?;
    tx.commit().await?;
    ctx.planner.ring();
    Ok(())
}

/// Takes a wheel out of use, or back into it.
pub async fn retire_wheel(
    ctx: &Ctx,
    by: &Person,
    id: WheelId,
    version: i64,
    retire: bool,
) -> Result<(), NotSaved> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let wheel = wheels::get(&tx, id).await?.ok_or(NotSaved::Gone)?.wheel;
    wheels::save(&tx, &KnownWheel { wheel, version }, retire.then_some(now)).await?;
    let line = if retire { "taken out of use" } else { "in use again" };
    changes::add(&tx, Subject::Wheel, Some(id.0), &[line.to_owned()], Some(by.id), now).await?;
    tx.commit().await?;
    ctx.planner.ring();
    Ok(())
}

/// The mark is nobody else's, and the setup exists.
async fn fits(tx: &WriteTx, wheel: &Wheel) -> Result<(), NotSaved> {
    let others = wheels::all(tx).await?;
    if others.iter().any(|(other, _)| other.wheel.id != wheel.id && other.wheel.mark == wheel.mark) {
        return Err(NotSaved::field(
            "mark",
            "Another wheel has this mark, or had it before it was taken out of use.",
        ));
    }
    let bench = settings::get_or_default::<Bench>(tx).await?.value;
    let known = bench
        .station(&wheel.station)
        .is_some_and(|station| station.setups.iter().any(|setup| setup.id == wheel.setup));
    if known { Ok(()) } else { Err(NotSaved::field("place", "Please choose a setup of the bench.")) }
}

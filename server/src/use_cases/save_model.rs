//! The owner adds, changes or retires a model.

use shop::bench::{Bench, Model};
use shop::ids::ModelId;
use shop::owner::{Typed, check_model, fill_model};

use super::set_up::{NotSaved, saved, write_down};
use crate::context::Ctx;
use crate::store::changes::{self, Subject};
use crate::store::staff::Person;
use crate::store::{WriteTx, knives, settings};

/// Adds a model (`known` is `None`), or saves what was typed over the one that was read at a version. Gives its id.
pub async fn save_model(
    ctx: &Ctx,
    by: &Person,
    known: Option<(ModelId, i64)>,
    typed: &Typed,
) -> Result<ModelId, NotSaved> {
    saved(ctx, async |tx| put(ctx, tx, by, known, typed).await).await
}

/// The same inside a transaction.
pub(super) async fn put(
    ctx: &Ctx,
    tx: &WriteTx,
    by: &Person,
    known: Option<(ModelId, i64)>,
    typed: &Typed,
) -> Result<ModelId, NotSaved> {
    let id = known.map_or_else(|| ModelId(ctx.new_id()), |(id, _)| id);
    let after = check_model(typed, id)?;
    let before = match known {
        None => Typed::default(),
        Some((id, _)) => fill_model(&knives::model(tx, id).await?.ok_or(NotSaved::Gone)?),
    };
    fits(tx, &after).await?;
    match known {
        None => knives::insert_model(tx, &after).await?,
        Some((_, version)) => knives::save_model(tx, &after, version).await?,
    }
    write_down(tx, (Subject::Model, Some(id.0)), by, (&before, &fill_model(&after)), ctx.now()).await?;
    Ok(id)
}

/// Takes a model out of the booking form, or offers it again. Its knives stay known.
pub async fn offer_model(
    ctx: &Ctx,
    by: &Person,
    id: ModelId,
    version: i64,
    current: bool,
) -> Result<(), NotSaved> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut model = knives::model(&tx, id).await?.ok_or(NotSaved::Gone)?;
    model.current = current;
    knives::save_model(&tx, &model, version).await?;
    let line = format!("{}: {}", model.mark, if current { "made again" } else { "no longer made" });
    changes::add(&tx, Subject::Model, Some(id.0), &[line], Some(by.id), now).await?;
    tx.commit().await?;
    Ok(())
}

/// The mark is nobody else's, and the setup exists.
async fn fits(tx: &WriteTx, model: &Model) -> Result<(), NotSaved> {
    let others = knives::models(tx).await?;
    if others.iter().any(|other| other.id != model.id && other.mark == model.mark) {
        return Err(NotSaved::field("mark", "Another model has this mark."));
    }
    let Some(setup) = &model.drawing.setup else { return Ok(()) };
    let bench = settings::get_or_default::<Bench>(tx).await?.value;
    let known = bench.stations.iter().flat_map(|station| &station.setups).any(|known| known.id == *setup);
    if known { Ok(()) } else { Err(NotSaved::field("setup", "There is no such setup at the bench.")) }
}

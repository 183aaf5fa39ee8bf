//! The owner changes a station: what is done there, its setups, and the minutes between them.

use chrono::{DateTime, Utc};
use shop::bench::{Bench, Station};
use shop::owner::{Typed, check_station, fill_station};

use super::set_up::{NotSaved, saved, write_down};
use crate::context::Ctx;
use crate::store::changes::{self, Subject};
use crate::store::staff::Person;
use crate::store::{WriteTx, figures, knives, settings, wheels};

/// Adds a station (`known` is `None`) or changes one, in the bench that was read at `version`. Gives its id.
pub async fn save_station(
    ctx: &Ctx,
    by: &Person,
    version: i64,
    known: Option<&str>,
    typed: &Typed,
) -> Result<String, NotSaved> {
    saved(ctx, async |tx| put(tx, by, version, known, typed, ctx.now()).await).await
}

/// The same inside a transaction.
pub(super) async fn put(
    tx: &WriteTx,
    by: &Person,
    version: i64,
    known: Option<&str>,
    typed: &Typed,
    now: DateTime<Utc>,
) -> Result<String, NotSaved> {
    let mut bench = settings::get_or_default::<Bench>(tx).await?.value;
    let before = match known {
        None => None,
        Some(id) => Some(bench.station(id).cloned().ok_or(NotSaved::Gone)?),
    };
    let checked = check_station(typed, before.as_ref())?;
    for setup in &checked.removed {
        is_free(tx, &checked.station, Some(setup)).await?;
    }
    let id = checked.station.id.clone();
    match (&before, bench.stations.iter_mut().find(|station| station.id == id)) {
        (None, Some(_)) => return Err(NotSaved::field("id", "Another station has this short name.")),
        (_, Some(station)) => *station = checked.station.clone(),
        (_, None) => bench.stations.push(checked.station.clone()),
    }
    if let Some(complaint) = bench.complaints().into_iter().next() {
        return Err(NotSaved::field("name", complaint));
    }
    settings::put(tx, &bench, version, Some(by.id), now).await?;
    let was = before.as_ref().map(fill_station).unwrap_or_default();
    write_down(tx, (Subject::Bench, None), by, (&was, &fill_station(&checked.station)), now).await?;
    Ok(id)
}

/// Takes a station away that nothing depends on.
pub async fn remove_station(ctx: &Ctx, by: &Person, version: i64, id: &str) -> Result<(), NotSaved> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut bench = settings::get_or_default::<Bench>(&tx).await?.value;
    let station = bench.station(id).cloned().ok_or(NotSaved::Gone)?;
    is_free(&tx, &station, None).await?;
    bench.stations.retain(|other| other.id != id);
    settings::put(&tx, &bench, version, Some(by.id), now).await?;
    let line = format!("station {} taken away", station.name);
    changes::add(&tx, Subject::Bench, None, &[line], Some(by.id), now).await?;
    tx.commit().await?;
    ctx.planner.ring();
    Ok(())
}

/// Nothing depends on a setup, or on a whole station: no wheel in use, no model, no work ahead.
async fn is_free(tx: &WriteTx, station: &Station, setup: Option<&str>) -> Result<(), NotSaved> {
    let field = "setup-0-id";
    let fits = |id: &str| setup.is_none_or(|setup| setup == id);
    let used = wheels::in_use(tx).await?;
    if let Some(known) = used.iter().find(|k| k.wheel.station == station.id && fits(&k.wheel.setup)) {
        let words = format!("{} still runs here: move it or take it out of use first.", known.wheel.mark);
        return Err(NotSaved::field(field, words));
    }
    let models = knives::models(tx).await?;
    let cuts = |id: &String| fits(id) && (setup.is_some() || station.setups.iter().any(|s| s.id == *id));
    if let Some(model) = models.iter().find(|m| m.current && m.drawing.setup.as_ref().is_some_and(cuts)) {
        return Err(NotSaved::field(field, format!("The teeth of {} are cut in it.", model.mark)));
    }
    let n = figures::work_ahead_in(tx, &station.id, setup).await?;
    if n > 0 {
        return Err(NotSaved::field(
            field,
            format!("{n} steps of knives in the house are still to be done in it."),
        ));
    }
    Ok(())
}

//! Somebody has gone through the checks of a setup: it is mounted, and work may begin in it for today.

use shop::bench::Bench;
use shop::field::FieldErrors;
use shop::ids::StaffId;
use shop::read::OperationState;
use shop::safety;
use shop::work;

use super::hands::Refused;
use super::tend_wheel;
use crate::context::Ctx;
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::setup_checks::{self, SetupCheck};
use crate::store::staff::Person;
use crate::store::{operations, settings, wheels};

/// Writes down a ticked checklist. Every check that applies must be ticked; what is not, is named. `diameter` is what was
/// measured of the wheel, empty when nothing was.
pub async fn confirm_setup(
    ctx: &Ctx,
    by: &Person,
    key: &RequestKey,
    station: &str,
    setup: &str,
    ticks: &[String],
    diameter: &str,
) -> Result<(), Refused> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(_) = requests::claim(&tx, key, now).await? {
        return Ok(());
    }
    let mut bench = settings::get::<Bench>(&tx).await?.ok_or(Refused::Gone)?;
    let at = bench.value.stations.iter().position(|s| s.id == station).ok_or(Refused::Gone)?;
    let model = &bench.value.stations[at];
    let wanted = model.setups.iter().find(|s| s.id == setup).ok_or(Refused::Gone)?;
    let busy = operations::ahead(&tx).await?.into_iter().find(|(op, _)| {
        op.state == OperationState::Started && op.step.station == station && op.step.setup != setup
    });
    if busy.is_some() {
        return Err(Refused::first(format!(
            "The {} is still at work in another setup. Finish or stop that first.",
            model.name
        )));
    }
    let known = wheels::for_setup(&tx, station, setup).await?.into_iter().next();
    let checks =
        safety::setup_checks(model, wanted, known.as_ref().map(|k| &k.wheel)).map_err(Refused::First)?;
    let mut errors = FieldErrors::default();
    for check in checks.iter().filter(|c| !ticks.contains(&c.code)) {
        errors.add(format!("ticks-{}", check.code), format!("Not ticked yet: {}", check.words));
    }
    let measured = match &known {
        None => None,
        Some(known) => work::worn_to(diameter, &known.wheel).unwrap_or_else(|wrong| {
            errors.0.extend(wrong.0);
            None
        }),
    };
    errors.or(Some(())).map_err(Refused::Fields)?;
    let kept: Vec<String> = checks.into_iter().map(|c| c.code).collect();
    let dressed = kept.iter().any(|c| c == "dressed");
    if let Some(known) = known.clone() {
        tend_wheel::wear(&tx, known, dressed, measured, by, now).await?;
    }
    let id = ctx.new_id();
    let check = SetupCheck {
        id,
        station: station.to_owned(),
        setup: setup.to_owned(),
        wheel: known.map(|k| k.wheel.id),
        by: StaffId(by.id),
        at: now,
        ticks: kept,
    };
    setup_checks::insert(&tx, &check).await?;
    if bench.value.stations[at].mounted.as_deref() != Some(setup) {
        bench.value.stations[at].mounted = Some(setup.to_owned());
        settings::put(&tx, &bench.value, bench.version, Some(by.id), now).await?;
    }
    requests::settle(&tx, key, id).await?;
    tx.commit().await?;
    ctx.planner.ring();
    ctx.live.tell("bench", None);
    Ok(())
}

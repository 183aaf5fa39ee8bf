//! The owner adds, changes or takes out a steel of the shop's own.

use assess::{check_steel, fill_steel};
use chrono::{DateTime, Utc};
use shop::owner::Typed;

use super::set_up::{NotSaved, saved, write_down};
use crate::context::Ctx;
use crate::store::changes::Subject;
use crate::store::staff::Person;
use crate::store::{WriteTx, settings};

/// Saves what was typed over the rates that were read at `version`: a new steel (`known` is `None`), or one by the name it had.
/// Gives its name.
pub async fn save_steel(
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
    let mut rates = settings::get_or_default::<craft::Rates>(tx).await?.value;
    let at = match known {
        Some(name) => Some(rates.steels.iter().position(|steel| steel.name == name).ok_or(NotSaved::Gone)?),
        None => None,
    };
    let mut others = rates.steels.clone();
    let before = at.map(|at| fill_steel(&others.remove(at))).unwrap_or_default();
    let after = check_steel(typed, &others)?;
    let (name, filled) = (after.name.to_string(), fill_steel(&after));
    match at {
        Some(at) => rates.steels[at] = after,
        None => rates.steels.push(after),
    }
    settings::put(tx, &rates, version, Some(by.id), now).await?;
    write_down(tx, (Subject::Steels, None), by, (&before, &filled), now).await?;
    Ok(name)
}

/// Takes one out.
pub async fn remove_steel(ctx: &Ctx, by: &Person, version: i64, name: &str) -> Result<(), NotSaved> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut rates = settings::get_or_default::<craft::Rates>(&tx).await?.value;
    let at = rates.steels.iter().position(|steel| steel.name == name).ok_or(NotSaved::Gone)?;
    let before = fill_steel(&rates.steels.remove(at));
    settings::put(&tx, &rates, version, Some(by.id), now).await?;
    write_down(&tx, (Subject::Steels, None), by, (&before, &Typed::default()), now).await?;
    tx.commit().await?;
    Ok(())
}

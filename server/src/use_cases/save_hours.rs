//! The owner changes the hours of counter and bench, and the holidays.

use chrono::{DateTime, Utc};
use shop::field::FieldErrors;
use shop::owner::{Typed, check_hours, fill_hours};
use shop::profile::Profile;

use super::set_up::{NotSaved, saved, write_down};
use crate::context::Ctx;
use crate::store::changes::Subject;
use crate::store::staff::Person;
use crate::store::{WriteTx, settings};

/// What the form shows.
pub fn fill(profile: &Profile) -> Typed {
    let mut typed = Typed::default();
    fill_hours(&mut typed, "counter", &profile.counter);
    fill_hours(&mut typed, "bench", &profile.bench);
    typed
}

/// Saves what was typed over the profile that was read at `version`.
pub async fn save_hours(ctx: &Ctx, by: &Person, version: i64, typed: &Typed) -> Result<(), NotSaved> {
    saved(ctx, async |tx| put(tx, by, version, typed, ctx.now()).await).await
}

/// The same inside a transaction.
pub(super) async fn put(
    tx: &WriteTx,
    by: &Person,
    version: i64,
    typed: &Typed,
    now: DateTime<Utc>,
) -> Result<(), NotSaved> {
    let before = settings::get::<Profile>(tx).await?.ok_or(NotSaved::Gone)?.value;
    let (counter, bench) = (check_hours(typed, "counter"), check_hours(typed, "bench"));
    let after = match (counter, bench) {
        (Ok(counter), Ok(bench)) => Profile { counter, bench, ..before.clone() },
        (counter, bench) => {
            let wrong = [counter.err(), bench.err()].into_iter().flatten().flat_map(|errors| errors.0);
            return Err(FieldErrors(wrong.collect()).into());
        }
    };
    if after.bench.week.iter().all(Vec::is_empty) {
        return Err(NotSaved::field("bench-mon", "Without any hours at the bench nothing can be planned."));
    }
    settings::put(tx, &after, version, Some(by.id), now).await?;
    write_down(tx, (Subject::Hours, None), by, (&fill(&before), &fill(&after)), now).await?;
    Ok(())
}

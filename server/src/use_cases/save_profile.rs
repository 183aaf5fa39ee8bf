//! The owner changes the shop's name, place, rules or texts.

use chrono::{DateTime, Utc};
use shop::owner::{Typed, check_profile, fill_profile};
use shop::profile::Profile;

use super::set_up::{NotSaved, saved, write_down};
use crate::context::Ctx;
use crate::store::changes::Subject;
use crate::store::staff::Person;
use crate::store::{WriteTx, settings};

/// Saves what was typed over the profile that was read at `version`.
pub async fn save_profile(ctx: &Ctx, by: &Person, version: i64, typed: &Typed) -> Result<(), NotSaved> {
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
    let after = check_profile(typed, &before)?;
    if after.time_zone.parse::<chrono_tz::Tz>().is_err() {
        let words = "There is no such time zone. Please give its name as in Europe/Lisbon (IANA).";
        return Err(NotSaved::field("time-zone", words));
    }
    settings::put(tx, &after, version, Some(by.id), now).await?;
    let forms = (fill_profile(&before), fill_profile(&after));
    write_down(tx, (Subject::Profile, None), by, (&forms.0, &forms.1), now).await?;
    Ok(())
}

//! The owner changes the prices. What was agreed stays agreed; new estimates use the new list.

use chrono::{DateTime, Utc};
use shop::owner::{Typed, check_prices, fill_prices};
use shop::price::PriceList;

use super::set_up::{NotSaved, saved, write_down};
use crate::context::Ctx;
use crate::store::changes::Subject;
use crate::store::staff::Person;
use crate::store::{WriteTx, settings};

/// Saves what was typed over the list that was read at `version` (0: there was none).
pub async fn save_prices(ctx: &Ctx, by: &Person, version: i64, typed: &Typed) -> Result<(), NotSaved> {
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
    let after = check_prices(typed)?;
    let before =
        settings::get::<PriceList>(tx).await?.map(|found| fill_prices(&found.value)).unwrap_or_default();
    settings::put(tx, &after, version, Some(by.id), now).await?;
    write_down(tx, (Subject::Prices, None), by, (&before, &fill_prices(&after)), now).await?;
    Ok(())
}

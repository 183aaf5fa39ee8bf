//! What is swept out and chased by itself, once an hour.

use std::time::Duration;

use chrono::TimeDelta;

use shop::ids::PhotoId;

use super::{chase, my_knives};
use crate::album;
use crate::context::Ctx;
use crate::store::{self, outbox, photos, requests, staff};

/// A browser does not send the same form again after a month.
const REQUESTS_KEPT: TimeDelta = TimeDelta::days(30);

/// Pictures of a form that was never sent are kept for a form that lies open overnight, and no longer.
const DRAFTS_KEPT: TimeDelta = TimeDelta::days(2);

/// What was said can be looked up for this long; the law's own time for faults of goods and work is two years
/// (Directive (EU) 2019/771, article 10).
const NOTICES_KEPT: TimeDelta = TimeDelta::days(2 * 365);

/// Often enough that nothing piles up.
const EVERY: Duration = Duration::from_hours(1);

/// Sweeps until the program stops.
pub async fn run(ctx: Ctx) {
    for turn in 0_u64.. {
        if let Err(error) = sweep(&ctx).await {
            tracing::error!("sweeping out failed: {error}");
        }
        // All pictures are looked through for it: once a day is plenty.
        if turn % 24 == 1 {
            match sweep_pictures(&ctx).await {
                Ok(0) => {}
                Ok(n) => tracing::info!(n, "pictures without a row are swept out"),
                Err(error) => tracing::error!("sweeping out pictures failed: {error:#}"),
            }
        }
        if let Err(error) = chase::chase(&ctx).await {
            tracing::error!("chasing what is late failed: {error}");
        }
        if let Err(error) = my_knives::remind(&ctx).await {
            tracing::error!("reminding failed: {error}");
        }
        tokio::select! {
            () = tokio::time::sleep(EVERY) => {}
            () = ctx.stop.cancelled() => return,
        }
    }
}

/// Forgets request keys nobody will repeat, sessions that have run out, pictures of forms nobody sent and notices nobody
/// will look up any more. Says how many rows went.
pub async fn sweep(ctx: &Ctx) -> store::Result<u64> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let n = requests::forget(&tx, now - REQUESTS_KEPT).await?
        + staff::forget_sessions(&tx, now).await?
        + outbox::forget(&tx, now - NOTICES_KEPT).await?;
    let drafts = photos::forget_drafts(&tx, now - DRAFTS_KEPT).await?;
    tx.commit().await?;
    let n = n + drafts.len() as u64;
    ctx.album.remove(drafts).await;
    Ok(n)
}

/// Takes away pictures that no row names: somebody pulled the plug between the one and the other, or erasing could not reach
/// them. Young ones are let be, their row may be about to come. Says how many went.
///
/// # Errors
/// When the place of the pictures or the database does not answer; what was found until then is gone.
pub async fn sweep_pictures(ctx: &Ctx) -> anyhow::Result<usize> {
    /// How many ids one question to the database names.
    const AT_ONCE: usize = 5_000;
    let young = ctx.now() - DRAFTS_KEPT;
    let is_old = |id: &PhotoId| {
        let made = id.0.get_timestamp().and_then(|at| i64::try_from(at.to_unix().0).ok());
        made.is_some_and(|at| at < young.timestamp())
    };
    let names = ctx.album.names().await?;
    let ids: Vec<PhotoId> = names.iter().filter_map(|name| album::id_of(name)).filter(is_old).collect();
    let mut n = 0;
    for some in ids.chunks(AT_ONCE) {
        let known = photos::known(ctx.store.read(), some).await?;
        let litter: Vec<PhotoId> = some.iter().copied().filter(|id| !known.contains(id)).collect();
        n += litter.len();
        ctx.album.remove(litter).await;
    }
    Ok(n)
}

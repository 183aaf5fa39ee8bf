//! What is swept out and chased by itself, once an hour.

use std::time::Duration;

use chrono::TimeDelta;

use super::{chase, erase_customer, my_knives};
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
    loop {
        if let Err(error) = sweep(&ctx).await {
            tracing::error!("sweeping out failed: {error}");
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
    erase_customer::forget_files(ctx, drafts).await;
    Ok(n)
}

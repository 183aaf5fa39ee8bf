//! What is swept out and chased by itself, once an hour.

use std::time::Duration;

use chrono::TimeDelta;

use super::chase;
use crate::context::Ctx;
use crate::store::{self, requests, staff};

/// A browser does not send the same form again after a month.
const REQUESTS_KEPT: TimeDelta = TimeDelta::days(30);

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
        tokio::select! {
            () = tokio::time::sleep(EVERY) => {}
            () = ctx.stop.cancelled() => return,
        }
    }
}

/// Forgets request keys nobody will repeat and sessions that have run out. Says how many rows went.
pub async fn sweep(ctx: &Ctx) -> store::Result<u64> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let n = requests::forget(&tx, now - REQUESTS_KEPT).await? + staff::forget_sessions(&tx, now).await?;
    tx.commit().await?;
    Ok(n)
}

//! Takes notices from the outbox, one after another, and hands them on.

use std::time::Duration;

use chrono::{DateTime, TimeDelta, Utc};

use super::transport::{SendError, Transport};
use crate::context::Ctx;
use crate::store::outbox::{self, Kept};
use crate::store::{self, StoreError};

/// How long a notice is ours once we took it. Longer than any sending takes; a worker that died keeps it back no
/// longer than this.
const LEASE: TimeDelta = TimeDelta::minutes(3);

/// The worker looks again after this long even if nobody rang: for notices whose time has come, and for those
/// that another server queued.
const LOOK_AGAIN: Duration = Duration::from_secs(15);

/// With a clock that somebody moves, waiting by our own would miss the move.
const LOOK_AGAIN_MOVABLE: Duration = Duration::from_secs(1);

/// A notice is given up after this many tries. With the pauses below that is about three days: the mail standard's
/// own patience is four to five (RFC 5321, 4.5.4.1), but a shop should hear sooner that its customer did not.
const MOST_ATTEMPTS: u32 = 78;

/// First pause after a failure; it doubles each time.
const FIRST_PAUSE: TimeDelta = TimeDelta::seconds(30);

/// Longest pause between two tries.
const LONGEST_PAUSE: TimeDelta = TimeDelta::hours(1);

/// Works until the program stops. A notice that is being sent when it does is finished first.
pub async fn run(ctx: Ctx, transport: Transport) {
    let look_again = if ctx.clock.is_movable() { LOOK_AGAIN_MOVABLE } else { LOOK_AGAIN };
    while !ctx.stop.is_cancelled() {
        match work_once(&ctx, &transport).await {
            Ok(Some(_)) => continue,
            Ok(None) => {}
            Err(error) => tracing::error!("the post cannot be looked through: {error}"),
        }
        tokio::select! {
            () = ctx.post.rung() => {}
            () = tokio::time::sleep(look_again) => {}
            () = ctx.stop.cancelled() => {}
        }
    }
}

/// What became of one notice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// It left.
    Sent,
    /// It will be tried again.
    Failed,
    /// It was given up.
    GivenUp,
}

/// Sends the next notice that may go. `None`: there is none.
pub async fn work_once(ctx: &Ctx, transport: &Transport) -> store::Result<Option<Outcome>> {
    let Some(kept) = outbox::claim(&ctx.store, ctx.now(), LEASE).await? else {
        return Ok(None);
    };
    let sent = transport.send(&kept).await;
    let now = ctx.now();
    let outcome = write_down(ctx, &kept, sent, now).await?;
    ctx.live.tell("post", Some(kept.id));
    Ok(Some(outcome))
}

async fn write_down(
    ctx: &Ctx,
    kept: &Kept,
    sent: Result<(), SendError>,
    now: DateTime<Utc>,
) -> Result<Outcome, StoreError> {
    let tx = ctx.store.begin_write().await?;
    let (id, kind, attempts) = (kept.id, &kept.kind, kept.attempts);
    let outcome = match sent {
        Ok(()) => {
            outbox::mark_sent(&tx, id, now).await?;
            tracing::info!(%id, kind, attempts, "notice sent");
            Outcome::Sent
        }
        Err(SendError::Later(why)) if attempts < MOST_ATTEMPTS => {
            outbox::mark_failed(&tx, id, &why, now + pause(attempts, rand::random_range(0.8..1.2))).await?;
            tracing::warn!(%id, kind, attempts, "notice not sent, will try again");
            Outcome::Failed
        }
        Err(SendError::Later(why) | SendError::Never(why)) => {
            outbox::mark_dead(&tx, id, &why, now).await?;
            tracing::error!(%id, kind, attempts, "notice given up; see the post page");
            Outcome::GivenUp
        }
    };
    tx.commit().await?;
    Ok(outcome)
}

/// The pause after the `attempts`-th failure, times `jitter`, so that many notices that failed together do not
/// come back together.
fn pause(attempts: u32, jitter: f64) -> TimeDelta {
    let doublings = attempts.saturating_sub(1).min(16);
    let seconds = (FIRST_PAUSE.num_seconds() << doublings).min(LONGEST_PAUSE.num_seconds());
    TimeDelta::milliseconds((seconds as f64 * 1000.0 * jitter) as i64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pauses_double_from_half_a_minute_to_an_hour() {
        let seconds: Vec<i64> = (1..=9).map(|attempts| pause(attempts, 1.0).num_seconds()).collect();
        assert_eq!(seconds, [30, 60, 120, 240, 480, 960, 1920, 3600, 3600]);
        assert_eq!(pause(2, 0.8).num_seconds(), 48);
        assert_eq!(pause(u32::MAX, 1.0).num_seconds(), 3600);
        let all: TimeDelta = (1..MOST_ATTEMPTS).map(|attempts| pause(attempts, 1.0)).sum();
        assert_eq!(all.num_hours(), 71);
    }
}

//! Takes notices from the outbox and hands them on, a few at once; notices about the same visit one after another.

use std::collections::VecDeque;
use std::time::Duration;

use chrono::{DateTime, TimeDelta, Utc};
use tokio::task::JoinSet;
use uuid::Uuid;

use super::transport::{LONGEST, SendError, Transport};
use crate::context::Ctx;
use crate::store;
use crate::store::outbox::{self, Kept};

/// How long a notice is ours once we took it. Longer than any sending takes, so that nobody else takes it up while we still
/// wait for the mail host; a worker that died keeps it back no longer than this.
const LEASE: TimeDelta = TimeDelta::minutes(3);

/// With less of the lease left than this, no sending is begun.
const HURRY: TimeDelta = TimeDelta::seconds(LONGEST.as_secs() as i64 + 10);

/// So many notices are taken at a time: taking them is a transaction, which waits for the disk.
const BATCH: u64 = 16;

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

/// Works until the program stops. Notices that are being sent when it does are finished first.
pub async fn run(ctx: Ctx, transport: Transport) {
    let look_again = if ctx.clock.is_movable() { LOOK_AGAIN_MOVABLE } else { LOOK_AGAIN };
    while !ctx.stop.is_cancelled() {
        if let Err(error) = work_through(&ctx, &transport).await {
            tracing::error!("the post cannot be looked through: {error}");
        }
        tokio::select! {
            () = ctx.post.rung() => {}
            () = tokio::time::sleep(look_again) => {}
            () = ctx.stop.cancelled() => {}
        }
    }
}

/// What became of the notices that were taken up.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Done {
    /// So many left.
    pub sent: usize,
    /// So many will be tried again.
    pub failed: usize,
    /// So many were given up.
    pub given_up: usize,
}

impl Done {
    /// How many were taken up.
    pub fn all(self) -> usize {
        self.sent + self.failed + self.given_up
    }
}

/// A notice, and whether it left.
type Tried = (Kept, Result<(), SendError>);

/// Sends all that may go now, as many at once as the transport has lanes, and what is queued meanwhile.
pub async fn work_through(ctx: &Ctx, transport: &Transport) -> store::Result<Done> {
    let mut done = Done::default();
    let mut waiting: VecDeque<Kept> = VecDeque::new();
    let mut leased_until = ctx.now();
    // Dropped with us: what is on its way then breaks off, and is sent again when its lease is over.
    let mut on_its_way: JoinSet<Tried> = JoinSet::new();
    let mut may_be_more = true;
    let mut broken = None;
    loop {
        if !waiting.is_empty()
            && (ctx.stop.is_cancelled() || broken.is_some() || ctx.now() + HURRY > leased_until)
        {
            let ids: Vec<_> = waiting.drain(..).map(|kept| kept.id).collect();
            if let Err(error) = give_back(ctx, &ids, leased_until).await {
                tracing::error!("notices nobody has tried to send wait until their lease is over: {error}");
            }
            may_be_more = true;
        }
        if may_be_more && waiting.is_empty() && broken.is_none() && !ctx.stop.is_cancelled() {
            let now = ctx.now();
            leased_until = now + LEASE;
            match outbox::claim(&ctx.store, now, leased_until, BATCH).await {
                Ok(more) => waiting.extend(more),
                Err(error) => broken = Some(error),
            }
            may_be_more = !waiting.is_empty();
        }
        while on_its_way.len() < transport.lanes()
            && let Some(kept) = waiting.pop_front()
        {
            let transport = transport.clone();
            on_its_way.spawn(async move {
                let sent = transport.send(&kept).await;
                (kept, sent)
            });
        }
        let first = tokio::select! {
            tried = on_its_way.join_next() => match tried {
                Some(tried) => tried,
                None if may_be_more && broken.is_none() && !ctx.stop.is_cancelled() => continue,
                None => break,
            },
            () = ctx.post.rung() => {
                may_be_more = true;
                continue;
            }
        };
        // Whatever else has come back by now is written down in the same transaction.
        let mut tried = Vec::new();
        let mut next = Some(first);
        while let Some(one) = next {
            match one {
                Ok(one) => tried.push(one),
                Err(error) => tracing::error!("sending a notice broke off: {error}"),
            }
            next = on_its_way.try_join_next();
        }
        match write_down(ctx, &tried, &mut done).await {
            // Another notice about the same visit may have waited for this one.
            Ok(()) => may_be_more = true,
            Err(error) => broken = Some(error),
        }
    }
    transport.rest();
    broken.map_or(Ok(done), Err)
}

/// Lets go of what was claimed and cannot be sent any more.
async fn give_back(ctx: &Ctx, ids: &[Uuid], until: DateTime<Utc>) -> store::Result<()> {
    let tx = ctx.store.begin_write().await?;
    outbox::give_back(&tx, ids, until).await?;
    tx.commit().await
}

/// Writes down what became of several notices in one transaction; should it fail, of each in its own, so that one that cannot be
/// written down does not have the others sent again.
async fn write_down(ctx: &Ctx, tried: &[Tried], done: &mut Done) -> store::Result<()> {
    if write_down_together(ctx, tried, done).await.is_ok() {
        return Ok(());
    }
    let mut last = Ok(());
    for one in tried.chunks(1) {
        if let Err(error) = write_down_together(ctx, one, done).await {
            tracing::error!(id = %one[0].0.id, "what became of a notice cannot be written down: {error}");
            last = Err(error);
        }
    }
    last
}

async fn write_down_together(ctx: &Ctx, tried: &[Tried], done: &mut Done) -> store::Result<()> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut these = Done::default();
    for (kept, sent) in tried {
        let (id, attempts) = (kept.id, kept.attempts);
        match sent {
            Ok(()) => {
                outbox::mark_sent(&tx, id, now).await?;
                these.sent += 1;
            }
            Err(SendError::Later(why)) if attempts < MOST_ATTEMPTS => {
                let pause = pause(attempts, rand::random_range(0.8..1.2));
                outbox::mark_failed(&tx, id, why, now + pause).await?;
                these.failed += 1;
            }
            Err(SendError::Later(why) | SendError::Never(why)) => {
                outbox::mark_dead(&tx, id, why, now).await?;
                these.given_up += 1;
            }
        }
    }
    tx.commit().await?;
    for (kept, sent) in tried {
        let (id, kind, attempts) = (kept.id, &kept.kind, kept.attempts);
        match sent {
            Ok(()) => tracing::info!(%id, kind, attempts, "notice sent"),
            Err(SendError::Later(_)) if attempts < MOST_ATTEMPTS => {
                tracing::warn!(%id, kind, attempts, "notice not sent, will try again");
            }
            Err(_) => tracing::error!(%id, kind, attempts, "notice given up; see the post page"),
        }
        ctx.live.tell("post", Some(id));
    }
    done.sent += these.sent;
    done.failed += these.failed;
    done.given_up += these.given_up;
    Ok(())
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

//! Several servers on one PostgreSQL: what one of them changes shows at once on the pages of the others, and one of
//! them at a time plans for all.

use std::time::Duration;

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};
use tokio::sync::broadcast::error::RecvError;
use uuid::Uuid;

use crate::context::{Change, Ctx};
use crate::store::notify::Listener;
use crate::store::{self, Engine, leases};

/// How long to wait before a lost connection is tried again.
const TRY_AGAIN: Duration = Duration::from_secs(2);

/// The name of the lease on planning.
const PLANNING: &str = "planning";

/// A server that died stops planning for all; after this long another one takes over.
const PLANNING_HELD: TimeDelta = TimeDelta::seconds(20);

#[derive(Debug, Serialize, Deserialize)]
struct Word {
    from: Uuid,
    #[serde(flatten)]
    change: Change,
}

/// Passes changes on to the other servers and theirs on to our pages, until the program stops. On SQLite there are
/// none, and it returns at once.
pub async fn run(ctx: Ctx) {
    if ctx.store.engine() == Engine::Sqlite {
        return;
    }
    loop {
        tokio::select! {
            ended = exchange(&ctx) => {
                if let Err(error) = ended {
                    tracing::warn!("not in touch with the other servers: {error}");
                }
            }
            () = ctx.stop.cancelled() => return,
        }
        tokio::select! {
            () = tokio::time::sleep(TRY_AGAIN) => {}
            () = ctx.stop.cancelled() => return,
        }
    }
}

async fn exchange(ctx: &Ctx) -> store::Result<()> {
    let Some(listener) = ctx.store.listener().await? else { return Ok(()) };
    // Neither waits inside the other: a half-read word would be lost.
    tokio::try_join!(pass_on(ctx), listen(ctx, listener)).map(|_| ())
}

async fn pass_on(ctx: &Ctx) -> store::Result<()> {
    let mut ours = ctx.live.listen();
    loop {
        let change = match ours.recv().await {
            Ok(change) if change.from_afar => continue,
            Ok(change) => change,
            Err(RecvError::Lagged(_)) => Change::everything(),
            Err(RecvError::Closed) => return Ok(()),
        };
        let word = serde_json::to_string(&Word { from: ctx.server, change }).unwrap_or_default();
        ctx.store.notify(&word).await?;
    }
}

async fn listen(ctx: &Ctx, mut listener: Listener) -> store::Result<()> {
    // Whatever was said before anybody listened is made good by looking at everything.
    hear(ctx, Change::everything());
    loop {
        match listener.next().await?.map(|word| serde_json::from_str::<Word>(&word)) {
            Some(Ok(word)) if word.from == ctx.server => {}
            Some(Ok(word)) => hear(ctx, word.change),
            // The connection was lost for a while, or a newer program says something we do not know yet.
            None | Some(Err(_)) => hear(ctx, Change::everything()),
        }
    }
}

fn hear(ctx: &Ctx, change: Change) {
    ctx.live.hear(change);
    ctx.planner.ring();
    ctx.post.ring();
}

/// Whether this server plans for all, and until when it has said so.
#[derive(Debug, Default)]
pub struct PlanningLease {
    until: Option<DateTime<Utc>>,
}

impl PlanningLease {
    /// Takes or renews the lease where there may be other servers. False: another one plans.
    pub async fn hold(&mut self, ctx: &Ctx) -> store::Result<bool> {
        if ctx.store.engine() == Engine::Sqlite {
            return Ok(true);
        }
        let now = ctx.now();
        // Renewed after half its time, so that quiet rounds do not write.
        if self.until.is_some_and(|until| now + PLANNING_HELD / 2 < until && until <= now + PLANNING_HELD) {
            return Ok(true);
        }
        let until = now + PLANNING_HELD;
        let tx = ctx.store.begin_write().await?;
        let ours = leases::take(&tx, PLANNING, ctx.server, now, until).await?;
        tx.commit().await?;
        self.until = ours.then_some(until);
        Ok(ours)
    }

    /// Lets the next server plan at once.
    pub async fn give_back(&mut self, ctx: &Ctx) -> store::Result<()> {
        if self.until.take().is_some() {
            let tx = ctx.store.begin_write().await?;
            leases::give_back(&tx, PLANNING, ctx.server).await?;
            tx.commit().await?;
        }
        Ok(())
    }
}

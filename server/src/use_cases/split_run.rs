//! Somebody splits a run: from one piece on, the rest of it is put off, and the plan makes room for other work.

use chrono::{DateTime, TimeDelta, Utc};
use shop::ids::OperationId;
use shop::profile::Profile;
use shop::read::OperationState;

use super::hands::{self, Refused};
use super::show_run;
use crate::context::Ctx;
use crate::local;
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::{operations, settings};

/// Until when the rest of a run may be put off: code and words.
pub const UNTIL: [(&str, &str); 4] = [
    ("hour", "for an hour"),
    ("two-hours", "for two hours"),
    ("tomorrow", "until tomorrow, or the next day we work"),
    ("day-after", "until the day we work after that"),
];

/// When that is; `None` for a word that is none of [`UNTIL`], or when the shop never opens again.
fn instant(code: &str, profile: &Profile, now: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let opening = |n| local::opening_of_day_after(local::zone(profile), &profile.bench, now, n);
    match code {
        "hour" => Some(now + TimeDelta::hours(1)),
        "two-hours" => Some(now + TimeDelta::hours(2)),
        "tomorrow" => opening(1),
        "day-after" => opening(2),
        _ => None,
    }
}

/// Puts off an operation and everything that follows it in the run of its station. What is begun stays begun. Gives how
/// many pieces it was.
pub async fn split_run(
    ctx: &Ctx,
    key: &RequestKey,
    station: &str,
    first: OperationId,
    until: &str,
) -> Result<usize, Refused> {
    let now = ctx.now();
    let profile = settings::get::<Profile>(ctx.store.read()).await?.ok_or(Refused::Gone)?.value;
    let until = instant(until, &profile, now)
        .ok_or_else(|| Refused::field("until", "Please choose until when the rest is put off."))?;
    let shown = show_run::show_run(ctx, station).await?.ok_or(Refused::Gone)?;
    let run = shown.run.map(|run| run.work).unwrap_or_default();
    let from = run.iter().position(|w| w.operation.id == first);
    let from = from.ok_or_else(|| Refused::first("This piece is no longer in the run."))?;
    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(_) = requests::claim(&tx, key, now).await? {
        return Ok(0);
    }
    let mut n = 0;
    for work in run[from..].iter().filter(|w| w.operation.state == OperationState::Open) {
        let (mut operation, _) = hands::operation(&tx, work.operation.id).await?;
        if operation.state != OperationState::Open {
            continue;
        }
        if operation.pinned {
            operations::pin(&tx, &operation, None).await?;
            operation.version += 1;
        }
        operation.step.not_before = Some(until);
        hands::save_operation(&tx, &mut operation).await?;
        n += 1;
    }
    requests::settle(&tx, key, first.0).await?;
    tx.commit().await?;
    ctx.planner.ring();
    ctx.live.tell("bench", None);
    Ok(n)
}

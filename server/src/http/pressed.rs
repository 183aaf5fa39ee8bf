//! Who pressed a button of the bench, and the shop as of when they did.
//!
//! Without the line a tablet keeps what is pressed and sends it later (`style/static/bench-worker.js`). It then says how
//! long ago that was by its own clock, so that minutes are counted rightly whatever that clock shows, and who it was.

use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use chrono::TimeDelta;

use super::caller::Staff;
use super::problem::Problem;
use crate::clock::Clock;
use crate::context::Ctx;
use crate::store::staff::Person;

/// Older presses count as this old: a tablet left in a drawer must not rewrite last month.
const MOST_AGO: TimeDelta = TimeDelta::days(3);

/// What a form of the bench comes with.
#[derive(Debug, Clone)]
pub(super) struct Pressed {
    /// The shop, its clock standing at the moment of the press.
    pub(super) ctx: Ctx,
    /// Who pressed, and is signed in.
    pub(super) person: Person,
}

impl FromRequestParts<Ctx> for Pressed {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, ctx: &Ctx) -> Result<Self, Problem> {
        let Staff(person) = Staff::from_request_parts(parts, ctx).await?;
        let text = |name: &str| parts.headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or("");
        let by = text("x-pressed-by");
        if !by.is_empty() && by != person.id.to_string() {
            // It waits on the tablet until whoever pressed it signs in again.
            return Err(Problem::Forbidden);
        }
        let ago = text("x-pressed-ago").parse::<i64>().unwrap_or(0).clamp(0, MOST_AGO.num_seconds());
        let ctx = match ago {
            0 => ctx.clone(),
            _ => ctx.under(Clock::standing_at(ctx.now() - TimeDelta::seconds(ago))),
        };
        Ok(Self { ctx, person })
    }
}

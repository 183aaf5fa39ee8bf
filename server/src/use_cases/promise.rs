//! By when pieces that are booked now will be ready.

use chrono::{DateTime, Utc};
use shop::booking::Arrival;
use shop::profile::Profile;
use shop::route::RouteStep;

use crate::context::Ctx;
use crate::store::Result;
use crate::{local, planning};

/// Working days after arrival within which rush work is done.
const RUSH_DAYS: u16 = 2;

/// When the knives can be in hand: at the slot, or after the days a parcel takes and one day for posting it.
pub fn arrival(profile: &Profile, arrival: &Arrival, now: DateTime<Utc>) -> DateTime<Utc> {
    let zone = local::zone(profile);
    match arrival {
        Arrival::Counter { slot } => local::instant(zone, *slot),
        Arrival::Post => {
            local::opening_of_day_after(zone, &profile.bench, now, profile.post_days + 1).unwrap_or(now)
        }
    }
}

/// The day and time promised for pieces with these routes: what the standing plan holds, or for rush work two working days
/// if that is sooner.
pub async fn promise(
    ctx: &Ctx,
    profile: &Profile,
    routes: &[Vec<RouteStep>],
    arrival: DateTime<Utc>,
    rush: bool,
) -> Result<DateTime<Utc>> {
    let planned = planning::promise(ctx, routes, arrival).await?;
    let zone = local::zone(profile);
    let soon = local::closing_of_day_after(zone, &profile.bench, arrival, RUSH_DAYS).filter(|_| rush);
    Ok(soon.map_or(planned, |soon| soon.min(planned)))
}

//! Somebody looks at the plan, or asks why a piece stands where it stands.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use shop::bench::Bench;
use shop::ids::{PieceId, VisitId};
use shop::profile::Profile;
use shop::read::{Operation, Piece, Visit};
use uuid::Uuid;

use crate::context::Ctx;
use crate::local;
use crate::planning::Body;
use crate::store::{self, operations, pieces, plans, settings, visits};

/// The standing plan with what pages say around it.
#[derive(Debug, Clone)]
pub struct Shown {
    /// The shop.
    pub profile: Profile,
    /// The bench.
    pub bench: Bench,
    /// Its id and when it was made.
    pub plan: Option<(Uuid, DateTime<Utc>, Body)>,
    /// Visits whose promise it breaks, with when it is finished by the plan and what could be promised.
    pub broken: Vec<Broken>,
}

/// A visit whose promise the plan breaks.
#[derive(Debug, Clone)]
pub struct Broken {
    /// The visit.
    pub visit: Visit,
    /// All of it finished by the plan.
    pub finished: DateTime<Utc>,
    /// The first closing time that holds.
    pub proposed: DateTime<Utc>,
}

/// The plan, and the promises it breaks. `None` until the owner has set up the shop.
pub async fn show_plan(ctx: &Ctx) -> store::Result<Option<Shown>> {
    let db = ctx.store.read();
    let Some(profile) = settings::get::<Profile>(db).await? else { return Ok(None) };
    let profile = profile.value;
    let bench = settings::get_or_default::<Bench>(db).await?.value;
    let plan = match plans::latest(db).await? {
        None => None,
        Some(stored) => Body::read(&stored).ok().map(|body| (stored.id, stored.made_at, body)),
    };
    let mut broken = Vec::new();
    if let Some((_, _, body)) = &plan {
        let mut by_visit: BTreeMap<VisitId, DateTime<Utc>> = BTreeMap::new();
        for (job, finish) in body.finishes() {
            if let Some(of) = body.jobs.get(job) {
                let last = by_visit.entry(of.visit).or_insert(finish);
                *last = finish.max(*last);
            }
        }
        let zone = local::zone(&profile);
        for visit in visits::open(db).await? {
            let Some(&finished) = by_visit.get(&visit.id) else { continue };
            if visit.confirmed_at.is_some() && finished > visit.promise_at {
                let proposed = local::closing_after(zone, &profile.counter, finished).unwrap_or(finished);
                broken.push(Broken { visit, finished, proposed });
            }
        }
    }
    Ok(Some(Shown { profile, bench, plan, broken }))
}

/// One piece, its visit and its route.
#[derive(Debug, Clone)]
pub struct ShownPiece {
    /// The plan around it.
    pub shown: Shown,
    /// Its visit.
    pub visit: Visit,
    /// The piece.
    pub piece: Piece,
    /// Its route, done steps included.
    pub route: Vec<Operation>,
}

/// One piece with its places in the plan.
pub async fn show_place(ctx: &Ctx, id: PieceId) -> store::Result<Option<ShownPiece>> {
    let db = ctx.store.read();
    let Some(shown) = show_plan(ctx).await? else { return Ok(None) };
    let Some(piece) = pieces::get(db, id).await? else { return Ok(None) };
    let Some(visit) = visits::get(db, piece.visit).await? else { return Ok(None) };
    let route = operations::of_piece(db, id).await?;
    Ok(Some(ShownPiece { shown, visit, piece, route }))
}

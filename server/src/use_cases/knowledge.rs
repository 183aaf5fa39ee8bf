//! What the shop knows and asks, gathered for one answer about a knife.

use assess::Knowledge;
use shop::ids::KnifeId;
use shop::profile::Profile;

use super::my_knives;
use crate::context::Ctx;
use crate::local;
use crate::store::{Result, documents};

/// Everything an assessment needs. An empty database has no shop yet: that is an error that says so.
pub async fn load(ctx: &Ctx) -> Result<Knowledge> {
    documents::knowledge(ctx.store.read()).await
}

/// The same about one knife: how often a year its owner brings it, or brings others of theirs where this one says nothing yet.
pub async fn of_knife(ctx: &Ctx, knife: Option<KnifeId>) -> Result<Knowledge> {
    let mut knows = load(ctx).await?;
    if let Some(knife) = knife {
        let zone = local::zone(&profile(ctx).await?);
        knows.per_year = my_knives::per_year(ctx.store.read(), knife, zone).await?;
    }
    Ok(knows)
}

/// The shop's name, hours and rules.
pub async fn profile(ctx: &Ctx) -> Result<Profile> {
    documents::profile(ctx.store.read()).await
}

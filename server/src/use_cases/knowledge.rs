//! What the shop knows and asks, gathered for one answer about a knife.

use std::sync::Arc;

use assess::Knowledge;
use shop::ids::KnifeId;
use shop::profile::Profile;

use super::my_knives;
use crate::context::Ctx;
use crate::local;
use crate::store::{Result, StoreError, documents};

/// Everything an assessment needs. An empty database has no shop yet: that is an error that says so.
pub async fn load(ctx: &Ctx) -> Result<Knowledge> {
    Ok(known(ctx).await?.1.clone())
}

/// The documents as they are now. They change seldom and every page needs them, so they are read again only when their
/// stamp has moved, by this server or another.
async fn known(ctx: &Ctx) -> Result<Arc<(Profile, Knowledge)>> {
    let db = ctx.store.read();
    let stamp = documents::stamp(db).await?;
    if let Some(known) = ctx.known.at(stamp) {
        return Ok(known);
    }
    // The stamp first: what is changed between it and the reading is read again next time.
    let fresh = Arc::new((documents::profile(db).await?, documents::knowledge(db).await?));
    ctx.known.keep(stamp, &fresh);
    Ok(fresh)
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
    match known(ctx).await {
        // Rules there are; something else is missing.
        Err(StoreError::NotSetUp { .. }) => documents::profile(ctx.store.read()).await,
        known => Ok(known?.0.clone()),
    }
}

//! What the shop knows and asks, gathered for one answer about a knife.

use assess::Knowledge;
use shop::profile::Profile;

use crate::context::Ctx;
use crate::store::{Result, documents};

/// Everything an assessment needs. An empty database has no shop yet: that is an error that says so.
pub async fn load(ctx: &Ctx) -> Result<Knowledge> {
    documents::knowledge(ctx.store.read()).await
}

/// The shop's name, hours and rules.
pub async fn profile(ctx: &Ctx) -> Result<Profile> {
    documents::profile(ctx.store.read()).await
}

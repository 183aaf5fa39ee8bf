//! Fills an empty database with a demo shop.

use crate::context::Ctx;

/// Seeds the demo shop. Does nothing when there is anything already.
pub async fn run(ctx: &Ctx) -> anyhow::Result<()> {
    // The demo shop's contents are written in files of their own beside this one.
    let _ = ctx;
    Ok(())
}

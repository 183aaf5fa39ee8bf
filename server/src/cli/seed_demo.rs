//! `whetledger seed-demo`: fills an empty database with a demo shop.

use super::open;
use crate::use_cases::seed_demo;

pub(super) async fn run() -> anyhow::Result<()> {
    let ctx = open::shop(open::config()?).await?;
    seed_demo::run(&ctx).await?;
    ctx.store.close().await?;
    Ok(())
}

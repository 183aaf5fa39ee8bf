//! `whetledger migrate`: brings the database up to this program.

use super::open;

pub(super) async fn run() -> anyhow::Result<()> {
    let ctx = open::shop(open::config()?).await?;
    println!("The database is up to this program.");
    ctx.store.close().await?;
    Ok(())
}

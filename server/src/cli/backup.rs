//! `whetledger backup FILE` and `whetledger restore FILE`.

use std::path::PathBuf;

use super::open;
use crate::backup::{self, Contents};
use crate::clock::Clock;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The backup, one tar file
    file: PathBuf,
}

/// Writes a backup; the shop may be open meanwhile.
pub(super) async fn back_up(args: Args) -> anyhow::Result<()> {
    let ctx = open::shop(open::config()?).await?;
    let contents = backup::write(&ctx, &args.file).await?;
    println!("{} holds {}", args.file.display(), words(&contents));
    ctx.store.close().await?;
    Ok(())
}

/// Puts a backup in place; the shop must be closed.
pub(super) async fn restore(args: Args) -> anyhow::Result<()> {
    let config = open::config()?;
    let _alone = open::alone(&config)?;
    let (contents, aside) = backup::restore(&config, &args.file, Clock::System.now()).await?;
    println!("Restored {}", words(&contents));
    println!("What was there before is in {}", aside.display());
    Ok(())
}

fn words(contents: &Contents) -> String {
    format!(
        "the shop as of {} ({} photos, {:.1} MB)",
        contents.made_at.format("%Y-%m-%d %H:%M UTC"),
        contents.n_photos(),
        contents.n_bytes() as f64 / 1e6
    )
}

//! `whetledger serve`: the shop's pages, and the workers behind them.

use tokio::signal::unix::{SignalKind, signal};

use super::open;
use crate::context::Ctx;
use crate::http;
use crate::neighbours;
use crate::planning;
use crate::post::transport::Transport;
use crate::post::worker;
use crate::use_cases::{housekeeping, nightly_backup, seed_demo};

#[derive(Debug, Default, clap::Args)]
pub(super) struct Args {
    /// Fill the database with a demo shop first, if it is empty
    #[arg(long)]
    demo: bool,
    /// The same, but a demo shop without the weeks of work behind it
    #[arg(long, conflicts_with = "demo")]
    demo_fresh: bool,
}

pub(super) async fn run(args: Args) -> anyhow::Result<()> {
    let config = open::config()?;
    let transport = Transport::from_config(&config)?;
    let listener = http::serve::listen(config.bind).await?;
    let ctx = open::shop(config).await?;
    if args.demo {
        super::seed_demo::say(seed_demo::with_history(&ctx).await?);
    }
    if args.demo_fresh {
        super::seed_demo::say(seed_demo::run(&ctx).await?);
    }
    stop_on_signal(ctx.clone())?;
    let post = transport.map(|transport| tokio::spawn(worker::run(ctx.clone(), transport)));
    let neighbours = tokio::spawn(neighbours::run(ctx.clone()));
    let planner = tokio::spawn(planning::worker::run(ctx.clone()));
    let housekeeping = tokio::spawn(housekeeping::run(ctx.clone()));
    let backups = tokio::spawn(nightly_backup::run(ctx.clone()));
    println!("Whetledger is open at {}", ctx.config.public_url);
    http::serve::serve(listener, http::router(ctx.clone()), ctx.clone()).await?;
    ctx.stop.cancel();
    if let Some(post) = post {
        post.await?;
    }
    planner.await?;
    neighbours.await?;
    housekeeping.await?;
    backups.await?;
    ctx.store.close().await?;
    tracing::info!("closed");
    Ok(())
}

/// The first SIGTERM or SIGINT asks everything to finish; the second one ends the program at once.
fn stop_on_signal(ctx: Ctx) -> anyhow::Result<()> {
    let mut terminate = signal(SignalKind::terminate())?;
    let mut interrupt = signal(SignalKind::interrupt())?;
    tokio::spawn(async move {
        tokio::select! {
            _ = terminate.recv() => {}
            _ = interrupt.recv() => {}
        }
        ctx.stop.cancel();
        tracing::info!("closing");
        tokio::select! {
            _ = terminate.recv() => {}
            _ = interrupt.recv() => {}
        }
        std::process::exit(1);
    });
    Ok(())
}

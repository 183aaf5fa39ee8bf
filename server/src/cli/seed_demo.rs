//! `whetledger seed-demo`: fills an empty database with a demo shop.

use super::open;
use crate::use_cases::seed_demo;

pub(super) async fn run() -> anyhow::Result<()> {
    let ctx = open::shop(open::config()?).await?;
    let seeded = seed_demo::with_history(&ctx).await?;
    if seeded.is_none() {
        println!("There is a shop in this database already; nothing was changed.");
    }
    say(seeded);
    ctx.store.close().await?;
    Ok(())
}

/// Prints the one-time passwords of a fresh demo shop; they are nowhere else.
pub(super) fn say(seeded: Option<seed_demo::Seeded>) {
    let Some(seeded) = seeded else { return };
    println!(
        "The demo shop is set up. Sign in at /sign-in; each password is good once and then asks for your own:"
    );
    for added in [&seeded.owner, &seeded.colleague] {
        println!(
            "  {:<8} {:<24} ({})",
            added.person.sign_in_name, added.one_time_password, added.person.full_name
        );
    }
}

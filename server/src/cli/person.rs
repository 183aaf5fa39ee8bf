//! `whetledger person ...`: the people who work in the shop.

use super::open;
use crate::store::staff::{self, Roles};
use crate::use_cases::{add_person, save_crew};

#[derive(Debug, clap::Subcommand)]
pub(super) enum Command {
    /// Add somebody; prints the one-time password they sign in with first
    Add {
        /// What they type to sign in: a-z, 0-9, dot and dash
        sign_in_name: String,
        /// What the shop calls them
        full_name: String,
        /// They receive, inspect, answer and hand back
        #[arg(long)]
        desk: bool,
        /// They work the runs, check and refinish
        #[arg(long)]
        bench: bool,
        /// They set the shop up; may do everything
        #[arg(long)]
        owner: bool,
    },
    /// Give somebody who forgot theirs a new one-time password; their sessions and their second step end
    Password {
        /// What they type to sign in
        sign_in_name: String,
    },
    /// List everybody
    List,
}

pub(super) async fn run(command: Command) -> anyhow::Result<()> {
    let ctx = open::shop(open::config()?).await?;
    match command {
        Command::Add { sign_in_name, full_name, desk, bench, owner } => {
            let roles = Roles { desk, bench, owner };
            let added = add_person::add_person(&ctx, &sign_in_name, &full_name, roles).await?;
            println!("{} can sign in at {}", added.person.full_name, ctx.url("/sign-in"));
            println!("  name:              {}", added.person.sign_in_name);
            println!("  one-time password: {}", added.one_time_password);
            println!("  good for:          {} hours", ctx.config.one_time_hours);
        }
        Command::Password { sign_in_name } => {
            let name = sign_in_name.trim().to_lowercase();
            let (person, _) = staff::by_name(ctx.store.read(), &name)
                .await?
                .ok_or_else(|| anyhow::anyhow!("nobody signs in as {name}"))?;
            let password = save_crew::new_password(&ctx, None, person.id).await?;
            println!("{} can sign in at {}", person.full_name, ctx.url("/sign-in"));
            println!("  name:              {name}");
            println!("  one-time password: {password}");
            println!("  good for:          {} hours", ctx.config.one_time_hours);
        }
        Command::List => {
            for person in staff::list(ctx.store.read()).await? {
                let roles: Vec<&str> = [
                    (person.roles.desk, "desk"),
                    (person.roles.bench, "bench"),
                    (person.roles.owner, "owner"),
                ]
                .into_iter()
                .filter_map(|(has, word)| has.then_some(word))
                .collect();
                let left = if person.left_at.is_some() { " (has left)" } else { "" };
                println!("{}\t{}\t{}{left}", person.sign_in_name, person.full_name, roles.join(", "));
            }
        }
    }
    ctx.store.close().await?;
    Ok(())
}

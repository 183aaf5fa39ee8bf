//! Fills an empty database with a demo shop: an invented maker with its models, bench, prices and people.

mod bench;
mod history;
mod shop;

use ::shop::ids::StaffId;
use assess::{Learned, Typical};

use crate::context::Ctx;
use crate::store::documents::{Crew, Hand};
use crate::store::staff::Roles;
use crate::store::{knives, settings, wheels};
use crate::use_cases::add_person::{Added, add_person};

/// Somebody who can sign in to the demo shop, with the one-time password to be shown once.
#[derive(Debug)]
pub struct Seeded {
    /// The owner; also works at the bench.
    pub owner: Added,
    /// A colleague at desk and bench.
    pub colleague: Added,
}

/// Seeds the demo shop and lives through its last weeks: what a newcomer sees first.
pub async fn with_history(ctx: &Ctx) -> anyhow::Result<Option<Seeded>> {
    let seeded = run(ctx).await?;
    if let Some(Seeded { owner, colleague }) = &seeded {
        history::live(ctx, &owner.person, &colleague.person).await?;
        ctx.planner.ring();
    }
    Ok(seeded)
}

/// Seeds the demo shop with its models, bench, prices and people, and no work yet. Does nothing (`None`) when there is a
/// shop already.
pub async fn run(ctx: &Ctx) -> anyhow::Result<Option<Seeded>> {
    if settings::get::<::shop::profile::Profile>(ctx.store.read()).await?.is_some() {
        return Ok(None);
    }
    let owner = add_person(ctx, "nuno", "Nuno Marram", Roles::OWNER).await?;
    let colleague =
        add_person(ctx, "teresa", "Teresa Vale", Roles { desk: true, bench: true, owner: false }).await?;
    furnish(ctx, &[StaffId(owner.person.id), StaffId(colleague.person.id)]).await?;
    Ok(Some(Seeded { owner, colleague }))
}

/// The demo shop's models, bench, wheels, prices and rules, with these people at its bench.
pub async fn furnish(ctx: &Ctx, crew: &[StaffId]) -> anyhow::Result<()> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    settings::put(&tx, &shop::profile(now.date_naive()), 0, None, now).await?;
    settings::put(&tx, &shop::prices(), 0, None, now).await?;
    settings::put(&tx, &bench::bench(), 0, None, now).await?;
    settings::put(&tx, &craft::Rates::default(), 0, None, now).await?;
    // Medians and spread as invented for the demo; the ledger's own figures take over as work is done.
    let typical = Typical {
        double_mm: 0.18,
        single_mm: 0.20,
        serrated_mm: 0.25,
        spread: 0.5,
        learned: Learned::default(),
    };
    settings::put(&tx, &typical, 0, None, now).await?;
    let hand = |&staff: &StaffId| Hand { staff, skills: vec!["serrate".to_owned()], hours: None };
    settings::put(&tx, &Crew { hands: crew.iter().map(hand).collect() }, 0, None, now).await?;
    let mut fresh = || ctx.new_id();
    for wheel in bench::wheels(&mut fresh) {
        wheels::insert(&tx, &wheel).await?;
    }
    for model in bench::models(&mut fresh) {
        knives::insert_model(&tx, &model).await?;
    }
    tx.commit().await?;
    ctx.planner.ring();
    Ok(())
}

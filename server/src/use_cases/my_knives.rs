//! All knives of one customer, opened by a link that opens once, and the reminders that go with them.

use std::collections::HashMap;

use assess::Knowledge;
use chrono::{NaiveDate, TimeDelta};
use chrono_tz::Tz;
use shop::habit;
use shop::ids::{CustomerId, KnifeId};
use shop::lang::Lang;
use shop::piece::PieceState;
use shop::profile::Profile;
use shop::read::{Contact, Knife, Piece};

use super::{knowledge, offer, private_link};
use crate::context::Ctx;
use crate::local;
use crate::post::notice::Notice;
use crate::post::visit::ServiceDue;
use crate::store::links::{self, Found, Purpose};
use crate::store::{Queries, Result, WriteTx, customers, knives, outbox, pieces};
use crate::token::Token;

/// A link in a mail that opens once works this long.
const ONCE_LASTS: TimeDelta = TimeDelta::days(1);
/// The one in a reminder, which people read later.
const REMINDED_LASTS: TimeDelta = TimeDelta::days(30);
/// What it opens stays open this long.
const OPEN_LASTS: TimeDelta = TimeDelta::hours(1);
/// Without any habit of its owner a knife is thought of after a year.
const WITHOUT_HABIT_DAYS: u64 = 365;

/// Makes a link that opens all knives of a customer once: the whole address.
pub(super) async fn once_link(ctx: &Ctx, tx: &WriteTx, customer: CustomerId) -> Result<String> {
    once(ctx, tx, customer, ONCE_LASTS).await
}

async fn once(ctx: &Ctx, tx: &WriteTx, customer: CustomerId, lasts: TimeDelta) -> Result<String> {
    let now = ctx.now();
    let token = links::make(tx, ctx.new_id(), Purpose::Once, customer.0, Some(now + lasts), now).await?;
    Ok(ctx.url(&format!("/once/{token}")))
}

/// Whether a link would open, and in which language; looking does not use it up.
pub async fn may_open(ctx: &Ctx, presented: &str) -> Result<Option<Lang>> {
    let db = ctx.store.read();
    match links::find(db, Purpose::Once, presented, ctx.now()).await? {
        Found::Open(id) => Ok(Some(customers::language(db, CustomerId(id)).await?)),
        Found::Stale(_) | Found::Unknown => Ok(None),
    }
}

/// Uses the link up and gives the one behind which the knives stay open for a while.
pub async fn open_once(ctx: &Ctx, presented: &str) -> Result<Option<Token>> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let Some(customer) = links::use_up(&tx, Purpose::Once, presented, now).await? else { return Ok(None) };
    let token = links::make(&tx, ctx.new_id(), Purpose::Mine, customer, Some(now + OPEN_LASTS), now).await?;
    tx.commit().await?;
    Ok(Some(token))
}

/// One knife with its pieces, oldest first.
#[derive(Debug, Clone)]
pub struct Mine {
    /// The knife.
    pub knife: Knife,
    /// Its pieces, oldest first.
    pub pieces: Vec<Piece>,
    /// When it may want us again.
    pub next: Next,
}

/// When a knife may want us again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Next {
    /// By how often it was brought.
    Habit(NaiveDate),
    /// By how often their other knives were brought.
    Others(NaiveDate),
    /// Nobody knows yet.
    Unknown,
}

/// All knives of one customer.
#[derive(Debug, Clone)]
pub struct AllMine {
    /// Whose they are.
    pub customer: CustomerId,
    /// How to reach them.
    pub contact: Contact,
    /// Their language.
    pub language: Lang,
    /// The knives, newest first.
    pub knives: Vec<Mine>,
    /// They asked to be reminded.
    pub reminded: bool,
    /// What the shop knows, for the drawings.
    pub knows: Knowledge,
    /// The shop.
    pub profile: Profile,
}

/// Reads them. `None`: the link does not open (any more).
pub async fn show(ctx: &Ctx, presented: &str) -> Result<Option<AllMine>> {
    let Some(customer) = holder(ctx, presented).await? else { return Ok(None) };
    let db = ctx.store.read();
    let Some(contact) = customers::get(db, customer).await? else { return Ok(None) };
    let profile = knowledge::profile(ctx).await?;
    Ok(Some(AllMine {
        knives: of_customer(db, customer, local::zone(&profile)).await?,
        language: customers::language(db, customer).await?,
        reminded: customers::reminder_of(db, customer).await?.is_some(),
        knows: knowledge::load(ctx).await?,
        customer,
        contact,
        profile,
    }))
}

/// Whose knives a link opens just now.
pub async fn holder(ctx: &Ctx, presented: &str) -> Result<Option<CustomerId>> {
    match links::find(ctx.store.read(), Purpose::Mine, presented, ctx.now()).await? {
        Found::Open(id) => Ok(Some(CustomerId(id))),
        Found::Stale(_) | Found::Unknown => Ok(None),
    }
}

async fn of_customer(db: &impl Queries, customer: CustomerId, zone: Tz) -> Result<Vec<Mine>> {
    let mut all = Vec::new();
    for knife in knives::of_owner(db, customer).await? {
        let pieces = pieces::of_knife(db, knife.id).await?;
        all.push(Mine { knife, pieces, next: Next::Unknown });
    }
    let habits = habits(&all, zone);
    for mine in &mut all {
        let dates = went_home(mine, zone);
        mine.next = match (habits.own.get(&mine.knife.id), habits.usual) {
            (Some(days), _) => habit::next_service(&dates, *days).map_or(Next::Unknown, Next::Habit),
            (None, Some(days)) => habit::next_service(&dates, days).map_or(Next::Unknown, Next::Others),
            (None, None) => Next::Unknown,
        };
    }
    Ok(all)
}

/// Days between services: of each knife that was here often enough to tell, and in the middle of these.
struct Habits {
    own: HashMap<KnifeId, u64>,
    usual: Option<u64>,
}

fn habits(all: &[Mine], zone: Tz) -> Habits {
    let days = |mine: &Mine| Some((mine.knife.id, habit::days_between(&went_home(mine, zone))?));
    let own: HashMap<KnifeId, u64> = all.iter().filter_map(days).collect();
    let mut usual: Vec<u64> = own.values().copied().collect();
    usual.sort_unstable();
    Habits { usual: usual.get(usual.len() / 2).copied(), own }
}

fn went_home(mine: &Mine, zone: Tz) -> Vec<NaiveDate> {
    mine.pieces.iter().filter_map(|p| p.home_at).map(|at| local::date(zone, at)).collect()
}

/// How often a year a knife is brought: by its own visits, else by those of its owner's other knives. `None`: nothing says.
pub(super) async fn per_year(db: &impl Queries, knife: KnifeId, zone: Tz) -> Result<Option<f64>> {
    let Some(knife) = knives::get(db, knife).await? else { return Ok(None) };
    let others = match knife.owner {
        Some(owner) => of_customer(db, owner, zone).await?,
        None => vec![Mine {
            pieces: pieces::of_knife(db, knife.id).await?,
            next: Next::Unknown,
            knife: knife.clone(),
        }],
    };
    let habits = habits(&others, zone);
    let days = habits.own.get(&knife.id).copied().or(habits.usual);
    Ok(days.map(|days| 365.25 / days as f64))
}

/// A link to the ledger of one of their knives: its path. `None`: it is not theirs.
pub async fn to_ledger(ctx: &Ctx, customer: CustomerId, knife: KnifeId) -> Result<Option<String>> {
    let theirs = knives::get(ctx.store.read(), knife).await?.is_some_and(|k| k.owner == Some(customer));
    if !theirs {
        return Ok(None);
    }
    let tx = ctx.store.begin_write().await?;
    let path = private_link::of_knife(ctx, &tx, knife).await?;
    tx.commit().await?;
    Ok(Some(path))
}

/// Turns reminders on or off.
pub async fn set_remind(ctx: &Ctx, customer: CustomerId, wanted: bool) -> Result<()> {
    let tx = ctx.store.begin_write().await?;
    customers::set_remind(&tx, customer, wanted.then(|| ctx.now())).await?;
    tx.commit().await
}

/// What an unsubscribing link would end: the language of whoever has it. `None`: it was never ours.
pub async fn may_stop(ctx: &Ctx, presented: &str) -> Result<Option<(CustomerId, Lang)>> {
    let db = ctx.store.read();
    match links::find(db, Purpose::Unsubscribe, presented, ctx.now()).await? {
        Found::Open(id) | Found::Stale(id) => {
            let id = CustomerId(id);
            Ok(Some((id, customers::language(db, id).await?)))
        }
        Found::Unknown => Ok(None),
    }
}

/// Reminds everybody who asked for it of the knives that are due by now; of each at most once between two visits. Says how
/// many people were written to.
pub async fn remind(ctx: &Ctx) -> Result<usize> {
    let db = ctx.store.read();
    let Some(profile) = offer::profile(ctx).await? else { return Ok(0) };
    let zone = local::zone(&profile);
    let today = local::date(zone, ctx.now());
    let mut n = 0;
    for person in customers::to_remind(db).await? {
        let mut due = Vec::new();
        for mine in of_customer(db, person.id, zone).await? {
            // One that is with us, or expected, needs no reminder; one that was lost here is not spoken of again.
            let never_came_back = mine.pieces.last().is_some_and(|p| p.state == PieceState::Settled);
            if never_came_back || mine.pieces.iter().any(|p| !p.state.is_over() && p.home_at.is_none()) {
                continue;
            }
            let Some(last) = mine.pieces.iter().filter_map(|p| p.home_at).max() else { continue };
            let next = match mine.next {
                Next::Habit(day) | Next::Others(day) => Some(day),
                Next::Unknown => habit::next_service(&[local::date(zone, last)], WITHOUT_HABIT_DAYS),
            };
            let told = person.last.is_some_and(|told| told > last);
            if next.is_some_and(|day| day <= today) && !told {
                due.push((mine.knife.name.clone(), local::date(zone, last)));
            }
        }
        if due.is_empty() || person.contact.email.is_empty() {
            continue;
        }
        write(ctx, &profile, &person, due).await?;
        n += 1;
    }
    Ok(n)
}

async fn write(
    ctx: &Ctx,
    profile: &Profile,
    person: &customers::Reminded,
    knives: Vec<(String, NaiveDate)>,
) -> Result<()> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    // Looked at again under the write lock: another server may have been quicker, or they have just stopped it.
    let same = customers::reminder_of(&tx, person.id).await?.is_some_and(|p| p.last == person.last);
    if !same {
        return Ok(());
    }
    let link = once(ctx, &tx, person.id, REMINDED_LASTS).await?;
    let stop = links::make(&tx, ctx.new_id(), Purpose::Unsubscribe, person.id.0, None, now).await?;
    let notice = Notice::ServiceDue(Box::new(ServiceDue {
        customer: person.id,
        name: person.contact.name.clone(),
        language: person.language,
        knives,
        profile: profile.clone(),
        link,
        book: ctx.url("/book"),
        unsubscribe: ctx.url(&format!("/stop/{stop}")),
    }));
    outbox::queue(&tx, ctx.new_id(), notice.letter(&person.contact.email, &person.contact.name), now).await?;
    customers::was_reminded(&tx, person.id, now).await?;
    tx.commit().await?;
    ctx.post.ring();
    Ok(())
}

//! What is chased by itself, once an hour: bookings nobody confirmed, parcels that never came, knives nobody fetches.

use chrono::{DateTime, Days, TimeDelta, Utc};
use shop::ids::VisitId;
use shop::ledger::{Fact, Who};
use shop::money::Money;
use shop::piece::{Event, PieceState};
use shop::price::PriceList;
use shop::profile::Profile;
use shop::read::Visit;

use super::hands::{self, Refused};
use super::{answer_quote, ready, show_desk};
use crate::context::Ctx;
use crate::local;
use crate::post::desk::{Lapsed, NotArrived, Unfetched};
use crate::post::notice::Notice;
use crate::post::visit::QuoteAsked;
use crate::store::outbox::{self, Kept};
use crate::store::{WriteTx, operations, settings, visits};

/// A booking that nobody confirmed is dropped after this long; the address may be a stranger's, so without a word.
const UNCONFIRMED_KEPT: TimeDelta = TimeDelta::days(3);

/// A knife nobody fetches is asked about this often, and no more: after that a person has to ring.
const MOST_REMINDERS: usize = 3;

/// A price nobody has answered is asked again after this long; work stands still meanwhile.
const ASK_AGAIN: TimeDelta = TimeDelta::days(3);

/// And this often at most; after that a person has to ring.
const MOST_ASKED_AGAIN: usize = 2;

/// What is to be done about a visit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Chase {
    /// Free its place, without a word.
    Drop,
    /// Ask whether the parcel has left.
    AskWhere,
    /// Free its place, and say so.
    Lapse,
    /// Ask that it is fetched.
    Fetch,
    /// Ask once more for the answer to a price.
    Answer,
}

/// What is to be done about a visit now. `sent`: the notices about it so far.
pub fn due(visit: &Visit, profile: &Profile, sent: &[Kept], now: DateTime<Utc>) -> Option<Chase> {
    if visit.cancelled_at.is_some() {
        return None;
    }
    if visit.pieces.iter().any(|p| p.state == PieceState::Expected) {
        if visit.confirmed_at.is_none() {
            return (now - visit.booked_at >= UNCONFIRMED_KEPT).then_some(Chase::Drop);
        }
        let zone = local::zone(profile);
        let (expected, today) = (show_desk::expected_on(visit, profile, zone), local::date(zone, now));
        let late =
            |days: u16| expected.checked_add_days(Days::new(u64::from(days))).is_some_and(|day| today >= day);
        if late(profile.lapse_after_days) {
            return Some(Chase::Lapse);
        }
        let asked = sent.iter().any(|n| n.kind == "not_arrived");
        // Half the time is left to answer, or for a slow parcel to come.
        if late(profile.lapse_after_days.div_ceil(2)) && !asked && visit.received_at.is_none() {
            return Some(Chase::AskWhere);
        }
    }
    if visit.pieces.iter().any(|p| answer_quote::asked(p).is_some()) {
        let asked: Vec<_> =
            sent.iter().filter(|n| matches!(n.kind.as_str(), "quote" | "quote_again")).collect();
        let again = asked.iter().filter(|n| n.kind == "quote_again").count();
        let last = asked.iter().map(|n| n.queued_at).max();
        if again < MOST_ASKED_AGAIN && last.is_some_and(|last| now - last >= ASK_AGAIN) {
            return Some(Chase::Answer);
        }
    }
    let waits = visit.pieces.iter().any(|p| p.state == PieceState::Ready);
    let ready_at = visit.ready_at.filter(|_| waits && !visit.back_by_post)?;
    let reminders: Vec<_> = sent.iter().filter(|n| n.kind == "unfetched").collect();
    let last = reminders.iter().map(|n| n.queued_at).max().unwrap_or(ready_at);
    let again = TimeDelta::days(i64::from(profile.remind_after_days));
    (reminders.len() < MOST_REMINDERS && now - last >= again).then_some(Chase::Fetch)
}

/// Chases what is due. Says how many visits it was.
pub async fn chase(ctx: &Ctx) -> Result<usize, Refused> {
    let db = ctx.store.read();
    let Some(profile) = settings::get::<Profile>(db).await? else { return Ok(0) };
    let profile = profile.value;
    let mut n = 0;
    for visit in visits::open(db).await? {
        let sent = outbox::about(db, visit.id.0).await?;
        if due(&visit, &profile, &sent, ctx.now()).is_none() {
            continue;
        }
        match one(ctx, &profile, visit.id).await {
            Ok(done) => n += usize::from(done),
            // Somebody works on this visit at this moment; the next hour looks again.
            Err(Refused::Stale(_) | Refused::NotNow(_)) => {}
            Err(other) => return Err(other),
        }
    }
    Ok(n)
}

/// Looks at one visit again inside its transaction, so that two programs at once do not ask twice.
async fn one(ctx: &Ctx, profile: &Profile, id: VisitId) -> Result<bool, Refused> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let Some(visit) = visits::get(&tx, id).await? else { return Ok(false) };
    // Saving it first makes a second program's look stale on PostgreSQL; `SQLite` has made it wait.
    visits::save(&tx, &visit, now).await?;
    let sent = outbox::about(&tx, id.0).await?;
    let Some(what) = due(&visit, profile, &sent, now) else { return Ok(false) };
    match what {
        Chase::Drop => lapse(&tx, &visit, now).await?,
        Chase::Lapse => {
            lapse(&tx, &visit, now).await?;
            let notice = Lapsed { visit: visit.clone(), profile: profile.clone() };
            hands::tell_in_time(ctx, &tx, &visit, profile, &Notice::Lapsed(Box::new(notice))).await?;
            ready::look_again(ctx, &tx, id, now).await?;
        }
        Chase::AskWhere => {
            let link = hands::link(ctx, &tx, id).await?;
            let notice = NotArrived { visit: visit.clone(), profile: profile.clone(), link };
            hands::tell_in_time(ctx, &tx, &visit, profile, &Notice::NotArrived(Box::new(notice))).await?;
        }
        Chase::Answer => {
            let link = hands::link(ctx, &tx, id).await?;
            let withdrawn = settings::get::<PriceList>(&tx).await?.map_or(Money(0), |p| p.value.withdrawn);
            let notice =
                QuoteAsked { visit: visit.clone(), profile: profile.clone(), withdrawn, link, again: true };
            hands::tell_in_time(ctx, &tx, &visit, profile, &Notice::QuoteAsked(Box::new(notice))).await?;
        }
        Chase::Fetch => {
            let link = hands::link(ctx, &tx, id).await?;
            let notice = Unfetched { visit: visit.clone(), profile: profile.clone(), link };
            hands::tell_in_time(ctx, &tx, &visit, profile, &Notice::Unfetched(Box::new(notice))).await?;
        }
    }
    tx.commit().await?;
    hands::ring(ctx, id);
    Ok(true)
}

async fn lapse(tx: &WriteTx, visit: &Visit, now: DateTime<Utc>) -> Result<(), Refused> {
    for piece in &visit.pieces {
        if piece.state == PieceState::Expected {
            let mut piece = piece.clone();
            operations::drop_open(tx, piece.id).await?;
            hands::save(tx, &mut piece, Some(Event::Lapse), Who::Program, &[Fact::Lapsed], "", now).await?;
        }
    }
    Ok(())
}

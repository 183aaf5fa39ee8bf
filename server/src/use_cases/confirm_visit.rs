//! The customer says, by the link in the notice, that the booking was meant.

use shop::booking::Person;
use shop::ids::{CustomerId, VisitId};
use shop::ledger::{Fact, Who};
use shop::read::Visit;

use crate::context::Ctx;
use crate::store::{Result, StoreError, WriteTx, customers, knives, ledger, pieces, visits};

/// Why it was not confirmed.
#[derive(Debug, thiserror::Error)]
pub enum ConfirmError {
    /// It was called off before.
    #[error("this booking was called off")]
    Cancelled,
    /// There is no such visit.
    #[error("there is no such visit")]
    Gone,
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// Confirms a booking. A second time changes nothing.
///
/// Only now is the mail address known to be the booker's own, so only now do we join the visit with what we know of the
/// person, and the pieces with the knives they say they are.
pub async fn confirm_visit(ctx: &Ctx, id: VisitId) -> std::result::Result<(), ConfirmError> {
    confirm_as(ctx, id, Who::Customer).await
}

/// Confirms a booking for the customer, or for the desk that met or rang them.
pub(super) async fn confirm_as(ctx: &Ctx, id: VisitId, who: Who) -> std::result::Result<(), ConfirmError> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut visit = visits::get(&tx, id).await?.ok_or(ConfirmError::Gone)?;
    if visit.cancelled_at.is_some() {
        return Err(ConfirmError::Cancelled);
    }
    if visit.confirmed_at.is_some() {
        return Ok(());
    }
    join_customer(&tx, &mut visit).await?;
    visit.confirmed_at = Some(now);
    visits::save(&tx, &visit, now).await?;
    join_knives(&tx, &mut visit).await?;
    ledger::add(&tx, visit.id, who, &Fact::Confirmed, None, now).await?;
    tx.commit().await?;
    ctx.planner.ring();
    ctx.live.tell("visit", Some(id.0));
    Ok(())
}

async fn join_customer(tx: &WriteTx, visit: &mut Visit) -> Result<()> {
    let Some(known) = known_before(tx, visit).await? else { return Ok(()) };
    let contact = visit.contact.clone();
    let person =
        Person { name: contact.name, email: contact.email, phone: contact.phone, address: contact.address };
    customers::update(tx, known, &person).await?;
    let double = visit.customer;
    visits::give_to(tx, visit, known).await?;
    customers::set_language(tx, known, visit.language).await?;
    customers::remove(tx, double).await
}

/// Somebody with the same mail address who has confirmed a booking, or brought knives, before.
async fn known_before(tx: &WriteTx, visit: &Visit) -> Result<Option<CustomerId>> {
    for id in customers::all_by_email(tx, &visit.contact.email).await? {
        if id == visit.customer {
            continue;
        }
        let known = visits::of_customer(tx, id).await?;
        if known.iter().any(|v| v.confirmed_at.is_some() || v.received_at.is_some()) {
            return Ok(Some(id));
        }
    }
    Ok(None)
}

async fn join_knives(tx: &WriteTx, visit: &mut Visit) -> Result<()> {
    let customer = visit.customer;
    for piece in &mut visit.pieces {
        let Some(tag) = piece.booked.tag.filter(|_| piece.knife.is_none()) else { continue };
        let Some(knife) = knives::by_tag(tx, tag).await? else { continue };
        if knife.owner == Some(customer) {
            piece.knife = Some(knife.id);
            pieces::save(tx, piece).await?;
        }
    }
    Ok(())
}

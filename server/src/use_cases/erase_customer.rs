//! A customer wants to be forgotten: the person goes, the knives' technical record stays.

use shop::ids::CustomerId;
use shop::piece::PieceState;
use shop::read::Visit;
use shop::tag::Reference;

use super::set_up::NotSaved;
use crate::context::Ctx;
use crate::store::changes::{self, Subject};
use crate::store::persons::{self, Erased};
use crate::store::staff::Person;
use crate::store::visits;

/// Takes the person of a visit out of the books. `typed` must be the visit's reference, so that nobody is erased by a slip.
/// Refused while any of their knives is in the house or expected: somebody has to know whose it is.
pub async fn erase_customer(
    ctx: &Ctx,
    by: &Person,
    reference: Reference,
    typed: &str,
) -> Result<Erased, NotSaved> {
    if typed.trim().parse::<Reference>().ok() != Some(reference) {
        return Err(NotSaved::field(
            "confirm",
            format!("To confirm, please type the reference {reference}."),
        ));
    }
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let customer = visits::by_reference(&tx, reference).await?.ok_or(NotSaved::Gone)?.customer;
    if let Some(why) = visits::of_customer(&tx, customer).await?.iter().find_map(still_needed) {
        return Err(NotSaved::field("confirm", why));
    }
    if persons::erased_at(&tx, customer).await?.is_some() {
        return Err(NotSaved::field("confirm", "This person is erased already."));
    }
    let erased = persons::erase(&tx, customer, now).await?;
    changes::add(&tx, Subject::Customer, Some(customer.0), &["erased".to_owned()], Some(by.id), now).await?;
    tx.commit().await?;
    ctx.album.remove(erased.photos.clone()).await;
    ctx.live.tell("visit", None);
    Ok(erased)
}

/// Why a visit still needs to know its person.
fn still_needed(visit: &Visit) -> Option<String> {
    let reference = visit.reference;
    if visit.cancelled_at.is_some() {
        return None;
    }
    visit.pieces.iter().find_map(|piece| match piece.state {
        PieceState::Home
        | PieceState::Missing
        | PieceState::Lapsed
        | PieceState::Lost
        | PieceState::Settled => None,
        PieceState::Expected => {
            Some(format!("Visit {reference} is still expected: call it off first, or wait until it is over."))
        }
        _ if piece.home_at.is_some() => None,
        _ => Some(format!(
            "A knife of visit {reference} is still here ({}): hand it back first.",
            piece.state.words()
        )),
    })
}

/// Whether a person may be erased now; the reason when not.
pub async fn may_be_erased(ctx: &Ctx, customer: CustomerId) -> crate::store::Result<Result<(), String>> {
    let visits = visits::of_customer(ctx.store.read(), customer).await?;
    Ok(visits.iter().find_map(still_needed).map_or(Ok(()), Err))
}

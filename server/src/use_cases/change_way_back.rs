//! The customer changes how, or to where, the knives go back.

use shop::booking::{Address, Person};
use shop::ids::VisitId;
use shop::piece::PieceState;
use shop::read::Visit;

use crate::context::Ctx;
use crate::store::{StoreError, customers, visits};

/// Why it was not changed.
#[derive(Debug, thiserror::Error)]
pub enum ChangeError {
    /// Something is on its way back already, or the visit was called off.
    #[error("it is too late to change the way back")]
    TooLate,
    /// There is no such visit.
    #[error("there is no such visit")]
    Gone,
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// Whether the way back may still be changed: nothing has left.
pub fn may_change(visit: &Visit) -> bool {
    visit.cancelled_at.is_none()
        && visit.parcel.is_none()
        && visit.pieces.iter().all(|piece| piece.state != PieceState::Home)
}

/// Changes the way back. `None`: they are fetched at the counter; the address we have is kept.
pub async fn change_way_back(ctx: &Ctx, id: VisitId, to: Option<Address>) -> Result<(), ChangeError> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut visit = visits::get(&tx, id).await?.ok_or(ChangeError::Gone)?;
    if !may_change(&visit) {
        return Err(ChangeError::TooLate);
    }
    visit.back_by_post = to.is_some();
    let contact = visit.contact.clone();
    let person = Person { name: contact.name, email: contact.email, phone: contact.phone, address: to };
    customers::update(&tx, visit.customer, &person).await?;
    visits::save(&tx, &visit, now).await?;
    tx.commit().await?;
    ctx.live.tell("visit", Some(id.0));
    Ok(())
}

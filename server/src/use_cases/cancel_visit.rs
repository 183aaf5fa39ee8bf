//! The customer calls a visit off before anything was sent.

use shop::ids::VisitId;
use shop::ledger::{Fact, Who};
use shop::piece::{Event, PieceState};
use shop::profile::Profile;
use shop::read::Visit;

use crate::context::Ctx;
use crate::post::notice::Notice;
use crate::post::visit::Cancelled;
use crate::store::{StoreError, ledger, operations, outbox, pieces, settings, visits};

/// Why it was not called off.
#[derive(Debug, thiserror::Error)]
pub enum CancelError {
    /// Something has arrived already.
    #[error("some of it is here already")]
    Arrived,
    /// There is no such visit.
    #[error("there is no such visit")]
    Gone,
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// Whether a visit may still be called off: nothing of it has arrived.
pub fn may_cancel(visit: &Visit) -> bool {
    visit.cancelled_at.is_none()
        && visit.received_at.is_none()
        && visit.pieces.iter().all(|p| matches!(p.state, PieceState::Expected | PieceState::Lapsed))
}

/// Calls a visit off. A second time changes nothing.
pub async fn cancel_visit(ctx: &Ctx, id: VisitId) -> Result<(), CancelError> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut visit = visits::get(&tx, id).await?.ok_or(CancelError::Gone)?;
    if visit.cancelled_at.is_some() {
        return Ok(());
    }
    if !may_cancel(&visit) {
        return Err(CancelError::Arrived);
    }
    visit.cancelled_at = Some(now);
    visits::save(&tx, &visit, now).await?;
    for piece in visit.pieces.iter_mut().filter(|p| p.state == PieceState::Expected) {
        piece.state = piece.state.after(Event::Withdraw).unwrap_or(piece.state);
        piece.waiting = None;
        pieces::save(&tx, piece).await?;
        operations::drop_open(&tx, piece.id).await?;
        ledger::add(&tx, &*piece, Who::Customer, &Fact::Withdrawn, None, now).await?;
    }
    // Whoever never confirmed gets no more mail from us: the address may be a stranger's.
    if visit.confirmed_at.is_some()
        && let Some(profile) = settings::get::<Profile>(&tx).await?
    {
        let notice = Notice::Cancelled(Box::new(Cancelled { visit: visit.clone(), profile: profile.value }));
        let letter = notice.letter(&visit.contact.email, &visit.contact.name);
        outbox::queue(&tx, ctx.new_id(), letter, now).await?;
    }
    tx.commit().await?;
    ctx.post.ring();
    ctx.planner.ring();
    ctx.live.tell("visit", Some(id.0));
    Ok(())
}

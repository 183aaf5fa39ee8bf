//! The customer answers the price asked for a piece.

use shop::ids::{PieceId, VisitId};
use shop::ledger::{Fact, Who};
use shop::money::Money;
use shop::piece::{Event, PieceState};
use shop::profile::Profile;
use shop::read::{Piece, Visit};

use super::hands::{self, Refused};
use super::{private_link, ready};
use crate::context::Ctx;
use crate::post::notice::Notice;
use crate::post::visit::Answered;
use crate::store::{StoreError, WriteTx, ledger, operations, outbox, pieces, settings, visits};

/// What the customer says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    /// Do it, at this price: the one that was on the page.
    Agree(Money),
    /// Do not do it.
    Decline,
}

/// Why the answer was not taken.
#[derive(Debug, thiserror::Error)]
pub enum AnswerError {
    /// There is no such piece in this visit.
    #[error("there is no such piece")]
    Gone,
    /// The piece does not wait for an answer (any more).
    #[error("this piece does not wait for an answer")]
    NotAsked,
    /// The price is another one by now; the page has to be looked at again.
    #[error("the price has changed")]
    OtherPrice,
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// The price asked for a piece, while it waits for an answer.
pub fn asked(piece: &Piece) -> Option<Money> {
    // A piece that must not be ground is decided by us, not asked about.
    let verdict =
        piece.verdict.as_ref().filter(|v| piece.state == PieceState::Measured && v.refusal.is_none())?;
    Some(verdict.quote.total)
}

/// Takes the customer's own answer. The same answer a second time changes nothing.
pub async fn answer_quote(
    ctx: &Ctx,
    visit: VisitId,
    piece: PieceId,
    answer: Answer,
) -> Result<(), AnswerError> {
    answer_as(ctx, visit, piece, answer, Who::Customer, "").await
}

/// Takes an answer from the customer, or from the desk that was told it; `said` is who told it, and how.
pub(super) async fn answer_as(
    ctx: &Ctx,
    visit: VisitId,
    piece: PieceId,
    answer: Answer,
    who: Who,
    said: &str,
) -> Result<(), AnswerError> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut visit = visits::get(&tx, visit).await?.ok_or(AnswerError::Gone)?;
    let piece = visit.pieces.iter_mut().find(|p| p.id == piece).ok_or(AnswerError::Gone)?;
    let Some(total) = asked(piece) else {
        let same = match answer {
            Answer::Agree(shown) => piece.agreed == Some(shown),
            Answer::Decline => piece.state == PieceState::Withdrawn,
        };
        return if same { Ok(()) } else { Err(AnswerError::NotAsked) };
    };
    let (event, fact) = match answer {
        Answer::Agree(shown) if shown != total => return Err(AnswerError::OtherPrice),
        Answer::Agree(_) => (Event::Agree, Fact::Agreed { total, within_range: false }),
        Answer::Decline => (Event::Withdraw, Fact::Withdrawn),
    };
    piece.state = piece.state.after(event).map_err(|_| AnswerError::NotAsked)?;
    piece.waiting = None;
    if event == Event::Agree {
        piece.agreed = Some(total);
    } else {
        operations::drop_open(&tx, piece.id).await?;
    }
    pieces::save(&tx, piece).await?;
    piece.version += 1;
    let why = hands::write_note(&tx, piece.visit, said, who, now).await?;
    ledger::add(&tx, &*piece, who, &fact, why, now).await?;
    // One notice for all answers of a visit, when the last one is in.
    if visit.pieces.iter().all(|p| asked(p).is_none()) {
        queue_notice(ctx, &tx, &visit).await?;
    }
    ready::look_again(ctx, &tx, visit.id, now).await.map_err(|refused| match refused {
        Refused::Store(error) => AnswerError::Store(error),
        _ => AnswerError::NotAsked,
    })?;
    tx.commit().await?;
    ctx.post.ring();
    ctx.planner.ring();
    ctx.live.tell("visit", Some(visit.id.0));
    Ok(())
}

async fn queue_notice(ctx: &Ctx, tx: &WriteTx, visit: &Visit) -> Result<(), StoreError> {
    let Some(profile) = settings::get::<Profile>(tx).await? else { return Ok(()) };
    let link = private_link::mailed(ctx, tx, visit.id).await?;
    let notice = Notice::Answered(Box::new(Answered { visit: visit.clone(), profile: profile.value, link }));
    let letter = notice.letter(&visit.contact.email, &visit.contact.name);
    outbox::queue(tx, ctx.new_id(), letter, ctx.now()).await?;
    Ok(())
}

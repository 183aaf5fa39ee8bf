//! We do not do this one; the customer reads why.

use shop::field;
use shop::field::FieldErrors;
use shop::ids::PieceId;
use shop::ledger::Fact;
use shop::piece::{Event, NotNow, PieceState};

use super::hands::{self, Refused};
use super::ready;
use crate::context::Ctx;
use crate::post::desk::TurnedDown;
use crate::post::notice::Notice;
use crate::store::staff::Person;
use crate::store::{operations, visits};

/// Turns a piece down. `code` is our word for the reason, `reason` what the customer reads.
pub async fn turn_down_piece(
    ctx: &Ctx,
    by: &Person,
    id: PieceId,
    version: i64,
    code: &str,
    reason: &str,
) -> Result<(), Refused> {
    let mut errors = FieldErrors::default();
    let text = field::text(&mut errors, "reason", reason, "the reason", 1000).unwrap_or_default();
    if errors.is_empty() && text.chars().count() < 10 {
        errors.add("reason", "Please write a sentence or two: the customer reads it.");
    }
    if !errors.is_empty() {
        return Err(Refused::Fields(errors));
    }
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut piece = hands::piece(&tx, id, version).await?;
    let finished = [PieceState::Proven, PieceState::Finished, PieceState::Ready];
    if finished.contains(&piece.state) && !piece.awaits_decision() {
        return Err(NotNow { from: piece.state, event: Event::TurnDown }.into());
    }
    let mut visit = visits::get(&tx, piece.visit).await?.ok_or(Refused::Gone)?;
    piece.turned_down = Some(text.clone());
    piece.waiting = None;
    piece.agreed = None;
    let facts = [Fact::TurnedDown { code: code.to_owned() }];
    hands::save(&tx, &mut piece, Some(Event::TurnDown), hands::who(by), &facts, &text, now).await?;
    operations::drop_open(&tx, piece.id).await?;
    if let Some(own) = visit.pieces.iter_mut().find(|p| p.id == id) {
        own.clone_from(&piece);
    }
    let profile = hands::profile(&tx).await?;
    let link = hands::link(ctx, &tx, visit.id).await?;
    let notice = TurnedDown { visit: visit.clone(), piece: id, profile, link };
    hands::tell(ctx, &tx, &visit, &Notice::TurnedDown(Box::new(notice))).await?;
    ready::look_again(ctx, &tx, visit.id, now).await?;
    tx.commit().await?;
    hands::ring(ctx, visit.id);
    Ok(())
}

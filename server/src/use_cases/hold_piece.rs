//! A piece is held, or goes on again.

use shop::field::{self, FieldErrors};
use shop::ids::PieceId;
use shop::ledger::Fact;
use shop::piece::{PieceState, Waiting, WaitsOn};

use super::hands::{self, Refused};
use super::ready;
use crate::context::Ctx;
use crate::store::staff::Person;

/// Holds a piece: on whom it waits and for what, in words.
pub async fn hold_piece(
    ctx: &Ctx,
    by: &Person,
    id: PieceId,
    version: i64,
    on: WaitsOn,
    what: &str,
) -> Result<(), Refused> {
    let mut errors = FieldErrors::default();
    let what = field::line(&mut errors, "what", what, "what it waits for", 200, true);
    let what = errors.or(what).map_err(Refused::Fields)?;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut piece = hands::piece(&tx, id, version).await?;
    if !piece.state.is_here() {
        return Err(Refused::field("what", "This piece is not here."));
    }
    piece.waiting = Some(Waiting { on, what: what.clone() });
    hands::save(&tx, &mut piece, None, hands::who(by), &[Fact::Waits { on }], &what, now).await?;
    tx.commit().await?;
    hands::ring(ctx, piece.visit);
    Ok(())
}

/// Lets a held piece go on. One that is held because nobody knows which knife it is needs its tag first.
pub async fn release_piece(
    ctx: &Ctx,
    by: &Person,
    id: PieceId,
    version: i64,
    note: &str,
) -> Result<(), Refused> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut piece = hands::piece(&tx, id, version).await?;
    if piece.tag.is_none() && piece.state.is_here() {
        return Err(Refused::field("which", "Say first which knife it is: it has no tag."));
    }
    if piece.state == PieceState::Measured {
        return Err(Refused::first(
            "It waits for an answer to its price, or to be turned down; it cannot simply go on.",
        ));
    }
    if piece.waiting.take().is_some() {
        hands::save(&tx, &mut piece, None, hands::who(by), &[Fact::GoesOn], note, now).await?;
        ready::look_again(ctx, &tx, piece.visit, now).await?;
        tx.commit().await?;
        hands::ring(ctx, piece.visit);
    }
    Ok(())
}

//! What the desk's use cases share, beside what they share with the bench: things as they were seen on a page.

use shop::ids::{PieceId, VisitId};
use shop::read::{Piece, Visit};

pub use super::bench::Refused;
pub(crate) use super::bench::{profile, save, tell, who, write_note};
pub(crate) use super::private_link::mailed as link;
use crate::context::Ctx;
use crate::store::{WriteTx, pieces, visits};

/// A piece as it was seen on the page, at `version`.
pub(crate) async fn piece(tx: &WriteTx, id: PieceId, version: i64) -> Result<Piece, Refused> {
    let piece = pieces::get(tx, id).await?.ok_or(Refused::Gone)?;
    if piece.version == version { Ok(piece) } else { Err(Refused::Stale("this piece")) }
}

/// A visit as it was seen on the page, at `version`.
pub(crate) async fn visit(tx: &WriteTx, id: VisitId, version: i64) -> Result<Visit, Refused> {
    let visit = visits::get(tx, id).await?.ok_or(Refused::Gone)?;
    if visit.version == version { Ok(visit) } else { Err(Refused::Stale("this visit")) }
}

/// Wakes whoever has to know after the commit.
pub(crate) fn ring(ctx: &Ctx, visit: VisitId) {
    ctx.post.ring();
    ctx.planner.ring();
    ctx.live.tell("visit", Some(visit.0));
}

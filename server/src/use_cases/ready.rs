//! A piece is finished; when the shop's rule says so, it is ready and the customer is told, once.

use chrono::{DateTime, Utc};
use shop::ids::{PieceId, VisitId};
use shop::ledger::{Fact, Who};
use shop::piece::{Event, PieceState};
use shop::profile::{Profile, ReadyRule};
use shop::read::{Piece, Visit};

use super::hands::{self, Refused};
use super::private_link;
use crate::context::Ctx;
use crate::post::bench::Ready;
use crate::post::notice::Notice;
use crate::store::{WriteTx, outbox, visits};

/// Finishes a piece whose last operation is done, and presents what is ready by the shop's rule. Everything, the notice
/// included, happens in the caller's transaction.
///
/// The visit is saved whatever happens: two last pieces that are finished at the same moment meet there, and the second
/// one looks again ([`Refused::Stale`], which the caller repeats). So the notice is neither missed nor doubled.
pub(super) async fn finish(
    ctx: &Ctx,
    tx: &WriteTx,
    piece: &mut Piece,
    by: Who,
    now: DateTime<Utc>,
) -> Result<(), Refused> {
    let mut visit = visits::get(tx, piece.visit).await?.ok_or(Refused::Gone)?;
    visits::save(tx, &visit, now).await?;
    visit.version += 1;
    hands::save(tx, piece, Some(Event::Finish), by, &[], "", now).await?;
    if let Some(known) = visit.pieces.iter_mut().find(|p| p.id == piece.id) {
        known.clone_from(piece);
    }
    let profile = hands::profile(tx).await?;
    let now_ready: Vec<PieceId> = match profile.ready_rule {
        ReadyRule::PerPiece => vec![piece.id],
        ReadyRule::WholeVisit if is_whole(&visit) => finished(&visit),
        ReadyRule::WholeVisit => return Ok(()),
    };
    present(ctx, tx, &mut visit, profile, now_ready, now).await?;
    if let Some(known) = visit.pieces.iter().find(|p| p.id == piece.id) {
        piece.clone_from(known);
    }
    Ok(())
}

/// A piece is no longer awaited (turned down, withdrawn, missing): what was finished and waited for it may be ready now.
pub(super) async fn look_again(
    ctx: &Ctx,
    tx: &WriteTx,
    id: VisitId,
    now: DateTime<Utc>,
) -> Result<(), Refused> {
    let mut visit = visits::get(tx, id).await?.ok_or(Refused::Gone)?;
    let now_ready = finished(&visit);
    if now_ready.is_empty() || !is_whole(&visit) {
        return Ok(());
    }
    let profile = hands::profile(tx).await?;
    present(ctx, tx, &mut visit, profile, now_ready, now).await
}

/// Nothing more is awaited of any piece of the visit.
fn is_whole(visit: &Visit) -> bool {
    visit.pieces.iter().all(|p| {
        p.state.is_over()
            || matches!(p.state, PieceState::TurnedDown | PieceState::Withdrawn)
            || matches!(p.state, PieceState::Missing | PieceState::Lost)
            || (matches!(p.state, PieceState::Finished | PieceState::Ready) && !p.awaits_decision())
    })
}

fn finished(visit: &Visit) -> Vec<PieceId> {
    let done = |p: &&Piece| p.state == PieceState::Finished && !p.awaits_decision();
    visit.pieces.iter().filter(done).map(|p| p.id).collect()
}

async fn present(
    ctx: &Ctx,
    tx: &WriteTx,
    visit: &mut Visit,
    profile: Profile,
    now_ready: Vec<PieceId>,
    now: DateTime<Utc>,
) -> Result<(), Refused> {
    let whole = is_whole(visit);
    for known in visit.pieces.iter_mut().filter(|p| now_ready.contains(&p.id)) {
        hands::save(tx, known, Some(Event::Present), Who::Program, &[Fact::Ready], "", now).await?;
    }
    if whole {
        visit.ready_at = Some(now);
        visits::save(tx, visit, now).await?;
        visit.version += 1;
    }
    tell(ctx, tx, visit, profile, now_ready).await
}

async fn tell(
    ctx: &Ctx,
    tx: &WriteTx,
    visit: &Visit,
    profile: Profile,
    pieces: Vec<PieceId>,
) -> Result<(), Refused> {
    let link = private_link::mailed(ctx, tx, visit.id).await?;
    let notice = Ready { visit: visit.clone(), pieces, profile: profile.clone(), link };
    hands::tell_in_time(ctx, tx, visit, &profile, &Notice::Ready(Box::new(notice))).await?;
    Ok(())
}

/// A piece that was ready came to harm, or the harm is set right: a ready notice that still waits for the morning would say
/// what is no longer true. It is written anew about what is ready now; one that was sent stays said.
pub(super) async fn tell_anew(ctx: &Ctx, tx: &WriteTx, id: VisitId) -> Result<(), Refused> {
    let waited = outbox::take_back(tx, id.0, "ready").await? > 0;
    if !waited && outbox::about(tx, id.0).await?.iter().any(|kept| kept.kind == "ready") {
        return Ok(());
    }
    let visit = visits::get(tx, id).await?.ok_or(Refused::Gone)?;
    let is_ready = |p: &&Piece| p.state == PieceState::Ready && !p.awaits_decision();
    let ready: Vec<PieceId> = visit.pieces.iter().filter(is_ready).map(|p| p.id).collect();
    if ready.is_empty() {
        return Ok(());
    }
    tell(ctx, tx, &visit, hands::profile(tx).await?, ready).await
}

//! What a hand changes in the plan: pin a piece's step to its place or let it go, rush, hold, and move a promise.

use chrono::{DateTime, Utc};
use shop::field::{self, FieldErrors};
use shop::ids::{OperationId, PieceId, StaffId, VisitId};
use shop::ledger::Fact;
use shop::piece::{Waiting, WaitsOn};
use shop::read::OperationState;

use super::hands::{self, Refused};
use super::private_link;
use crate::context::Ctx;
use crate::planning::Body;
use crate::post::bench::Delay;
use crate::post::notice::Notice;
use crate::store::operations::Pin;
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::staff::Person;
use crate::store::{ledger, operations, pieces, plans, visits};

/// Pins an operation to the place it has in the standing plan.
pub async fn pin_operation(ctx: &Ctx, id: OperationId) -> Result<(), Refused> {
    let tx = ctx.store.begin_write().await?;
    let (operation, piece) = hands::operation(&tx, id).await?;
    if operation.state != OperationState::Open {
        return Err(Refused::first("Only work that has not begun can be pinned."));
    }
    let body = plans::latest(&tx).await?.map(|stored| Body::read(&stored)).transpose()?;
    let pin = body.as_ref().and_then(|body| {
        let (job, index) = body.find(id)?;
        let placed = body.plan.find(job, index)?;
        Some(Pin {
            person: placed.person.as_deref().and_then(|p| p.parse::<StaffId>().ok()),
            changeover_start: body.at(placed.changeover_start),
            start: body.at(placed.start),
            end: body.at(placed.end),
        })
    });
    let Some(pin) = pin else { return Err(Refused::first("It has no place in the plan yet.")) };
    operations::pin(&tx, &operation, Some(&pin)).await?;
    tx.commit().await?;
    hands::ring(ctx, piece.visit);
    Ok(())
}

/// Lets a pinned operation go.
pub async fn let_go(ctx: &Ctx, id: OperationId) -> Result<(), Refused> {
    let tx = ctx.store.begin_write().await?;
    let (operation, piece) = hands::operation(&tx, id).await?;
    if operation.pinned {
        operations::pin(&tx, &operation, None).await?;
        tx.commit().await?;
        hands::ring(ctx, piece.visit);
    }
    Ok(())
}

/// Makes a piece rush, or ordinary again. The price is agreed and does not change by this.
pub async fn set_rush(ctx: &Ctx, id: PieceId, rush: bool) -> Result<(), Refused> {
    let tx = ctx.store.begin_write().await?;
    let mut piece = pieces::get(&tx, id).await?.ok_or(Refused::Gone)?;
    if piece.rush != rush {
        piece.rush = rush;
        pieces::save(&tx, &piece).await?;
        tx.commit().await?;
        hands::ring(ctx, piece.visit);
    }
    Ok(())
}

/// Holds a piece back from the plan.
pub async fn hold(ctx: &Ctx, by: &Person, id: PieceId, what: &str) -> Result<(), Refused> {
    let mut errors = FieldErrors::default();
    let what = field::line(&mut errors, "what", what, "what it waits for", 200, true);
    let what = errors.or(what).map_err(Refused::Fields)?;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut piece = pieces::get(&tx, id).await?.ok_or(Refused::Gone)?;
    if !piece.state.has_work_ahead() {
        return Err(Refused::first("There is no work on it to hold back."));
    }
    let on = WaitsOn::Shop;
    piece.waiting = Some(Waiting { on, what: what.clone() });
    hands::save(&tx, &mut piece, None, hands::who(by), &[Fact::Waits { on }], &what, now).await?;
    tx.commit().await?;
    hands::ring(ctx, piece.visit);
    Ok(())
}

/// Moves a visit's promise and tells the customer. The new day counts for every piece that still has work ahead.
pub async fn move_promise(
    ctx: &Ctx,
    by: &Person,
    key: &RequestKey,
    id: VisitId,
    until: DateTime<Utc>,
    why: &str,
) -> Result<(), Refused> {
    let mut errors = FieldErrors::default();
    let why = field::line(&mut errors, "why", why, "the reason", 300, false);
    let now = ctx.now();
    if until <= now {
        errors.add("until", "Please choose a day to come.");
    }
    let why = errors.or(why).map_err(Refused::Fields)?;
    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(_) = requests::claim(&tx, key, now).await? {
        return Ok(());
    }
    let before = visits::get(&tx, id).await?.ok_or(Refused::Gone)?;
    if before.promise_at == until {
        return Err(Refused::field("until", "That is the day it is promised for already."));
    }
    let mut visit = before.clone();
    visit.promise_at = until;
    visits::save(&tx, &visit, now).await?;
    for piece in visit.pieces.iter_mut().filter(|p| p.state.has_work_ahead()) {
        piece.due_at = until;
        pieces::save(&tx, piece).await?;
    }
    let note = hands::write_note(&tx, id, &why, hands::who(by), now).await?;
    let fact = Fact::PromiseMoved { from: before.promise_at, to: until };
    ledger::add(&tx, id, hands::who(by), &fact, note, now).await?;
    let profile = hands::profile(&tx).await?;
    let link = private_link::mailed(ctx, &tx, id).await?;
    let notice = Delay { visit: before.clone(), until, why, profile, link };
    hands::tell(ctx, &tx, &before, &Notice::Delay(Box::new(notice))).await?;
    requests::settle(&tx, key, id.0).await?;
    tx.commit().await?;
    hands::ring(ctx, id);
    Ok(())
}

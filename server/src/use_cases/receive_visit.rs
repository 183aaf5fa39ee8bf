//! A parcel is opened, or knives come over the counter: what is there, what is missing, what nobody booked.

use assess::Knowledge;
use chrono::{DateTime, Utc};
use shop::booking::BookedKnife;
use shop::ids::{OperationId, PieceId, VisitId};
use shop::ledger::Fact;
use shop::piece::{Event, PieceState};
use shop::read::{Operation, OperationState, Piece, Visit};
use shop::route::RouteStep;

use super::hands::{self, Refused};
use super::tag_piece::{self, Wears};
use super::{knowledge, ready};
use crate::context::Ctx;
use crate::post::desk::Received;
use crate::post::notice::Notice;
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::staff::Person;
use crate::store::{WriteTx, ledger, operations, pieces, visits};

/// What was found of one booked piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Came {
    /// It is here.
    Here(Wears),
    /// The parcel is open and it is not in it.
    Missing,
}

/// An opened parcel.
#[derive(Debug, Clone)]
pub struct Parcel {
    /// Makes a double click receive once.
    pub key: RequestKey,
    /// The visit.
    pub visit: VisitId,
    /// The version of the visit that was on the page.
    pub version: i64,
    /// What was found of the booked pieces; those left out stay as they are.
    pub found: Vec<(PieceId, Came)>,
    /// Knives that were not in the booking.
    pub unbooked: Vec<(BookedKnife, Wears)>,
    /// What the hands saw.
    pub note: String,
}

/// Receives a parcel, once per key. An unbooked knife is priced like a booked one, but its price is always asked for.
pub async fn receive_visit(ctx: &Ctx, by: &Person, parcel: Parcel) -> Result<(), Refused> {
    let knows = knowledge::load(ctx).await?;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(_) = requests::claim(&tx, &parcel.key, now).await? {
        return Ok(());
    }
    let mut visit = hands::visit(&tx, parcel.visit, parcel.version).await?;
    if parcel.found.is_empty() && parcel.unbooked.is_empty() {
        return Err(Refused::field("pieces", "Please say of at least one knife whether it is here."));
    }
    let mut touched = Vec::new();
    for (id, came) in &parcel.found {
        let at = visit.pieces.iter().position(|p| p.id == *id).ok_or(Refused::Gone)?;
        let mut piece = visit.pieces[at].clone();
        match came {
            Came::Here(wears) => arrive(ctx, &tx, &visit, &mut piece, *wears, by, now).await?,
            Came::Missing => {
                let facts = [Fact::Missing];
                hands::save(&tx, &mut piece, Some(Event::Miss), hands::who(by), &facts, "", now).await?;
            }
        }
        visit.pieces[at] = piece;
        touched.push(*id);
    }
    for (booked, wears) in &parcel.unbooked {
        let piece = add_unbooked(ctx, &tx, &visit, &knows, booked, *wears, by, now).await?;
        touched.push(piece.id);
        visit.pieces.push(piece);
    }
    if visit.confirmed_at.is_none() {
        // Whoever hands over the knives has meant it.
        visit.confirmed_at = Some(now);
        ledger::add(&tx, visit.id, hands::who(by), &Fact::Confirmed, None, now).await?;
    }
    if visit.pieces.iter().any(|p| p.state.is_here()) {
        visit.received_at.get_or_insert(now);
    }
    visits::save(&tx, &visit, now).await?;
    visit.version += 1;
    hands::write_note(&tx, visit.id, &parcel.note, hands::who(by), now).await?;
    queue_notice(ctx, &tx, &visit, &touched).await?;
    ready::look_again(ctx, &tx, visit.id, now).await?;
    requests::settle(&tx, &parcel.key, visit.id.0).await?;
    tx.commit().await?;
    hands::ring(ctx, visit.id);
    Ok(())
}

async fn arrive(
    ctx: &Ctx,
    tx: &WriteTx,
    visit: &Visit,
    piece: &mut Piece,
    wears: Wears,
    by: &Person,
    now: DateTime<Utc>,
) -> Result<(), Refused> {
    let lapsed = piece.state == PieceState::Lapsed;
    // Before anything is made for it: may it arrive at all?
    piece.state.after(Event::Arrive)?;
    tag_piece::tie(ctx, tx, visit, piece, wears).await?;
    let facts = received(piece, false);
    hands::save(tx, piece, Some(Event::Arrive), hands::who(by), &facts, "", now).await?;
    if lapsed && operations::of_piece(tx, piece.id).await?.is_empty() {
        operations::insert(tx, &planned(ctx, piece, &piece.estimate.route, true, 0)).await?;
    }
    Ok(())
}

/// What the ledger says of an arrival.
fn received(piece: &Piece, unbooked: bool) -> Vec<Fact> {
    let tag = piece.tag.map_or_else(|| "not known".to_owned(), |tag| tag.plain());
    let mut facts = vec![Fact::Received { tag, unbooked }];
    if let Some(waiting) = &piece.waiting {
        facts.push(Fact::Waits { on: waiting.on });
    }
    facts
}

#[expect(clippy::too_many_arguments, reason = "one caller, and every one of them is needed")]
async fn add_unbooked(
    ctx: &Ctx,
    tx: &WriteTx,
    visit: &Visit,
    knows: &Knowledge,
    booked: &BookedKnife,
    wears: Wears,
    by: &Person,
    now: DateTime<Utc>,
) -> Result<Piece, Refused> {
    let number = visit.pieces.iter().map(|p| p.number).max().unwrap_or(0) + 1;
    let mut piece = Piece {
        id: PieceId(ctx.new_id()),
        visit: visit.id,
        knife: None,
        number,
        tag: None,
        name: booked.name.clone(),
        state: PieceState::Expected,
        waiting: None,
        booked: booked.clone(),
        estimate: assess::booked(knows, booked, visit.rush),
        inspection: None,
        verdict: None,
        agreed: None,
        turned_down: None,
        mishaps: vec![],
        due_at: visit.promise_at,
        rush: visit.rush,
        home_at: None,
        photos: Vec::new(),
        version: 1,
    };
    tag_piece::tie(ctx, tx, visit, &mut piece, wears).await?;
    pieces::insert(tx, &piece).await?;
    let facts = received(&piece, true);
    hands::save(tx, &mut piece, Some(Event::Arrive), hands::who(by), &facts, "", now).await?;
    operations::insert(tx, &planned(ctx, &piece, &piece.estimate.route, true, 0)).await?;
    Ok(piece)
}

/// Operations for a route, from place `first` on.
pub(super) fn planned(
    ctx: &Ctx,
    piece: &Piece,
    route: &[RouteStep],
    estimated: bool,
    first: u32,
) -> Vec<Operation> {
    (first..)
        .zip(route)
        .map(|(position, step)| Operation {
            id: OperationId(ctx.new_id()),
            piece: piece.id,
            position,
            step: step.clone(),
            estimated,
            state: OperationState::Open,
            started_at: None,
            done_at: None,
            by: None,
            pinned: false,
            version: 1,
        })
        .collect()
}

async fn queue_notice(ctx: &Ctx, tx: &WriteTx, visit: &Visit, touched: &[PieceId]) -> Result<(), Refused> {
    let profile = hands::profile(tx).await?;
    let link = hands::link(ctx, tx, visit.id).await?;
    let notice = Received { visit: visit.clone(), touched: touched.to_vec(), profile, link };
    hands::tell(ctx, tx, visit, &Notice::Received(Box::new(notice))).await?;
    Ok(())
}

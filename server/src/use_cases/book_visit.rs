//! Somebody books a visit.

use assess::Knowledge;
use shop::booking::{Arrival, Booking};
use shop::ids::{CustomerId, OperationId, PieceId, VisitId};
use shop::lang::Lang;
use shop::ledger::{Fact, Who};
use shop::piece::PieceState;
use shop::profile::Profile;
use shop::read::{Contact, Operation, OperationState, Piece, Verdict, Visit};
use shop::tag::Reference;

use super::offer::Offer;
use super::{private_link, promise};
use crate::context::Ctx;
use crate::post::notice::Notice;
use crate::post::visit::Booked;
use crate::store::links::Fresh;
use crate::store::outbox::Letter;
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::{Queries, StoreError, customers, ledger, operations, outbox, photos, pieces, visits};
use crate::token::Token;

/// A checked booking, and what came with the form.
#[derive(Debug, Clone)]
pub struct Asked {
    /// Makes a double click book once.
    pub key: RequestKey,
    /// The form's key as text: photos that came with it are kept under it.
    pub form_key: String,
    /// Each knife's number in the form, in order: photos hang on it.
    pub places: Vec<u32>,
    /// What is booked.
    pub booking: Booking,
    /// The language it was booked in.
    pub language: Lang,
}

/// Why nothing was booked.
#[derive(Debug, thiserror::Error)]
pub enum BookError {
    /// We say no to some of the knives: place in the booking, and why.
    #[error("some of the knives cannot be done")]
    Refused(Vec<(usize, String)>),
    /// Somebody else took the last place of the slot.
    #[error("the slot is taken")]
    SlotTaken,
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// Books a visit, once per key. Gives the link for the browser that booked.
pub async fn book_visit(ctx: &Ctx, offer: &Offer, asked: Asked) -> Result<Token, BookError> {
    if let Some(visit) = requests::outcome(ctx.store.read(), &asked.key).await? {
        return again(ctx, VisitId(visit)).await;
    }
    let booking = &asked.booking;
    let verdicts = assess_all(&offer.knows, booking)?;
    let now = ctx.now();
    let arrival = promise::arrival(&offer.profile, &booking.arrival, now);
    let routes: Vec<_> = verdicts.iter().map(|v| v.route.clone()).collect();
    let promise_at = promise::promise(ctx, &offer.profile, &routes, arrival, booking.rush).await?;

    // All that can be made beforehand is: while this holds the write lock of a SQLite file, everybody else waits.
    let visit_id = VisitId(ctx.new_id());
    let customer = CustomerId(ctx.new_id());
    let mut visit = Visit {
        id: visit_id,
        reference: free_reference(ctx.store.read()).await?,
        customer,
        contact: Contact {
            name: booking.person.name.clone(),
            email: booking.person.email.clone(),
            phone: booking.person.phone.clone(),
            address: booking.person.address.clone(),
        },
        arrival: booking.arrival.clone(),
        back_by_post: booking.back_by_post,
        declared: booking.declared,
        rush: booking.rush,
        recycle_refused: booking.recycle_refused,
        promise_at,
        booked_at: now,
        confirmed_at: None,
        cancelled_at: None,
        received_at: None,
        ready_at: None,
        parcel: None,
        paid: None,
        language: asked.language,
        complaint_of: None,
        pieces: Vec::new(),
        version: 1,
    };
    visit.pieces = verdicts
        .into_iter()
        .enumerate()
        .map(|(i, verdict)| piece(ctx, &visit, booking, i, verdict))
        .collect();
    let operations: Vec<_> = visit.pieces.iter().flat_map(|piece| estimated_operations(ctx, piece)).collect();
    let (link, letter) = letter(ctx, &visit, &offer.profile)?;

    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(visit) = requests::claim(&tx, &asked.key, now).await? {
        drop(tx);
        return again(ctx, VisitId(visit)).await;
    }
    if let Arrival::Counter { slot } = booking.arrival {
        visits::hold_slots(&tx).await?;
        let taken = visits::slots_taken(&tx, slot).await?.into_iter().filter(|s| *s == slot).count();
        if taken >= usize::from(offer.profile.slot_places) {
            return Err(BookError::SlotTaken);
        }
    }
    customers::insert(&tx, customer, &booking.person, asked.language, now).await?;
    visits::insert(&tx, &visit, booking.begin_early).await?;
    for piece in &visit.pieces {
        pieces::insert(&tx, piece).await?;
    }
    operations::insert(&tx, &operations).await?;
    for (i, piece) in visit.pieces.iter().enumerate() {
        if let Some(place) = asked.places.get(i) {
            photos::attach(&tx, &asked.form_key, *place, piece.id).await?;
        }
        let fact = Fact::Booked { edge: piece.booked.edge };
        ledger::add(&tx, piece, Who::Customer, &fact, None, now).await?;
    }
    let token = private_link::for_booker(ctx, &tx, visit_id).await?;
    link.keep(&tx).await?;
    outbox::queue(&tx, ctx.new_id(), letter, now).await?;
    requests::settle(&tx, &asked.key, visit_id.0).await?;
    tx.commit().await?;
    ctx.post.ring();
    // Nothing to plan yet: it counts once it is confirmed.
    ctx.live.tell("visit", Some(visit_id.0));
    Ok(token)
}

/// The form was sent before: the same visit, and a link of its own, for the first one is not kept readable.
async fn again(ctx: &Ctx, visit: VisitId) -> Result<Token, BookError> {
    let tx = ctx.store.begin_write().await?;
    let token = private_link::for_booker(ctx, &tx, visit).await?;
    tx.commit().await?;
    Ok(token)
}

fn assess_all(knows: &Knowledge, booking: &Booking) -> Result<Vec<Verdict>, BookError> {
    let verdicts: Vec<_> =
        booking.knives.iter().map(|knife| assess::booked(knows, knife, booking.rush)).collect();
    let refused: Vec<_> = verdicts
        .iter()
        .enumerate()
        .filter_map(|(i, v)| v.refusal.as_ref().map(|(_, why)| (i, why.clone())))
        .collect();
    if refused.is_empty() { Ok(verdicts) } else { Err(BookError::Refused(refused)) }
}

fn piece(ctx: &Ctx, visit: &Visit, booking: &Booking, i: usize, estimate: Verdict) -> Piece {
    Piece {
        id: PieceId(ctx.new_id()),
        visit: visit.id,
        // Which knife it is shows when it is in hand, or when whoever booked has proven to be its owner.
        knife: None,
        number: i as u32 + 1,
        tag: None,
        name: booking.knives[i].name.clone(),
        state: PieceState::Expected,
        waiting: None,
        booked: booking.knives[i].clone(),
        estimate,
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
    }
}

/// What the plan reckons with until the piece is measured.
pub(super) fn estimated_operations(ctx: &Ctx, piece: &Piece) -> Vec<Operation> {
    let steps = piece.estimate.route.iter().enumerate();
    steps
        .map(|(i, step)| Operation {
            id: OperationId(ctx.new_id()),
            piece: piece.id,
            position: i as u32,
            step: step.clone(),
            estimated: true,
            state: OperationState::Open,
            started_at: None,
            done_at: None,
            by: None,
            pinned: false,
            version: 1,
        })
        .collect()
}

/// A reference nobody has. They are drawn, not counted: whoever holds one should not know the next.
pub(super) async fn free_reference(db: &impl Queries) -> Result<Reference, StoreError> {
    loop {
        let reference = Reference::from_serial(rand::random());
        if !visits::reference_is_taken(db, reference).await? {
            return Ok(reference);
        }
    }
}

/// The notice that it is booked, and the link in it.
fn letter(ctx: &Ctx, visit: &Visit, profile: &Profile) -> Result<(Fresh, Letter), StoreError> {
    let (fresh, link) = private_link::draw_mailed(ctx, visit.id)?;
    let calendar = crate::calendar::of_visit(visit, profile, &link, ctx.config.public_host(), ctx.now());
    let notice =
        Notice::Booked(Box::new(Booked { visit: visit.clone(), profile: profile.clone(), link, calendar }));
    Ok((fresh, notice.letter(&visit.contact.email, &visit.contact.name)))
}

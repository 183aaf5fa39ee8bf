//! Something was not right with knives that went home: a visit of their own, linked to the first, without charge.

use chrono::{DateTime, Days, NaiveDate, Utc};
use shop::booking::{Arrival, BookedKnife, Trouble};
use shop::field::{self, FieldErrors};
use shop::ids::{PieceId, VisitId};
use shop::ledger::{Fact, Who};
use shop::money::{Money, MoneyRange};
use shop::piece::PieceState;
use shop::price::Line;
use shop::profile::Profile;
use shop::read::{Piece, Verdict, Visit};

use super::book_visit::{estimated_operations, free_reference};
use super::hands;
use super::offer::{self, Offer};
use super::promise;
use crate::context::Ctx;
use crate::local;
use crate::post::notice::Notice;
use crate::post::visit::Complained;
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::{StoreError, ledger, operations, pieces, visits};

/// Days after a knife went home within which it is looked at again without charge; the notice says two weeks.
const DAYS: u64 = 14;

/// What is not right.
#[derive(Debug, Clone)]
pub struct Complaint {
    /// Makes a double click complain once.
    pub key: RequestKey,
    /// The pieces of the first visit.
    pub pieces: Vec<PieceId>,
    /// What is not right with them.
    pub what: String,
    /// How they come.
    pub arrival: Arrival,
}

/// Why it was not taken in.
#[derive(Debug, thiserror::Error)]
pub enum ComplainError {
    /// Something is missing.
    #[error("the complaint was not taken in")]
    Fields(FieldErrors),
    /// There is no such visit, or its time is over.
    #[error("there is nothing to complain about here any more")]
    Gone,
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// The last day on which something may be said about a visit, and the pieces it may be said of; `None`: nothing went home lately.
pub fn may_complain<'a>(
    visit: &'a Visit,
    profile: &Profile,
    now: DateTime<Utc>,
) -> Option<(NaiveDate, Vec<&'a Piece>)> {
    let zone = local::zone(profile);
    // By post a knife is on its way for a while before anybody can try it.
    let days = DAYS + if visit.back_by_post { u64::from(profile.post_days) } else { 0 };
    let until = |at| local::date(zone, at).checked_add_days(Days::new(days));
    let home: Vec<_> = visit
        .pieces
        .iter()
        .filter(|p| p.state == PieceState::Home && p.agreed.is_some())
        .filter_map(|p| Some((until(p.home_at?)?, p)))
        .filter(|(until, _)| *until >= local::date(zone, now))
        .collect();
    let last = home.iter().map(|(until, _)| *until).max()?;
    Some((last, home.into_iter().map(|(_, piece)| piece).collect()))
}

/// Takes a complaint in. Gives the new visit; the same one when the form comes twice.
pub async fn complain(ctx: &Ctx, about: VisitId, said: Complaint) -> Result<VisitId, ComplainError> {
    let Some(Offer { profile, knows, slots }) = offer::load(ctx).await? else {
        return Err(ComplainError::Gone);
    };
    let now = ctx.now();
    let mut errors = FieldErrors::default();
    let what = field::text(&mut errors, "what", &said.what, "what is not right", 1000).unwrap_or_default();
    if what.is_empty() && errors.is_empty() {
        errors.add("what", "Please give what is not right.");
    }
    if said.pieces.is_empty() {
        errors.add("pieces", "Please choose which knives it is about.");
    }
    if let Arrival::Counter { slot } = said.arrival
        && !slots.contains(&slot)
    {
        errors.add("slot", "Please choose a time.");
    }
    if !errors.is_empty() {
        return Err(ComplainError::Fields(errors));
    }
    let arrival = promise::arrival(&profile, &said.arrival, now);
    let first = visits::get(ctx.store.read(), about).await?.ok_or(ComplainError::Gone)?;
    let verdicts: Vec<_> = chosen(&first, &profile, &said.pieces, now)?
        .iter()
        .map(|piece| {
            let knife = again(piece, &first, &what);
            let verdict = free(assess::booked(&knows, &knife, false));
            (piece.knife, knife, verdict)
        })
        .collect();
    let routes: Vec<_> = verdicts.iter().map(|(_, _, v)| v.route.clone()).collect();
    let promise_at = promise::promise(ctx, &profile, &routes, arrival, false).await?;

    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(visit) = requests::claim(&tx, &said.key, now).await? {
        return Ok(VisitId(visit));
    }
    if let Arrival::Counter { slot } = said.arrival {
        visits::hold_slots(&tx).await?;
        let taken = visits::slots_taken(&tx, slot).await?.into_iter().filter(|s| *s == slot).count();
        if taken >= usize::from(profile.slot_places) {
            errors.add("slot", "Somebody was quicker and took this time; please choose another.");
            return Err(ComplainError::Fields(errors));
        }
    }
    let mut visit = Visit {
        id: VisitId(ctx.new_id()),
        reference: free_reference(&tx).await?,
        arrival: said.arrival,
        rush: false,
        promise_at,
        booked_at: now,
        // The link came by mail, so it is known who says so.
        confirmed_at: Some(now),
        cancelled_at: None,
        received_at: None,
        ready_at: None,
        parcel: None,
        paid: None,
        complaint_of: Some(about),
        pieces: Vec::new(),
        version: 1,
        ..first.clone()
    };
    visits::insert(&tx, &visit, true).await?;
    for (i, (knife, booked, estimate)) in verdicts.into_iter().enumerate() {
        let piece = Piece {
            id: PieceId(ctx.new_id()),
            visit: visit.id,
            knife,
            number: i as u32 + 1,
            tag: None,
            name: booked.name.clone(),
            state: PieceState::Expected,
            waiting: None,
            booked,
            estimate,
            inspection: None,
            verdict: None,
            agreed: None,
            turned_down: None,
            mishaps: vec![],
            due_at: promise_at,
            rush: false,
            home_at: None,
            photos: Vec::new(),
            version: 1,
        };
        pieces::insert(&tx, &piece).await?;
        operations::insert(&tx, &estimated_operations(ctx, &piece)).await?;
        ledger::add(&tx, &piece, Who::Customer, &Fact::Booked { edge: piece.booked.edge }, None, now).await?;
        visit.pieces.push(piece);
    }
    let link = hands::link(ctx, &tx, visit.id).await?;
    let notice = Complained { visit: visit.clone(), about: first.reference.to_string(), profile, link };
    hands::tell(ctx, &tx, &visit, &Notice::Complained(Box::new(notice))).await?;
    requests::settle(&tx, &said.key, visit.id.0).await?;
    tx.commit().await?;
    hands::ring(ctx, visit.id);
    Ok(visit.id)
}

fn chosen<'a>(
    first: &'a Visit,
    profile: &Profile,
    ids: &[PieceId],
    now: DateTime<Utc>,
) -> Result<Vec<&'a Piece>, ComplainError> {
    let (_, may) = may_complain(first, profile, now).ok_or(ComplainError::Gone)?;
    let found: Vec<_> = may.into_iter().filter(|p| ids.contains(&p.id)).collect();
    if found.is_empty() { Err(ComplainError::Gone) } else { Ok(found) }
}

/// The knife as it comes back: known by its tag, with what is not right as its note.
fn again(piece: &Piece, first: &Visit, what: &str) -> BookedKnife {
    BookedKnife {
        tag: piece.tag.or(piece.booked.tag),
        trouble: Trouble { dull: true, ..Trouble::default() },
        note: format!("Complaint about visit {}: {what}", first.reference),
        ..piece.booked.clone()
    }
}

/// What it would cost, and that nothing is asked for it.
fn free(verdict: Verdict) -> Verdict {
    let mut quote = verdict.quote;
    if quote.total != Money(0) {
        quote.lines.push(Line { what: "Our rework, without charge".into(), price: Money(-quote.total.0) });
        quote.total = Money(0);
    }
    Verdict { quote, price: MoneyRange::default(), ..verdict }
}

//! Knives go home: every one checked by its tag, by parcel or over the counter, paid when the shop wants it.

use shop::field::{self, FieldErrors};
use shop::ids::{PieceId, VisitId};
use shop::ledger::Fact;
use shop::money::Money;
use shop::piece::{Event, PieceState};
use shop::read::{Piece, Visit};

use super::hands::{self, Refused};
use super::record_payment::{self, Payment};
use super::{issue_bill, knowledge};
use crate::context::Ctx;
use crate::post::desk::Returned;
use crate::post::notice::Notice;
use crate::store::links::{self, Purpose};
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::staff::Person;
use crate::store::{WriteTx, outbox, visits};

/// How they go.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Way {
    /// Over the counter, to somebody who gave this name.
    Counter {
        /// Who took them.
        taken_by: String,
    },
    /// By parcel.
    Parcel {
        /// Who carries it.
        carrier: String,
        /// Its number.
        number: String,
    },
}

/// What is handed back.
#[derive(Debug, Clone)]
pub struct HandBack {
    /// Makes a double click hand back once.
    pub key: RequestKey,
    /// The visit.
    pub visit: VisitId,
    /// The version of the visit that was on the page.
    pub version: i64,
    /// The pieces whose tags were scanned or ticked.
    pub pieces: Vec<PieceId>,
    /// How.
    pub way: Way,
    /// What was paid with it.
    pub payment: Option<Payment>,
    /// Some that could go stay here, and that is meant.
    pub part: bool,
}

/// Checks how they go, as typed.
pub fn way(
    by_post: bool,
    taken_by: &str,
    carrier: &str,
    number: &str,
    errors: &mut FieldErrors,
) -> Option<Way> {
    if by_post {
        let carrier = field::line(errors, "carrier", carrier, "the carrier", 60, true);
        let number = field::line(errors, "number", number, "the parcel's number", 60, true);
        Some(Way::Parcel { carrier: carrier?, number: number? })
    } else {
        let taken_by = field::line(errors, "taken_by", taken_by, "the name of who takes them", 80, true)?;
        Some(Way::Counter { taken_by })
    }
}

/// True while a piece may go home.
pub fn may_go(state: PieceState) -> bool {
    state.after(Event::Return).is_ok()
}

/// Hands back, once per key.
pub async fn hand_back(ctx: &Ctx, by: &Person, asked: HandBack) -> Result<(), Refused> {
    let prices = knowledge::load(ctx).await?.prices;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(_) = requests::claim(&tx, &asked.key, now).await? {
        return Ok(());
    }
    let mut visit = hands::visit(&tx, asked.visit, asked.version).await?;
    let profile = hands::profile(&tx).await?;
    check_pieces(&visit, &asked)?;
    let decided = !visit.pieces.iter().any(|p| p.state.has_work_ahead());
    let bill = if decided { Some(issue_bill::within(&tx, &visit, &prices, now).await?) } else { None };
    if let Some(payment) = &asked.payment {
        let of = bill.as_ref().map(|b| b.id);
        record_payment::within(&tx, &mut visit, payment, of, hands::who(by), now).await?;
    }
    if profile.paid_first {
        let due = match &bill {
            Some(bill) => bill.total,
            None => {
                visit.pieces.iter().filter(|p| asked.pieces.contains(&p.id)).filter_map(|p| p.agreed).sum()
            }
        };
        let open = record_payment::open(&visit, due);
        if open > Money(0) {
            let message =
                format!("{} is still open; this shop hands over what is paid.", open.show(&profile.currency));
            return Err(Refused::field("amount", message));
        }
    }
    let by_post = matches!(asked.way, Way::Parcel { .. });
    let note = match &asked.way {
        Way::Counter { taken_by } => format!("Taken by {taken_by}."),
        Way::Parcel { carrier, number } => {
            visit.parcel = Some((carrier.clone(), number.clone()));
            String::new()
        }
    };
    for piece in visit.pieces.iter_mut().filter(|p| asked.pieces.contains(&p.id)) {
        piece.home_at = Some(now);
        piece.waiting = None;
        let facts = [Fact::Returned { by_post }];
        hands::save(&tx, piece, Some(Event::Return), hands::who(by), &facts, &note, now).await?;
    }
    visits::save(&tx, &visit, now).await?;
    if !visit.pieces.iter().any(|p| may_go(p.state)) {
        // Fetched before the hour at which people are told: the letters that still wait would be read too late.
        outbox::take_back(&tx, visit.id.0, "ready").await?;
        outbox::take_back(&tx, visit.id.0, "unfetched").await?;
    }
    let ledgers = ledger_links(ctx, &tx, &visit, &asked.pieces).await?;
    let link = hands::link(ctx, &tx, visit.id).await?;
    let notice =
        Returned { visit: visit.clone(), pieces: asked.pieces.clone(), by_post, profile, link, ledgers };
    hands::tell(ctx, &tx, &visit, &Notice::Returned(Box::new(notice))).await?;
    requests::settle(&tx, &asked.key, visit.id.0).await?;
    tx.commit().await?;
    hands::ring(ctx, visit.id);
    Ok(())
}

fn check_pieces(visit: &Visit, asked: &HandBack) -> Result<(), Refused> {
    let mut errors = FieldErrors::default();
    if asked.pieces.is_empty() {
        errors.add("scan", "Scan or tick the tag of each knife that goes.");
    }
    for id in &asked.pieces {
        let piece = visit.pieces.iter().find(|p| p.id == *id).ok_or(Refused::Gone)?;
        piece.state.after(Event::Return)?;
    }
    let left: Vec<&Piece> =
        visit.pieces.iter().filter(|p| may_go(p.state) && !asked.pieces.contains(&p.id)).collect();
    if !left.is_empty() && !asked.part && !asked.pieces.is_empty() {
        let names: Vec<_> = left
            .iter()
            .map(|p| p.tag.map_or_else(|| p.name.clone(), |tag| format!("{} ({tag})", p.name)))
            .collect();
        errors.add(
            "part",
            format!("Not scanned: {}. Scan them, or tick that they stay here for now.", names.join(", ")),
        );
    }
    if errors.is_empty() { Ok(()) } else { Err(Refused::Fields(errors)) }
}

async fn ledger_links(
    ctx: &Ctx,
    tx: &WriteTx,
    visit: &Visit,
    pieces: &[PieceId],
) -> Result<Vec<(String, String)>, Refused> {
    let mut made = Vec::new();
    for piece in visit.pieces.iter().filter(|p| pieces.contains(&p.id)) {
        if let Some(knife) = piece.knife {
            // No end: whoever owns the knife may look into its ledger in ten years.
            let token = links::make(tx, ctx.new_id(), Purpose::Knife, knife.0, None, ctx.now()).await?;
            made.push((piece.name.clone(), ctx.url(&format!("/k/{token}"))));
        }
    }
    Ok(made)
}

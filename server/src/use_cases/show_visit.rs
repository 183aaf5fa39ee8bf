//! What a customer sees of a visit.

use std::collections::HashMap;

use assess::Knowledge;
use chrono::NaiveDateTime;
use shop::ids::{PieceId, VisitId};
use shop::ledger::{Entry, Fact};
use shop::profile::Profile;
use shop::read::{Piece, Visit};

use super::{knowledge, slots};
use crate::context::Ctx;
use crate::local;
use crate::store::messages::Message;
use crate::store::{Result, ledger, messages, staff, visits};

/// A visit and what belongs to it.
#[derive(Debug, Clone)]
pub struct Shown {
    /// The visit.
    pub visit: Visit,
    /// The shop.
    pub profile: Profile,
    /// What the shop knows of knives.
    pub knows: Knowledge,
    /// What happened to each piece that matters to its owner, oldest first.
    pub history: HashMap<PieceId, Vec<Entry>>,
    /// Questions and answers, oldest first.
    pub letters: Vec<Message>,
    /// Names of the staff who wrote some of them.
    pub staff: HashMap<uuid::Uuid, String>,
    /// The visit that looks at some of it again.
    pub complained: Option<Visit>,
    /// Free times at the counter.
    pub slots: Vec<NaiveDateTime>,
}

/// Reads it. `None`: there is no such visit.
pub async fn show_visit(ctx: &Ctx, id: VisitId) -> Result<Option<Shown>> {
    let db = ctx.store.read();
    let Some(visit) = visits::get(db, id).await? else { return Ok(None) };
    let mut history = HashMap::new();
    for piece in &visit.pieces {
        let mut entries = ledger::of_piece(db, piece.id).await?;
        entries.retain(|entry| matters(&entry.fact));
        history.insert(piece.id, entries);
    }
    let letters = messages::of_visit(db, id).await?;
    let staff =
        if letters.iter().any(|m| m.by_staff.is_some()) { staff::list(db).await? } else { Vec::new() };
    let profile = knowledge::profile(ctx).await?;
    let taken = visits::slots_taken(db, local::shown(local::zone(&profile), ctx.now())).await?;
    Ok(Some(Shown {
        slots: slots::free(&profile, &taken, ctx.now()),
        profile,
        knows: knowledge::load(ctx).await?,
        letters,
        staff: staff.into_iter().map(|p| (p.id, p.full_name)).collect(),
        complained: visits::complaint_of(db, id).await?.filter(|v| v.cancelled_at.is_none()),
        visit,
        history,
    }))
}

/// Leaves out what only the bench needs to know: each step's start and end, its stops, pictures and moves by hand.
fn matters(fact: &Fact) -> bool {
    !matches!(
        fact,
        Fact::Photographed { .. }
            | Fact::RouteChanged { .. }
            | Fact::Started { .. }
            | Fact::Done { .. }
            | Fact::Stopped { .. }
            | Fact::Moved { .. }
    )
}

impl Shown {
    /// The section of a piece before and after, to scale; measured once it is, else supposed. In the units of the visit's
    /// language, its words in English. Empty when there is none.
    pub fn drawing(&self, piece: &Piece) -> String {
        match &piece.inspection {
            Some(sheet) => assess::draw::section(&self.knows, sheet, self.visit.language),
            None => assess::draw::section_booked(&self.knows, &piece.booked, self.visit.language),
        }
        .unwrap_or_default()
    }
}

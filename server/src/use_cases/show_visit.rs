//! What a customer sees of a visit.

use std::collections::HashMap;

use assess::Knowledge;
use shop::ids::{PieceId, VisitId};
use shop::ledger::{Entry, Fact};
use shop::profile::Profile;
use shop::read::{Piece, Visit};

use super::knowledge;
use crate::context::Ctx;
use crate::store::{Result, ledger, visits};

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
    Ok(Some(Shown {
        profile: knowledge::profile(ctx).await?,
        knows: knowledge::load(ctx).await?,
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
    /// The section of a piece before and after, to scale; measured once it is, else supposed. Empty when there is none.
    pub fn drawing(&self, piece: &Piece) -> String {
        match &piece.inspection {
            Some(sheet) => assess::draw::section(&self.knows, sheet),
            None => assess::draw::section_booked(&self.knows, &piece.booked),
        }
        .unwrap_or_default()
    }
}

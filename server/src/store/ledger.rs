//! The ledger. Entries are added here and nowhere changed; the database refuses it too.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use sea_orm::{
    ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, NotSet, QueryFilter, QueryOrder, Select, Set,
};
use shop::ids::{EntryId, KnifeId, NoteId, PieceId, VisitId};
use shop::ledger::{Entry, Fact, Who};
use shop::read::Piece;

use super::entities::ledger;
use super::{Result, WriteTx, id_at, json};

/// What an entry is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct About {
    /// The visit.
    pub visit: VisitId,
    /// The piece, unless it is about the whole visit.
    pub piece: Option<PieceId>,
    /// The knife, once it is known.
    pub knife: Option<KnifeId>,
}

impl From<&Piece> for About {
    fn from(piece: &Piece) -> Self {
        Self { visit: piece.visit, piece: Some(piece.id), knife: piece.knife }
    }
}

impl From<VisitId> for About {
    fn from(visit: VisitId) -> Self {
        Self { visit, piece: None, knife: None }
    }
}

/// Adds an entry.
pub async fn add(
    tx: &WriteTx,
    about: impl Into<About>,
    who: Who,
    fact: &Fact,
    why: Option<NoteId>,
    now: DateTime<Utc>,
) -> Result<EntryId> {
    let about = about.into();
    let id = id_at(now);
    let row = ledger::ActiveModel {
        seq: NotSet,
        id: Set(id),
        visit_id: Set(about.visit.0),
        piece_id: Set(about.piece.map(|p| p.0)),
        knife_id: Set(about.knife.map(|k| k.0)),
        at: Set(now),
        who: Set(json::write("ledger.who", &who)?),
        fact: Set(json::write("ledger.fact", fact)?),
        why: Set(why.map(|n| n.0)),
    };
    row.insert(tx).await?;
    Ok(EntryId(id))
}

/// Everything about one knife, oldest first.
pub async fn of_knife(db: &impl ConnectionTrait, knife: KnifeId) -> Result<Vec<Entry>> {
    entries(db, ledger::Entity::find().filter(ledger::Column::KnifeId.eq(knife.0))).await
}

/// Everything about one piece, oldest first.
pub async fn of_piece(db: &impl ConnectionTrait, piece: PieceId) -> Result<Vec<Entry>> {
    entries(db, ledger::Entity::find().filter(ledger::Column::PieceId.eq(piece.0))).await
}

/// Everything about one visit, its pieces included, oldest first.
pub async fn of_visit(db: &impl ConnectionTrait, visit: VisitId) -> Result<Vec<Entry>> {
    entries(db, ledger::Entity::find().filter(ledger::Column::VisitId.eq(visit.0))).await
}

/// The heights measured of a knife: `(when, millimetres)`, oldest first; corrected ones as corrected.
pub async fn heights(db: &impl ConnectionTrait, knife: KnifeId) -> Result<Vec<(DateTime<Utc>, f64)>> {
    let entries = of_knife(db, knife).await?;
    let right: HashMap<EntryId, f64> = entries
        .iter()
        .filter_map(|entry| match &entry.fact {
            Fact::Corrects { entry, measures } => measures.height_mm.map(|height| (*entry, height)),
            _ => None,
        })
        .collect();
    Ok(entries
        .iter()
        .filter_map(|entry| match &entry.fact {
            Fact::Measured { measures, .. }
            | Fact::Done { measures, .. }
            | Fact::Checked { measures, .. } => {
                let height = right.get(&entry.id).copied().or(measures.height_mm);
                height.map(|height| (entry.at, height))
            }
            _ => None,
        })
        .collect())
}

async fn entries(db: &impl ConnectionTrait, query: Select<ledger::Entity>) -> Result<Vec<Entry>> {
    let rows = query.order_by_asc(ledger::Column::Seq).all(db).await?;
    rows.into_iter()
        .map(|row| {
            Ok(Entry {
                id: EntryId(row.id),
                at: row.at,
                who: json::read("ledger.who", row.who)?,
                fact: json::read("ledger.fact", row.fact)?,
                why: row.why.map(NoteId),
            })
        })
        .collect()
}

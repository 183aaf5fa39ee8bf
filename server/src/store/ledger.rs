//! The ledger. Entries are added here and nowhere changed; the database refuses it too.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use sea_orm::{ColumnTrait, ConnectionTrait, EntityTrait, NotSet, QueryFilter, QueryOrder, Select, Set};
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
    super::insert(tx, row).await?;
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

/// The heights measured of some knives: `(when, millimetres)`, oldest first; corrected ones as corrected.
pub async fn heights(
    db: &impl ConnectionTrait,
    knives: &[KnifeId],
) -> Result<HashMap<KnifeId, Vec<(DateTime<Utc>, f64)>>> {
    if knives.is_empty() {
        return Ok(HashMap::new());
    }
    let rows = ledger::Entity::find()
        .filter(ledger::Column::KnifeId.is_in(knives.iter().map(|knife| knife.0)))
        .order_by_asc(ledger::Column::Seq)
        .all(db)
        .await?;
    let mut measured: Vec<(KnifeId, EntryId, DateTime<Utc>, Option<f64>)> = Vec::new();
    let mut right: HashMap<EntryId, f64> = HashMap::new();
    for row in rows {
        let (Some(knife), entry) = (row.knife_id.map(KnifeId), entry(row)?) else { continue };
        match entry.fact {
            Fact::Corrects { entry, measures } => {
                right.extend(measures.height_mm.map(|height| (entry, height)));
            }
            Fact::Measured { measures, .. }
            | Fact::Done { measures, .. }
            | Fact::Checked { measures, .. } => {
                measured.push((knife, entry.id, entry.at, measures.height_mm));
            }
            _ => {}
        }
    }
    let mut heights: HashMap<KnifeId, Vec<(DateTime<Utc>, f64)>> = HashMap::new();
    for (knife, id, at, height) in measured {
        if let Some(height) = right.get(&id).copied().or(height) {
            heights.entry(knife).or_default().push((at, height));
        }
    }
    Ok(heights)
}

async fn entries(db: &impl ConnectionTrait, query: Select<ledger::Entity>) -> Result<Vec<Entry>> {
    query.order_by_asc(ledger::Column::Seq).all(db).await?.into_iter().map(entry).collect()
}

fn entry(row: ledger::Model) -> Result<Entry> {
    Ok(Entry {
        id: EntryId(row.id),
        at: row.at,
        who: json::read("ledger.who", row.who)?,
        fact: json::read("ledger.fact", row.fact)?,
        why: row.why.map(NoteId),
    })
}

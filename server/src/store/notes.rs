//! Free text the ledger refers to, kept apart so that it can be erased.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use sea_orm::{ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, Set};
use shop::ids::{NoteId, StaffId, VisitId};

use super::entities::note;
use super::{Result, WriteTx, id_at};

/// Adds a note; `None` when there is nothing to say.
pub async fn add(
    tx: &WriteTx,
    visit: VisitId,
    body: &str,
    by: Option<StaffId>,
    now: DateTime<Utc>,
) -> Result<Option<NoteId>> {
    if body.trim().is_empty() {
        return Ok(None);
    }
    let id = id_at(now);
    let row = note::ActiveModel {
        id: Set(id),
        visit_id: Set(Some(visit.0)),
        body: Set(body.trim().to_owned()),
        by_staff: Set(by.map(|s| s.0)),
        made_at: Set(now),
    };
    super::insert(tx, row).await?;
    Ok(Some(NoteId(id)))
}

/// The texts of several notes.
pub async fn texts(
    db: &impl ConnectionTrait,
    ids: impl IntoIterator<Item = NoteId>,
) -> Result<HashMap<NoteId, String>> {
    let rows =
        note::Entity::find().filter(note::Column::Id.is_in(ids.into_iter().map(|id| id.0))).all(db).await?;
    Ok(rows.into_iter().map(|row| (NoteId(row.id), row.body)).collect())
}

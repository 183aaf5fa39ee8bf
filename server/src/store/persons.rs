//! Taking a person out of the books, and everything the books hold about one. The ledger names nobody and stays as it is.

use chrono::{DateTime, Utc};
use sea_orm::sea_query::{Expr, ExprTrait as _};
use sea_orm::{ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, Set};
use shop::ids::{CustomerId, KnifeId, PhotoId};
use uuid::Uuid;

use super::entities::{customer, knife, link, message, note, outbox, photo, piece, visit};
use super::{Result, WriteTx, exactly_one};

/// What was taken out.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Erased {
    /// Texts, ours and theirs.
    pub n_notes: u64,
    /// Notices, sent and waiting.
    pub n_notices: u64,
    /// Pictures; their files go after the commit.
    pub photos: Vec<PhotoId>,
    /// Knives that have lost their owner and keep their record.
    pub n_knives: u64,
}

/// One text of a visit.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Text {
    /// When it was written.
    pub at: DateTime<Utc>,
    /// What it says.
    pub text: String,
}

/// Whether somebody was erased, and when.
pub async fn erased_at(db: &impl ConnectionTrait, id: CustomerId) -> Result<Option<DateTime<Utc>>> {
    Ok(customer::Entity::find_by_id(id.0).one(db).await?.and_then(|row| row.erased_at))
}

/// The texts kept about a person's visits, oldest first.
pub async fn texts(db: &impl ConnectionTrait, id: CustomerId) -> Result<Vec<Text>> {
    let visits = visit_ids(db, id).await?;
    let notes = note::Entity::find().filter(note::Column::VisitId.is_in(visits.clone())).all(db).await?;
    let messages = message::Entity::find().filter(message::Column::VisitId.is_in(visits)).all(db).await?;
    let notes = notes.into_iter().map(|row| Text { at: row.made_at, text: row.body });
    let mut texts: Vec<_> =
        notes.chain(messages.into_iter().map(|row| Text { at: row.at, text: row.body })).collect();
    texts.sort_by_key(|text| text.at);
    Ok(texts)
}

/// The pictures of a person's pieces.
pub async fn photos(db: &impl ConnectionTrait, id: CustomerId) -> Result<Vec<PhotoId>> {
    let pieces = piece_ids(db, &visit_ids(db, id).await?).await?;
    let rows = photo::Entity::find().filter(photo::Column::PieceId.is_in(pieces)).all(db).await?;
    Ok(rows.into_iter().map(|row| PhotoId(row.id)).collect())
}

/// Their knives' ids.
pub async fn knives(db: &impl ConnectionTrait, id: CustomerId) -> Result<Vec<KnifeId>> {
    let rows = knife::Entity::find().filter(knife::Column::OwnerId.eq(id.0)).all(db).await?;
    Ok(rows.into_iter().map(|row| KnifeId(row.id)).collect())
}

async fn visit_ids(db: &impl ConnectionTrait, id: CustomerId) -> Result<Vec<Uuid>> {
    let rows = visit::Entity::find().filter(visit::Column::CustomerId.eq(id.0)).all(db).await?;
    Ok(rows.into_iter().map(|row| row.id).collect())
}

async fn piece_ids(db: &impl ConnectionTrait, visits: &[Uuid]) -> Result<Vec<Uuid>> {
    let rows = piece::Entity::find().filter(piece::Column::VisitId.is_in(visits.to_vec())).all(db).await?;
    Ok(rows.into_iter().map(|row| row.id).collect())
}

/// Takes a person out: name, addresses, texts, pictures, notices and private links. Visits, pieces, bills and the ledger
/// stay, with nobody's name on them.
pub async fn erase(tx: &WriteTx, id: CustomerId, now: DateTime<Utc>) -> Result<Erased> {
    let done = customer::Entity::update_many()
        .col_expr(customer::Column::Name, Expr::value(""))
        .col_expr(customer::Column::Email, Expr::value(""))
        .col_expr(customer::Column::Phone, Expr::value(""))
        .col_expr(customer::Column::Address, Expr::value(Option::<serde_json::Value>::None))
        .col_expr(customer::Column::RemindSince, Expr::value(Option::<DateTime<Utc>>::None))
        .col_expr(customer::Column::ErasedAt, Expr::value(now))
        .col_expr(customer::Column::Version, Expr::col(customer::Column::Version).add(1))
        .filter(customer::Column::Id.eq(id.0))
        .filter(customer::Column::ErasedAt.is_null())
        .exec(tx)
        .await?;
    exactly_one("this person", done.rows_affected)?;
    let visits = visit_ids(tx, id).await?;
    let pieces = piece_ids(tx, &visits).await?;
    let knives = knives(tx, id).await?;
    let photos = photos(tx, id).await?;
    photo::Entity::delete_many().filter(photo::Column::PieceId.is_in(pieces.clone())).exec(tx).await?;
    let notes =
        note::Entity::delete_many().filter(note::Column::VisitId.is_in(visits.clone())).exec(tx).await?;
    let messages = message::Entity::delete_many()
        .filter(message::Column::VisitId.is_in(visits.clone()))
        .exec(tx)
        .await?;
    let about: Vec<Uuid> =
        visits.iter().chain(&pieces).copied().chain([id.0]).chain(knives.iter().map(|k| k.0)).collect();
    let notices =
        outbox::Entity::delete_many().filter(outbox::Column::About.is_in(about.clone())).exec(tx).await?;
    link::Entity::delete_many().filter(link::Column::About.is_in(about)).exec(tx).await?;
    for knife in &knives {
        blank_latest(tx, *knife).await?;
    }
    let freed = knife::Entity::update_many()
        .col_expr(knife::Column::OwnerId, Expr::value(Option::<Uuid>::None))
        .col_expr(knife::Column::Version, Expr::col(knife::Column::Version).add(1))
        .filter(knife::Column::OwnerId.eq(id.0))
        .exec(tx)
        .await?;
    visit::Entity::update_many()
        .col_expr(visit::Column::ParcelNumber, Expr::value(Option::<String>::None))
        .col_expr(visit::Column::Version, Expr::col(visit::Column::Version).add(1))
        .filter(visit::Column::Id.is_in(visits))
        .exec(tx)
        .await?;
    for id in pieces {
        blank_texts(tx, id).await?;
    }
    Ok(Erased {
        n_notes: notes.rows_affected + messages.rows_affected,
        n_notices: notices.rows_affected,
        photos,
        n_knives: freed.rows_affected,
    })
}

/// Takes the free text out of a piece: what was typed about it, and what it waited for.
async fn blank_texts(tx: &WriteTx, id: Uuid) -> Result<()> {
    let Some(row) = piece::Entity::find_by_id(id).one(tx).await? else { return Ok(()) };
    let (mut booked, mut inspection, version) = (row.booked.clone(), row.inspection.clone(), row.version);
    for document in [Some(&mut booked), inspection.as_mut()].into_iter().flatten() {
        blank_note(document);
    }
    let has_waited = row.waits_for.is_some();
    let mut row: piece::ActiveModel = row.into();
    row.booked = Set(booked);
    row.inspection = Set(inspection);
    if has_waited {
        row.waits_for = Set(Some(String::new()));
    }
    row.turned_down = Set(None);
    row.mishaps = Set(None);
    row.version = Set(version + 1);
    row.update(tx).await?;
    Ok(())
}

/// The same for the latest sheet of a knife.
async fn blank_latest(tx: &WriteTx, id: KnifeId) -> Result<()> {
    let Some(row) = knife::Entity::find_by_id(id.0).one(tx).await? else { return Ok(()) };
    let Some(mut latest) = row.latest.clone() else { return Ok(()) };
    blank_note(&mut latest);
    let version = row.version;
    let mut row: knife::ActiveModel = row.into();
    row.latest = Set(Some(latest));
    row.version = Set(version + 1);
    row.update(tx).await?;
    Ok(())
}

/// `booked.note` and `inspection.note` are the only free texts inside documents.
fn blank_note(document: &mut serde_json::Value) {
    if let Some(note) = document.get_mut("note") {
        *note = serde_json::Value::String(String::new());
    }
}

//! The pieces of visits.

use std::collections::HashMap;

use sea_orm::sea_query::Expr;
use sea_orm::{ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder, Set};
use shop::ids::{KnifeId, PhotoId, PieceId, VisitId};
use shop::money::Money;
use shop::piece::{PieceState, Waiting, WaitsOn};
use shop::read::Piece;
use shop::tag::Tag;
use uuid::Uuid;

use super::entities::{photo, piece};
use super::{Result, StoreError, WriteTx, exactly_one, json};

/// Adds a piece.
pub async fn insert(tx: &WriteTx, piece: &Piece) -> Result<()> {
    let row = piece::ActiveModel {
        id: Set(piece.id.0),
        visit_id: Set(piece.visit.0),
        knife_id: Set(piece.knife.map(|k| k.0)),
        number: Set(piece.number.cast_signed()),
        tag: Set(piece.tag.map(|t| t.plain())),
        name: Set(piece.name.clone()),
        state: Set(piece.state.code().to_owned()),
        waits_on: Set(piece.waiting.as_ref().map(|w| waits_on_code(w.on).to_owned())),
        waits_for: Set(piece.waiting.as_ref().map(|w| w.what.clone())),
        booked: Set(json::write("piece.booked", &piece.booked)?),
        estimate: Set(json::write("piece.estimate", &piece.estimate)?),
        inspection: Set(json::write_some("piece.inspection", piece.inspection.as_ref())?),
        verdict: Set(json::write_some("piece.verdict", piece.verdict.as_ref())?),
        agreed_minor: Set(piece.agreed.map(|m| m.0)),
        turned_down: Set(piece.turned_down.clone()),
        mishaps: Set(mishaps(piece)?),
        due_at: Set(piece.due_at),
        rush: Set(piece.rush),
        home_at: Set(piece.home_at),
        version: Set(1),
    };
    super::insert(tx, row).await
}

/// Writes a changed piece back. [`StoreError::Stale`] when somebody was quicker.
pub async fn save(tx: &WriteTx, piece: &Piece) -> Result<()> {
    let inspection = json::write_some("piece.inspection", piece.inspection.as_ref())?;
    let verdict = json::write_some("piece.verdict", piece.verdict.as_ref())?;
    let waits_on = piece.waiting.as_ref().map(|w| waits_on_code(w.on).to_owned());
    let done = piece::Entity::update_many()
        .col_expr(piece::Column::KnifeId, Expr::value(piece.knife.map(|k| k.0)))
        .col_expr(piece::Column::Tag, Expr::value(piece.tag.map(|t| t.plain())))
        .col_expr(piece::Column::Name, Expr::value(piece.name.clone()))
        .col_expr(piece::Column::State, Expr::value(piece.state.code()))
        .col_expr(piece::Column::WaitsOn, Expr::value(waits_on))
        .col_expr(piece::Column::WaitsFor, Expr::value(piece.waiting.as_ref().map(|w| w.what.clone())))
        .col_expr(piece::Column::Inspection, Expr::value(inspection))
        .col_expr(piece::Column::Verdict, Expr::value(verdict))
        .col_expr(piece::Column::AgreedMinor, Expr::value(piece.agreed.map(|m| m.0)))
        .col_expr(piece::Column::TurnedDown, Expr::value(piece.turned_down.clone()))
        .col_expr(piece::Column::Mishaps, Expr::value(mishaps(piece)?))
        .col_expr(piece::Column::DueAt, Expr::value(piece.due_at))
        .col_expr(piece::Column::Rush, Expr::value(piece.rush))
        .col_expr(piece::Column::HomeAt, Expr::value(piece.home_at))
        .col_expr(piece::Column::Version, Expr::value(piece.version + 1))
        .filter(piece::Column::Id.eq(piece.id.0))
        .filter(piece::Column::Version.eq(piece.version))
        .exec(tx)
        .await?;
    exactly_one("this piece", done.rows_affected)
}

/// One piece.
pub async fn get(db: &impl ConnectionTrait, id: PieceId) -> Result<Option<Piece>> {
    let rows = piece::Entity::find_by_id(id.0).all(db).await?;
    Ok(read_all(db, rows).await?.pop())
}

/// The piece that wears this tag and is here or expected; tags stay with the knife over its visits.
pub async fn by_tag(db: &impl ConnectionTrait, tag: Tag) -> Result<Option<Piece>> {
    let rows = piece::Entity::find()
        .filter(piece::Column::Tag.eq(tag.plain()))
        .filter(piece::Column::State.is_not_in(PieceState::OVER.iter().map(|s| s.code())))
        .order_by_desc(piece::Column::Id)
        .all(db)
        .await?;
    Ok(read_all(db, rows).await?.into_iter().next())
}

/// All pieces that stand in one of `states`, earliest due first.
pub async fn in_states(db: &impl ConnectionTrait, states: &[PieceState]) -> Result<Vec<Piece>> {
    let rows = piece::Entity::find()
        .filter(piece::Column::State.is_in(states.iter().map(|s| s.code())))
        .order_by_asc(piece::Column::DueAt)
        .order_by_asc(piece::Column::Id)
        .all(db)
        .await?;
    read_all(db, rows).await
}

/// All pieces of one knife, oldest first.
pub async fn of_knife(db: &impl ConnectionTrait, knife: KnifeId) -> Result<Vec<Piece>> {
    let rows = piece::Entity::find()
        .filter(piece::Column::KnifeId.eq(knife.0))
        .order_by_asc(piece::Column::Id)
        .all(db)
        .await?;
    read_all(db, rows).await
}

pub(super) async fn of_visits(
    db: &impl ConnectionTrait,
    visits: Vec<Uuid>,
) -> Result<HashMap<Uuid, Vec<Piece>>> {
    let rows = piece::Entity::find()
        .filter(piece::Column::VisitId.is_in(visits))
        .order_by_asc(piece::Column::VisitId)
        .order_by_asc(piece::Column::Number)
        .all(db)
        .await?;
    let mut by_visit: HashMap<Uuid, Vec<Piece>> = HashMap::new();
    for piece in read_all(db, rows).await? {
        by_visit.entry(piece.visit.0).or_default().push(piece);
    }
    Ok(by_visit)
}

async fn read_all(db: &impl ConnectionTrait, rows: Vec<piece::Model>) -> Result<Vec<Piece>> {
    let photos = photo::Entity::find()
        .filter(photo::Column::PieceId.is_in(rows.iter().map(|row| row.id)))
        .order_by_asc(photo::Column::Id)
        .all(db)
        .await?;
    let mut by_piece: HashMap<Uuid, Vec<PhotoId>> = HashMap::new();
    for photo in photos {
        if let Some(piece) = photo.piece_id {
            by_piece.entry(piece).or_default().push(PhotoId(photo.id));
        }
    }
    rows.into_iter()
        .map(|row| {
            let photos = by_piece.remove(&row.id).unwrap_or_default();
            read(row, photos)
        })
        .collect()
}

fn read(row: piece::Model, photos: Vec<PhotoId>) -> Result<Piece> {
    let waiting = match row.waits_on {
        None => None,
        Some(code) => Some(Waiting { on: waits_on(&code)?, what: row.waits_for.unwrap_or_default() }),
    };
    Ok(Piece {
        id: PieceId(row.id),
        visit: VisitId(row.visit_id),
        knife: row.knife_id.map(KnifeId),
        number: row.number.cast_unsigned(),
        tag: row.tag.as_deref().map(|tag| json::word("piece.tag", tag)).transpose()?,
        name: row.name,
        state: json::word("piece.state", &row.state)?,
        waiting,
        booked: json::read("piece.booked", row.booked)?,
        estimate: json::read("piece.estimate", row.estimate)?,
        inspection: json::read_some("piece.inspection", row.inspection)?,
        verdict: json::read_some("piece.verdict", row.verdict)?,
        agreed: row.agreed_minor.map(Money),
        turned_down: row.turned_down,
        mishaps: json::read_some("piece.mishaps", row.mishaps)?.unwrap_or_default(),
        due_at: row.due_at,
        rush: row.rush,
        home_at: row.home_at,
        photos,
        version: row.version,
    })
}

/// The mishaps as they are kept; nothing for the many pieces that have none.
fn mishaps(piece: &Piece) -> Result<Option<serde_json::Value>> {
    let some = (!piece.mishaps.is_empty()).then_some(&piece.mishaps);
    json::write_some("piece.mishaps", some)
}

fn waits_on_code(on: WaitsOn) -> &'static str {
    match on {
        WaitsOn::Customer => "customer",
        WaitsOn::Shop => "shop",
        WaitsOn::Parts => "parts",
        WaitsOn::Decision => "decision",
    }
}

fn waits_on(code: &str) -> Result<WaitsOn> {
    [WaitsOn::Customer, WaitsOn::Shop, WaitsOn::Parts, WaitsOn::Decision]
        .into_iter()
        .find(|on| waits_on_code(*on) == code)
        .ok_or_else(|| StoreError::Unreadable {
            what: "piece.waits_on",
            why: format!("unknown word {code:?}"),
        })
}

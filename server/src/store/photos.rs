//! Which pictures there are; their bytes lie in the photo folder.

use std::collections::HashSet;

use chrono::{DateTime, Utc};
use sea_orm::sea_query::Expr;
use sea_orm::{ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder, QuerySelect, Set};
use shop::ids::{PhotoId, PieceId};
use uuid::Uuid;

use super::entities::photo;
use super::{Result, WriteTx};

/// A picture that has been re-encoded and stored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Photo {
    /// Its id; also the name of its file.
    pub id: PhotoId,
    /// The piece it shows, once there is one.
    pub piece: Option<PieceId>,
    /// The form it came with, and for which knife of it, while the form is not accepted yet.
    pub draft: Option<(String, u32)>,
    /// On which occasion: `booking`, `arrival`, `check`, `packing`.
    pub kind: String,
    /// Pixels.
    pub size: (u32, u32),
    /// Bytes.
    pub n_bytes: u64,
}

/// Adds a picture.
pub async fn insert(tx: &WriteTx, photo: &Photo, now: DateTime<Utc>) -> Result<()> {
    let row = photo::ActiveModel {
        id: Set(photo.id.0),
        piece_id: Set(photo.piece.map(|p| p.0)),
        draft_key: Set(photo.draft.as_ref().map(|d| d.0.clone())),
        draft_place: Set(photo.draft.as_ref().map(|d| d.1.cast_signed())),
        kind: Set(photo.kind.clone()),
        width: Set(photo.size.0.cast_signed()),
        height: Set(photo.size.1.cast_signed()),
        n_bytes: Set(photo.n_bytes.cast_signed()),
        made_at: Set(now),
    };
    super::insert(tx, row).await
}

/// One picture.
pub async fn get(db: &impl ConnectionTrait, id: PhotoId) -> Result<Option<Photo>> {
    Ok(photo::Entity::find_by_id(id.0).one(db).await?.map(read))
}

/// Which of some pictures there are rows of.
pub async fn known(db: &impl ConnectionTrait, ids: &[PhotoId]) -> Result<HashSet<PhotoId>> {
    let rows: Vec<Uuid> = photo::Entity::find()
        .select_only()
        .column(photo::Column::Id)
        .filter(photo::Column::Id.is_in(ids.iter().map(|id| id.0)))
        .into_tuple()
        .all(db)
        .await?;
    Ok(rows.into_iter().map(PhotoId).collect())
}

/// The pictures after one in the order of their ids, `n` at most.
pub async fn after(db: &impl ConnectionTrait, last: Option<PhotoId>, n: u64) -> Result<Vec<PhotoId>> {
    let mut query = photo::Entity::find().select_only().column(photo::Column::Id);
    if let Some(last) = last {
        query = query.filter(photo::Column::Id.gt(last.0));
    }
    let rows: Vec<Uuid> = query.order_by_asc(photo::Column::Id).limit(n).into_tuple().all(db).await?;
    Ok(rows.into_iter().map(PhotoId).collect())
}

/// The pictures sent with a form that is not accepted yet, in order.
pub async fn of_draft(db: &impl ConnectionTrait, key: &str) -> Result<Vec<Photo>> {
    let rows = photo::Entity::find()
        .filter(photo::Column::DraftKey.eq(key))
        .filter(photo::Column::PieceId.is_null())
        .order_by_asc(photo::Column::Id)
        .all(db)
        .await?;
    Ok(rows.into_iter().map(read).collect())
}

/// Hangs the pictures of one knife of an accepted form on its piece.
pub async fn attach(tx: &WriteTx, key: &str, place: u32, piece: PieceId) -> Result<u64> {
    let done = photo::Entity::update_many()
        .col_expr(photo::Column::PieceId, Expr::value(piece.0))
        .col_expr(photo::Column::DraftKey, Expr::value(Option::<String>::None))
        .filter(photo::Column::DraftKey.eq(key))
        .filter(photo::Column::DraftPlace.eq(place.cast_signed()))
        .exec(tx)
        .await?;
    Ok(done.rows_affected)
}

/// Pictures of forms that were never accepted, older than `before`: their rows go, and their ids come back so that the
/// files can go too.
pub async fn forget_drafts(tx: &WriteTx, before: DateTime<Utc>) -> Result<Vec<PhotoId>> {
    let old = photo::Entity::find()
        .filter(photo::Column::PieceId.is_null())
        .filter(photo::Column::MadeAt.lt(before))
        .all(tx)
        .await?;
    let ids: Vec<_> = old.iter().map(|row| row.id).collect();
    photo::Entity::delete_many().filter(photo::Column::Id.is_in(ids.clone())).exec(tx).await?;
    Ok(ids.into_iter().map(PhotoId).collect())
}

fn read(row: photo::Model) -> Photo {
    Photo {
        id: PhotoId(row.id),
        piece: row.piece_id.map(PieceId),
        draft: row.draft_key.zip(row.draft_place.map(i32::cast_unsigned)),
        kind: row.kind,
        size: (row.width.cast_unsigned(), row.height.cast_unsigned()),
        n_bytes: row.n_bytes.cast_unsigned(),
    }
}

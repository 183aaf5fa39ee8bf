//! A picture comes with a form.

use std::sync::LazyLock;

use shop::ids::{PhotoId, PieceId};
use tokio::sync::Semaphore;

use crate::context::Ctx;
use crate::photos::{self, PhotoError};
use crate::store::{StoreError, photos as rows};

/// Pictures are unfolded into memory two at a time: a phone's takes 50 MB for a moment, the largest 480 MB.
static UNFOLDING: LazyLock<Semaphore> = LazyLock::new(|| Semaphore::new(2));

/// The most pictures of one knife in one form.
pub const MOST_PER_KNIFE: usize = 4;

/// What a picture belongs to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Of {
    /// A knife of a form that is not accepted yet: the form's key, the knife's number in it.
    Draft(String, u32),
    /// A piece.
    Piece(PieceId),
}

/// Why a picture was not kept.
#[derive(Debug, thiserror::Error)]
pub enum StorePhotoError {
    /// It is not one we take; the sentence is for whoever sent it.
    #[error(transparent)]
    NotTaken(#[from] PhotoError),
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The disk or the program failed.
    #[error(transparent)]
    Failed(#[from] anyhow::Error),
}

/// Encodes a picture anew and keeps it. `kind` says on which occasion: `booking`, `arrival`, `check`, `packing`.
pub async fn store_photo(ctx: &Ctx, bytes: Vec<u8>, of: Of, kind: &str) -> Result<PhotoId, StorePhotoError> {
    let row = write(ctx, bytes, of, kind).await?;
    let tx = ctx.store.begin_write().await?;
    rows::insert(&tx, &row, ctx.now()).await?;
    tx.commit().await?;
    Ok(row.id)
}

/// Encodes a picture anew and writes its file; the row is the caller's to insert. The file first, the row after: a row
/// without a file would be a broken picture, a file without a row is only litter.
pub(super) async fn write(
    ctx: &Ctx,
    bytes: Vec<u8>,
    of: Of,
    kind: &str,
) -> Result<rows::Photo, StorePhotoError> {
    let id = PhotoId(ctx.new_id());
    let turn = UNFOLDING.acquire().await.map_err(anyhow::Error::from)?;
    let kept = tokio::task::spawn_blocking(move || photos::encode_anew(&bytes))
        .await
        .map_err(anyhow::Error::from)??;
    drop(turn);
    let (size, n_bytes) = ((kept.width, kept.height), kept.jpeg.len() as u64);
    ctx.album.put(id, kept.jpeg).await?;
    let (piece, draft) = match of {
        Of::Draft(key, place) => (None, Some((key, place))),
        Of::Piece(piece) => (Some(piece), None),
    };
    Ok(rows::Photo { id, piece, draft, kind: kind.to_owned(), size, n_bytes })
}

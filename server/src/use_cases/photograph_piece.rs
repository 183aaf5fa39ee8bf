//! Somebody takes a picture of a piece: as it came, at its check, as it was packed. The ledger says that there is one.

use shop::ids::PieceId;
use shop::ledger::Fact;

use super::hands::{self, Refused};
use super::store_photo::{self, StorePhotoError};
use crate::context::Ctx;
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::staff::Person;
use crate::store::{ledger, photos, pieces};

/// Keeps a picture once per key. `kind` says on which occasion: `arrival`, `check`, `packing`.
pub async fn photograph_piece(
    ctx: &Ctx,
    by: &Person,
    key: &RequestKey,
    id: PieceId,
    kind: &str,
    bytes: Vec<u8>,
) -> Result<(), Refused> {
    if bytes.is_empty() {
        return Err(Refused::field("photo", "Please choose a picture first."));
    }
    if requests::outcome(ctx.store.read(), key).await?.is_some() {
        return Ok(());
    }
    // Unfolding a picture takes seconds: before the transaction, never within it.
    let row =
        store_photo::write(ctx, bytes, store_photo::Of::Piece(id), kind).await.map_err(
            |error| match error {
                StorePhotoError::NotTaken(error) => Refused::field("photo", error.to_string()),
                StorePhotoError::Store(error) => error.into(),
                StorePhotoError::Failed(error) => Refused::Failed(error),
            },
        )?;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(_) = requests::claim(&tx, key, now).await? {
        return Ok(());
    }
    let piece = pieces::get(&tx, id).await?.ok_or(Refused::Gone)?;
    photos::insert(&tx, &row, now).await?;
    ledger::add(&tx, &piece, hands::who(by), &Fact::Photographed { photo: row.id }, None, now).await?;
    requests::settle(&tx, key, row.id.0).await?;
    tx.commit().await?;
    ctx.live.tell("visit", Some(piece.visit.0));
    Ok(())
}

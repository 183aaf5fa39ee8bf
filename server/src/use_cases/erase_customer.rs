//! A customer wants to be forgotten: the person goes, the knives' technical record stays.

use std::path::PathBuf;

use shop::ids::{CustomerId, PhotoId};
use shop::piece::PieceState;
use shop::read::Visit;
use shop::tag::Reference;

use super::set_up::NotSaved;
use crate::context::Ctx;
use crate::store::changes::{self, Subject};
use crate::store::persons::{self, Erased};
use crate::store::staff::Person;
use crate::store::visits;

/// Where the file of a picture lies.
pub(super) fn photo_file(ctx: &Ctx, id: PhotoId) -> PathBuf {
    crate::photos::path(&ctx.config.data, id)
}

/// Takes the person of a visit out of the books. `typed` must be the visit's reference, so that nobody is erased by a slip.
/// Refused while any of their knives is in the house or expected: somebody has to know whose it is.
pub async fn erase_customer(
    ctx: &Ctx,
    by: &Person,
    reference: Reference,
    typed: &str,
) -> Result<Erased, NotSaved> {
    if typed.trim().parse::<Reference>().ok() != Some(reference) {
        return Err(NotSaved::field(
            "confirm",
            format!("To confirm, please type the reference {reference}."),
        ));
    }
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let customer = visits::by_reference(&tx, reference).await?.ok_or(NotSaved::Gone)?.customer;
    if let Some(why) = visits::of_customer(&tx, customer).await?.iter().find_map(still_needed) {
        return Err(NotSaved::field("confirm", why));
    }
    if persons::erased_at(&tx, customer).await?.is_some() {
        return Err(NotSaved::field("confirm", "This person is erased already."));
    }
    let erased = persons::erase(&tx, customer, now).await?;
    changes::add(&tx, Subject::Customer, Some(customer.0), &["erased".to_owned()], Some(by.id), now).await?;
    tx.commit().await?;
    forget_files(ctx, erased.photos.clone()).await;
    ctx.live.tell("visit", None);
    Ok(erased)
}

/// Why a visit still needs to know its person.
fn still_needed(visit: &Visit) -> Option<String> {
    let reference = visit.reference;
    if visit.cancelled_at.is_some() {
        return None;
    }
    visit.pieces.iter().find_map(|piece| match piece.state {
        PieceState::Home | PieceState::Missing | PieceState::Lapsed | PieceState::Lost => None,
        PieceState::Expected => {
            Some(format!("Visit {reference} is still expected: call it off first, or wait until it is over."))
        }
        _ if piece.home_at.is_some() => None,
        _ => Some(format!(
            "A knife of visit {reference} is still here ({}): hand it back first.",
            piece.state.words()
        )),
    })
}

/// Whether a person may be erased now; the reason when not.
pub async fn may_be_erased(ctx: &Ctx, customer: CustomerId) -> crate::store::Result<Result<(), String>> {
    let visits = visits::of_customer(ctx.store.read(), customer).await?;
    Ok(visits.iter().find_map(still_needed).map_or(Ok(()), Err))
}

/// Deletes the files of pictures whose rows are gone. One that cannot be deleted is named in the log: it has to go by hand.
pub(super) async fn forget_files(ctx: &Ctx, photos: Vec<PhotoId>) {
    let files: Vec<PathBuf> = photos.into_iter().map(|id| photo_file(ctx, id)).collect();
    let done = tokio::task::spawn_blocking(move || {
        for file in files {
            match std::fs::remove_file(&file) {
                Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
                    tracing::error!(file = %file.display(), "a picture cannot be deleted: {error}");
                }
                _ => {}
            }
        }
    });
    if let Err(error) = done.await {
        tracing::error!("deleting pictures failed: {error}");
    }
}

//! The desk's pages.

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use shop::field::FieldErrors;
use shop::ids::PieceId;
use shop::read::{Piece, Visit};
use shop::tag::Reference;

use super::problem::Problem;
use crate::context::Ctx;
use crate::photos::MOST_BYTES;
use crate::store::{pieces, visits};
use crate::use_cases::hands::Refused;

mod bill;
mod hand_back;
mod inspect;
mod letters;
mod list;
mod piece;
mod receive;
mod tags;

/// A picture and the little that goes around it.
pub(super) const MOST_PHOTO_BYTES: usize = MOST_BYTES + 64 * 1024;

pub(super) fn routes() -> Router<Ctx> {
    Router::new()
        .route("/desk", get(list::show))
        .route("/desk/visit/{reference}", get(receive::show))
        .route("/desk/visit/{reference}/receive", post(receive::receive))
        .route("/desk/visit/{reference}/confirm", post(receive::confirm))
        .route("/desk/visit/{reference}/write", post(letters::write))
        .route("/desk/visit/{reference}/tags", get(tags::show))
        .route("/desk/visit/{reference}/hand-back", get(hand_back::show).post(hand_back::hand_back))
        .route("/desk/visit/{reference}/payment", post(bill::pay))
        .route("/desk/visit/{reference}/bill", post(bill::issue))
        .route("/desk/visit/{reference}/bill/cancel", post(bill::cancel))
        .route("/desk/bill/{number}", get(bill::show))
        .route("/desk/piece/{id}/inspect", get(inspect::show).post(inspect::save))
        .route("/desk/piece/{id}/turn-down", post(inspect::turn_down))
        .route("/desk/piece/{id}/tag", post(piece::tag))
        .route("/desk/piece/{id}/hold", post(piece::hold))
        .route("/desk/piece/{id}/harm", post(piece::harm))
        .route("/desk/piece/{id}/answer", post(piece::answer))
        .route("/desk/piece/{id}/photo", post(piece::photo).layer(DefaultBodyLimit::max(MOST_PHOTO_BYTES)))
}

/// The visit an address names.
async fn find_visit(ctx: &Ctx, reference: &str) -> Result<Visit, Problem> {
    let reference: Reference = reference.parse().map_err(|_| Problem::NotFound)?;
    visits::by_reference(ctx.store.read(), reference).await?.ok_or(Problem::NotFound)
}

/// The piece an address names, with its visit.
async fn find_piece(ctx: &Ctx, id: &str) -> Result<(Piece, Visit), Problem> {
    let id: PieceId = id.parse().map_err(|_| Problem::NotFound)?;
    let piece = pieces::get(ctx.store.read(), id).await?.ok_or(Problem::NotFound)?;
    let visit = visits::get(ctx.store.read(), piece.visit).await?.ok_or(Problem::NotFound)?;
    Ok((piece, visit))
}

fn to_visit(visit: &Visit, said: &str) -> Response {
    Redirect::to(&format!("/desk/visit/{}?said={said}", visit.reference.plain())).into_response()
}

/// What a page says of a refusal: complaints beside fields where it is about them, `Err` where a page cannot say it.
fn complaints(refused: Refused) -> Result<FieldErrors, Problem> {
    match refused {
        Refused::Gone => Err(Problem::NotFound),
        Refused::Failed(error) => Err(error.into()),
        Refused::Store(error) => Err(error.into()),
        Refused::Fields(errors) => Ok(errors),
        Refused::Stale(what) => {
            let mut errors = FieldErrors::default();
            errors.add(
                "version",
                format!(
                    "Somebody changed {what} in the meantime. Look at how it stands now, then send it again."
                ),
            );
            Ok(errors)
        }
        Refused::First(sentence) => {
            let mut errors = FieldErrors::default();
            errors.add("state", sentence);
            Ok(errors)
        }
        Refused::NotNow(not_now) => {
            let mut errors = FieldErrors::default();
            let words = not_now.to_string();
            let mut letters = words.chars();
            let first = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
            errors.add("state", format!("{first}{}.", letters.as_str()));
            Ok(errors)
        }
    }
}

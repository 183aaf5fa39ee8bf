//! Pictures, for whoever may see them: with the key of the form they came with, by the link to their visit, or as staff.

use axum::Router;
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse as _, Response};
use axum::routing::get;
use shop::ids::PhotoId;

use super::Answer;
use super::caller::{Caller, Staff};
use super::problem::Problem;
use super::visit::{Entrance, open};
use crate::context::Ctx;
use crate::store::{photos as rows, pieces};

pub(super) fn routes() -> Router<Ctx> {
    Router::new()
        .route("/book/photo/{key}/{id}", get(of_draft))
        .route("/v/{token}/photo/{id}", get(of_visit))
        .route("/photo/{id}", get(for_staff))
}

/// A picture of a form that is not accepted yet. The key is a random one that only this form carries.
async fn of_draft(State(ctx): State<Ctx>, Path((key, id)): Path<(String, String)>) -> Answer {
    let photo = find(&ctx, &id).await?;
    let fits = photo.piece.is_none() && photo.draft.as_ref().is_some_and(|draft| draft.0 == key);
    if fits { serve(&ctx, photo.id).await } else { Err(Problem::NotFound) }
}

async fn of_visit(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path((token, id)): Path<(String, String)>,
) -> Answer {
    let visit = match open(&ctx, &caller, &token).await? {
        Entrance::Open(visit, _) => visit,
        Entrance::Shut(page) => return Ok(page),
    };
    let photo = find(&ctx, &id).await?;
    let piece = photo.piece.ok_or(Problem::NotFound)?;
    let piece = pieces::get(ctx.store.read(), piece).await?.ok_or(Problem::NotFound)?;
    if piece.visit == visit { serve(&ctx, photo.id).await } else { Err(Problem::NotFound) }
}

async fn for_staff(State(ctx): State<Ctx>, _: Staff, Path(id): Path<String>) -> Answer {
    let photo = find(&ctx, &id).await?;
    serve(&ctx, photo.id).await
}

async fn find(ctx: &Ctx, id: &str) -> Result<rows::Photo, Problem> {
    let id: PhotoId = id.parse().map_err(|_| Problem::NotFound)?;
    rows::get(ctx.store.read(), id).await?.ok_or(Problem::NotFound)
}

async fn serve(ctx: &Ctx, id: PhotoId) -> Result<Response, Problem> {
    let bytes = ctx.album.get(id).await?.ok_or(Problem::NotFound)?;
    // A picture never changes under its id; only this browser may keep it.
    let headers =
        [(header::CONTENT_TYPE, "image/jpeg"), (header::CACHE_CONTROL, "private, max-age=86400, immutable")];
    Ok((headers, bytes).into_response())
}

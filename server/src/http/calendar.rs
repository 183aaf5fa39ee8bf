//! The calendar file of a visit.

use axum::Router;
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::IntoResponse as _;
use axum::routing::get;

use super::Answer;
use super::caller::Caller;
use super::problem::Problem;
use super::visit::{Entrance, open};
use crate::calendar;
use crate::context::Ctx;
use crate::use_cases::show_visit;

pub(super) fn routes() -> Router<Ctx> {
    Router::new().route("/v/{token}/visit.ics", get(file))
}

async fn file(State(ctx): State<Ctx>, caller: Caller, Path(token): Path<String>) -> Answer {
    let visit = match open(&ctx, &caller, &token).await? {
        Entrance::Open(visit, _) => visit,
        Entrance::Shut(page) => return Ok(page),
    };
    let shown = show_visit::show_visit(&ctx, visit).await?.ok_or(Problem::NotFound)?;
    let page = ctx.url(&format!("/v/{token}"));
    let text = calendar::of_visit(&shown.visit, &shown.profile, &page, ctx.config.public_host(), ctx.now());
    let name = format!("attachment; filename=\"visit-{}.ics\"", shown.visit.reference);
    let headers = [
        (header::CONTENT_TYPE, "text/calendar; charset=utf-8".to_owned()),
        (header::CONTENT_DISPOSITION, name),
        (header::CACHE_CONTROL, "no-store".to_owned()),
    ];
    Ok((headers, text).into_response())
}

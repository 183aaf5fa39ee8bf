//! The packing slip of a visit.

use axum::Router;
use axum::extract::{Path, State};
use axum::routing::get;
use leptos::prelude::*;
use shop::booking::Arrival;
use web::pages::slip::SlipPage;

use super::caller::Caller;
use super::problem::Problem;
use super::visit::{Entrance, open};
use super::{Answer, page};
use crate::context::Ctx;
use crate::use_cases::show_visit;
use crate::{calendar, qr};

pub(super) fn routes() -> Router<Ctx> {
    Router::new().route("/v/{token}/slip", get(show))
}

async fn show(State(ctx): State<Ctx>, caller: Caller, Path(token): Path<String>) -> Answer {
    let visit = match open(&ctx, &caller, &token).await? {
        Entrance::Open(visit, _) => visit,
        Entrance::Shut(page) => return Ok(page),
    };
    let shown = show_visit::show_visit(&ctx, visit).await?.ok_or(Problem::NotFound)?;
    let (visit, profile) = (shown.visit, shown.profile);
    caller.speak(visit.language);
    let lang = visit.language;
    let qr = qr::svg(&visit.reference.plain())?;
    let send_by = (visit.arrival == Arrival::Post).then(|| lang.day(calendar::send_by(&visit, &profile)));
    let title = caller.say_with("page-slip", &[("reference", visit.reference.to_string().into())]);
    let back = format!("/v/{token}");
    Ok(page::render(&caller, &title, move || {
        view! { <SlipPage visit=visit profile=profile qr=qr send_by=send_by back=back /> }
    })
    .await)
}

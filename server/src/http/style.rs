//! The design language, drawn: for development; a release does not show it.

use axum::Router;
use axum::response::Response;
use axum::routing::get;
use leptos::prelude::*;
use web::pages::style::{StyleBenchPage, StylePage};

use super::{Caller, page};
use crate::context::Ctx;

pub(super) fn routes() -> Router<Ctx> {
    if cfg!(debug_assertions) {
        Router::new().route("/style", get(desk)).route("/style/bench", get(bench))
    } else {
        Router::new()
    }
}

async fn desk(caller: Caller) -> Response {
    page::render(&caller, "How it looks", || view! { <StylePage /> }).await
}

async fn bench(caller: Caller) -> Response {
    page::render(&caller, "How it looks at the bench", || view! { <StyleBenchPage /> }).await
}

//! A sign of life for whoever watches the server.

use std::time::Duration;

use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use axum::{Json, Router};

use super::page::Rendered;
use crate::context::Ctx;

/// How long the database may take to answer. Far longer than it ever does, shorter than a watcher's patience.
const PATIENCE: Duration = Duration::from_secs(2);

pub(super) fn routes() -> Router<Ctx> {
    Router::new().route("/healthz", get(healthz))
}

/// 200 when the database answers, 503 when it does not.
async fn healthz(State(ctx): State<Ctx>) -> Response {
    let (status, word) = match tokio::time::timeout(PATIENCE, ctx.store.check()).await {
        Ok(Ok(())) => (StatusCode::OK, "good"),
        Ok(Err(error)) => {
            tracing::error!("the database does not answer: {error}");
            (StatusCode::SERVICE_UNAVAILABLE, "gone")
        }
        Err(_) => {
            tracing::error!("the database does not answer within {PATIENCE:?}");
            (StatusCode::SERVICE_UNAVAILABLE, "gone")
        }
    };
    let body = Json(serde_json::json!({ "database": word }));
    let mut response = (status, [(header::CACHE_CONTROL, "no-store")], body).into_response();
    response.extensions_mut().insert(Rendered);
    response
}

//! One log line per request, without anything personal: the route's pattern, never the path, which may hold
//! the token of a private link; never an address, a cookie or a body.

use axum::extract::{MatchedPath, Request};
use axum::middleware::Next;
use axum::response::Response;

use super::caller::Caller;
use crate::clock::Stopwatch;

/// Logs a request when it has been answered, and gives the answer its reference number.
pub(super) async fn log(request: Request, next: Next) -> Response {
    let watch = Stopwatch::start();
    let method = request.method().clone();
    let caller = request.extensions().get::<Caller>().cloned();
    let route = request
        .extensions()
        .get::<MatchedPath>()
        .map_or_else(|| "(no route)".to_owned(), |path| path.as_str().to_owned());
    let mut response = next.run(request).await;
    let reference = caller.as_ref().map_or("", |caller| caller.reference());
    if let Ok(value) = reference.parse() {
        response.headers_mut().insert("x-request-id", value);
    }
    let status = response.status().as_u16();
    let took_ms = watch.elapsed_ms();
    super::metrics::count(status, took_ms);
    if response.status().is_server_error() {
        tracing::warn!(%method, route, status, took_ms, reference, "answered");
    } else {
        tracing::info!(%method, route, status, took_ms, reference, "answered");
    }
    response
}

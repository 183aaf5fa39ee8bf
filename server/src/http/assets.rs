//! The built files: named by their content, compressed beforehand, kept by browsers for a year.

use std::path::Path;

use axum::Router;
use axum::extract::{Request, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::{Next, from_fn};
use axum::response::{IntoResponse as _, Response};
use axum::routing::get;
use tower_http::services::ServeDir;

use super::caller::Caller;
use super::problem::Problem;
use crate::context::Ctx;

/// Serves `site/pkg`.
pub(super) fn service(site: &Path) -> Router {
    let files = ServeDir::new(site.join("pkg")).precompressed_br().precompressed_gzip();
    Router::new().fallback_service(files).layer(from_fn(keep))
}

pub(super) fn routes() -> Router<Ctx> {
    Router::new().route("/bench-worker.js", get(worker))
}

/// The bench's service worker. It needs an address that stays, outside `/pkg`: the folder of its address is as far as it
/// may reach.
async fn worker(State(ctx): State<Ctx>, caller: Caller) -> Result<Response, Problem> {
    let file = caller.site().file("bench-worker.js").ok_or(Problem::NotFound)?;
    let path = ctx.config.site.join("pkg").join(file);
    let text = tokio::fs::read(path).await.map_err(anyhow::Error::from)?;
    let headers =
        [(header::CONTENT_TYPE, "text/javascript; charset=utf-8"), (header::CACHE_CONTROL, "no-cache")];
    Ok((headers, text).into_response())
}

/// A name never stands for another content, so a file that is there may be kept; a missing one must not be
/// remembered as missing.
async fn keep(request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let found = response.status().is_success() || response.status() == StatusCode::NOT_MODIFIED;
    let (keep, vary) =
        if found { ("public, max-age=31536000, immutable", true) } else { ("no-store", false) };
    let headers = response.headers_mut();
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static(keep));
    if vary {
        headers.insert(header::VARY, HeaderValue::from_static("accept-encoding"));
        // A file by itself loads nothing, and half a dozen of them need not carry the policy of a page to a phone.
        headers.insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static("default-src 'none'"));
    }
    // All our texts are UTF-8, and say so.
    let kind = headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
    if kind.starts_with("text/")
        && !kind.contains("charset")
        && let Ok(kind) = HeaderValue::from_str(&format!("{kind}; charset=utf-8"))
    {
        headers.insert(header::CONTENT_TYPE, kind);
    }
    response
}

//! The built files: named by their content, compressed beforehand, kept by browsers for a year.

use std::path::Path;

use axum::Router;
use axum::extract::Request;
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::{Next, from_fn};
use axum::response::Response;
use tower_http::services::ServeDir;

/// Serves `site/pkg`.
pub(super) fn service(site: &Path) -> Router {
    let files = ServeDir::new(site.join("pkg")).precompressed_br().precompressed_gzip();
    Router::new().fallback_service(files).layer(from_fn(keep))
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
    }
    response
}

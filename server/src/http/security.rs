//! Headers on every answer, and the refusal of posts that another site makes a browser send.

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::caller::Caller;
use super::problem::Problem;
use crate::context::Ctx;

/// Sets the headers that every answer has. A handler that set one itself (the frame around a notice) keeps its own.
pub(super) async fn headers(State(ctx): State<Ctx>, request: Request, next: Next) -> Response {
    let nonce = request.extensions().get::<Caller>().map(|caller| caller.nonce().to_string());
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    if let Some(policy) = nonce.and_then(|nonce| HeaderValue::from_str(&content_policy(&nonce)).ok()) {
        headers.entry(header::CONTENT_SECURITY_POLICY).or_insert(policy);
    }
    let fixed: [(HeaderName, &str); 6] = [
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        // Private links must not leak to other sites; our own forms still say where they come from.
        (header::REFERRER_POLICY, "same-origin"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
        (
            HeaderName::from_static("permissions-policy"),
            "camera=(self), microphone=(), geolocation=(), payment=()",
        ),
    ];
    for (name, value) in fixed {
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    }
    if ctx.config.is_https() {
        let two_years = HeaderValue::from_static(if ctx.config.hsts_subdomains {
            "max-age=63072000; includeSubDomains"
        } else {
            "max-age=63072000"
        });
        headers.entry(header::STRICT_TRANSPORT_SECURITY).or_insert(two_years);
    }
    response
}

/// Scripts run only with this answer's nonce or from our own files; nothing inline, nothing from elsewhere.
fn content_policy(nonce: &str) -> String {
    format!(
        "default-src 'none'; script-src 'self' 'nonce-{nonce}' 'wasm-unsafe-eval'; style-src 'self'; \
         img-src 'self' blob: data:; font-src 'self'; connect-src 'self'; manifest-src 'self'; \
         worker-src 'self'; frame-src 'self'; form-action 'self'; base-uri 'none'; object-src 'none'; \
         frame-ancestors 'none'"
    )
}

/// Refuses a request that changes something and that another site made the browser send.
///
/// Browsers say where a request comes from in `Sec-Fetch-Site`, older ones at least in `Origin`; neither can be
/// set by a page. Without both it is no browser, and then there must be no session cookie either.
pub(super) async fn refuse_cross_site(request: Request, next: Next) -> Response {
    if is_safe(request.method()) || comes_from_us(request.headers()) {
        return next.run(request).await;
    }
    let sentence = "The form did not come from one of our own pages.".to_owned();
    let reference = request.extensions().get::<Caller>().map_or("", Caller::reference);
    tracing::warn!(reference, "refused a post from another site");
    Problem::BadRequest(sentence).into_response()
}

fn is_safe(method: &Method) -> bool {
    matches!(*method, Method::GET | Method::HEAD | Method::OPTIONS | Method::TRACE)
}

fn comes_from_us(headers: &HeaderMap) -> bool {
    let text = |name: HeaderName| headers.get(name).map(|value| value.to_str().unwrap_or("?"));
    if let Some(site) = text(HeaderName::from_static("sec-fetch-site")) {
        return matches!(site, "same-origin" | "none");
    }
    match (text(header::ORIGIN), text(header::HOST)) {
        (Some(origin), Some(host)) => {
            origin.split_once("://").is_some_and(|(_, from)| from.eq_ignore_ascii_case(host))
        }
        (Some(_), None) => false,
        (None, _) => !headers.contains_key(header::COOKIE),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(headers: &[(&'static str, &'static str)], expected: bool) {
        let map = headers
            .iter()
            .map(|(name, value)| (HeaderName::from_static(name), HeaderValue::from_static(value)))
            .collect();
        assert_eq!(comes_from_us(&map), expected, "{headers:?}");
    }

    #[test]
    fn a_post_counts_only_when_it_comes_from_our_own_pages() {
        check(&[("sec-fetch-site", "same-origin"), ("cookie", "a=b")], true);
        check(&[("sec-fetch-site", "none")], true);
        check(&[("sec-fetch-site", "cross-site")], false);
        check(
            &[
                ("sec-fetch-site", "same-site"),
                ("origin", "http://shop.example.com"),
                ("host", "shop.example.com"),
            ],
            false,
        );
        check(&[("origin", "http://shop.example.com"), ("host", "shop.example.com")], true);
        check(&[("origin", "http://evil.example.org"), ("host", "shop.example.com")], false);
        check(&[("origin", "null"), ("host", "shop.example.com")], false);
        check(&[("origin", "http://shop.example.com")], false);
    }

    #[test]
    fn a_program_without_a_session_may_post_and_one_with_a_session_may_not() {
        check(&[("host", "shop.example.com")], true);
        check(&[("host", "shop.example.com"), ("cookie", "whetledger=x")], false);
    }

    #[test]
    fn nothing_inline_is_allowed() {
        let policy = content_policy("abc");
        assert!(policy.contains("'nonce-abc'"));
        assert!(!policy.contains("unsafe-inline") && !policy.contains("'unsafe-eval'"), "{policy}");
    }
}

//! The web: parse what came in, call one use case, render what goes out.
//!
//! One file per page or group of pages, each with a `routes()` that [`router`] merges. Who may open what is said
//! in one table, [`access::TABLE`]; a route that is not in it stays closed to everybody. Around all of them lie,
//! from the outside in: [`caller`] (who asks, under which reference, with which nonce), `observe` (the log
//! line), `security` (headers, cross-site posts), compression, [`problem`] (a calm page for every failure), the
//! catching of panics, and a time limit.

use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::StatusCode;
use axum::middleware::{from_fn, from_fn_with_state};
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::timeout::TimeoutLayer;

use crate::context::Ctx;

pub mod access;
mod account;
mod assets;
mod bench;
mod book;
mod calendar;
pub mod caller;
mod desk;
pub mod form;
mod health;
mod home;
mod knives;
mod language;
pub mod limits;
mod live;
mod metrics;
mod mine;
mod observe;
pub mod page;
mod photo;
mod plan;
mod post;
mod pressed;
mod privacy;
pub mod problem;
mod security;
mod security_txt;
pub mod serve;
mod shop;
mod slip;
mod style;
mod visit;
mod what_if;

pub use caller::{Caller, MaybeStaff, Staff};
pub use problem::Problem;

/// What a handler gives back: a page, or a problem that becomes a calm page.
pub type Answer = Result<axum::response::Response, Problem>;

/// The largest body of a form without photos.
const MOST_FORM_BYTES: usize = 256 * 1024;

/// A request that takes longer is given up. Far above what any page needs, below a proxy's patience (usually 60 s).
const MOST_REQUEST_TIME: Duration = Duration::from_secs(30);

/// A booking brings photos from a phone, perhaps by a slow net: three or four of them take minutes at 1 Mbit/s.
const MOST_UPLOAD_TIME: Duration = Duration::from_mins(5);

/// All pages of the shop.
pub fn router(ctx: Ctx) -> Router {
    // Leptos renders on tokio; a second router in the same process (a test) finds that already said.
    let _ = any_spawner::Executor::init_tokio();
    let site = Arc::new(page::Site::new(&ctx));
    let pages = Router::new()
        .merge(account::routes())
        .merge(assets::routes())
        .merge(calendar::routes())
        .merge(desk::routes())
        .merge(home::routes())
        .merge(knives::routes())
        .merge(language::routes())
        .merge(mine::routes())
        .merge(photo::routes())
        .merge(slip::routes())
        .merge(visit::routes())
        .merge(post::routes())
        .merge(live::routes())
        .merge(health::routes())
        .merge(bench::routes())
        .merge(metrics::routes())
        .merge(plan::routes())
        .merge(privacy::routes())
        .merge(security_txt::routes())
        .merge(shop::routes())
        .merge(style::routes())
        .merge(what_if::routes())
        .route_layer(from_fn_with_state(ctx.clone(), access::guard));
    let uploads = Router::new()
        .merge(book::routes())
        .route_layer(from_fn_with_state(ctx.clone(), access::guard))
        .method_not_allowed_fallback(problem::wrong_method)
        .layer(TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, MOST_UPLOAD_TIME));
    pages
        .nest_service("/pkg", assets::service(&ctx.config.site))
        .fallback(problem::no_such_page)
        .method_not_allowed_fallback(problem::wrong_method)
        .layer(DefaultBodyLimit::max(MOST_FORM_BYTES))
        .layer(TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, MOST_REQUEST_TIME))
        .merge(uploads)
        .layer(CatchPanicLayer::custom(problem::from_panic))
        .layer(from_fn(security::refuse_cross_site))
        .layer(from_fn_with_state(ctx.clone(), problem::render_problems))
        .layer(CompressionLayer::new())
        .layer(from_fn_with_state(ctx.clone(), security::headers))
        .layer(from_fn(observe::log))
        .layer(from_fn_with_state((ctx.clone(), site), caller::attach))
        .with_state(ctx)
}

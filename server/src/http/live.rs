//! Tells open staff pages that something changed (server-sent events, WHATWG HTML 9.2).

use std::convert::Infallible;
use std::time::Duration;

use axum::Router;
use axum::extract::State;
use axum::http::{HeaderMap, HeaderName};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use futures::{Stream, StreamExt as _};
use futures::{future, stream};
use serde_json::json;
use tokio_stream::wrappers::BroadcastStream;

use super::access;
use crate::context::Ctx;
use crate::store::plans;
use crate::token::Token;

pub(super) fn routes() -> Router<Ctx> {
    Router::new().route("/live", get(live))
}

async fn live(State(ctx): State<Ctx>, headers: HeaderMap) -> Response {
    let session = access::session_token(&headers, ctx.config.is_https());
    let events =
        Sse::new(changes(ctx, session)).keep_alive(KeepAlive::new().interval(Duration::from_secs(20)));
    // A proxy that collects the answer would hold every event back.
    ([(HeaderName::from_static("x-accel-buffering"), "no")], events).into_response()
}

/// Starts with `hello` and the id of the plan that stands, by which a page knows whether it grew old on its way; then one
/// event per change. Ends when the session does: whoever signed out, or was shown out, hears nothing more. Ends when the
/// program stops: a stream that stayed open would keep it from stopping.
fn changes(ctx: Ctx, session: Option<Token>) -> impl Stream<Item = Result<Event, Infallible>> + Send {
    let stop = ctx.stop.clone();
    let (at, token) = (ctx.clone(), session.clone());
    let changes = BroadcastStream::new(ctx.live.listen()).map(|change| match change {
        Ok(change) => Event::default().event("change").json_data(&change).unwrap_or_default(),
        // This page was too slow and missed some: it should look at everything again.
        Err(_lagged) => Event::default().event("change").data(r#"{"what":"everything"}"#),
    });
    let while_signed_in = changes
        .then(move |change| {
            let (ctx, session) = (ctx.clone(), session.clone());
            async move { access::is_open(&ctx, session.as_ref()).await.then_some(change) }
        })
        .take_while(|change| future::ready(change.is_some()))
        .filter_map(future::ready);
    let hello = stream::once(async move {
        let signed_in = access::is_open(&at, token.as_ref()).await;
        let plan = if signed_in { plans::latest_id(at.store.read()).await.ok().flatten() } else { None };
        Event::default().event("hello").json_data(json!({ "plan": plan })).unwrap_or_default()
    });
    hello.chain(while_signed_in).map(Ok).take_until(stop.cancelled_owned())
}

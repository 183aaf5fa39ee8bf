//! Tells open staff pages that something changed (server-sent events, WHATWG HTML 9.2).

use std::convert::Infallible;
use std::time::Duration;

use axum::Router;
use axum::extract::State;
use axum::http::HeaderName;
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use futures::stream;
use futures::{Stream, StreamExt as _};
use tokio_stream::wrappers::BroadcastStream;

use crate::context::Ctx;

pub(super) fn routes() -> Router<Ctx> {
    Router::new().route("/live", get(live))
}

async fn live(State(ctx): State<Ctx>) -> Response {
    let events = Sse::new(changes(ctx)).keep_alive(KeepAlive::new().interval(Duration::from_secs(20)));
    // A proxy that collects the answer would hold every event back.
    ([(HeaderName::from_static("x-accel-buffering"), "no")], events).into_response()
}

/// Starts with `hello`, then one event per change. Ends when the program stops: a stream that stayed open would
/// keep it from stopping.
fn changes(ctx: Ctx) -> impl Stream<Item = Result<Event, Infallible>> + Send {
    let changes = BroadcastStream::new(ctx.live.listen()).map(|change| match change {
        Ok(change) => Event::default().event("change").json_data(&change).unwrap_or_default(),
        // This page was too slow and missed some: it should look at everything again.
        Err(_lagged) => Event::default().event("change").data(r#"{"what":"everything"}"#),
    });
    let hello = stream::once(async { Event::default().event("hello").data("{}") });
    hello.chain(changes).map(Ok).take_until(ctx.stop.clone().cancelled_owned())
}

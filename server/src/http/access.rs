//! Who may open what: one table, looked at for every route.
//!
//! A route that is not in the table stays closed, so that a forgotten line shows at once and never lets anybody in.

use axum::extract::{MatchedPath, Request, State};
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use chrono::TimeDelta;

use super::caller::Caller;
use super::problem::Problem;
use crate::context::Ctx;
use crate::store::staff::{self, Person, Role};
use crate::token::Token;

/// What somebody needs to be to open a route.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// Anybody at all; private links carry their own key in the path.
    Open,
    /// Anybody who works here, even with a one-time password that has to be changed first, or before the second step
    /// that is asked of them.
    SignedIn,
    /// The desk.
    Desk,
    /// The bench.
    Bench,
    /// The desk or the bench.
    DeskOrBench,
    /// The owner.
    Owner,
}

/// Every route and who may open it. The pattern is the one the route was made with.
pub const TABLE: &[(&str, Need)] = &[
    ("/healthz", Need::Open),
    ("/metrics", Need::Open),
    ("/.well-known/security.txt", Need::Open),
    ("/privacy", Need::Open),
    ("/", Need::Open),
    ("/link", Need::Open),
    ("/language", Need::Open),
    ("/once/{token}", Need::Open),
    ("/mine/{token}", Need::Open),
    ("/mine/{token}/ledger", Need::Open),
    ("/mine/{token}/remind", Need::Open),
    ("/stop/{token}", Need::Open),
    ("/book", Need::Open),
    ("/book/photo/{key}/{id}", Need::Open),
    ("/v/{token}", Need::Open),
    ("/v/{token}/confirm", Need::Open),
    ("/v/{token}/back", Need::Open),
    ("/v/{token}/cancel", Need::Open),
    ("/v/{token}/answer", Need::Open),
    ("/v/{token}/ask", Need::Open),
    ("/v/{token}/complaint", Need::Open),
    ("/v/{token}/renew", Need::Open),
    ("/v/{token}/ledger", Need::Open),
    ("/v/{token}/slip", Need::Open),
    ("/v/{token}/visit.ics", Need::Open),
    ("/v/{token}/photo/{id}", Need::Open),
    ("/photo/{id}", Need::DeskOrBench),
    ("/sign-in", Need::Open),
    ("/sign-out", Need::Open),
    ("/account", Need::SignedIn),
    ("/account/second-step", Need::SignedIn),
    ("/account/second-step/off", Need::SignedIn),
    ("/account/sessions/end", Need::SignedIn),
    ("/account/sessions/end-others", Need::SignedIn),
    ("/style", Need::Open),
    ("/style/bench", Need::Open),
    ("/live", Need::DeskOrBench),
    ("/k/{token}", Need::Open),
    ("/knives", Need::DeskOrBench),
    ("/desk", Need::DeskOrBench),
    ("/desk/bill/{number}", Need::Desk),
    ("/desk/knife/{tag}", Need::DeskOrBench),
    ("/desk/knife/{tag}/correct", Need::DeskOrBench),
    ("/desk/piece/{id}/inspect", Need::DeskOrBench),
    ("/desk/piece/{id}/turn-down", Need::DeskOrBench),
    ("/desk/piece/{id}/tag", Need::Desk),
    ("/desk/piece/{id}/hold", Need::DeskOrBench),
    ("/desk/piece/{id}/harm", Need::DeskOrBench),
    ("/desk/piece/{id}/answer", Need::Desk),
    ("/desk/piece/{id}/photo", Need::DeskOrBench),
    ("/desk/visit/{reference}", Need::DeskOrBench),
    ("/desk/visit/{reference}/receive", Need::Desk),
    ("/desk/visit/{reference}/confirm", Need::Desk),
    ("/desk/visit/{reference}/write", Need::Desk),
    ("/desk/visit/{reference}/tags", Need::DeskOrBench),
    ("/desk/visit/{reference}/hand-back", Need::Desk),
    ("/desk/visit/{reference}/payment", Need::Desk),
    ("/desk/visit/{reference}/bill", Need::Desk),
    ("/desk/visit/{reference}/bill/cancel", Need::Desk),
    ("/desk/post", Need::Desk),
    ("/desk/post/trial", Need::Desk),
    ("/desk/post/{id}", Need::Desk),
    ("/desk/post/{id}/page", Need::Desk),
    ("/desk/post/{id}/calendar", Need::Desk),
    ("/desk/post/{id}/again", Need::Desk),
    ("/plan", Need::DeskOrBench),
    ("/plan/piece/{id}", Need::DeskOrBench),
    ("/plan/pin", Need::DeskOrBench),
    ("/plan/let-go", Need::DeskOrBench),
    ("/plan/rush", Need::DeskOrBench),
    ("/plan/hold", Need::DeskOrBench),
    ("/plan/go-on", Need::DeskOrBench),
    ("/plan/delay", Need::DeskOrBench),
    ("/plan/what-if", Need::DeskOrBench),
    ("/bench", Need::Bench),
    ("/bench-worker.js", Need::Open),
    ("/bench/{station}", Need::Bench),
    ("/bench/{station}/setup", Need::Bench),
    ("/bench/{station}/start", Need::Bench),
    ("/bench/{station}/done", Need::Bench),
    ("/bench/{station}/check", Need::Bench),
    ("/bench/{station}/stop", Need::Bench),
    ("/bench/{station}/more", Need::Bench),
    ("/bench/{station}/go-on", Need::Bench),
    ("/bench/{station}/hand-over", Need::Bench),
    ("/bench/{station}/photo", Need::Bench),
    ("/bench/{station}/split", Need::Bench),
    ("/bench/{station}/wheel", Need::Bench),
    ("/shop", Need::Owner),
    ("/shop/profile", Need::Owner),
    ("/shop/hours", Need::Owner),
    ("/shop/prices", Need::Owner),
    ("/shop/wording", Need::Owner),
    ("/shop/models", Need::Owner),
    ("/shop/models/new", Need::Owner),
    ("/shop/models/{id}", Need::Owner),
    ("/shop/models/{id}/offer", Need::Owner),
    ("/shop/wheels", Need::Owner),
    ("/shop/wheels/new", Need::Owner),
    ("/shop/wheels/{id}", Need::Owner),
    ("/shop/wheels/{id}/dress", Need::Owner),
    ("/shop/wheels/{id}/retire", Need::Owner),
    ("/shop/steels", Need::Owner),
    ("/shop/steels/new", Need::Owner),
    ("/shop/steels/{name}", Need::Owner),
    ("/shop/steels/{name}/remove", Need::Owner),
    ("/shop/stations", Need::Owner),
    ("/shop/stations/new", Need::Owner),
    ("/shop/stations/{id}", Need::Owner),
    ("/shop/stations/{id}/remove", Need::Owner),
    ("/shop/crew", Need::Owner),
    ("/shop/crew/second-step", Need::Owner),
    ("/shop/crew/sessions", Need::Owner),
    ("/shop/crew/{id}", Need::Owner),
    ("/shop/crew/{id}/left", Need::Owner),
    ("/shop/crew/{id}/password", Need::Owner),
    ("/shop/figures", Need::Owner),
    ("/shop/figures/learned", Need::Owner),
    ("/shop/figures/changeovers", Need::Owner),
    ("/shop/csv", Need::Owner),
    ("/shop/csv/{table}", Need::Owner),
    ("/shop/customers", Need::Owner),
    ("/shop/customers/erase", Need::Owner),
    ("/shop/customers/{id}/export", Need::Owner),
];

/// A session ends after this long without use. A tablet on a workshop shelf stays signed in over a weekend.
pub(super) const IDLE: TimeDelta = TimeDelta::days(7);

/// What a route needs; `None` for a route that is missing in the table.
pub fn need_of(route: &str) -> Option<Need> {
    TABLE.iter().find(|(pattern, _)| *pattern == route).map(|(_, need)| *need)
}

/// Whether a person meets a need; nobody is `None`.
pub fn meets(need: Need, person: Option<&Person>) -> bool {
    let Some(person) = person else {
        return need == Need::Open;
    };
    let has = |role| person.roles.include(role) && !person.must_change_password && !person.owes_second_step;
    match need {
        Need::Open | Need::SignedIn => true,
        Need::Desk => has(Role::Desk),
        Need::Bench => has(Role::Bench),
        Need::DeskOrBench => has(Role::Desk) || has(Role::Bench),
        Need::Owner => has(Role::Owner),
    }
}

/// Finds out who is signed in and opens the route, or doesn't.
pub(super) async fn guard(State(ctx): State<Ctx>, request: Request, next: Next) -> Response {
    let Some(caller) = request.extensions().get::<Caller>().cloned() else {
        return Problem::unexpected("no caller was attached").into_response();
    };
    let route = request.extensions().get::<MatchedPath>().map_or("", MatchedPath::as_str);
    let Some(need) = need_of(route) else {
        tracing::error!(route, "this route is missing in the table of who may open what");
        return Problem::Forbidden.into_response();
    };
    match who(&ctx, request.headers()).await {
        Ok(person) => caller.set_person(person),
        Err(problem) => return problem.into_response(),
    }
    if meets(need, caller.person()) {
        return next.run(request).await;
    }
    match caller.person() {
        Some(person) if person.must_change_password => Redirect::to("/account").into_response(),
        Some(person) if person.owes_second_step => Redirect::to("/account/second-step").into_response(),
        Some(person) => {
            tracing::warn!(staff = %person.id, route, reference = caller.reference(), "refused: not theirs to open");
            Problem::Forbidden.into_response()
        }
        // A program cannot fill in the page to sign in.
        None if caller.wants_json() => StatusCode::UNAUTHORIZED.into_response(),
        None => {
            // After signing in one can come back to a page, not to a form that was sent.
            let back = if request.method() == Method::GET { caller.path() } else { "/desk" };
            Problem::SignIn { next: back.to_owned() }.into_response()
        }
    }
}

/// Whose session cookie came along, if it is one and it is open.
async fn who(ctx: &Ctx, headers: &HeaderMap) -> Result<Option<Person>, Problem> {
    let Some(token) = session_token(headers, ctx.config.is_https()) else {
        return Ok(None);
    };
    let now = ctx.now();
    let Some(session) = staff::session(ctx.store.read(), &token, now, IDLE).await? else {
        return Ok(None);
    };
    if session.wants_touch {
        let tx = ctx.store.begin_write().await?;
        staff::touch_session(&tx, &token, now).await?;
        tx.commit().await?;
    }
    Ok(Some(session.person))
}

/// Whether a session is open now. A store that cannot say does not vouch for it.
pub(super) async fn is_open(ctx: &Ctx, session: Option<&Token>) -> bool {
    let Some(token) = session else { return false };
    staff::session(ctx.store.read(), token, ctx.now(), IDLE).await.is_ok_and(|session| session.is_some())
}

/// The name of the session cookie. With HTTPS the browser itself makes sure that it comes from us alone.
pub(super) fn cookie_name(https: bool) -> &'static str {
    if https { "__Host-whetledger" } else { "whetledger" }
}

/// The session token among the cookies.
pub(super) fn session_token(headers: &HeaderMap, https: bool) -> Option<Token> {
    let name = cookie_name(https);
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(key, _)| *key == name)
        .and_then(|(_, value)| Token::parse(value))
}

//! What went wrong, with two faces: a calm sentence with a next step for the person, the whole chain for the log.

use std::any::Any;
use std::sync::Arc;

use axum::Json;
use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use leptos::prelude::*;
use web::pages::problem::{Account, ProblemPage};

use super::caller::Caller;
use super::page::{self, Rendered};
use crate::context::Ctx;
use crate::store::{StoreError, migrate};

/// Why a request was not answered with what it asked for.
#[derive(Debug)]
pub enum Problem {
    /// There is no such page, visit, piece, ...
    NotFound,
    /// There will be, once the shop is set up.
    NotSetUp,
    /// The private link is past its day or was taken back.
    StaleLink,
    /// Only staff may see this, and nobody is signed in.
    SignIn {
        /// Where to go afterwards: a path of ours.
        next: String,
    },
    /// Signed in, but this is not theirs to do.
    Forbidden,
    /// Somebody else was quicker; the sentence says with what.
    Conflict(String),
    /// The request makes no sense; no form of ours sends it.
    BadRequest(String),
    /// More bytes than we take.
    TooLarge,
    /// Too many tries.
    TooMany {
        /// Seconds until one more is allowed.
        after_s: u64,
    },
    /// Ours to find out. What is in a row that cannot be read is left to a newer program, if there is one.
    Unexpected(anyhow::Error),
}

impl Problem {
    /// Something that cannot happen, did.
    pub fn unexpected(what: &'static str) -> Self {
        Self::Unexpected(anyhow::anyhow!(what))
    }

    fn status(&self) -> StatusCode {
        match self {
            Self::NotFound | Self::NotSetUp => StatusCode::NOT_FOUND,
            Self::StaleLink => StatusCode::GONE,
            Self::SignIn { .. } => StatusCode::UNAUTHORIZED,
            Self::Forbidden => StatusCode::FORBIDDEN,
            Self::Conflict(_) => StatusCode::CONFLICT,
            Self::BadRequest(_) => StatusCode::BAD_REQUEST,
            Self::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            Self::TooMany { .. } => StatusCode::TOO_MANY_REQUESTS,
            Self::Unexpected(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }
}

impl From<StoreError> for Problem {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Stale { what } => Self::Conflict(format!("The {what} was changed in the meantime.")),
            StoreError::NotSetUp { .. } => Self::NotSetUp,
            other => Self::Unexpected(other.into()),
        }
    }
}

impl From<anyhow::Error> for Problem {
    fn from(error: anyhow::Error) -> Self {
        Self::Unexpected(error)
    }
}

/// The query that leads back after signing in.
#[derive(serde::Serialize)]
struct Back<'a> {
    next: &'a str,
}

/// What the log should know about a failed answer.
#[derive(Clone)]
struct Cause(Arc<anyhow::Error>);

/// A sentence of the problem's own, for [`render_problems`] to show.
#[derive(Clone)]
struct Sentence(String);

/// The shop is not set up yet.
#[derive(Clone)]
struct Unset;

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        if let Self::SignIn { next } = &self {
            let query = serde_qs::to_string(&Back { next }).unwrap_or_default();
            return Redirect::to(&format!("/sign-in?{query}")).into_response();
        }
        let mut response = self.status().into_response();
        match self {
            Self::TooMany { after_s } => {
                response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from(after_s));
            }
            Self::Conflict(sentence) | Self::BadRequest(sentence) => {
                response.extensions_mut().insert(Sentence(sentence));
            }
            Self::NotSetUp => {
                response.extensions_mut().insert(Unset);
            }
            Self::Unexpected(error) => {
                response.extensions_mut().insert(Cause(Arc::new(error)));
            }
            _ => {}
        }
        response
    }
}

/// Turns a panic into an unexpected problem.
pub(super) fn from_panic(panic: Box<dyn Any + Send + 'static>) -> Response<Body> {
    let what = panic
        .downcast_ref::<String>()
        .map(String::as_str)
        .or_else(|| panic.downcast_ref::<&str>().copied())
        .unwrap_or("no message");
    Problem::Unexpected(anyhow::anyhow!("panicked: {what}")).into_response()
}

/// No route fits.
pub(super) async fn no_such_page() -> Problem {
    Problem::NotFound
}

/// A route fits, the method does not.
pub(super) async fn wrong_method() -> StatusCode {
    StatusCode::METHOD_NOT_ALLOWED
}

/// Seconds after which a server that is older than the database will have been renewed, or another one is asked.
const RENEWED_AFTER_S: u16 = 30;

/// Whether it failed because a newer program, running beside this one, writes what this one cannot read.
async fn is_overtaken(ctx: &Ctx, error: &anyhow::Error) -> bool {
    let unreadable = |one: &(dyn std::error::Error + 'static)| {
        matches!(one.downcast_ref(), Some(StoreError::Unreadable { .. }))
    };
    error.chain().any(unreadable) && migrate::newer(&ctx.store).await.is_ok_and(|newer| !newer.is_empty())
}

/// Gives every failed answer that has no page yet a calm one, and writes the unexpected ones into the log, once.
pub(super) async fn render_problems(State(ctx): State<Ctx>, request: Request, next: Next) -> Response {
    let caller = request.extensions().get::<Caller>().cloned();
    let mut response = next.run(request).await;
    let overtaken = match response.extensions().get::<Cause>() {
        Some(Cause(error)) => is_overtaken(&ctx, error).await,
        None => false,
    };
    if overtaken {
        *response.status_mut() = StatusCode::SERVICE_UNAVAILABLE;
        response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from(RENEWED_AFTER_S));
    }
    let status = response.status();
    let failed = status.is_client_error() || status.is_server_error();
    let (true, Some(caller)) = (failed && response.extensions().get::<Rendered>().is_none(), caller) else {
        return response;
    };
    if let Some(Cause(error)) = response.extensions().get::<Cause>() {
        if overtaken {
            tracing::warn!("a newer program has been at the database: this one has to be renewed");
        }
        tracing::error!(reference = caller.reference(), "request failed: {error:#}");
    }
    let sentence = response.extensions().get::<Sentence>().map(|sentence| sentence.0.clone());
    let unset = response.extensions().get::<Unset>().is_some();
    let mut account = account_of(status, unset, overtaken, sentence, &caller);
    // Whoever works here reads the shop's own language.
    if caller.person().is_none() && !caller.wants_json() {
        let lang = caller.spoken().unwrap_or_else(|| caller.asked_language());
        caller.speak(lang);
        let book = words::phrasebook(lang, &["problem"]);
        account.what = book.say(&account.what);
        account.advice = book.say(&account.advice);
        account.next.1 = book.say(&account.next.1);
    }
    let kept: Vec<_> = [header::RETRY_AFTER, header::ALLOW]
        .into_iter()
        .filter_map(|name| response.headers().get(&name).cloned().map(|value| (name, value)))
        .collect();
    let mut answer = if caller.wants_json() {
        let body = serde_json::json!({ "error": account.what, "reference": account.reference });
        (status, Json(body)).into_response()
    } else {
        let title = account.what.clone();
        page::with_status(&caller, status, &title, move || view! { <ProblemPage account=account /> }).await
    };
    answer.headers_mut().extend(kept);
    answer
}

/// The calm words for a status.
fn account_of(
    status: StatusCode,
    unset: bool,
    overtaken: bool,
    sentence: Option<String>,
    caller: &Caller,
) -> Account {
    let (what, advice) = match status {
        StatusCode::NOT_FOUND if unset => (
            "This shop is not set up yet",
            "The owner does that under “Shop”, or starts the program with the demo shop.",
        ),
        StatusCode::NOT_FOUND => (
            "There is nothing here",
            "The address may be mistyped, or what was here is gone. Check the address, or start from the beginning.",
        ),
        StatusCode::GONE => (
            "This link no longer opens",
            "Links in notices work for a while only. Use the newest notice you have, or ask the shop for a new one.",
        ),
        StatusCode::UNAUTHORIZED => {
            ("Nobody is signed in", "Sign in and send it again. Nothing was written.")
        }
        StatusCode::FORBIDDEN => (
            "This is not open to you",
            "Somebody else in the shop can do it, or the owner can give you the right to.",
        ),
        StatusCode::CONFLICT => (
            "Somebody was quicker",
            "Nothing of yours was written. Go back, look at how it stands now, and do it again if it is still right.",
        ),
        StatusCode::METHOD_NOT_ALLOWED => (
            "That cannot be done here",
            "The page was asked for in a way it does not understand. Start from the beginning.",
        ),
        StatusCode::PAYLOAD_TOO_LARGE => (
            "That was too large",
            "Nothing was written. Choose smaller photos, or fewer at a time, and send it again.",
        ),
        StatusCode::TOO_MANY_REQUESTS => ("Too many tries", "Wait a little and try again. Nothing is lost."),
        StatusCode::SERVICE_UNAVAILABLE if overtaken => (
            "This part of the shop is just being renewed",
            "Nothing of yours was written. Wait half a minute and try again.",
        ),
        StatusCode::SERVICE_UNAVAILABLE => (
            "That took too long",
            "The shop is very busy. Wait a moment and try again; a form that was sent twice acts once.",
        ),
        status if status.is_client_error() => (
            "That could not be read",
            "The request was not one that our pages send. Go back, reload the page and try again.",
        ),
        _ => (
            "Something broke on our side",
            "Nothing half-done was kept. Try again; if it happens once more, tell the shop the reference below.",
        ),
    };
    let advice = match sentence {
        Some(sentence) => format!("{sentence} {advice}"),
        None => advice.to_owned(),
    };
    let home = if caller.person().is_some() { ("/desk", "To the desk") } else { ("/", "To the beginning") };
    Account {
        what: what.to_owned(),
        advice,
        next: (home.0.to_owned(), home.1.to_owned()),
        reference: status.is_server_error().then(|| caller.reference().to_owned()),
    }
}

//! Signing in, signing out, and choosing a password.

use axum::Router;
use axum::extract::{RawQuery, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect};
use axum::routing::{get, post};
use leptos::prelude::*;
use serde::Deserialize;
use web::pages::sign_in::{
    AccountPage, AccountView, PasswordErrors, SecondStepErrors, SecondStepPage, SessionLine, SignInForm,
    SignInPage,
};

use super::access::{IDLE, cookie_name, session_token};
use super::caller::{Caller, MaybeStaff, Staff};
use super::form::{self, Posted};
use super::limits::Door;
use super::problem::Problem;
use super::{Answer, page};
use crate::context::Ctx;
use crate::second_step::Key;
use crate::store::staff::{self, Person};
use crate::token::Token;
use crate::use_cases::change_password::{self, ChangeError};
use crate::use_cases::second_step::{self, SecondStepError};
use crate::use_cases::sign_in::{self, SESSION_LASTS, SignedIn};
use crate::use_cases::{end_sessions, offer, sign_out};
use crate::{local, passwords, qr, when};

pub(super) fn routes() -> Router<Ctx> {
    Router::new()
        .route("/sign-in", get(show_sign_in).post(do_sign_in))
        .route("/sign-out", post(do_sign_out))
        .route("/account", get(show_account).post(do_change_password))
        .route("/account/second-step", get(show_second_step).post(turn_on))
        .route("/account/second-step/off", post(turn_off))
        .route("/account/sessions/end", post(end_one))
        .route("/account/sessions/end-others", post(end_others))
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct SignInQuery {
    next: String,
}

async fn show_sign_in(caller: Caller, MaybeStaff(person): MaybeStaff, RawQuery(query): RawQuery) -> Answer {
    let query: SignInQuery = form::read(query.unwrap_or_default().as_bytes())?;
    let next = inside(&query.next);
    if person.is_some() {
        return Ok(Redirect::to(&next).into_response());
    }
    let form = SignInForm { next, ..SignInForm::default() };
    Ok(page::render(&caller, "Sign in", move || view! { <SignInPage form=form /> }).await)
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct SignInRaw {
    name: String,
    password: String,
    code: String,
    next: String,
}

async fn do_sign_in(
    State(ctx): State<Ctx>,
    caller: Caller,
    headers: HeaderMap,
    Posted(raw): Posted<SignInRaw>,
) -> Answer {
    let next = inside(&raw.next);
    let name = raw.name.trim().to_lowercase();
    caller.knock(Door::SignIn, &ctx)?;
    caller.knock_as(Door::SignIn, &name, &ctx)?;
    let signed_in = sign_in::sign_in(&ctx, &name, raw.password, &raw.code, device(&headers)).await?;
    let why = match signed_in {
        SignedIn::Open(token) => return opened(&ctx, &headers, &token, &next).await,
        SignedIn::RunOut => "This one-time password has run out. Ask the owner for a new one.",
        SignedIn::Refused => "The name, the password or the code is not right.",
    };
    tracing::warn!(reference = caller.reference(), "a sign-in was refused");
    let form = SignInForm { name: raw.name, next, error: Some(why.to_owned()) };
    let view = move || view! { <SignInPage form=form /> };
    Ok(page::with_status(&caller, StatusCode::UNPROCESSABLE_ENTITY, "Sign in", view).await)
}

async fn opened(ctx: &Ctx, headers: &HeaderMap, token: &Token, next: &str) -> Answer {
    // The new session takes the place of whichever this browser had.
    if let Some(before) = session_token(headers, ctx.config.is_https()) {
        sign_out::sign_out(ctx, &before).await?;
    }
    with_session(ctx, token, next)
}

/// Goes on to a page with a new session.
fn with_session(ctx: &Ctx, token: &Token, next: &str) -> Answer {
    let cookie = cookie(ctx, &token.to_string(), SESSION_LASTS.num_seconds())?;
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to(next)).into_response())
}

/// On what kind of device a browser says it runs, for its own user to recognise. Nothing is decided by it.
fn device(headers: &HeaderMap) -> &'static str {
    let said = headers.get(header::USER_AGENT).and_then(|value| value.to_str().ok()).unwrap_or_default();
    // Telephones name the system they descend from as well, so they come first.
    let kinds = [
        ("iPhone", "iPhone"),
        ("iPad", "iPad"),
        ("Android", "Android"),
        ("Windows", "Windows"),
        ("Macintosh", "Mac"),
        ("Linux", "Linux"),
    ];
    kinds.into_iter().find(|(word, _)| said.contains(word)).map_or("", |(_, kind)| kind)
}

async fn do_sign_out(State(ctx): State<Ctx>, headers: HeaderMap) -> Answer {
    if let Some(token) = session_token(&headers, ctx.config.is_https()) {
        sign_out::sign_out(&ctx, &token).await?;
    }
    let gone = cookie(&ctx, "", 0)?;
    // Pages of the shop must not come back by the browser's own memory.
    let forget = HeaderValue::from_static("\"cache\"");
    let headers = [(header::SET_COOKIE, gone), (HeaderName::from_static("clear-site-data"), forget)];
    Ok((headers, Redirect::to("/sign-in")).into_response())
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct AccountQuery {
    said: String,
}

async fn show_account(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    headers: HeaderMap,
    RawQuery(query): RawQuery,
) -> Answer {
    let query: AccountQuery = form::read(query.unwrap_or_default().as_bytes())?;
    let done = match query.said.as_str() {
        "changed" => Some("Your password is changed. Your other sessions have ended."),
        "on" => Some(
            "From now on signing in takes a code from your telephone as well. Your other sessions have ended.",
        ),
        "off" => {
            Some("From now on your password alone is enough to sign in. Your other sessions have ended.")
        }
        "ended" => Some("That session has ended."),
        "others-ended" => Some("All other sessions have ended."),
        _ => None,
    };
    account_page(&ctx, &caller, person, &headers, AccountView { done, ..AccountView::default() }).await
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct PasswordRaw {
    present: String,
    new: String,
    again: String,
}

async fn do_change_password(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    headers: HeaderMap,
    Posted(raw): Posted<PasswordRaw>,
) -> Answer {
    caller.knock(Door::SignIn, &ctx)?;
    let mut errors = PasswordErrors::default();
    let result = if raw.new == raw.again {
        change_password::change_password(&ctx, &person, raw.present, raw.new, device(&headers)).await
    } else {
        errors.again = Some("This is not the same as above.".to_owned());
        Err(ChangeError::NotTheSame)
    };
    match result {
        Ok(token) => return with_session(&ctx, &token, "/account?said=changed"),
        Err(ChangeError::NotTheSame) => {}
        Err(ChangeError::WrongPresent) => {
            errors.present = Some("This is not your present password.".to_owned());
        }
        Err(ChangeError::BadNew(why)) => errors.new = Some(why),
        Err(ChangeError::Store(error)) => return Err(error.into()),
        Err(ChangeError::Failed(error)) => return Err(Problem::Unexpected(error)),
    }
    account_page(&ctx, &caller, person, &headers, AccountView { errors, ..AccountView::default() }).await
}

async fn show_second_step(State(ctx): State<Ctx>, caller: Caller, Staff(person): Staff) -> Answer {
    let key = Key::fresh().map_err(Problem::Unexpected)?;
    second_step_page(&ctx, &caller, &person, StatusCode::OK, &key, SecondStepErrors::default()).await
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct SecondStepRaw {
    key: String,
    code: String,
    password: String,
}

async fn turn_on(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    headers: HeaderMap,
    Posted(raw): Posted<SecondStepRaw>,
) -> Answer {
    caller.knock(Door::SignIn, &ctx)?;
    let Some(key) = Key::read(&raw.key) else {
        return Err(Problem::BadRequest("The key in the form is not the one we gave.".to_owned()));
    };
    let mut errors = SecondStepErrors::default();
    match second_step::turn_on(&ctx, &person, raw.password, &key, &raw.code, device(&headers)).await {
        Ok(token) => return with_session(&ctx, &token, "/account?said=on"),
        Err(SecondStepError::WrongCode) => {
            errors.code =
                Some("This is not the code of this minute; is the telephone's clock right?".to_owned());
        }
        Err(SecondStepError::WrongPassword) => {
            errors.password = Some("This is not your present password.".to_owned());
        }
        Err(SecondStepError::Store(error)) => return Err(error.into()),
        Err(SecondStepError::Hashing(error)) => return Err(Problem::Unexpected(error.into())),
        Err(SecondStepError::Failed(error)) => return Err(Problem::Unexpected(error)),
    }
    second_step_page(&ctx, &caller, &person, StatusCode::UNPROCESSABLE_ENTITY, &key, errors).await
}

async fn turn_off(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    headers: HeaderMap,
    Posted(raw): Posted<SecondStepRaw>,
) -> Answer {
    caller.knock(Door::SignIn, &ctx)?;
    match second_step::turn_off(&ctx, &person, raw.password, device(&headers)).await {
        Ok(token) => with_session(&ctx, &token, "/account?said=off"),
        Err(SecondStepError::Store(error)) => Err(error.into()),
        Err(SecondStepError::Hashing(error)) => Err(Problem::Unexpected(error.into())),
        Err(SecondStepError::Failed(error)) => Err(Problem::Unexpected(error)),
        Err(SecondStepError::WrongCode | SecondStepError::WrongPassword) => {
            let second_step_error = Some("This is not your present password.".to_owned());
            let view_of = AccountView { second_step_error, ..AccountView::default() };
            account_page(&ctx, &caller, person, &headers, view_of).await
        }
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct SessionRaw {
    session: String,
}

async fn end_one(State(ctx): State<Ctx>, Staff(person): Staff, Posted(raw): Posted<SessionRaw>) -> Answer {
    let sha256 = hex::decode(&raw.session).map_err(|_| Problem::NotFound)?;
    // One that ended by itself meanwhile is as good.
    end_sessions::end_one(&ctx, &person, &sha256).await?;
    Ok(Redirect::to("/account?said=ended").into_response())
}

async fn end_others(State(ctx): State<Ctx>, Staff(person): Staff, headers: HeaderMap) -> Answer {
    let kept = session_token(&headers, ctx.config.is_https()).ok_or(Problem::NotFound)?;
    end_sessions::end_others(&ctx, &person, &kept).await?;
    Ok(Redirect::to("/account?said=others-ended").into_response())
}

/// The open sessions of somebody, as their page shows them.
async fn sessions(ctx: &Ctx, person: &Person, headers: &HeaderMap) -> Result<Vec<SessionLine>, Problem> {
    let here = session_token(headers, ctx.config.is_https()).map(|token| token.sha256());
    let zone = offer::profile(ctx).await?.map_or(chrono_tz::UTC, |profile| local::zone(&profile));
    let open = staff::sessions_of(ctx.store.read(), person.id, ctx.now(), IDLE).await?;
    Ok(open
        .into_iter()
        .map(|one| SessionLine {
            is_here: here.as_ref() == Some(&one.sha256),
            name: hex::encode(&one.sha256),
            device: one.device,
            opened: when::short(zone, one.at),
            seen: when::short(zone, one.seen_at),
        })
        .collect())
}

async fn second_step_page(
    ctx: &Ctx,
    caller: &Caller,
    person: &Person,
    status: StatusCode,
    key: &Key,
    errors: SecondStepErrors,
) -> Answer {
    let shop = offer::profile(ctx).await?.map_or_else(|| "Whetledger".to_owned(), |profile| profile.name);
    let code = qr::svg(&key.address(&shop, &person.sign_in_name)).map_err(Problem::Unexpected)?;
    let text = key.text();
    let asked = person.owes_second_step;
    let view = move || view! { <SecondStepPage qr=code key=text asked=asked errors=errors /> };
    Ok(page::with_status(caller, status, "A second step", view).await)
}

/// The account page; 422 when something on it is wrong.
async fn account_page(
    ctx: &Ctx,
    caller: &Caller,
    person: Person,
    headers: &HeaderMap,
    view_of: AccountView,
) -> Answer {
    let wrong = view_of.errors != PasswordErrors::default() || view_of.second_step_error.is_some();
    let status = if wrong { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    let view_of = AccountView {
        sessions: sessions(ctx, &person, headers).await?,
        full_name: person.full_name,
        must_change: person.must_change_password,
        has_second_step: person.has_second_step,
        least_length: passwords::LEAST_LENGTH,
        ..view_of
    };
    Ok(page::with_status(caller, status, "Your account", move || view! { <AccountPage of=view_of /> }).await)
}

/// A place inside our pages to go to after signing in; anything that might lead elsewhere becomes the desk.
fn inside(next: &str) -> String {
    let plain = next.bytes().all(|byte| byte.is_ascii_graphic() && byte != b'\\');
    let inside = next.starts_with('/') && !next.starts_with("//") && plain && !next.starts_with("/sign-");
    if inside { next.to_owned() } else { "/desk".to_owned() }
}

fn cookie(ctx: &Ctx, value: &str, lasts_s: i64) -> Result<HeaderValue, Problem> {
    let https = ctx.config.is_https();
    let secure = if https { "; Secure" } else { "" };
    let name = cookie_name(https);
    HeaderValue::from_str(&format!(
        "{name}={value}; Path=/; Max-Age={lasts_s}; HttpOnly; SameSite=Lax{secure}"
    ))
    .map_err(|_| Problem::unexpected("a cookie that is no header value"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn after_signing_in_one_stays_in_the_shop() {
        assert_eq!(inside("/plan?day=2"), "/plan?day=2");
        for outside in [
            "",
            "https://evil.example.org",
            "//evil.example.org",
            "/\\evil.example.org",
            "/a\r\nb",
            "/sign-out",
        ] {
            assert_eq!(inside(outside), "/desk", "{outside}");
        }
    }
}

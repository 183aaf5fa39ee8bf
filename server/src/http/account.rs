//! Signing in, signing out, and choosing a password.

use axum::Router;
use axum::extract::{RawQuery, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use leptos::prelude::*;
use serde::Deserialize;
use web::pages::sign_in::{
    AccountPage, PasswordErrors, SecondStepErrors, SecondStepPage, SignInForm, SignInPage,
};

use super::access::{cookie_name, session_token};
use super::caller::{Caller, MaybeStaff, Staff};
use super::form::{self, Posted};
use super::limits::Door;
use super::problem::Problem;
use super::{Answer, page};
use crate::context::Ctx;
use crate::second_step::Key;
use crate::store::staff::Person;
use crate::use_cases::change_password::{self, ChangeError};
use crate::use_cases::offer;
use crate::use_cases::second_step::{self, SecondStepError};
use crate::use_cases::sign_in::{self, SESSION_LASTS};
use crate::use_cases::sign_out;
use crate::{passwords, qr};

pub(super) fn routes() -> Router<Ctx> {
    Router::new()
        .route("/sign-in", get(show_sign_in).post(do_sign_in))
        .route("/sign-out", post(do_sign_out))
        .route("/account", get(show_account).post(do_change_password))
        .route("/account/second-step", get(show_second_step).post(turn_on))
        .route("/account/second-step/off", post(turn_off))
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
    caller
        .site()
        .limits()
        .knock_as(Door::SignIn, &name, ctx.now())
        .map_err(|after_s| Problem::TooMany { after_s })?;
    let signed_in = sign_in::sign_in(&ctx, &name, raw.password, &raw.code).await?;
    let Some(token) = signed_in else {
        tracing::warn!(reference = caller.reference(), "a sign-in was refused");
        let error = Some("The name, the password or the code is not right.".to_owned());
        let form = SignInForm { name: raw.name, next, error };
        let view = move || view! { <SignInPage form=form /> };
        return Ok(page::with_status(&caller, StatusCode::UNPROCESSABLE_ENTITY, "Sign in", view).await);
    };
    // The new session takes the place of whichever this browser had.
    if let Some(before) = session_token(&headers, ctx.config.is_https()) {
        sign_out::sign_out(&ctx, &before).await?;
    }
    let cookie = cookie(&ctx, &token.to_string(), SESSION_LASTS.num_seconds())?;
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to(&next)).into_response())
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
    changed: String,
    second: String,
}

async fn show_account(caller: Caller, staff: Staff, RawQuery(query): RawQuery) -> Answer {
    let query: AccountQuery = form::read(query.unwrap_or_default().as_bytes())?;
    let done = match (query.changed.as_str(), query.second.as_str()) {
        ("yes", _) => Some("Your password is changed. Your other sessions have ended."),
        (_, "on") => Some("From now on signing in takes a code from your telephone as well."),
        (_, "off") => Some("From now on your password alone is enough to sign in."),
        _ => None,
    };
    Ok(account_page(&caller, staff, StatusCode::OK, done, PasswordErrors::default(), None).await)
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
    staff: Staff,
    Posted(raw): Posted<PasswordRaw>,
) -> Answer {
    caller.knock(Door::SignIn, &ctx)?;
    let mut errors = PasswordErrors::default();
    let result = if raw.new == raw.again {
        change_password::change_password(&ctx, &staff.0, raw.present, raw.new).await
    } else {
        errors.again = Some("This is not the same as above.".to_owned());
        Err(ChangeError::NotTheSame)
    };
    match result {
        Ok(token) => {
            let cookie = cookie(&ctx, &token.to_string(), SESSION_LASTS.num_seconds())?;
            return Ok(([(header::SET_COOKIE, cookie)], Redirect::to("/account?changed=yes")).into_response());
        }
        Err(ChangeError::NotTheSame) => {}
        Err(ChangeError::WrongPresent) => {
            errors.present = Some("This is not your present password.".to_owned());
        }
        Err(ChangeError::BadNew(why)) => errors.new = Some(why),
        Err(ChangeError::Store(error)) => return Err(error.into()),
        Err(ChangeError::Failed(error)) => return Err(Problem::Unexpected(error)),
    }
    Ok(account_page(&caller, staff, StatusCode::UNPROCESSABLE_ENTITY, None, errors, None).await)
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
    Posted(raw): Posted<SecondStepRaw>,
) -> Answer {
    caller.knock(Door::SignIn, &ctx)?;
    let Some(key) = Key::read(&raw.key) else {
        return Err(Problem::BadRequest("The key in the form is not the one we gave.".to_owned()));
    };
    let mut errors = SecondStepErrors::default();
    match second_step::turn_on(&ctx, &person, raw.password, &key, &raw.code).await {
        Ok(()) => return Ok(Redirect::to("/account?second=on").into_response()),
        Err(SecondStepError::WrongCode) => {
            errors.code =
                Some("This is not the code of this minute; is the telephone's clock right?".to_owned());
        }
        Err(SecondStepError::WrongPassword) => {
            errors.password = Some("This is not your present password.".to_owned());
        }
        Err(SecondStepError::Store(error)) => return Err(error.into()),
        Err(SecondStepError::Failed(error)) => return Err(Problem::Unexpected(error.into())),
    }
    second_step_page(&ctx, &caller, &person, StatusCode::UNPROCESSABLE_ENTITY, &key, errors).await
}

async fn turn_off(
    State(ctx): State<Ctx>,
    caller: Caller,
    staff: Staff,
    Posted(raw): Posted<SecondStepRaw>,
) -> Answer {
    caller.knock(Door::SignIn, &ctx)?;
    match second_step::turn_off(&ctx, &staff.0, raw.password).await {
        Ok(()) => Ok(Redirect::to("/account?second=off").into_response()),
        Err(SecondStepError::Store(error)) => Err(error.into()),
        Err(SecondStepError::Failed(error)) => Err(Problem::Unexpected(error.into())),
        Err(SecondStepError::WrongCode | SecondStepError::WrongPassword) => {
            let wrong = Some("This is not your present password.".to_owned());
            let errors = PasswordErrors::default();
            Ok(account_page(&caller, staff, StatusCode::UNPROCESSABLE_ENTITY, None, errors, wrong).await)
        }
    }
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
    let view = move || view! { <SecondStepPage qr=code key=text errors=errors /> };
    Ok(page::with_status(caller, status, "A second step", view).await)
}

async fn account_page(
    caller: &Caller,
    Staff(person): Staff,
    status: StatusCode,
    done: Option<&'static str>,
    errors: PasswordErrors,
    second_step_error: Option<String>,
) -> Response {
    page::with_status(caller, status, "Your account", move || {
        view! {
            <AccountPage
                full_name=person.full_name
                must_change=person.must_change_password
                done=done
                has_second_step=person.has_second_step
                second_step_error=second_step_error
                least_length=passwords::LEAST_LENGTH
                errors=errors
            />
        }
    })
    .await
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

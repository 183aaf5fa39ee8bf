//! Another language: chosen by hand, kept in a cookie, and with the visit whose page it was chosen on.

use axum::Router;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse as _, Redirect};
use axum::routing::post;
use serde::Deserialize;
use shop::lang::Lang;

use super::Answer;
use super::caller::{Caller, language_cookie};
use super::form::Posted;
use super::limits::Door;
use super::problem::Problem;
use crate::context::Ctx;
use crate::use_cases::change_language;
use crate::use_cases::private_link::{self, Opened};

pub(super) fn routes() -> Router<Ctx> {
    Router::new().route("/language", post(change))
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Raw {
    lang: String,
    back: String,
}

async fn change(State(ctx): State<Ctx>, caller: Caller, Posted(raw): Posted<Raw>) -> Answer {
    let lang = Lang::parse(&raw.lang)
        .ok_or_else(|| Problem::BadRequest("We do not speak that language.".to_owned()))?;
    // Only to a page of ours: a path, and no second slash that would begin a host; browsers read a backslash as a slash and
    // pass over tabs and line ends between two.
    let plain = raw.back.bytes().all(|byte| byte.is_ascii_graphic() && byte != b'\\');
    let ours = raw.back.starts_with('/') && !raw.back.starts_with("//") && plain;
    let back = if ours { raw.back.as_str() } else { "/" };
    if let Some(token) = back.strip_prefix("/v/").and_then(|rest| rest.split('/').next()) {
        caller.knock(Door::Link, &ctx)?;
        if let Opened::Visit { visit, by_mail: true } = private_link::open(&ctx, token).await? {
            change_language::change_language(&ctx, visit, lang).await?;
        }
    }
    let https = ctx.config.is_https();
    let (name, secure) = (language_cookie(https), if https { "; Secure" } else { "" });
    let cookie = format!("{name}={}; Path=/; Max-Age=31536000; HttpOnly; SameSite=Lax{secure}", lang.code());
    Ok(([(header::SET_COOKIE, cookie)], Redirect::to(back)).into_response())
}

//! All knives of one customer, and the end of reminders.

use assess::draw;
use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect};
use axum::routing::{get, post};
use leptos::prelude::*;
use serde::Deserialize;
use shop::ids::KnifeId;
use shop::lang::Lang;
use web::pages::desk::sheet::services_words;
use web::pages::mine::{MinePage, MineView, MyKnife, OncePage, StopPage};

use super::caller::Caller;
use super::form::{self, Posted};
use super::limits::Door;
use super::problem::Problem;
use super::{Answer, page};
use crate::context::Ctx;
use crate::local;
use crate::use_cases::my_knives::{self, AllMine, Mine, Next};

pub(super) fn routes() -> Router<Ctx> {
    Router::new()
        .route("/once/{token}", get(look).post(open))
        .route("/mine/{token}", get(show))
        .route("/mine/{token}/ledger", post(ledger))
        .route("/mine/{token}/remind", post(remind))
        .route("/stop/{token}", get(ask_to_stop).post(stop))
}

/// Looking at the link does not use it up: mail programs look at links before people do.
async fn look(State(ctx): State<Ctx>, caller: Caller, Path(token): Path<String>) -> Answer {
    caller.knock(Door::Link, &ctx)?;
    match my_knives::may_open(&ctx, &token).await? {
        Some(lang) => {
            caller.speak(lang);
            let action = Some(format!("/once/{token}"));
            let title = caller.say("mine-title");
            Ok(page::render(&caller, &title, move || view! { <OncePage action=action /> }).await)
        }
        None => used(&caller).await,
    }
}

async fn used(caller: &Caller) -> Answer {
    caller.speak(caller.asked_language());
    let title = caller.say("once-used");
    Ok(page::with_status(caller, StatusCode::GONE, &title, || view! { <OncePage action=None /> }).await)
}

async fn open(State(ctx): State<Ctx>, caller: Caller, Path(token): Path<String>) -> Answer {
    caller.knock(Door::Link, &ctx)?;
    match my_knives::open_once(&ctx, &token).await? {
        Some(token) => Ok(Redirect::to(&format!("/mine/{token}")).into_response()),
        None => used(&caller).await,
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct ShowQuery {
    said: String,
}

async fn show(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(token): Path<String>,
    RawQuery(query): RawQuery,
) -> Answer {
    caller.knock(Door::Link, &ctx)?;
    let query: ShowQuery = form::read(query.unwrap_or_default().as_bytes())?;
    let Some(all) = my_knives::show(&ctx, &token).await? else { return used(&caller).await };
    caller.speak(all.language);
    let said = match query.said.as_str() {
        "remind" => Some(caller.say("said-remind")),
        "no-remind" => Some(caller.say("said-no-remind")),
        _ => None,
    };
    let view = MineView {
        path: format!("/mine/{token}"),
        name: all.contact.name.clone(),
        knives: all.knives.iter().map(|mine| one(&caller, &all, mine)).collect(),
        reminded: all.reminded,
        said,
    };
    let title = caller.say("mine-title");
    Ok(page::render(&caller, &title, move || view! { <MinePage view=view /> }).await)
}

fn one(caller: &Caller, all: &AllMine, mine: &Mine) -> MyKnife {
    let lang: Lang = all.language;
    let phrases = words::phrasebook(lang, &[]);
    let zone = local::zone(&all.profile);
    let Mine { knife, pieces, next } = mine;
    let here = pieces.iter().any(|p| p.state.is_here());
    let last = pieces.iter().filter_map(|p| p.home_at).max();
    let last = match (here, last) {
        (true, _) => caller.say("mine-here"),
        (false, Some(at)) => {
            caller.say_with("mine-home", &[("day", lang.short_date(local::date(zone, at)).into())])
        }
        (false, None) => String::new(),
    };
    let next = match next {
        Next::Habit(day) => caller.say_with("mine-next-habit", &[("month", lang.month_of(*day).into())]),
        Next::Others(day) => caller.say_with("mine-next-others", &[("month", lang.month_of(*day).into())]),
        Next::Unknown => caller.say("mine-next-unknown"),
    };
    let height = knife.heights.last().map(|(_, mm)| *mm);
    let new = knife.latest.as_ref().and_then(|sheet| sheet.original_height_mm);
    let height = match (height, new) {
        (Some(now), Some(new)) if new > now => caller.say_with(
            "knife-of",
            &[("now", lang.length(now, 1).into()), ("new", lang.length(new, 1).into())],
        ),
        (Some(now), _) => caller.say_with("knife-high", &[("now", lang.length(now, 1).into())]),
        (None, _) => String::new(),
    };
    let verdict = pieces.iter().rev().find_map(|p| p.verdict.as_ref()).filter(|v| v.services_after.is_some());
    let left =
        verdict.map(|v| phrases.say(&services_words(v.services_after, &v.limited_by))).unwrap_or_default();
    let heights: Vec<f64> = knife.heights.iter().map(|(_, mm)| *mm).collect();
    let fan = knife
        .latest
        .as_ref()
        .and_then(|sheet| draw::life_fan(&all.knows, sheet, &heights, lang).ok())
        .unwrap_or_default();
    MyKnife {
        id: knife.id.to_string(),
        name: phrases.say(&knife.name),
        tag: knife.tag.to_string(),
        height,
        left,
        last,
        next,
        fan: phrases.say_drawing(&fan),
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct LedgerRaw {
    knife: String,
}

async fn ledger(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(token): Path<String>,
    Posted(raw): Posted<LedgerRaw>,
) -> Answer {
    caller.knock(Door::Link, &ctx)?;
    let Some(customer) = my_knives::holder(&ctx, &token).await? else { return used(&caller).await };
    let knife: KnifeId = raw.knife.parse().map_err(|_| Problem::NotFound)?;
    let path = my_knives::to_ledger(&ctx, customer, knife).await?.ok_or(Problem::NotFound)?;
    Ok(Redirect::to(&path).into_response())
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct RemindRaw {
    remind: String,
}

async fn remind(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(token): Path<String>,
    Posted(raw): Posted<RemindRaw>,
) -> Answer {
    caller.knock(Door::Link, &ctx)?;
    let Some(customer) = my_knives::holder(&ctx, &token).await? else { return used(&caller).await };
    let wanted = raw.remind == "yes";
    my_knives::set_remind(&ctx, customer, wanted).await?;
    let said = if wanted { "remind" } else { "no-remind" };
    Ok(Redirect::to(&format!("/mine/{token}?said={said}")).into_response())
}

async fn ask_to_stop(State(ctx): State<Ctx>, caller: Caller, Path(token): Path<String>) -> Answer {
    caller.knock(Door::Link, &ctx)?;
    let found = my_knives::may_stop(&ctx, &token).await?;
    caller.speak(found.map_or_else(|| caller.asked_language(), |(_, lang)| lang));
    let action = found.map(|_| format!("/stop/{token}"));
    let title = caller.say("stop-title");
    Ok(page::render(&caller, &title, move || view! { <StopPage action=action /> }).await)
}

/// One click, from a mail program (RFC 8058) or from the page; a second one changes nothing, and a link that was never ours gets
/// the same answer.
async fn stop(State(ctx): State<Ctx>, caller: Caller, Path(token): Path<String>) -> Answer {
    caller.knock(Door::Link, &ctx)?;
    let found = my_knives::may_stop(&ctx, &token).await?;
    caller.speak(found.map_or_else(|| caller.asked_language(), |(_, lang)| lang));
    if let Some((customer, _)) = found {
        my_knives::set_remind(&ctx, customer, false).await?;
    }
    let title = caller.say("stop-done");
    Ok(page::render(&caller, &title, || view! { <StopPage action=None /> }).await)
}

//! Profile, hours and prices: one settings document each.

use axum::extract::{RawQuery, State};
use axum::http::StatusCode;
use leptos::prelude::*;
use shop::owner::{Typed, fill_prices, fill_profile};
use shop::price::PriceList;
use shop::profile::Profile;
use web::pages::shop::{HoursPage, PricesPage, ProfilePage, Sheet};

use super::{Query, done, refused, rendered, said, version, with_history};
use crate::context::Ctx;
use crate::http::caller::{Caller, Staff};
use crate::http::form::{self, Posted};
use crate::http::{Answer, Problem};
use crate::store::changes::Subject;
use crate::store::settings::{self, Versioned};
use crate::use_cases::{save_hours, save_prices, save_profile};

async fn profile(ctx: &Ctx) -> Result<Versioned<Profile>, Problem> {
    settings::get::<Profile>(ctx.store.read()).await?.ok_or(Problem::NotFound)
}

fn fresh(typed: Typed, version: i64, query: Option<String>) -> Result<Sheet, Problem> {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    Ok(Sheet { typed, version, said: said(&query.said), ..Sheet::default() })
}

pub(super) async fn show_profile(
    State(ctx): State<Ctx>,
    caller: Caller,
    RawQuery(query): RawQuery,
) -> Answer {
    let found = profile(&ctx).await?;
    let sheet = fresh(fill_profile(&found.value), found.version, query)?;
    profile_page(&ctx, &caller, StatusCode::OK, sheet).await
}

pub(super) async fn save_profile(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let read_at = version(&typed)?;
    match save_profile::save_profile(&ctx, &person, read_at, &typed).await {
        Ok(()) => Ok(done("/shop/profile", "saved")),
        Err(why) => {
            let found = profile(&ctx).await?;
            let (sheet, status) = refused(why, typed, read_at, (&fill_profile(&found.value), found.version))?;
            profile_page(&ctx, &caller, status, sheet).await
        }
    }
}

async fn profile_page(ctx: &Ctx, caller: &Caller, status: StatusCode, sheet: Sheet) -> Answer {
    let sheet = with_history(ctx, sheet, Subject::Profile, None).await?;
    rendered(caller, status, "Profile and rules", move || view! { <ProfilePage sheet=sheet /> }).await
}

pub(super) async fn show_hours(State(ctx): State<Ctx>, caller: Caller, RawQuery(query): RawQuery) -> Answer {
    let found = profile(&ctx).await?;
    let sheet = fresh(save_hours::fill(&found.value), found.version, query)?;
    hours_page(&ctx, &caller, StatusCode::OK, sheet).await
}

pub(super) async fn save_hours(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let read_at = version(&typed)?;
    match save_hours::save_hours(&ctx, &person, read_at, &typed).await {
        Ok(()) => Ok(done("/shop/hours", "saved")),
        Err(why) => {
            let found = profile(&ctx).await?;
            let (sheet, status) =
                refused(why, typed, read_at, (&save_hours::fill(&found.value), found.version))?;
            hours_page(&ctx, &caller, status, sheet).await
        }
    }
}

async fn hours_page(ctx: &Ctx, caller: &Caller, status: StatusCode, sheet: Sheet) -> Answer {
    let sheet = with_history(ctx, sheet, Subject::Hours, None).await?;
    rendered(caller, status, "Hours", move || view! { <HoursPage sheet=sheet /> }).await
}

async fn prices(ctx: &Ctx) -> Result<(Typed, i64), Problem> {
    let found = settings::get::<PriceList>(ctx.store.read()).await?;
    Ok(found.map(|found| (fill_prices(&found.value), found.version)).unwrap_or_default())
}

pub(super) async fn show_prices(State(ctx): State<Ctx>, caller: Caller, RawQuery(query): RawQuery) -> Answer {
    let (typed, version) = prices(&ctx).await?;
    let sheet = fresh(typed, version, query)?;
    prices_page(&ctx, &caller, StatusCode::OK, sheet).await
}

pub(super) async fn save_prices(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let read_at = version(&typed)?;
    match save_prices::save_prices(&ctx, &person, read_at, &typed).await {
        Ok(()) => Ok(done("/shop/prices", "saved")),
        Err(why) => {
            let (now, at) = prices(&ctx).await?;
            let (sheet, status) = refused(why, typed, read_at, (&now, at))?;
            prices_page(&ctx, &caller, status, sheet).await
        }
    }
}

async fn prices_page(ctx: &Ctx, caller: &Caller, status: StatusCode, sheet: Sheet) -> Answer {
    let sheet = with_history(ctx, sheet, Subject::Prices, None).await?;
    let currency = profile(ctx).await?.value.currency;
    rendered(caller, status, "Prices", move || view! { <PricesPage sheet=sheet currency=currency /> }).await
}

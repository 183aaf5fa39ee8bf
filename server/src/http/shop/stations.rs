//! Stations, setups and changeovers.

use axum::extract::{Path, RawQuery, State};
use axum::http::StatusCode;
use leptos::prelude::*;
use shop::bench::{Bench, Station};
use shop::owner::{Typed, fill_station};
use web::pages::shop::{Sheet, StationLine, StationPage, StationView, StationsPage};

use super::{Query, done, problem, refused, rendered, said, version, with_history};
use crate::context::Ctx;
use crate::http::caller::{Caller, Staff};
use crate::http::form::{self, Posted};
use crate::http::{Answer, Problem};
use crate::store::changes::Subject;
use crate::store::settings::{self, Versioned};
use crate::use_cases::save_bench;

async fn bench(ctx: &Ctx) -> Result<Versioned<Bench>, Problem> {
    Ok(settings::get_or_default::<Bench>(ctx.store.read()).await?)
}

pub(super) async fn list(State(ctx): State<Ctx>, caller: Caller) -> Answer {
    let bench = bench(&ctx).await?.value;
    let stations: Vec<StationLine> = bench
        .stations
        .iter()
        .map(|station| {
            let name = |id: &str| {
                let setup = station.setups.iter().find(|setup| setup.id == id);
                setup.map_or(id, |s| if s.name.is_empty() { &s.id } else { &s.name }).to_owned()
            };
            StationLine {
                href: format!("/shop/stations/{}", station.id),
                name: station.name.clone(),
                does: station.does.iter().map(|kind| kind.words()).collect::<Vec<_>>().join(", "),
                setups: station.setups.iter().map(|setup| name(&setup.id)).collect::<Vec<_>>().join(", "),
                mounted: station.mounted.as_deref().map(name).unwrap_or_default(),
                skill: station.skill.clone().unwrap_or_default(),
                closed: station.closed,
            }
        })
        .collect();
    rendered(&caller, StatusCode::OK, "Stations", move || view! { <StationsPage stations=stations /> }).await
}

pub(super) async fn show_new(State(ctx): State<Ctx>, caller: Caller) -> Answer {
    let mut typed = Typed::default();
    for (field, text) in [("basin", "1"), ("rest", "0"), ("kind", "hand")] {
        typed.set(field, text);
    }
    let sheet = Sheet { typed, version: bench(&ctx).await?.version, ..Sheet::default() };
    one(&ctx, &caller, StatusCode::OK, sheet, None).await
}

pub(super) async fn add(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let read_at = version(&typed)?;
    match save_bench::save_station(&ctx, &person, read_at, None, &typed).await {
        Ok(id) => Ok(done(&format!("/shop/stations/{id}"), "added")),
        Err(why) => {
            let now = bench(&ctx).await?.version;
            let (sheet, status) = refused(why, typed, read_at, (&Typed::default(), now))?;
            one(&ctx, &caller, status, sheet, None).await
        }
    }
}

pub(super) async fn show(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(id): Path<String>,
    RawQuery(query): RawQuery,
) -> Answer {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    let Versioned { value, version } = bench(&ctx).await?;
    let station = value.station(&id).ok_or(Problem::NotFound)?;
    let sheet = Sheet { typed: fill_station(station), version, said: said(&query.said), ..Sheet::default() };
    one(&ctx, &caller, StatusCode::OK, sheet, Some(station)).await
}

pub(super) async fn save(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Path(id): Path<String>,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let read_at = version(&typed)?;
    match save_bench::save_station(&ctx, &person, read_at, Some(&id), &typed).await {
        Ok(id) => Ok(done(&format!("/shop/stations/{id}"), "saved")),
        Err(why) => {
            let Versioned { value, version } = bench(&ctx).await?;
            let station = value.station(&id).ok_or(Problem::NotFound)?;
            let (sheet, status) = refused(why, typed, read_at, (&fill_station(station), version))?;
            one(&ctx, &caller, status, sheet, Some(station)).await
        }
    }
}

pub(super) async fn remove(
    State(ctx): State<Ctx>,
    Staff(person): Staff,
    Path(id): Path<String>,
    Posted(typed): Posted<Typed>,
) -> Answer {
    save_bench::remove_station(&ctx, &person, version(&typed)?, &id).await.map_err(problem)?;
    Ok(done("/shop/stations", "removed"))
}

async fn one(
    ctx: &Ctx,
    caller: &Caller,
    status: StatusCode,
    sheet: Sheet,
    station: Option<&Station>,
) -> Answer {
    let sheet = if station.is_some() { with_history(ctx, sheet, Subject::Bench, None).await? } else { sheet };
    let title = station.map_or("A new station", |station| &station.name).to_owned();
    let id = station.map(|station| station.id.clone()).unwrap_or_default();
    let view_of = StationView { sheet, id, title: title.clone() };
    rendered(caller, status, &title, move || view! { <StationPage of=view_of /> }).await
}

//! Wheels, stones and belts.

use axum::extract::{Path, RawQuery, State};
use axum::http::StatusCode;
use chrono::{DateTime, Utc};
use leptos::prelude::*;
use shop::bench::{Bench, Bond, Wheel};
use shop::ids::WheelId;
use shop::owner::{Typed, fill_wheel};
use shop::units::short;
use web::pages::shop::{Sheet, WheelLine, WheelPage, WheelView, WheelsPage};

use super::{Query, done, id, problem, refused, rendered, said, version, with_history, zone};
use crate::context::Ctx;
use crate::http::caller::{Caller, Staff};
use crate::http::form::{self, Posted};
use crate::http::{Answer, Problem};
use crate::local;
use crate::store::changes::Subject;
use crate::store::settings;
use crate::store::wheels::{self, KnownWheel};
use crate::use_cases::save_wheel;

fn speed(wheel: &Wheel) -> String {
    wheel.surface_speed_m_s().map(|speed| short(speed, 1)).unwrap_or_default()
}

pub(super) async fn list(State(ctx): State<Ctx>, caller: Caller) -> Answer {
    let bench = settings::get_or_default::<Bench>(ctx.store.read()).await?.value;
    let zone = zone(&ctx).await?;
    let wheels: Vec<WheelLine> = wheels::all(ctx.store.read())
        .await?
        .into_iter()
        .map(|(KnownWheel { wheel, .. }, retired_at)| WheelLine {
            href: format!("/shop/wheels/{}", wheel.id),
            place: bench.setup_name(&wheel.station, &wheel.setup),
            grain: format!("{}, {}", wheel.grit, wheel.bond.words()),
            diameter: if wheel.diameter_mm > 0.0 {
                format!("{}, {}", short(wheel.diameter_mm, 1), short(wheel.least_diameter_mm, 1))
            } else {
                String::new()
            },
            speed: speed(&wheel),
            dressing: dressing(&wheel),
            unfit: wheel.fit_to_run().err(),
            retired: retired_at.map(|at| local::date(zone, at).to_string()),
            mark: wheel.mark,
            name: wheel.name,
        })
        .collect();
    rendered(&caller, StatusCode::OK, "Wheels and stones", move || view! { <WheelsPage wheels=wheels /> })
        .await
}

fn dressing(wheel: &Wheel) -> String {
    if wheel.bond == Bond::Plated {
        return format!("never; {} pieces so far", wheel.pieces_since_dressing);
    }
    format!("generation {}, {} pieces since", wheel.generation, wheel.pieces_since_dressing)
}

pub(super) async fn show_new(State(ctx): State<Ctx>, caller: Caller) -> Answer {
    let mut typed = Typed::default();
    typed.set("bond", "vitrified");
    one(&ctx, &caller, StatusCode::OK, Sheet { typed, ..Sheet::default() }, None).await
}

pub(super) async fn add(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Posted(typed): Posted<Typed>,
) -> Answer {
    match save_wheel::save_wheel(&ctx, &person, None, &typed).await {
        Ok(id) => Ok(done(&format!("/shop/wheels/{id}"), "added")),
        Err(why) => {
            let (sheet, status) = refused(why, typed, 0, (&Typed::default(), 0))?;
            one(&ctx, &caller, status, sheet, None).await
        }
    }
}

/// A wheel, its version, and since when it is out of use.
type Known = (KnownWheel, Option<DateTime<Utc>>);

async fn known(ctx: &Ctx, text: &str) -> Result<Known, Problem> {
    let id = WheelId(id(text)?);
    let all = wheels::all(ctx.store.read()).await?;
    all.into_iter().find(|(known, _)| known.wheel.id == id).ok_or(Problem::NotFound)
}

pub(super) async fn show(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(id): Path<String>,
    RawQuery(query): RawQuery,
) -> Answer {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    let found = known(&ctx, &id).await?;
    let sheet = Sheet {
        typed: fill_wheel(&found.0.wheel),
        version: found.0.version,
        said: said(&query.said),
        ..Sheet::default()
    };
    one(&ctx, &caller, StatusCode::OK, sheet, Some(found)).await
}

pub(super) async fn save(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Path(id): Path<String>,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let read_at = version(&typed)?;
    let wheel = known(&ctx, &id).await?.0.wheel.id;
    match save_wheel::save_wheel(&ctx, &person, Some((wheel, read_at)), &typed).await {
        Ok(id) => Ok(done(&format!("/shop/wheels/{id}"), "saved")),
        Err(why) => {
            let found = known(&ctx, &id).await?;
            let (sheet, status) =
                refused(why, typed, read_at, (&fill_wheel(&found.0.wheel), found.0.version))?;
            one(&ctx, &caller, status, sheet, Some(found)).await
        }
    }
}

pub(super) async fn dress(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Path(id): Path<String>,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let read_at = version(&typed)?;
    let wheel = known(&ctx, &id).await?.0.wheel.id;
    match save_wheel::dress_wheel(&ctx, &person, wheel, read_at, &typed).await {
        Ok(()) => Ok(done(&format!("/shop/wheels/{id}"), "dressed")),
        Err(why) => {
            let found = known(&ctx, &id).await?;
            let stored = fill_wheel(&found.0.wheel);
            // The form of the dressing has one field; around it stands the wheel as it is stored.
            let mut whole = stored.clone();
            whole.set("diameter-after", typed.get("diameter-after"));
            let (sheet, status) = refused(why, whole, read_at, (&stored, found.0.version))?;
            one(&ctx, &caller, status, sheet, Some(found)).await
        }
    }
}

pub(super) async fn retire(
    State(ctx): State<Ctx>,
    Staff(person): Staff,
    Path(id): Path<String>,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let retire = typed.get("retire") == "yes";
    let wheel = known(&ctx, &id).await?.0.wheel.id;
    save_wheel::retire_wheel(&ctx, &person, wheel, version(&typed)?, retire).await.map_err(problem)?;
    Ok(done(&format!("/shop/wheels/{id}"), if retire { "retired" } else { "back" }))
}

async fn one(ctx: &Ctx, caller: &Caller, status: StatusCode, sheet: Sheet, found: Option<Known>) -> Answer {
    let bench = settings::get_or_default::<Bench>(ctx.store.read()).await?.value;
    let places = bench
        .stations
        .iter()
        .flat_map(|station| {
            station.setups.iter().map(|setup| {
                (format!("{}/{}", station.id, setup.id), bench.setup_name(&station.id, &setup.id))
            })
        })
        .collect();
    let Some((KnownWheel { wheel, .. }, retired_at)) = found else {
        let title = "A new wheel or stone".to_owned();
        let view_of = WheelView { sheet, title: title.clone(), places, ..WheelView::default() };
        return rendered(caller, status, &title, move || view! { <WheelPage of=view_of /> }).await;
    };
    let sheet = with_history(ctx, sheet, Subject::Wheel, Some(wheel.id.0)).await?;
    let mut facts = vec![("Dressing".to_owned(), dressing(&wheel))];
    if let Some(speed) = wheel.surface_speed_m_s() {
        facts.insert(0, ("Surface speed".to_owned(), format!("{} m/s", short(speed, 1))));
    }
    if let (Some(marked), true) = (wheel.marked_max_rpm, wheel.diameter_mm > 0.0) {
        let at_mark = std::f64::consts::PI * wheel.diameter_mm * marked / 60_000.0;
        facts.insert(
            1,
            ("At its marked speed".to_owned(), format!("{} m/s at this diameter", short(at_mark, 1))),
        );
    }
    let title = format!("{} {}", wheel.mark, wheel.name);
    let can_be_dressed = !matches!(wheel.bond, Bond::Plated | Bond::Belt) && retired_at.is_none();
    let view_of = WheelView {
        sheet,
        id: wheel.id.to_string(),
        title: title.clone(),
        unfit: wheel.fit_to_run().err(),
        facts,
        dress: can_be_dressed.then_some(wheel.diameter_mm > 0.0),
        retired: retired_at.is_some(),
        places,
    };
    rendered(caller, status, &title, move || view! { <WheelPage of=view_of /> }).await
}

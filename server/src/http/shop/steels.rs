//! Steels: the table, and the shop's own.

use assess::{CORROSION, FIGURES, corrosion_code, fill_steel};
use axum::extract::{Path, RawQuery, State};
use axum::http::StatusCode;
use craft::{Figure, Steel};
use leptos::prelude::*;
use shop::owner::Typed;
use shop::units::short;
use web::pages::shop::{FigureLine, Sheet, SteelLine, SteelPage, SteelView, SteelsPage, SteelsView};

use super::{Query, done, problem, refused, rendered, said, version, with_history};
use crate::context::Ctx;
use crate::http::caller::{Caller, Staff};
use crate::http::form::{self, Posted};
use crate::http::{Answer, Problem};
use crate::store::changes::Subject;
use crate::store::settings::{self, Versioned};
use crate::use_cases::save_steel;

const LIST: &str = "/shop/steels";

async fn rates(ctx: &Ctx) -> Result<Versioned<craft::Rates>, Problem> {
    Ok(settings::get_or_default::<craft::Rates>(ctx.store.read()).await?)
}

fn line(steel: &Steel, own: bool) -> SteelLine {
    let figure = |figure: &Figure| {
        let (least, most) = figure.range;
        let value = short(figure.value, 2);
        FigureLine {
            value: if least < most {
                format!("{value} ({} to {})", short(least, 2), short(most, 2))
            } else {
                value
            },
            source: figure.source.to_string(),
        }
    };
    let row = |(celsius, hrc): &(f64, f64)| format!("{} °C: {} HRC", short(*celsius, 0), short(*hrc, 1));
    let tempered = match (steel.tempering.first(), steel.tempering.last()) {
        (Some(first), Some(last)) => format!("{} … {}", row(first), row(last)),
        _ => "not known".to_owned(),
    };
    let corrosion = corrosion_code(steel.corrosion);
    let water = CORROSION.iter().find(|(code, _)| *code == corrosion).map_or("", |(_, words)| *words);
    let others: Vec<&str> = steel.designations.iter().map(|n| &**n).filter(|n| *n != steel.name).collect();
    SteelLine {
        href: own.then(|| format!("{LIST}/{}", steel.name)),
        name: steel.name.to_string(),
        others: others.join(", "),
        figures: [&steel.density_kg_m3, &steel.conductivity_w_mk, &steel.heat_capacity_j_kgk]
            .map(figure)
            .to_vec(),
        tempering: FigureLine { value: tempered, source: steel.tempering_source.to_string() },
        hardness: format!("{} to {}", short(steel.hardness_hrc.0, 1), short(steel.hardness_hrc.1, 1)),
        grindability: short(steel.grindability, 2),
        corrosion: water.to_owned(),
    }
}

pub(super) async fn list(State(ctx): State<Ctx>, caller: Caller, RawQuery(query): RawQuery) -> Answer {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    let own = rates(&ctx).await?.value.steels;
    let sheet = Sheet { said: said(&query.said), ..Sheet::default() };
    let view = SteelsView {
        own: own.iter().map(|steel| line(steel, true)).collect(),
        table: craft::steels().iter().map(|steel| line(steel, false)).collect(),
        sheet: with_history(&ctx, sheet, Subject::Steels, None).await?,
    };
    rendered(&caller, StatusCode::OK, "Steels", move || view! { <SteelsPage of=view /> }).await
}

pub(super) async fn show_new(State(ctx): State<Ctx>, caller: Caller) -> Answer {
    let version = rates(&ctx).await?.version;
    one(&caller, StatusCode::OK, Sheet { typed: SteelView::fresh(), version, ..Sheet::default() }, "").await
}

pub(super) async fn add(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let read_at = version(&typed)?;
    match save_steel::save_steel(&ctx, &person, read_at, None, &typed).await {
        Ok(_) => Ok(done(LIST, "added")),
        Err(why) => {
            let now = rates(&ctx).await?.version;
            let (sheet, status) = refused(why, typed, read_at, (&Typed::default(), now))?;
            one(&caller, status, sheet, "").await
        }
    }
}

async fn known(ctx: &Ctx, name: &str) -> Result<(Typed, i64), Problem> {
    let found = rates(ctx).await?;
    let steel = found.value.steels.iter().find(|steel| steel.name == name).ok_or(Problem::NotFound)?;
    Ok((fill_steel(steel), found.version))
}

pub(super) async fn show(State(ctx): State<Ctx>, caller: Caller, Path(name): Path<String>) -> Answer {
    let (typed, version) = known(&ctx, &name).await?;
    one(&caller, StatusCode::OK, Sheet { typed, version, ..Sheet::default() }, &name).await
}

pub(super) async fn save(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Path(name): Path<String>,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let read_at = version(&typed)?;
    match save_steel::save_steel(&ctx, &person, read_at, Some(&name), &typed).await {
        Ok(_) => Ok(done(LIST, "saved")),
        Err(why) => {
            let (stored, now) = known(&ctx, &name).await?;
            let (sheet, status) = refused(why, typed, read_at, (&stored, now))?;
            one(&caller, status, sheet, &name).await
        }
    }
}

pub(super) async fn remove(
    State(ctx): State<Ctx>,
    Staff(person): Staff,
    Path(name): Path<String>,
    Posted(typed): Posted<Typed>,
) -> Answer {
    save_steel::remove_steel(&ctx, &person, version(&typed)?, &name).await.map_err(problem)?;
    Ok(done(LIST, "taken-out"))
}

async fn one(caller: &Caller, status: StatusCode, sheet: Sheet, name: &str) -> Answer {
    let view = SteelView {
        sheet,
        name: name.to_owned(),
        figures: FIGURES
            .iter()
            .map(|(key, what, unit, ..)| {
                let words = what.trim_start_matches("the ");
                let mut letters = words.chars();
                let first = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
                ((*key).to_owned(), format!("{first}{}", letters.as_str()), (*unit).to_owned())
            })
            .collect(),
        corrosion: CORROSION.iter().map(|(c, w)| ((*c).to_owned(), (*w).to_owned())).collect(),
    };
    let title = if name.is_empty() { "A steel of your own".to_owned() } else { name.to_owned() };
    rendered(caller, status, &title, move || view! { <SteelPage of=view /> }).await
}

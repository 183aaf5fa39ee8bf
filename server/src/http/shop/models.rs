//! The shop's own designs.

use axum::extract::{Path, RawQuery, State};
use axum::http::StatusCode;
use leptos::prelude::*;
use shop::bench::{Bench, Model};
use shop::booking::{BookedKnife, Trouble};
use shop::ids::ModelId;
use shop::lang::Lang;
use shop::owner::{Typed, fill_model};
use shop::route::OperationKind;
use shop::units::short;
use web::pages::shop::{ModelLine, ModelPage, ModelView, ModelsPage, Sheet};

use super::{Query, done, id, problem, refused, rendered, said, version, with_history};
use crate::context::Ctx;
use crate::http::caller::{Caller, Staff};
use crate::http::form::{self, Posted};
use crate::http::{Answer, Problem};
use crate::store::changes::Subject;
use crate::store::{knives, settings};
use crate::use_cases::{knowledge, save_model};

pub(super) async fn list(State(ctx): State<Ctx>, caller: Caller) -> Answer {
    let models = knives::models(ctx.store.read()).await?;
    let models: Vec<ModelLine> = models
        .into_iter()
        .map(|model| ModelLine {
            href: format!("/shop/models/{}", model.id),
            mark: model.mark,
            name: model.name,
            edge: model.drawing.edge.words().to_owned(),
            length: short(model.drawing.length_mm, 1),
            heights: format!(
                "{} to {}",
                short(model.drawing.height_mm, 1),
                short(model.drawing.least_height_mm, 1)
            ),
            steel: model.drawing.steel,
            current: model.current,
        })
        .collect();
    rendered(&caller, StatusCode::OK, "Models", move || view! { <ModelsPage models=models /> }).await
}

pub(super) async fn show_new(State(ctx): State<Ctx>, caller: Caller) -> Answer {
    let mut typed = Typed::default();
    typed.tick("current", true);
    one(&ctx, &caller, StatusCode::OK, Sheet { typed, ..Sheet::default() }, None).await
}

pub(super) async fn add(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Posted(typed): Posted<Typed>,
) -> Answer {
    match save_model::save_model(&ctx, &person, None, &typed).await {
        Ok(id) => Ok(done(&format!("/shop/models/{id}"), "added")),
        Err(why) => {
            let (sheet, status) = refused(why, typed, 0, (&Typed::default(), 0))?;
            one(&ctx, &caller, status, sheet, None).await
        }
    }
}

async fn known(ctx: &Ctx, text: &str) -> Result<(Model, i64), Problem> {
    knives::model_version(ctx.store.read(), ModelId(id(text)?)).await?.ok_or(Problem::NotFound)
}

pub(super) async fn show(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(id): Path<String>,
    RawQuery(query): RawQuery,
) -> Answer {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    let (model, version) = known(&ctx, &id).await?;
    let sheet = Sheet { typed: fill_model(&model), version, said: said(&query.said), ..Sheet::default() };
    one(&ctx, &caller, StatusCode::OK, sheet, Some(model)).await
}

pub(super) async fn save(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Path(id): Path<String>,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let read_at = version(&typed)?;
    let (model, _) = known(&ctx, &id).await?;
    match save_model::save_model(&ctx, &person, Some((model.id, read_at)), &typed).await {
        Ok(id) => Ok(done(&format!("/shop/models/{id}"), "saved")),
        Err(why) => {
            let (model, now) = known(&ctx, &id).await?;
            let (sheet, status) = refused(why, typed, read_at, (&fill_model(&model), now))?;
            one(&ctx, &caller, status, sheet, Some(model)).await
        }
    }
}

pub(super) async fn offer(
    State(ctx): State<Ctx>,
    Staff(person): Staff,
    Path(id): Path<String>,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let current = typed.get("current") == "yes";
    let (model, _) = known(&ctx, &id).await?;
    save_model::offer_model(&ctx, &person, model.id, version(&typed)?, current).await.map_err(problem)?;
    Ok(done(&format!("/shop/models/{id}"), if current { "offered" } else { "ended" }))
}

async fn one(ctx: &Ctx, caller: &Caller, status: StatusCode, sheet: Sheet, model: Option<Model>) -> Answer {
    let sheet = match &model {
        Some(model) => with_history(ctx, sheet, Subject::Model, Some(model.id.0)).await?,
        None => sheet,
    };
    let bench = settings::get_or_default::<Bench>(ctx.store.read()).await?.value;
    let setups = bench
        .stations
        .iter()
        .filter(|station| station.does.contains(&OperationKind::Serrate))
        .flat_map(|station| {
            station.setups.iter().map(|s| (s.id.clone(), bench.setup_name(&station.id, &s.id)))
        })
        .collect();
    let (section, section_words) = match &model {
        Some(model) => section(ctx, model).await,
        None => Default::default(),
    };
    let rates = settings::get_or_default::<craft::Rates>(ctx.store.read()).await?.value;
    let title = model.as_ref().map_or_else(|| "A new model".to_owned(), |m| format!("{} {}", m.mark, m.name));
    let view_of = ModelView {
        sheet,
        id: model.as_ref().map(|model| model.id.to_string()).unwrap_or_default(),
        title: title.clone(),
        current: model.as_ref().is_some_and(|model| model.current),
        section,
        section_words,
        setups,
        steels: rates.all_steels().map(|steel| steel.name.to_string()).collect(),
    };
    rendered(caller, status, &title, move || view! { <ModelPage of=view_of /> }).await
}

/// The section of a new blade of this model at its first usual service, drawn by the same kernel as everywhere.
async fn section(ctx: &Ctx, model: &Model) -> (String, String) {
    let Ok(knows) = knowledge::load(ctx).await else {
        return (String::new(), "It can be drawn when bench, prices and experience are set up.".to_owned());
    };
    let knife = BookedKnife {
        model: Some(model.id),
        tag: None,
        name: model.name.clone(),
        edge: model.drawing.edge,
        length_mm: model.drawing.length_mm,
        steel: Some(model.drawing.steel.clone()),
        darkened: model.drawing.darkened,
        trouble: Trouble { dull: true, ..Trouble::default() },
        to_plain: false,
        note: String::new(),
    };
    match assess::draw::section_booked(&knows, &knife, Lang::En) {
        Ok(svg) => {
            (svg, "A dull blade of this model and what its service usually takes, to scale.".to_owned())
        }
        Err(why) => (String::new(), format!("These values cannot be drawn: {why}.")),
    }
}

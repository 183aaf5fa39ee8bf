//! The owner's wording of notices: edited, seen with real data, saved.

use axum::extract::{RawQuery, State};
use axum::http::StatusCode;
use leptos::prelude::*;
use serde::Deserialize;
use shop::lang::Lang;
use shop::owner::Typed;
use shop::profile::Profile;
use web::pages::shop::{Sheet, WordingLine, WordingPage, WordingView};

use super::{done, refused, rendered, said, version, with_history};
use crate::context::Ctx;
use crate::http::caller::{Caller, Staff};
use crate::http::form::{self, Posted};
use crate::http::{Answer, Problem};
use crate::post::words::{editable, places};
use crate::store::changes::Subject;
use crate::store::settings::{self, Versioned};
use crate::use_cases::save_wording::{self, KINDS};

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct WordingQuery {
    lang: String,
    kind: String,
    said: String,
}

async fn profile(ctx: &Ctx) -> Result<Versioned<Profile>, Problem> {
    settings::get::<Profile>(ctx.store.read()).await?.ok_or(Problem::NotFound)
}

fn which(lang: &str, kind: &str) -> (Lang, &'static str) {
    let lang = if Lang::parse(lang) == Some(Lang::De) { Lang::De } else { Lang::En };
    (lang, KINDS.iter().find(|(word, _)| *word == kind).map_or(KINDS[0].0, |(word, _)| word))
}

pub(super) async fn show(State(ctx): State<Ctx>, caller: Caller, RawQuery(query): RawQuery) -> Answer {
    let query: WordingQuery = form::read(query.unwrap_or_default().as_bytes())?;
    let (lang, kind) = which(&query.lang, &query.kind);
    let found = profile(&ctx).await?;
    let typed = save_wording::fill(&found.value, lang, kind);
    let sheet = Sheet { typed, version: found.version, said: said(&query.said), ..Sheet::default() };
    page(&ctx, &caller, StatusCode::OK, sheet, (lang, kind), Shown::Not).await
}

pub(super) async fn save(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let read_at = version(&typed)?;
    let (lang, kind) = which(typed.get("lang"), typed.get("kind"));
    let found = profile(&ctx).await?;
    if typed.get("do") == "show" {
        return match save_wording::worded(&found.value, lang, kind, &typed) {
            Ok(tried) => {
                let shown = match save_wording::preview(&ctx, &tried, lang, kind).await? {
                    Some((subject, text)) => Shown::Notice(subject, text),
                    None => Shown::NoData,
                };
                let sheet = Sheet { typed, version: read_at, ..Sheet::default() };
                page(&ctx, &caller, StatusCode::OK, sheet, (lang, kind), shown).await
            }
            Err(errors) => {
                let sheet = Sheet { typed, errors, version: read_at, ..Sheet::default() };
                page(&ctx, &caller, StatusCode::UNPROCESSABLE_ENTITY, sheet, (lang, kind), Shown::Not).await
            }
        };
    }
    match save_wording::save_wording(&ctx, &person, read_at, (lang, kind), &typed).await {
        Ok(()) => Ok(done(&format!("/shop/wording?lang={}&kind={kind}", lang.code()), "saved")),
        Err(why) => {
            let now = save_wording::fill(&found.value, lang, kind);
            let (sheet, status) = refused(why, typed, read_at, (&now, found.version))?;
            page(&ctx, &caller, status, sheet, (lang, kind), Shown::Not).await
        }
    }
}

/// How the notice with these texts was shown.
enum Shown {
    /// It was not asked for.
    Not,
    /// There is no visit yet to take data from.
    NoData,
    /// Its subject and text.
    Notice(String, String),
}

async fn page(
    ctx: &Ctx,
    caller: &Caller,
    status: StatusCode,
    sheet: Sheet,
    (lang, kind): (Lang, &'static str),
    shown: Shown,
) -> Answer {
    let sheet = with_history(ctx, sheet, Subject::Profile, None).await?;
    let lines = save_wording::texts(kind)
        .into_iter()
        .filter_map(|name| {
            Some(WordingLine {
                own: editable(lang, name)?,
                places: places(name).iter().map(|p| format!("{{{p}}}")).collect::<Vec<_>>().join(" "),
                short: name.contains("-subject"),
                name: name.to_owned(),
            })
        })
        .collect();
    let view = WordingView {
        no_data: matches!(shown, Shown::NoData),
        preview: match shown {
            Shown::Notice(subject, text) => Some((subject, text)),
            Shown::Not | Shown::NoData => None,
        },
        kinds: KINDS.iter().map(|(word, name)| ((*word).to_owned(), (*name).to_owned())).collect(),
        kind: kind.to_owned(),
        sheet,
        lang,
        lines,
    };
    rendered(caller, status, "Wording", move || view! { <WordingPage view=view /> }).await
}

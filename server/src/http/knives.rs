//! Knives: the list, one knife's ledger for staff (`/desk/knife/{tag}`) and for its owner (`/k/{token}`).

use std::collections::HashMap;

use assess::draw;
use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use axum::routing::{get, post};
use leptos::prelude::*;
use serde::{Deserialize, Serialize};
use shop::field::FieldErrors;
use shop::ids::{EntryId, KnifeId};
use shop::lang::Lang;
use shop::ledger::{Entry, Fact, Measures, Who};
use shop::tag::Tag;
use shop::units::{self, short};
use web::pages::desk::sheet::{drawings, services_words, years_words};
use web::pages::knives::{EntryLine, KnifeLine, KnifePage, KnifeView, KnivesPage};

use super::caller::{Caller, Staff};
use super::form::{self, Posted};
use super::problem::Problem;
use super::{Answer, page};
use crate::context::Ctx;
use crate::store::knives;
use crate::use_cases::hands::Refused;
use crate::use_cases::offer;
use crate::use_cases::show_knife::{self, Shown, Whole};
use crate::{local, when};

/// How many knives one page of the list shows.
const PER_PAGE: u64 = 50;

pub(super) fn routes() -> Router<Ctx> {
    Router::new()
        .route("/knives", get(list))
        .route("/desk/knife/{tag}", get(staff))
        .route("/desk/knife/{tag}/correct", post(correct))
        .route("/k/{token}", get(owner))
}

#[derive(Debug, Default, Deserialize, Serialize)]
#[serde(default)]
struct ListQuery {
    q: String,
    before: String,
}

async fn list(State(ctx): State<Ctx>, caller: Caller, RawQuery(query): RawQuery) -> Answer {
    let query: ListQuery = form::read(query.unwrap_or_default().as_bytes())?;
    let looked_for = query.q.trim().to_owned();
    if let Ok(tag) = looked_for.parse::<Tag>()
        && knives::by_tag(ctx.store.read(), tag).await?.is_some()
    {
        return Ok(Redirect::to(&format!("/desk/knife/{}", tag.plain())).into_response());
    }
    let zone = offer::profile(&ctx).await?.map_or(chrono_tz::UTC, |profile| local::zone(&profile));
    let db = ctx.store.read();
    let before = query.before.parse::<KnifeId>().ok();
    // One more than is shown: then there is a page after this one.
    let mut found = knives::page(db, &looked_for, before, PER_PAGE + 1).await?;
    let more = found.len() as u64 > PER_PAGE;
    found.truncate(PER_PAGE as usize);
    let list = |before: Option<KnifeId>| {
        let ask =
            ListQuery { q: looked_for.clone(), before: before.map(|id| id.to_string()).unwrap_or_default() };
        serde_qs::to_string(&ask).map(|ask| format!("/knives?{ask}"))
    };
    let older = found
        .last()
        .filter(|_| more)
        .map(|last| list(Some(last.id)))
        .transpose()
        .map_err(anyhow::Error::from)?;
    let newest = before.map(|_| list(None)).transpose().map_err(anyhow::Error::from)?;
    let n_all = knives::count(db).await?;
    let lines: Vec<_> = found
        .into_iter()
        .map(|k| KnifeLine {
            tag: k.tag.to_string(),
            href: format!("/desk/knife/{}", k.tag.plain()),
            name: k.name,
            mark: k.model_mark.unwrap_or_default(),
            height: k.heights.last().map(|(_, mm)| short(*mm, 1)).unwrap_or_default(),
            when: k.heights.last().map(|(at, _)| when::short_day(zone, *at)).unwrap_or_default(),
        })
        .collect();
    Ok(page::render(&caller, "Knives", move || {
        view! { <KnivesPage knives=lines looked_for=looked_for n_all=n_all older=older newest=newest /> }
    })
    .await)
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct StaffQuery {
    correct: String,
    said: String,
}

async fn staff(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(tag): Path<String>,
    RawQuery(query): RawQuery,
) -> Answer {
    let query: StaffQuery = form::read(query.unwrap_or_default().as_bytes())?;
    let tag: Tag = tag.parse().map_err(|_| Problem::NotFound)?;
    let whole = show_knife::for_staff(&ctx, tag).await?.ok_or(Problem::NotFound)?;
    let done =
        (query.said == "corrected").then(|| "The correction is added; the old entry stays.".to_owned());
    let view = KnifeView { done, ..view(whole, true, &query.correct, Lang::En) };
    let title = view.knife.name.clone();
    Ok(page::render(&caller, &title, move || view! { <KnifePage view=view /> }).await)
}

async fn owner(State(ctx): State<Ctx>, caller: Caller, Path(token): Path<String>) -> Answer {
    match show_knife::for_owner(&ctx, &token).await? {
        Shown::Knife(whole) => {
            let lang = caller.asked_language();
            caller.speak(lang);
            let view = said(view(*whole, false, "", lang), lang);
            let title = view.knife.name.clone();
            Ok(page::render(&caller, &title, move || view! { <KnifePage view=view /> }).await)
        }
        Shown::Stale => Err(Problem::StaleLink),
        Shown::Unknown => Err(Problem::NotFound),
    }
}

/// The same in the language of whoever holds the link.
fn said(view: KnifeView, lang: Lang) -> KnifeView {
    let book = words::phrasebook(lang, &[]);
    let list =
        |text: &str, sep: &str| text.split(sep).map(|part| book.say(part)).collect::<Vec<_>>().join(sep);
    let drawings = view.drawings.into_iter().map(|(title, svg)| (book.say(&title), book.say_drawing(&svg)));
    let entries = view.entries.into_iter().map(|entry| EntryLine {
        what: book.say(&entry.what),
        figures: list(&entry.figures, ", "),
        corrected: entry.corrected.map(|words| list(&words, ", ")),
        ..entry
    });
    let mut knife = view.knife;
    knife.name = book.say(&knife.name);
    KnifeView {
        services: book.say(&view.services),
        drawings: drawings.collect(),
        entries: entries.collect(),
        knife,
        ..view
    }
}

/// A correction as typed.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct RawCorrection {
    entry: String,
    piece: String,
    height: String,
    behind_edge: String,
    spine: String,
    length: String,
    why: String,
}

async fn correct(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(by): Staff,
    Path(tag): Path<String>,
    Posted(raw): Posted<RawCorrection>,
) -> Answer {
    let tag: Tag = tag.parse().map_err(|_| Problem::NotFound)?;
    let piece = raw.piece.parse().map_err(|_| Problem::NotFound)?;
    let entry: EntryId = raw.entry.parse().map_err(|_| Problem::NotFound)?;
    let done = match corrected(&raw) {
        Ok(measures) => show_knife::correct_entry(&ctx, &by, piece, entry, measures, &raw.why).await,
        Err(errors) => Err(Refused::Fields(errors)),
    };
    match done {
        Ok(()) => {
            Ok(Redirect::to(&format!("/desk/knife/{}?said=corrected#ledger", tag.plain())).into_response())
        }
        Err(Refused::Fields(errors)) => {
            let whole = show_knife::for_staff(&ctx, tag).await?.ok_or(Problem::NotFound)?;
            let view = KnifeView { errors, ..view(whole, true, &raw.entry, Lang::En) };
            let title = view.knife.name.clone();
            let status = StatusCode::UNPROCESSABLE_ENTITY;
            Ok(page::with_status(&caller, status, &title, move || view! { <KnifePage view=view /> }).await)
        }
        Err(Refused::Store(error)) => Err(error.into()),
        Err(Refused::Gone) => Err(Problem::NotFound),
        Err(other) => Err(Problem::Conflict(other.to_string())),
    }
}

fn corrected(raw: &RawCorrection) -> Result<Measures, FieldErrors> {
    let mut errors = FieldErrors::default();
    let mut mm = |field: &str, typed: &str, most: f64| {
        if typed.trim().is_empty() {
            return None;
        }
        let read = units::length(typed).map(|t| t.mm).filter(|mm| (0.01..=most).contains(mm));
        if read.is_none() {
            errors.add(field, format!("Please give a length up to {most} mm, like 45.2."));
        }
        read
    };
    let measures = Measures {
        height_mm: mm("height", &raw.height, 125.0),
        behind_edge_mm: mm("behind_edge", &raw.behind_edge, 2.0),
        spine_mm: mm("spine", &raw.spine, 8.0),
        length_mm: mm("length", &raw.length, 600.0),
        ..Measures::default()
    };
    if errors.is_empty() { Ok(measures) } else { Err(errors) }
}

fn view(whole: Whole, staff: bool, correcting: &str, lang: Lang) -> KnifeView {
    let zone = local::zone(&whole.profile);
    let services = whole
        .pieces
        .iter()
        .rev()
        .find_map(|p| p.verdict.as_ref())
        .filter(|v| v.services_after.is_some())
        .map(|v| {
            let services = services_words(v.services_after, &v.limited_by);
            v.years_after.map_or(services.clone(), |years| format!("{services}; {}", years_words(years)))
        });
    let history: Vec<f64> = whole.knife.heights.iter().map(|(_, mm)| *mm).collect();
    let mut pictures = Vec::new();
    if let Some(sheet) = &whole.knife.latest {
        pictures = drawings(&whole.knows, sheet, lang);
        if let Ok(svg) = draw::life_fan(&whole.knows, sheet, &history, lang) {
            pictures.insert(0, ("Height over the services, and what is likely left".to_owned(), svg));
        }
    }
    let entries = lines(&whole, zone, staff, correcting);
    let visits = if staff {
        whole
            .pieces
            .iter()
            .filter_map(|p| whole.visits.get(&p.visit).map(|v| (p, v)))
            .map(|(p, v)| {
                let href = format!("/desk/visit/{}#piece-{}", v.reference.plain(), p.number);
                (v.reference.to_string(), href, format!("{}, {}", p.state, v.contact.name))
            })
            .collect()
    } else {
        Vec::new()
    };
    KnifeView {
        new_height_mm: whole.model.as_ref().map(|m| m.drawing.height_mm),
        services: services.unwrap_or_default(),
        drawings: pictures,
        entries,
        visits,
        heights: whole.knife.heights.iter().map(|(at, mm)| (when::short(zone, *at), *mm)).collect(),
        errors: FieldErrors::default(),
        done: None,
        staff,
        knife: whole.knife,
    }
}

/// What the knife's owner sees of the ledger: what was done to the steel. Prices, waiting and hands are between the shop
/// and whoever brought it then, who may be somebody else.
fn is_technical(fact: &Fact) -> bool {
    matches!(
        fact,
        Fact::Received { .. }
            | Fact::Measured { .. }
            | Fact::Done { .. }
            | Fact::Checked { .. }
            | Fact::TurnedDown { .. }
            | Fact::Returned { .. }
            | Fact::Corrects { .. }
    )
}

fn lines(whole: &Whole, zone: chrono_tz::Tz, staff: bool, correcting: &str) -> Vec<EntryLine> {
    let corrections: HashMap<EntryId, &Measures> = whole
        .entries
        .iter()
        .filter_map(|e| match &e.fact {
            Fact::Corrects { entry, measures } => Some((*entry, measures)),
            _ => None,
        })
        .collect();
    whole
        .entries
        .iter()
        .filter(|e| staff || is_technical(&e.fact))
        .map(|entry| {
            let id = entry.id.to_string();
            let has_figures =
                matches!(entry.fact, Fact::Measured { .. } | Fact::Done { .. } | Fact::Checked { .. });
            let tag = whole.knife.tag.plain();
            EntryLine {
                correct_href: (staff && has_figures).then(|| format!("/desk/knife/{tag}?correct={id}#{id}")),
                correcting: (staff && has_figures && id == correcting).then(|| id.clone()),
                piece: piece_of(whole, entry),
                when: when::short(zone, entry.at),
                who: if staff { who(whole, entry.who) } else { String::new() },
                what: entry.fact.sentence(),
                figures: figures(&entry.fact),
                why: entry.why.and_then(|n| whole.notes.get(&n).cloned()).unwrap_or_default(),
                corrected: corrections.get(&entry.id).map(|m| measures_words(m)),
                anchor: id,
            }
        })
        .collect()
}

/// The piece whose time in the shop an entry falls into.
fn piece_of(whole: &Whole, entry: &Entry) -> String {
    let began = |p: &&shop::read::Piece| whole.visits.get(&p.visit).is_some_and(|v| v.booked_at <= entry.at);
    whole.pieces.iter().rev().find(began).map(|p| p.id.to_string()).unwrap_or_default()
}

fn who(whole: &Whole, who: Who) -> String {
    match who {
        Who::Staff(id) => whole.staff.get(&id.0).cloned().unwrap_or_else(|| "somebody".to_owned()),
        Who::Customer => "the customer".to_owned(),
        Who::Program => "by itself".to_owned(),
    }
}

fn figures(fact: &Fact) -> String {
    match fact {
        Fact::Measured { measures, .. } | Fact::Done { measures, .. } | Fact::Corrects { measures, .. } => {
            measures_words(measures)
        }
        Fact::Checked { findings, measures, .. } => {
            let words = measures_words(measures);
            let all = findings.iter().cloned().chain((!words.is_empty()).then_some(words));
            all.collect::<Vec<_>>().join("; ")
        }
        _ => String::new(),
    }
}

fn measures_words(m: &Measures) -> String {
    let figures = [
        ("height", m.height_mm, "mm"),
        ("heel", m.height_heel_mm, "mm"),
        ("tip", m.height_tip_mm, "mm"),
        ("edge length", m.length_mm, "mm"),
        ("spine", m.spine_mm, "mm"),
        ("behind the edge", m.behind_edge_mm, "mm"),
        ("angle", m.angle_deg, "°"),
        ("land", m.land_mm, "mm"),
        ("deepest chip", m.chip_mm, "mm"),
        ("pitch", m.pitch_mm, "mm"),
        ("bow", m.bow_mm, "mm"),
        ("cut test", m.cut_test, ""),
    ];
    let words = figures.into_iter().filter_map(|(what, value, unit)| {
        value.map(|v| format!("{what} {} {unit}", short(v, 2)).trim_end().replace(" °", "°"))
    });
    words.collect::<Vec<_>>().join(", ")
}

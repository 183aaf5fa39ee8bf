//! Knives over all their visits: the list, and one knife's ledger for staff and for its owner.

use leptos::prelude::*;
use shop::inspection::Inspection;
use shop::read::Knife;

use crate::pages::desk::list::CodeField;
use crate::parts::{
    Card, Column, Crumbs, DataTable, Empty, ErrorSummary, Field, Fold, Input, Notice, Tone, known,
};
use crate::say::{lang, t, tw};

/// One line of the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnifeLine {
    /// Its tag.
    pub tag: String,
    /// Where its ledger is.
    pub href: String,
    /// What it is called.
    pub name: String,
    /// Its model's mark, or empty.
    pub mark: String,
    /// Height today, if it was ever measured.
    pub height: String,
    /// When it was measured last.
    pub when: String,
}

/// The list of knives.
#[component]
pub fn KnivesPage(
    /// The lines.
    knives: Vec<KnifeLine>,
    /// What was looked for.
    looked_for: String,
    /// How many there are in all.
    n_all: u64,
    /// Where those known for longer are, when there are more.
    older: Option<String>,
    /// Where the list begins, unless it begins here.
    newest: Option<String>,
) -> impl IntoView {
    let found = knives.len();
    let way = |href: Option<String>, words: &'static str| {
        href.map(|href| view! { <a class="button" href=href>{words}</a> })
    };
    let (newest, older) = (way(newest, "The newest"), way(older, "Older ones"));
    let on = (newest.is_some() || older.is_some())
        .then(|| view! { <nav class="actions" aria-label="More knives">{newest} {older}</nav> });
    let rows: Vec<Vec<AnyView>> = knives
        .into_iter()
        .map(|k| {
            vec![
                view! { <a class="reference" href=k.href>{k.tag}</a> }.into_any(),
                k.name.into_any(),
                known(k.mark),
                known(k.height),
                known(k.when),
            ]
        })
        .collect();
    let list = if rows.is_empty() {
        view! {
            <Empty title="No knife here"><p>"Knives appear when they are received. Look under another word, or scan the tag."</p></Empty>
        }
        .into_any()
    } else {
        view! {
            <DataTable
                caption=format!("{found} of {n_all} knives")
                columns=vec![
                    Column::words("Tag"),
                    Column::words("Knife"),
                    Column::words(t("knife-model")),
                    Column::figures("Height", "mm"),
                    Column::words("Measured"),
                ]
                rows=rows
            />
        }
        .into_any()
    };
    view! {
        <h1>"Knives"</h1>
        <form method="get" action="/knives" role="search" class="row level">
            <Field name="q" label="Name, model or tag" kind=Input::Search value=looked_for maxlength=80 />
            <button class="button" type="submit">"Look"</button>
        </form>
        {list}
        {on}
    }
}

/// One entry of the ledger as people read it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct EntryLine {
    /// Where it can be corrected, when it has figures.
    pub correct_href: Option<String>,
    /// Its id, while it is being corrected: the form is open.
    pub correcting: Option<String>,
    /// The piece it belongs to.
    pub piece: String,
    /// When.
    pub when: String,
    /// Who; empty for the owner's eyes.
    pub who: String,
    /// What, one sentence.
    pub what: String,
    /// Its figures, in words.
    pub figures: String,
    /// Why.
    pub why: String,
    /// It was wrong: what a later entry says instead.
    pub corrected: Option<String>,
    /// Its id on the page.
    pub anchor: String,
}

/// A knife's ledger.
#[derive(Debug, Clone, PartialEq)]
pub struct KnifeView {
    /// The knife.
    pub knife: Knife,
    /// Height when new, millimetres, if known.
    pub new_height_mm: Option<f64>,
    /// Services left now, in words.
    pub services: String,
    /// Drawings: what it shows, and the SVG element.
    pub drawings: Vec<(String, String)>,
    /// Entries, oldest first.
    pub entries: Vec<EntryLine>,
    /// Where the visits of its pieces are: reference, address, state. For staff.
    pub visits: Vec<(String, String, String)>,
    /// Heights over time, in words: when, height.
    pub heights: Vec<(String, f64)>,
    /// What is wrong with a correction.
    pub errors: shop::field::FieldErrors,
    /// What was just done.
    pub done: Option<String>,
    /// For staff.
    pub staff: bool,
}

/// The heights as they were, the latest sheet's figures beside them.
fn state_words(knife: &Knife, new_height_mm: Option<f64>) -> Option<String> {
    let height = knife.heights.last().map(|(_, mm)| *mm).or(knife.latest.as_ref().map(|l| l.heights_mm.1))?;
    let new = new_height_mm.or(knife.latest.as_ref().and_then(|l: &Inspection| l.original_height_mm));
    Some(match new {
        Some(new) if new > height => {
            tw("knife-of", &[("now", &lang().length(height, 1)), ("new", &lang().length(new, 1))])
        }
        _ => tw("knife-high", &[("now", &lang().length(height, 1))]),
    })
}

/// One knife's ledger.
#[component]
pub fn KnifePage(
    /// The ledger.
    view: KnifeView,
) -> impl IntoView {
    let staff = view.staff;
    let errors = view.errors.clone();
    let tag = view.knife.tag.to_string();
    let name = view.knife.name.clone();
    let crumbs = staff.then(|| {
        view! { <Crumbs trail=vec![("/knives".to_owned(), "Knives".to_owned())] here=tag.clone() /> }
    });
    let done = view.done.clone().map(|words| view! { <Notice tone=Tone::Good><p>{words}</p></Notice> });
    let mark = view.knife.model_mark.clone().map(|mark| {
        view! { <div><dt>"Model"</dt><dd>{mark}</dd></div> }
    });
    let state = state_words(&view.knife, view.new_height_mm).map(|words| {
        view! { <div><dt>{t("knife-today")}</dt><dd>{words}</dd></div> }
    });
    let services = (!view.services.is_empty()).then(|| {
        view! { <div><dt>{t("knife-services")}</dt><dd>{view.services.clone()}</dd></div> }
    });
    let drawings: Vec<_> = view
        .drawings
        .into_iter()
        .map(|(title, svg)| {
            view! {
                <figure class="drawing">
                    <figcaption>{title}</figcaption>
                    <div class="drawing-scroll" inner_html=svg></div>
                </figure>
            }
        })
        .collect();
    let heights: Vec<Vec<AnyView>> = view
        .heights
        .iter()
        .map(|(when, mm)| vec![when.clone().into_any(), lang().figure(*mm, 2).into_any()])
        .collect();
    let heights = (!heights.is_empty()).then(|| {
        view! {
            <Fold summary=t("knife-heights")>
                <DataTable
                    caption=t("knife-height-caption")
                    columns=vec![Column::words(t("knife-when")), Column::figures(t("knife-height"), "mm")]
                    rows=heights
                />
            </Fold>
        }
    });
    let visits: Vec<_> = view
        .visits
        .into_iter()
        .map(|(reference, href, state)| {
            view! { <li><a class="reference" href=href>{reference}</a>" "{state}</li> }
        })
        .collect();
    let visits = (!visits.is_empty()).then(|| view! { <Card title="Its visits"><ul>{visits}</ul></Card> });
    let knife_href = format!("/desk/knife/{}", view.knife.tag.plain());
    let empty = view.entries.is_empty().then(|| view! { <p>{t("knife-nothing")}</p> });
    let entries: Vec<_> = view
        .entries
        .into_iter()
        .map(|entry| view! { <LedgerEntry entry=entry staff=staff href=knife_href.clone() errors=errors.clone() /> })
        .collect();
    let scan = staff.then(|| view! { <CodeField /> });
    view! {
        {crumbs}
        <h1>{name}</h1>
        {done}
        <ErrorSummary errors=view.errors />
        <dl class="facts">
            <div><dt>{t("tag")}</dt><dd><span class="reference">{tag}</span></dd></div>
            {mark}
            {state}
            {services}
        </dl>
        <p class="quiet">
            {t("knife-forecast")}
        </p>
        <div class="drawings columns">{drawings}</div>
        {heights}
        {visits}
        <section aria-labelledby="ledger">
            <h2 id="ledger">{t("knife-done")}</h2>
            {empty}
            <ol class="ledger">{entries}</ol>
            <p class="quiet">{t("knife-entries")}</p>
        </section>
        {scan}
    }
}

#[component]
fn LedgerEntry(
    entry: EntryLine,
    staff: bool,
    href: String,
    errors: shop::field::FieldErrors,
) -> impl IntoView {
    let figures = (!entry.figures.is_empty()).then(|| view! { <p>{entry.figures.clone()}</p> });
    let why = (!entry.why.is_empty()).then(|| view! { <p class="quiet">{entry.why.clone()}</p> });
    let who = (!entry.who.is_empty()).then(|| format!(", {}", entry.who));
    let corrected = entry.corrected.clone().map(|words| {
        view! { <Notice tone=Tone::Warn title=t("knife-corrected")><p>{words}</p></Notice> }
    });
    let form = entry.correcting.clone().filter(|_| staff).map(|id| {
        let said = |name: &str| errors.of(name).map(str::to_owned);
        view! {
            <form method="post" action=format!("{href}/correct") class="stack" novalidate>
                <input type="hidden" name="entry" value=id />
                <input type="hidden" name="piece" value=entry.piece.clone() />
                <p>"Only the figures that were wrong:"</p>
                <div class="fields">
                    <Field name="height" label="Height, middle" kind=Input::Length unit="mm" optional=true error=said("height") />
                    <Field name="behind_edge" label="Behind the edge" kind=Input::Length unit="mm" optional=true error=said("behind_edge") />
                    <Field name="spine" label="Spine" kind=Input::Length unit="mm" optional=true error=said("spine") />
                    <Field name="length" label="Edge length" kind=Input::Length unit="mm" optional=true error=said("length") />
                </div>
                <Field name="why" label="Why it was wrong" maxlength=200 error=said("why") />
                <button class="button" type="submit">"Add the correction"</button>
            </form>
        }
    });
    let correct = entry.correct_href.clone().filter(|_| staff && entry.corrected.is_none()).map(|href| {
        view! { <p><a href=href>"Correct it"</a></p> }
    });
    view! {
        <li id=entry.anchor>
            <p class="quiet">{entry.when}{who}</p>
            <p><strong>{entry.what}</strong></p>
            {figures}
            {why}
            {corrected}
            {correct}
            {form}
        </li>
    }
}

//! The owner's first page: what needs attention, and where everything is.

use leptos::prelude::*;

use super::{Changes, History, ShopHead, card};
use crate::parts::{Figure, Notice, Tone};

/// Something to look at.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct WarningLine {
    /// One or two sentences.
    pub words: String,
    /// Where to do something about it; empty: nowhere in here.
    pub href: String,
    /// What that place is called.
    pub place: String,
    /// It can hurt or lose something: shown first and red.
    pub grave: bool,
}

/// What the page shows.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OverviewView {
    /// The shop's name; empty until it is set up.
    pub name: String,
    /// What to look at.
    pub warnings: Vec<WarningLine>,
    /// When the last backup was made, in words.
    pub backup: String,
    /// Name, number, note, address.
    pub counts: Vec<(String, String, String, String)>,
    /// The latest changes.
    pub history: Vec<History>,
}

/// The owner's first page.
#[component]
pub fn OverviewPage(
    /// What is shown.
    of: OverviewView,
) -> impl IntoView {
    let warnings: Vec<_> = of
        .warnings
        .into_iter()
        .map(|line| {
            let link = (!line.href.is_empty()).then(|| view! { " " <a href=line.href>{line.place}</a> });
            let tone = if line.grave { Tone::Bad } else { Tone::Warn };
            view! { <Notice tone=tone><p>{line.words} {link}</p></Notice> }
        })
        .collect();
    let calm = warnings
        .is_empty()
        .then(|| view! { <Notice tone=Tone::Good>"Nothing needs your attention."</Notice> });
    let counts: Vec<_> = of
        .counts
        .into_iter()
        .map(|(label, value, note, href)| {
            let words = format!("See {}", label.to_lowercase());
            view! { {card("", view! {<Figure label=label value=value note=note /><p><a href=href>{words}</a></p>})} }
        })
        .collect();
    let history = (!of.history.is_empty()).then(|| {
        view! { {card("What was changed last", view! {<Changes history=of.history />})} }
    });
    view! {
        <ShopHead under="/shop" />
        <p class="quiet">{of.name}</p>
        <section class="stack" aria-label="What to look at">{calm} {warnings}</section>
        <div class="columns">{counts}</div>
        {card("Backups", view! {<p>{of.backup}</p>})}
        {card("Customers' own data", view! {
            <p>
                "When somebody asks what you keep about them, or wants to be forgotten: "
                <a href="/shop/customers">"export or erase a customer"</a> "."
            </p>
        })}
        {history}
    }
}

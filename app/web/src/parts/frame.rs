//! What holds other things together.

use leptos::prelude::*;

/// A sheet with one matter on it.
#[component]
pub fn Card(
    /// Its heading (an `h2`); empty: none.
    #[prop(optional, into)]
    title: String,
    /// Stands out by the accent's edge: the one thing to look at.
    #[prop(optional)]
    first: bool,
    /// What is on it.
    children: Children,
) -> impl IntoView {
    let title = (!title.is_empty()).then(|| view! { <h2>{title}</h2> });
    view! {
        <section class=if first { "card first" } else { "card" }>
            {title}
            {children()}
        </section>
    }
    .into_any()
}

/// The way back up: addresses and names from the top, then where one is.
#[component]
pub fn Crumbs(
    /// Address and name, from the top.
    trail: Vec<(String, String)>,
    /// What this page is called.
    #[prop(into)]
    here: String,
) -> impl IntoView {
    let links: Vec<_> =
        trail.into_iter().map(|(href, name)| view! { <li><a href=href>{name}</a></li> }).collect();
    view! {
        <nav class="crumbs" aria-label="Way back">
            <ol>{links}<li><span aria-current="page">{here}</span></li></ol>
        </nav>
    }
    .into_any()
}

/// Short facts: a word and what it is, in two columns where there is room.
#[component]
pub fn Facts(
    /// Word and fact.
    items: Vec<(String, AnyView)>,
) -> impl IntoView {
    let items: Vec<_> =
        items.into_iter().map(|(word, fact)| view! { <div><dt>{word}</dt><dd>{fact}</dd></div> }).collect();
    view! { <dl class="facts">{items}</dl> }.into_any()
}

/// Something most people need not read; opens without JavaScript.
#[component]
pub fn Fold(
    /// What is inside, in a few words.
    #[prop(into)]
    summary: String,
    /// Open from the start.
    #[prop(optional)]
    open: bool,
    /// What is inside.
    children: Children,
) -> impl IntoView {
    view! {
        <details class="fold" open=open>
            <summary>{summary}</summary>
            <div class="inside">{children()}</div>
        </details>
    }
    .into_any()
}

/// Wrap a whole bench page in this: dark, large, spaced for wet hands. It turns the page's frame dark as well.
#[component]
pub fn Bench(
    /// Follow the device's light or dark instead of staying dark.
    #[prop(optional)]
    light: bool,
    /// The page.
    children: Children,
) -> impl IntoView {
    view! { <div class=if light { "bench light" } else { "bench" }>{children()}</div> }.into_any()
}

/// One of several views of the same thing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tab {
    /// Where it is.
    pub href: String,
    /// What it is called, with its count if it has one.
    pub words: String,
    /// It is the one that is shown.
    pub shown: bool,
}

/// Views of the same thing side by side; plain links.
#[component]
pub fn Tabs(
    /// What they are views of, for those who do not see it.
    #[prop(into)]
    label: String,
    /// The views.
    tabs: Vec<Tab>,
) -> impl IntoView {
    let tabs: Vec<_> = tabs
        .into_iter()
        .map(|tab| view! { <li><a href=tab.href aria-current=tab.shown.then_some("page")>{tab.words}</a></li> })
        .collect();
    view! { <nav class="tabs" aria-label=label><ul>{tabs}</ul></nav> }.into_any()
}

/// The mark of the program and its name, for the foot of a page or a printed sheet.
#[component]
pub fn Wordmark() -> impl IntoView {
    view! {
        <span class="wordmark">
            <svg viewBox="0 0 32 32" width="24" height="24" aria-hidden="true" inner_html=super::drawing::MARK></svg>
            <span>"Whetledger"</span>
        </span>
    }
    .into_any()
}

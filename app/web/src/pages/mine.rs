//! All knives of one customer: how each stands, and when it may want us again.

use leptos::prelude::*;

use crate::parts::{Actions, Button, ButtonKind, ButtonLink, Card, Empty, Notice, Tone};
use crate::say::{t, tw};

/// One knife on the page.
#[derive(Debug, Clone, PartialEq)]
pub struct MyKnife {
    /// Its id, for the form that opens its ledger.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// Its tag.
    pub tag: String,
    /// Its height now and when new, in words; may be empty.
    pub height: String,
    /// How often it can still be done, in words; may be empty.
    pub left: String,
    /// Where it is: here, or when it went home.
    pub last: String,
    /// When it may want us again, and from what we think so.
    pub next: String,
    /// Height over the services and what is likely left (SVG); may be empty.
    pub fan: String,
}

/// What the page shows.
#[derive(Debug, Clone, PartialEq)]
pub struct MineView {
    /// The page's own path.
    pub path: String,
    /// Whose knives.
    pub name: String,
    /// The knives.
    pub knives: Vec<MyKnife>,
    /// They asked to be reminded.
    pub reminded: bool,
    /// What was just done.
    pub said: Option<String>,
}

/// All knives of one customer.
#[component]
pub fn MinePage(
    /// What it shows.
    view: MineView,
) -> impl IntoView {
    let said = view.said.map(|words| view! { <Notice tone=Tone::Good><p>{words}</p></Notice> });
    let path = view.path;
    let none = view.knives.is_empty().then(|| {
        view! { <Empty title=t("mine-none")><p>{t("mine-none-say")}</p></Empty> }
    });
    let knives: Vec<_> =
        view.knives.into_iter().map(|knife| view! { <OneKnife knife=knife path=path.clone() /> }).collect();
    let (remind_say, remind_button, remind) = if view.reminded {
        (t("mine-reminded"), t("mine-remind-stop"), "no")
    } else {
        (t("mine-remind-say"), t("mine-remind"), "yes")
    };
    view! {
        <article class="visit stack">
            <header class="page-head">
                <h1>{t("mine-title")}</h1>
                <p>{tw("mine-say", &[("name", &view.name)])}</p>
            </header>
            {said}
            {none}
            {knives}
            <Card title=t("mine-remind-title")>
                <p>{remind_say}</p>
                <form method="post" action=format!("{path}/remind")>
                    <Actions><Button name="remind" value=remind>{remind_button}</Button></Actions>
                </form>
            </Card>
            <p class="actions"><ButtonLink href="/book" kind=ButtonKind::Primary>{t("home-book")}</ButtonLink></p>
        </article>
    }
    .into_any()
}

#[component]
fn OneKnife(knife: MyKnife, path: String) -> impl IntoView {
    let fact = |word: &str, fact: String| {
        let word = t(word);
        (!fact.is_empty()).then(|| view! { <div><dt>{word}</dt><dd>{fact}</dd></div> })
    };
    let fan = (!knife.fan.is_empty()).then(|| view! { <div class="drawing" inner_html=knife.fan></div> });
    view! {
        <section class="card piece">
            <header class="piece-head"><h2>{knife.name}</h2><span class="reference">{knife.tag}</span></header>
            <dl class="facts">
                {fact("mine-last", knife.last)}
                {fact("knife-today", knife.height)}
                {fact("knife-services", knife.left)}
                {fact("mine-next", knife.next)}
            </dl>
            {fan}
            <form method="post" action=format!("{path}/ledger")>
                <input type="hidden" name="knife" value=knife.id />
                <Button kind=ButtonKind::Quiet>{t("ledger-of")}</Button>
            </form>
        </section>
    }
    .into_any()
}

/// The page behind a link that opens once: a button, so that a mail program that looks at links does not use it up.
#[component]
pub fn OncePage(
    /// Where the button leads; `None`: the link has been used, or is past its day.
    action: Option<String>,
) -> impl IntoView {
    match action {
        Some(action) => view! {
            <article class="card narrow">
                <h1>{t("mine-title")}</h1>
                <p>{t("once-say")}</p>
                <form method="post" action=action>
                    <Actions><Button kind=ButtonKind::Primary>{t("once-open")}</Button></Actions>
                </form>
            </article>
        }
        .into_any(),
        None => view! {
            <article class="card narrow problem">
                <h1>{t("once-used")}</h1>
                <p>{t("once-used-say")}</p>
                <p class="actions"><ButtonLink href="/link" kind=ButtonKind::Primary>{t("link-new")}</ButtonLink></p>
            </article>
        }
        .into_any(),
    }
}

/// Ends reminders.
#[component]
pub fn StopPage(
    /// Where the button leads; `None`: it is done, or there was nothing to end.
    action: Option<String>,
) -> impl IntoView {
    match action {
        Some(action) => view! {
            <article class="card narrow">
                <h1>{t("stop-title")}</h1>
                <p>{t("stop-say")}</p>
                <form method="post" action=action>
                    <Actions><Button kind=ButtonKind::Primary>{t("mine-remind-stop")}</Button></Actions>
                </form>
            </article>
        }
        .into_any(),
        None => view! {
            <article class="card narrow">
                <h1>{t("stop-done")}</h1>
                <p>{t("stop-done-say")}</p>
                <p><a href="/">{t("to-beginning")}</a></p>
            </article>
        }
        .into_any(),
    }
}

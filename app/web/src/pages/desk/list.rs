//! What needs a hand now, most urgent first.

use leptos::prelude::*;

use crate::parts::{Badge, Button, ButtonKind, Empty, Field, Input, Notice, Picture, Tone};

/// One thing to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Where it is done.
    pub href: String,
    /// Tag, or reference.
    pub code: String,
    /// What it is about.
    pub name: String,
    /// Whose it is.
    pub who: String,
    /// Why it stands here.
    pub why: String,
    /// By when, for people.
    pub when: String,
    /// Past that.
    pub late: bool,
}

/// One kind of thing to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    /// Its id on the page.
    pub id: &'static str,
    /// Its heading.
    pub title: &'static str,
    /// What is in it.
    pub rows: Vec<Row>,
}

/// The desk's list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct DeskView {
    /// What was looked for.
    pub looked_for: String,
    /// Why it was not found.
    pub not_found: Option<String>,
    /// What was just done.
    pub done: Option<String>,
    /// What there is to do.
    pub sections: Vec<Section>,
}

/// The one field that takes every code: typed, or scanned by a reader that types and presses Enter.
#[component]
pub fn CodeField(
    /// What was looked for.
    #[prop(optional, into)]
    value: String,
    /// Why it was not found.
    #[prop(optional, into)]
    error: String,
    /// Takes the focus.
    #[prop(optional)]
    focus: bool,
) -> impl IntoView {
    view! {
        <form method="get" action="/desk" class="scan row" role="search">
            <Field
                name="code"
                label="Tag or reference"
                kind=Input::Tag
                value=value
                error=error
                autofocus=focus
                maxlength=200
            />
            <Button kind=ButtonKind::Primary>"Open"</Button>
        </form>
    }
}

/// What needs a hand.
#[component]
pub fn DeskPage(
    /// The list.
    desk: DeskView,
) -> impl IntoView {
    let done = desk.done.map(|words| view! { <Notice tone=Tone::Good><p>{words}</p></Notice> });
    let ways: Vec<_> = desk
        .sections
        .iter()
        .map(|s| {
            view! { <li><a href=format!("#{}", s.id)>{s.title}" "<span class="count">{s.rows.len()}</span></a></li> }
        })
        .collect();
    let nothing = desk.sections.is_empty().then(|| {
        view! {
            <Empty title="Nothing needs a hand">
                <p>"No knife is here and none is expected. Booked visits appear by themselves."</p>
            </Empty>
        }
    });
    let sections: Vec<_> =
        desk.sections.into_iter().map(|section| view! { <Jobs section=section /> }).collect();
    view! {
        <h1>"Desk"</h1>
        {done}
        <CodeField value=desk.looked_for error=desk.not_found.unwrap_or_default() focus=true />
        <nav class="tabs" aria-label="On this page"><ul>{ways}</ul></nav>
        {nothing}
        {sections}
    }
}

#[component]
fn Jobs(section: Section) -> impl IntoView {
    let rows: Vec<_> = section
        .rows
        .into_iter()
        .map(|row| {
            let (tone, picture) =
                if row.late { (Tone::Bad, Picture::Bad) } else { (Tone::Plain, Picture::Clock) };
            view! {
                <li class="job">
                    <a class="what" href=row.href>
                        <span class="code reference">{row.code}</span>
                        " "
                        <span class="name">{row.name}</span>
                    </a>
                    <p class="why">{row.why}</p>
                    <p class="quiet">{row.who}</p>
                    <Badge words=row.when tone=tone picture=picture />
                </li>
            }
        })
        .collect();
    view! {
        <section class="jobs" aria-labelledby=section.id>
            <h2 id=section.id>{section.title}</h2>
            <ul class="job-list">{rows}</ul>
        </section>
    }
}

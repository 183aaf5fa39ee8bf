//! The owner's pages: what the shop is, asks, owns, and how it fares.

mod crew;
mod customers;
mod exchange;
mod figures;
mod hours;
mod models;
mod overview;
mod plot;
mod prices;
mod profile;
mod stations;
mod steels;
mod wheels;
mod wording;

pub use crew::{CrewPage, OneTime, PersonLine, PersonPage, PersonView};
pub use customers::{CustomersPage, Found};
pub use exchange::{ExchangePage, ExchangeView, TriedLine};
pub use figures::{
    FiguresPage, FiguresView, LearnedLine, MishapLine, Month, Share, TakenLine, WorkLine, WornLine,
};
pub use hours::HoursPage;
pub use models::{ModelLine, ModelPage, ModelView, ModelsPage};
pub use overview::{OverviewPage, OverviewView, WarningLine};
pub use prices::PricesPage;
pub use profile::ProfilePage;
pub use stations::{StationLine, StationPage, StationView, StationsPage};
pub use steels::{FigureLine, SteelLine, SteelPage, SteelView, SteelsPage, SteelsView};
pub use wheels::{WheelLine, WheelPage, WheelView, WheelsPage};
pub use wording::{WordingLine, WordingPage, WordingView};

use leptos::prelude::*;
use shop::field::FieldErrors;
use shop::owner::Typed;

use crate::parts::{
    Card, Crumbs, ErrorSummary, Field, Fold, Input, Notice, Opt, Select, TextArea, Tick, Tone,
};

/// One form as it is shown: what stands in it, what is wrong, and what was changed before.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sheet {
    /// What stands in the fields.
    pub typed: Typed,
    /// What is wrong with them.
    pub errors: FieldErrors,
    /// Sent back, so that nobody overwrites anybody.
    pub version: i64,
    /// It was saved, or something else to know.
    pub said: Option<String>,
    /// Somebody else saved it meanwhile: by what theirs differs from what was typed, a line each.
    pub stale: Option<Vec<String>>,
    /// Who changed it before, newest first.
    pub history: Vec<History>,
}

/// One earlier change.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct History {
    /// When and by whom.
    pub head: String,
    /// What, a line each.
    pub lines: Vec<String>,
}

/// A field of a sheet: its name, what is asked, the unit, and help.
#[derive(Debug, Clone, Copy, Default)]
struct Ask<'a> {
    name: &'a str,
    label: &'a str,
    unit: &'a str,
    hint: &'a str,
    kind: Input,
    optional: bool,
}

impl<'a> Ask<'a> {
    fn of(name: &'a str, label: &'a str) -> Self {
        Self { name, label, ..Self::default() }
    }
    fn kind(self, kind: Input) -> Self {
        Self { kind, ..self }
    }
    fn hint(self, hint: &'a str) -> Self {
        Self { hint, ..self }
    }
    fn unit(self, unit: &'a str) -> Self {
        Self { unit, kind: if self.kind == Input::Text { Input::Figure } else { self.kind }, ..self }
    }
    fn optional(self) -> Self {
        Self { optional: true, ..self }
    }
}

impl Sheet {
    fn field(&self, ask: Ask<'_>) -> AnyView {
        view! {
            <Field
                name=ask.name
                label=ask.label
                kind=ask.kind
                unit=ask.unit
                hint=ask.hint
                value=self.typed.get(ask.name)
                error=self.errors.of(ask.name)
                optional=ask.optional
            />
        }
        .into_any()
    }

    fn text(&self, name: &str, label: &str, hint: &str, rows: u32) -> AnyView {
        view! {
            <TextArea
                name=name
                label=label
                hint=hint
                rows=rows
                value=self.typed.get(name)
                error=self.errors.of(name)
            />
        }
        .into_any()
    }

    fn tick(&self, name: &str, label: &str, hint: &str) -> AnyView {
        view! { <Tick name=name label=label hint=hint checked=self.typed.ticked(name) error=self.errors.of(name) /> }.into_any()
    }

    fn select(&self, name: &str, label: &str, hint: &str, options: Vec<Opt>) -> AnyView {
        view! {
            <Select
                name=name
                label=label
                hint=hint
                options=options
                chosen=self.typed.get(name)
                error=self.errors.of(name)
            />
        }
        .into_any()
    }

    /// What stands above a form: that it was saved, that somebody else was quicker, what is wrong.
    fn head(&self) -> AnyView {
        let said = self.said.clone().map(|text| view! { <Notice tone=Tone::Good>{text}</Notice> });
        let stale = self.stale.clone().map(|lines| {
            let lines: Vec<_> = lines.into_iter().map(|line| view! { <li>{line}</li> }).collect();
            view! {
                <Notice tone=Tone::Warn title="Somebody else has saved this in the meantime">
                    <p>"What you typed is still below. Saving now would change, against what they saved:"</p>
                    <ul>{lines}</ul>
                </Notice>
            }
        });
        view! { {said} {stale} <ErrorSummary errors=self.errors.clone() /> }.into_any()
    }

    /// Who changed it before.
    fn foot(&self) -> AnyView {
        if self.history.is_empty() {
            return ().into_any();
        }
        let history = self.history.clone();
        view! { <Fold summary="Who changed this, and when"><Changes history=history /></Fold> }.into_any()
    }

    fn version(&self) -> AnyView {
        view! { <input type="hidden" name="version" value=self.version.to_string() /> }.into_any()
    }
}

/// A sheet with one matter on it; what is inside is made at once, so that it may borrow the form.
fn card(title: &str, inside: impl IntoView + 'static) -> AnyView {
    view! { <Card title=title>{inside}</Card> }.into_any()
}

/// Earlier changes as a list.
#[component]
fn Changes(history: Vec<History>) -> impl IntoView {
    let items: Vec<_> = history
        .into_iter()
        .map(|change| {
            let lines: Vec<_> = change.lines.into_iter().map(|line| view! { <li>{line}</li> }).collect();
            view! { <li><p class="quiet">{change.head}</p><ul>{lines}</ul></li> }
        })
        .collect();
    view! { <ul class="changes">{items}</ul> }
}

/// The owner's pages, for the way around among them.
const PAGES: [(&str, &str); 12] = [
    ("/shop", "Overview"),
    ("/shop/profile", "Profile and rules"),
    ("/shop/hours", "Hours"),
    ("/shop/prices", "Prices"),
    ("/shop/wording", "Wording of notices"),
    ("/shop/models", "Models"),
    ("/shop/wheels", "Wheels and stones"),
    ("/shop/steels", "Steels"),
    ("/shop/stations", "Stations"),
    ("/shop/crew", "People"),
    ("/shop/figures", "Figures"),
    ("/shop/csv", "CSV"),
];

/// The way around among the owner's pages, and the heading.
#[component]
fn ShopHead(
    /// Which of the pages this is, or lies under.
    under: &'static str,
    /// The heading; empty: the page's own name.
    #[prop(optional, into)]
    title: String,
) -> impl IntoView {
    let own = PAGES.iter().find(|(path, _)| *path == under).map_or("Shop", |(_, name)| *name);
    let links: Vec<_> = PAGES
        .iter()
        .map(|(path, name)| {
            let current = (*path == under).then_some("page");
            view! { <li><a href=*path aria-current=current>{*name}</a></li> }
        })
        .collect();
    let crumbs = (!title.is_empty()).then(|| {
        let trail = vec![(under.to_owned(), own.to_owned())];
        view! { <Crumbs trail=trail here=title.clone() /> }
    });
    let heading = if title.is_empty() { own.to_owned() } else { title };
    view! {
        <nav class="shop-way no-print" aria-label="Shop"><ul>{links}</ul></nav>
        {crumbs}
        <h1>{heading}</h1>
    }
}

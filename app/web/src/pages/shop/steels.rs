//! Steels: the table by open designation, each figure with its source, and the shop's own.

use leptos::prelude::*;
use shop::owner::Typed;

use super::{Ask, Sheet, ShopHead, card};
use crate::parts::{
    Actions, Button, ButtonKind, ButtonLink, Choice, Column, DataTable, Input, Opt, TextArea,
};

/// One figure as it is shown: value, range, source.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct FigureLine {
    /// The value and, where there is one, its range.
    pub value: String,
    /// Where it was printed.
    pub source: String,
}

/// A steel in the list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SteelLine {
    /// Its page, if it is the shop's own.
    pub href: Option<String>,
    /// Its designation.
    pub name: String,
    /// Its other designations.
    pub others: String,
    /// Density, conductivity, heat capacity.
    pub figures: Vec<FigureLine>,
    /// Hardness after tempering: the first and last of the row.
    pub tempering: FigureLine,
    /// Usual hardness of a knife edge, HRC.
    pub hardness: String,
    /// How fast it grinds against 1.3505.
    pub grindability: String,
    /// How it stands up to water.
    pub corrosion: String,
}

/// The table.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SteelsView {
    /// The shop's own steels.
    pub own: Vec<SteelLine>,
    /// The table.
    pub table: Vec<SteelLine>,
    /// What was just done.
    pub sheet: Sheet,
}

fn table(caption: &'static str, lines: Vec<SteelLine>) -> AnyView {
    let columns = vec![
        Column::words("Steel"),
        Column::words("Density, kg/m³"),
        Column::words("Conductivity, W/(m·K)"),
        Column::words("Heat capacity, J/(kg·K)"),
        Column::words("Tempered to"),
        Column::figures("Edge", "HRC"),
        Column::figures("Grinds against 1.3505", ""),
        Column::words("Water"),
    ];
    let cell = |figure: FigureLine| {
        view! { <span>{figure.value}</span><br /><small class="quiet">{figure.source}</small> }.into_any()
    };
    let rows = lines
        .into_iter()
        .map(|line| {
            let name = match line.href {
                Some(href) => view! { <a href=href>{line.name}</a> }.into_any(),
                None => view! { <strong>{line.name}</strong> }.into_any(),
            };
            let mut cells = vec![view! { {name}<br /><small class="quiet">{line.others}</small> }.into_any()];
            cells.extend(line.figures.into_iter().map(cell));
            cells.push(cell(line.tempering));
            cells.push(line.hardness.into_any());
            cells.push(line.grindability.into_any());
            cells.push(line.corrosion.into_any());
            cells
        })
        .collect();
    view! { <DataTable caption=caption columns=columns rows=rows /> }.into_any()
}

/// All steels.
#[component]
pub fn SteelsPage(
    /// The lists.
    of: SteelsView,
) -> impl IntoView {
    let own = (!of.own.is_empty()).then(|| table("Your own", of.own));
    view! {
        <ShopHead under="/shop/steels" />
        {of.sheet.head()}
        <p>
            "By these figures the program reckons mass, heat and life. A steel that is neither here nor among your own is reckoned with cautious figures."
        </p>
        {own}
        <Actions><ButtonLink href="/shop/steels/new" kind=ButtonKind::Primary>"Add a steel"</ButtonLink></Actions>
        {table("The table", of.table)}
        <p class="quiet">
            "“card” is a maker-neutral technical card to the standard named, “table” a printed property table, “from memory” means just that. How fast a steel grinds is common practice, good to a factor of 1.5."
        </p>
        {of.sheet.foot()}
    }
}

/// What the page of one own steel shows.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SteelView {
    /// The form.
    pub sheet: Sheet,
    /// Its designation as it is stored; empty for a new one.
    pub name: String,
    /// The figures with a range: field, words and unit.
    pub figures: Vec<(String, String, String)>,
    /// Corrosion classes: code and words.
    pub corrosion: Vec<(String, String)>,
}

/// One of the shop's own steels, or a new one.
#[component]
pub fn SteelPage(
    /// What is shown.
    of: SteelView,
) -> impl IntoView {
    let sheet = of.sheet;
    let f = |ask: Ask<'_>| sheet.field(ask);
    let new = of.name.is_empty();
    let title = if new { "A steel of your own".to_owned() } else { of.name.clone() };
    let action = if new { "/shop/steels/new".to_owned() } else { format!("/shop/steels/{}", of.name) };
    let figures: Vec<_> = of
        .figures
        .into_iter()
        .map(|(key, words, unit)| {
            let at = |end: &str| format!("{key}-{end}");
            let inside = view! {
                <div class="columns">
                    {f(Ask::of(&key, "Value").kind(Input::Figure))}
                    {f(Ask::of(&at("least"), "Least published").kind(Input::Figure).optional())}
                    {f(Ask::of(&at("most"), "Greatest published").kind(Input::Figure).optional())}
                    {f(Ask::of(&at("source"), "Where it was printed"))}
                </div>
            };
            card(&format!("{words}, {unit}"), inside)
        })
        .collect();
    let corrosion = of.corrosion.into_iter().map(|(code, words)| Opt::new(code, words)).collect();
    let remove = (!new).then(|| {
        let action = format!("/shop/steels/{}/remove", of.name);
        view! {
            {card("Take it out", view! {
                <p class="quiet">"Knives of this steel are then reckoned with cautious figures."</p>
                <form method="post" action=action>{sheet.version()}<Button>"Take it out"</Button></form>
            })}
        }
    });
    view! {
        <ShopHead under="/shop/steels" title=title />
        {sheet.head()}
        <form method="post" action=action novalidate>
            {sheet.version()}
            {card("What it is called", view! {
                <div class="columns">
                    {f(Ask::of("name", "Designation").hint("An open one, after EN, AISI/SAE or JIS."))}
                    {f(Ask::of("designations", "Other designations").hint("With commas between them.").optional())}
                </div>
            })}
            {figures}
            {card("Hardness", view! {
                <div class="columns">
                    {f(Ask::of("hardness-least", "Usual edge, least").unit("HRC"))}
                    {f(Ask::of("hardness-most", "Usual edge, greatest").unit("HRC"))}
                </div>
                <TextArea
                    name="tempering"
                    label="Hardness after tempering"
                    hint="A line each, rising: degrees Celsius and HRC, such as 200 61.5. Empty: it is then kept as cool as the most delicate steel of the table."
                    value=sheet.typed.get("tempering")
                    error=sheet.errors.of("tempering")
                    rows=6
                    optional=true
                />
                {f(Ask::of("tempering-source", "Where that row was printed").optional())}
            })}
            {card("Grinding and water", view! {
                {f(Ask::of("grindability", "How fast it grinds against 1.3505").kind(Input::Figure).hint("1 grinds like bearing steel, 0.5 takes twice as long. Common practice, good to a factor of 1.5."))}
                <Choice name="corrosion" legend="Water" options=corrosion chosen=sheet.typed.get("corrosion") error=sheet.errors.of("corrosion") />
            })}
            <Actions><Button kind=ButtonKind::Primary>{if new { "Add the steel" } else { "Save the steel" }}</Button></Actions>
        </form>
        {remove}
        {sheet.foot()}
    }
}

impl SteelView {
    /// An empty form.
    pub fn fresh() -> Typed {
        let mut typed = Typed::default();
        typed.set("grindability", "1");
        typed
    }
}

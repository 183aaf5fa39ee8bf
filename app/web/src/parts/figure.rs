//! Figures: a number, its unit, what it is.

use leptos::prelude::*;
use shop::lang::Lang;
use shop::money::{Money, MoneyRange};

/// A figure that matters: the number large, the unit small beside it, above it what it is.
#[component]
pub fn Figure(
    /// What it is.
    #[prop(into)]
    label: String,
    /// The number as text, already rounded to what is known.
    #[prop(into)]
    value: String,
    /// Its unit.
    #[prop(optional, into)]
    unit: String,
    /// One line under it: of what, since when, how sure.
    #[prop(optional, into)]
    note: String,
    /// Legible at two metres: for the target of the hour at the bench.
    #[prop(optional)]
    big: bool,
) -> impl IntoView {
    let unit = (!unit.is_empty()).then(|| view! { <span class="unit">{spaced(&unit)}</span> });
    let note = (!note.is_empty()).then(|| view! { <p class="note">{note}</p> });
    view! {
        <div class=if big { "figure big" } else { "figure" }>
            <p class="what">{label}</p>
            <p class="value"><span class="number">{value}</span>{unit}</p>
            {note}
        </div>
    }
    .into_any()
}

/// A figure known only between two ends: `0.2 to 0.4 mm`.
#[component]
pub fn Range(
    /// What it is.
    #[prop(into)]
    label: String,
    /// The least.
    #[prop(into)]
    low: String,
    /// The most.
    #[prop(into)]
    high: String,
    /// The unit of both.
    #[prop(optional, into)]
    unit: String,
    /// One line under it.
    #[prop(optional, into)]
    note: String,
) -> impl IntoView {
    let unit = (!unit.is_empty()).then(|| view! { <span class="unit">{spaced(&unit)}</span> });
    let note = (!note.is_empty()).then(|| view! { <p class="note">{note}</p> });
    let numbers = if low == high {
        view! { <span class="number">{high}</span> }.into_any()
    } else {
        view! { <span class="number">{low}</span> <span class="to">" to "</span> <span class="number">{high}</span> }
            .into_any()
    };
    view! {
        <div class="figure">
            <p class="what">{label}</p>
            <p class="value">{numbers}{unit}</p>
            {note}
        </div>
    }
    .into_any()
}

/// An amount of money with its ISO 4217 code: figures that line up under one another.
#[component]
pub fn Amount(
    /// How much.
    money: Money,
    /// The currency's code.
    #[prop(into)]
    currency: String,
    /// The language; the page's own when it is not said. Islands have to say it.
    #[prop(optional)]
    lang: Option<Lang>,
) -> impl IntoView {
    let shown = lang.unwrap_or_else(crate::say::lang).money(money, &currency);
    let number = shown.trim_end_matches(&currency).trim_end().replace('-', "\u{2212}");
    view! { <span class="money"><span class="number">{number}</span><span class="unit">{spaced(&currency)}</span></span> }.into_any()
}

/// A price not known exactly yet.
#[component]
pub fn AmountRange(
    /// From, to.
    range: MoneyRange,
    /// The currency's code.
    #[prop(into)]
    currency: String,
    /// The language; the page's own when it is not said. Islands have to say it.
    #[prop(optional)]
    lang: Option<Lang>,
) -> impl IntoView {
    let shown = lang.unwrap_or_else(crate::say::lang).money_range(range, &currency);
    let number = shown.trim_end_matches(&currency).trim_end().to_owned();
    view! { <span class="money"><span class="number">{number}</span><span class="unit">{spaced(&currency)}</span></span> }.into_any()
}

/// The unit with the space that keeps it at its number; the sign of degrees stands without one (ISO 80000-1).
fn spaced(unit: &str) -> String {
    if unit.starts_with('\u{b0}') && unit.chars().count() == 1 {
        unit.to_owned()
    } else {
        format!("\u{a0}{unit}")
    }
}

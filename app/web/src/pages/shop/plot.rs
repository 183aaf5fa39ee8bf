//! Plots of the owner's figures: a word, a bar to scale, a figure; colours come from the stylesheet. Words are text of the page,
//! so that they keep their size on a phone. Beside each plot stands a table that says the same.

use leptos::prelude::*;

/// One bar: what it is, how long it is drawn, how long it is said to be, and whether it stands out.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Bar {
    pub(super) label: String,
    pub(super) value: f64,
    pub(super) words: String,
    pub(super) class: &'static str,
}

/// Bars lying under one another, drawn from zero to the longest. `title` is read out.
pub(super) fn lying(title: &str, bars: &[Bar]) -> AnyView {
    let most = bars.iter().map(|bar| bar.value.abs()).fold(0.0, f64::max).max(f64::MIN_POSITIVE);
    lying_of(title, bars, most)
}

/// The same, drawn from zero to `most`.
pub(super) fn lying_of(title: &str, bars: &[Bar], most: f64) -> AnyView {
    let rows = bars
        .iter()
        .map(|bar| {
            let width = bar.value.abs() / most * 100.0;
            let drawn = (width > 0.0).then(|| {
                view! { <rect class=bar.class x="0" y="0" width=px(width.max(0.5)) height="10"></rect> }
            });
            let base = view! { <line class="axis" x1="0" x2="0" y1="-1" y2="11"></line> };
            row(&bar.label, view! { {drawn} {base} }.into_any(), &bar.words)
        })
        .collect();
    framed(title, rows)
}

/// A middle with the spread around it: what was counted on, or what the ledger says.
pub(super) struct Spread {
    pub(super) label: String,
    pub(super) low: f64,
    pub(super) middle: f64,
    pub(super) high: f64,
    pub(super) class: &'static str,
}

/// Ranges on one scale from zero, the middle of each in words with its `unit`.
pub(super) fn ranges(title: &str, spreads: &[Spread], unit: &str) -> AnyView {
    let most = spreads.iter().map(|row| row.high).fold(0.0, f64::max).max(f64::MIN_POSITIVE);
    let at = |value: f64| value / most * 100.0;
    let rows = spreads
        .iter()
        .map(|spread| {
            let (low, middle, high) = (at(spread.low), at(spread.middle), at(spread.high));
            let drawn = view! {
                <line class="axis" x1="0" x2="0" y1="-1" y2="11"></line>
                <rect class=spread.class x=px(low) y="1" width=px((high - low).max(0.5)) height="8"></rect>
                <line class="line" x1=px(middle) x2=px(middle) y1="-1" y2="11"></line>
            };
            row(&spread.label, drawn.into_any(), &format!("{:.2} {unit}", spread.middle))
        })
        .collect();
    framed(title, rows)
}

fn row(label: &str, drawn: AnyView, words: &str) -> AnyView {
    view! {
        <li>
            <span class="label">{label.to_owned()}</span>
            <svg class="drawing" viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true">{drawn}</svg>
            <span class="words">{words.to_owned()}</span>
        </li>
    }
    .into_any()
}

fn framed(title: &str, rows: Vec<AnyView>) -> AnyView {
    view! { <ul class="bars" aria-label=title.to_owned()>{rows}</ul> }.into_any()
}

fn px(value: f64) -> String {
    shop::units::short(value, 2)
}

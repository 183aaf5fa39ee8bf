//! Plots of the owner's figures: plain SVG whose colours come from the stylesheet, and beside each a table that says the same.

use leptos::prelude::*;

/// One bar: what it is, how long it is drawn, how long it is said to be, and whether it stands out.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Bar {
    pub(super) label: String,
    pub(super) value: f64,
    pub(super) words: String,
    pub(super) class: &'static str,
}

const WIDTH: f64 = 640.0;
const ROW: f64 = 30.0;
const LABEL: f64 = 190.0;
const WORDS: f64 = 120.0;

/// Bars lying under one another, drawn from zero. `title` is read out.
pub(super) fn lying(title: &str, bars: &[Bar]) -> AnyView {
    let most = bars.iter().map(|bar| bar.value.abs()).fold(0.0, f64::max).max(f64::MIN_POSITIVE);
    let height = ROW * bars.len() as f64;
    let drawn: Vec<_> = bars
        .iter()
        .enumerate()
        .map(|(i, bar)| {
            let y = ROW * i as f64;
            let width = (bar.value.abs() / most * (WIDTH - LABEL - WORDS)).max(1.0);
            view! {
                <text x="0" y=px(y + 20.0)>{bar.label.clone()}</text>
                <rect class=bar.class x=px(LABEL) y=px(y + 4.0) width=px(width) height=px(ROW - 8.0)></rect>
                <text x=px(LABEL + width + 8.0) y=px(y + 20.0) class="quiet">{bar.words.clone()}</text>
            }
        })
        .collect();
    framed(title, WIDTH, height, drawn.into_any())
}

/// Bars standing beside one another: a distribution or a year of months.
pub(super) fn standing(title: &str, bars: &[Bar]) -> AnyView {
    const TALL: f64 = 180.0;
    let most = bars.iter().map(|bar| bar.value.abs()).fold(0.0, f64::max).max(f64::MIN_POSITIVE);
    let step = WIDTH / bars.len().max(1) as f64;
    // Every label only where there is room for it.
    let every = if step < 48.0 { 2 } else { 1 };
    let drawn: Vec<_> = bars
        .iter()
        .enumerate()
        .map(|(i, bar)| {
            let tall = bar.value.abs() / most * TALL;
            let (x, y) = (step * i as f64, 24.0 + TALL - tall);
            let middle = px(x + step / 2.0);
            let label = (i % every == 0).then(|| {
                view! { <text x=middle.clone() y=px(24.0 + TALL + 18.0) text-anchor="middle">{bar.label.clone()}</text> }
            });
            view! {
                <rect class=bar.class x=px(x + 3.0) y=px(y) width=px((step - 6.0).max(1.0)) height=px(tall)></rect>
                <text x=middle.clone() y=px(y - 6.0) text-anchor="middle" class="quiet">{bar.words.clone()}</text>
                {label}
            }
        })
        .collect();
    let base = px(24.0 + TALL);
    let all = view! { {drawn} <line class="axis" x1="0" x2=px(WIDTH) y1=base.clone() y2=base></line> };
    framed(title, WIDTH, TALL + 50.0, all.into_any())
}

/// Two middles with the spread around them: what was counted on, and what the ledger says.
pub(super) struct Spread {
    pub(super) label: String,
    pub(super) low: f64,
    pub(super) middle: f64,
    pub(super) high: f64,
    pub(super) class: &'static str,
}

/// Ranges on one axis from zero, `unit` at its ends.
pub(super) fn ranges(title: &str, rows: &[Spread], unit: &str) -> AnyView {
    let most = rows.iter().map(|row| row.high).fold(0.0, f64::max).max(f64::MIN_POSITIVE);
    let at = |value: f64| LABEL + 60.0 + value / most * (WIDTH - LABEL - 130.0);
    let height = ROW * rows.len() as f64;
    let drawn: Vec<_> = rows
        .iter()
        .enumerate()
        .map(|(i, row)| {
            let y = ROW * i as f64 + 15.0;
            view! {
                <text x="0" y=px(y + 5.0)>{row.label.clone()}</text>
                <rect class=row.class x=px(at(row.low)) y=px(y - 7.0) width=px((at(row.high) - at(row.low)).max(1.0)) height="14"></rect>
                <line class="line" x1=px(at(row.middle)) x2=px(at(row.middle)) y1=px(y - 11.0) y2=px(y + 11.0)></line>
            }
        })
        .collect();
    let axis = view! {
        <line class="axis" x1=px(at(0.0)) x2=px(at(most)) y1=px(height + 6.0) y2=px(height + 6.0)></line>
        <text x=px(at(0.0)) y=px(height + 24.0) class="quiet">"0"</text>
        <text x=px(at(most)) y=px(height + 24.0) text-anchor="end" class="quiet">{format!("{most:.2} {unit}")}</text>
    };
    framed(title, WIDTH, height + 30.0, view! { {drawn} {axis} }.into_any())
}

fn framed(title: &str, width: f64, height: f64, inside: AnyView) -> AnyView {
    view! {
        <div class="drawing-scroll" tabindex="0" role="group" aria-label=title.to_owned()>
            <svg class="drawing plot" viewBox=format!("0 0 {} {}", px(width), px(height)) role="img" aria-label=title.to_owned()>
                {inside}
            </svg>
        </div>
    }
    .into_any()
}

fn px(value: f64) -> String {
    shop::units::short(value, 1)
}

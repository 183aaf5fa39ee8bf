//! The figures that matter, each as a plot and as the table behind it.

use leptos::prelude::*;
use shop::units::short;

use super::plot::{self, Bar, Spread};
use super::{Sheet, ShopHead, card};
use crate::parts::{Button, Column, DataTable, Empty, Figure, Fold, Notice, Tone};

/// Part of a whole: how many of something fell into one drawer.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Share {
    /// The drawer.
    pub label: String,
    /// How many.
    pub n: usize,
    /// It is a bad drawer.
    pub bad: bool,
}

/// Estimated against actual for one kind of work, or changeovers against work at one station. Minutes.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct WorkLine {
    /// The kind or the station.
    pub label: String,
    /// How many.
    pub n: usize,
    /// Estimated minutes, or work.
    pub first: u64,
    /// Actual minutes, or changeovers.
    pub second: u64,
}

/// What the ledger teaches: millimetres a service of one kind of edge, or mm³ a minute of one operation on one steel.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct LearnedLine {
    /// The kind, or the operation and the steel.
    pub label: String,
    /// Services measured, or steps done.
    pub n: usize,
    /// Counted on now: low, middle, high (a tenth below, half, a tenth above); `None`: nothing is.
    pub now: Option<(f64, f64, f64)>,
    /// After the ledger.
    pub ledger: (f64, f64, f64),
}

/// The height services took from knives of one steel, or on one setup.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TakenLine {
    /// The steel, or the setup.
    pub label: String,
    /// Services measured.
    pub n: usize,
    /// The least that was taken, millimetres.
    pub least: f64,
    /// Half took less, millimetres.
    pub middle: f64,
    /// The most that was taken, millimetres.
    pub most: f64,
}

/// Knives that were lost, or damaged, here.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct MishapLine {
    /// What happened.
    pub label: String,
    /// To how many.
    pub n: usize,
    /// How many of them are settled with the customer.
    pub settled: usize,
    /// What that came to, in words.
    pub amount: String,
}

/// How far a wheel is worn.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct WornLine {
    /// Its mark and name.
    pub label: String,
    /// Diameter when new, today, and at which it is taken off, mm.
    pub diameters: (f64, f64, f64),
    /// What is left of the way between, 0 to 1.
    pub share: f64,
    /// Pieces ground on it.
    pub pieces: u32,
    /// Pieces it may still grind, where that can be said.
    pub left: Option<u32>,
}

/// One month's bills.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Month {
    /// Its short name.
    pub label: String,
    /// Its whole name.
    pub name: String,
    /// Minor units, tax included.
    pub total_minor: i64,
    /// The total in words.
    pub total: String,
    /// The tax in it, in words.
    pub tax: String,
    /// Bills.
    pub n: usize,
}

/// What the page shows.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FiguresView {
    /// Since when.
    pub since: String,
    /// The figures on top: label, value, unit, note.
    pub top: Vec<(String, String, String, String)>,
    /// How late, in drawers.
    pub lateness: Vec<Share>,
    /// How long from arrival to ready, in drawers.
    pub turn_round: Vec<Share>,
    /// Changeovers by station.
    pub changeovers: Vec<WorkLine>,
    /// Checks: passed at once, and what was done again after those that failed.
    pub checks: Vec<Share>,
    /// What came to harm.
    pub mishaps: Vec<MishapLine>,
    /// Estimates by kind of work and setup.
    pub work: Vec<WorkLine>,
    /// What the ledger teaches of heights.
    pub learned: Vec<LearnedLine>,
    /// What the ledger teaches of minutes.
    pub rates: Vec<LearnedLine>,
    /// What was taken, by steel and by setup.
    pub taken: Vec<TakenLine>,
    /// Changes of setup: minutes of the table, and least, middle and most by the ledger.
    pub mounting: Vec<LearnedLine>,
    /// The ledger says something else often enough to go by.
    pub mounting_counts: bool,
    /// For the form that writes the table of changeovers.
    pub bench: Sheet,
    /// What is left of the wheels.
    pub worn: Vec<WornLine>,
    /// Bills by month.
    pub months: Vec<Month>,
    /// The currency.
    pub currency: String,
    /// For the form that takes what was learned.
    pub sheet: Sheet,
}

/// The figures.
#[component]
pub fn FiguresPage(
    /// What is shown.
    of: FiguresView,
) -> impl IntoView {
    let top: Vec<_> = of
        .top
        .into_iter()
        .map(|(label, value, unit, note)| view! { <Figure label=label value=value unit=unit note=note /> })
        .collect();
    view! {
        <ShopHead under="/shop/figures" />
        <p class="quiet">"Since " {of.since} "."</p>
        {of.sheet.head()}
        <div class="columns">{top}</div>
        <div class="figures-cards">
        {card("Ready against promised", view! {{shares(&of.lateness, "Visits by how late they were ready", "It fills as visits become ready.")}})}
        {card("From arrival to ready", view! {{shares(&of.turn_round, "Visits by days in the house", "It fills as visits become ready.")}})}
        {card("Changeovers in the standing plan", view! {{changeovers(&of.changeovers)}})}
        {card("Changes of setup", view! {{mounting(&of.mounting, of.mounting_counts, &of.bench)}})}
        {card("Checks", view! {{shares(&of.checks, "Checks by what was done again after them", "It fills as pieces are checked.")}})}
        {card("Estimated against actual minutes", view! {{work(&of.work)}})}
        {card("Height a service takes", view! {{learned(&of.learned, &of.rates, &of.sheet)} {taken(&of.taken)}})}
        {(!of.mishaps.is_empty()).then(|| card("Lost and damaged here", view! {{mishaps(&of.mishaps)}}))}
        {card("What is left of the wheels", view! {{worn(&of.worn)}})}
        {card("Bills by month", view! {{months(&of.months, &of.currency)}})}
        </div>
        {of.sheet.foot()}
    }
}

/// A plot and its table.
fn both(plot: AnyView, caption: &str, columns: Vec<Column>, rows: Vec<Vec<AnyView>>) -> AnyView {
    let caption = caption.to_owned();
    view! {
        {plot}
        <Fold summary="The table behind it"><DataTable caption=caption caption_hidden=true columns=columns rows=rows /></Fold>
    }
    .into_any()
}

fn worn(lines: &[WornLine]) -> AnyView {
    if lines.is_empty() {
        return nothing("It fills once a wheel that turns and is dressed is written down.");
    }
    let bars: Vec<_> = lines
        .iter()
        .map(|line| Bar {
            label: line.label.clone(),
            value: line.share,
            words: format!("{} mm", short((line.diameters.1 - line.diameters.2).max(0.0), 1)),
            class: if line.share < 0.1 { "late" } else { "run" },
        })
        .collect();
    let rows = lines
        .iter()
        .map(|line| {
            let (new, today, least) = line.diameters;
            let mut cells = vec![line.label.clone().into_any()];
            cells.extend([new, today, least].map(|mm| short(mm, 1).into_any()));
            cells.push(line.pieces.to_string().into_any());
            cells.push(line.left.map_or_else(|| "not known yet".to_owned(), |n| n.to_string()).into_any());
            cells
        })
        .collect();
    let columns = vec![
        Column::words("Wheel"),
        Column::figures("New", "mm"),
        Column::figures("Today", "mm"),
        Column::figures("Taken off at", "mm"),
        Column::figures("Pieces so far", ""),
        Column::figures("Pieces left, about", ""),
    ];
    let caption = "Wheels by what is left of them, if they wear as they have worn so far";
    both(plot::lying_of(caption, &bars, 1.0), caption, columns, rows)
}

fn nothing(words: &'static str) -> AnyView {
    view! { <Empty title="Nothing to show yet"><p>{words}</p></Empty> }.into_any()
}

fn shares(shares: &[Share], caption: &str, empty: &'static str) -> AnyView {
    let total: usize = shares.iter().map(|share| share.n).sum();
    if total == 0 {
        return nothing(empty);
    }
    let bars: Vec<_> = shares
        .iter()
        .map(|share| Bar {
            label: share.label.clone(),
            value: share.n as f64,
            words: share.n.to_string(),
            class: if share.bad { "late" } else { "run" },
        })
        .collect();
    let rows = shares
        .iter()
        .map(|share| {
            let part = format!("{:.0}", 100.0 * share.n as f64 / total as f64);
            vec![share.label.clone().into_any(), share.n.to_string().into_any(), part.into_any()]
        })
        .collect();
    let columns =
        vec![Column::words("How long"), Column::figures("Visits", ""), Column::figures("Share", "%")];
    both(plot::lying(caption, &bars), caption, columns, rows)
}

fn changeovers(lines: &[WorkLine]) -> AnyView {
    if lines.is_empty() {
        return nothing("It fills as soon as something is planned.");
    }
    let share = |line: &WorkLine| (100 * line.second).checked_div(line.first + line.second).unwrap_or(0);
    let bars: Vec<_> = lines
        .iter()
        .map(|line| Bar {
            label: line.label.clone(),
            value: line.second as f64,
            words: format!("{} min, {} %", line.second, share(line)),
            class: "change",
        })
        .collect();
    let rows = lines
        .iter()
        .map(|line| {
            let cells = [line.n as u64, line.first, line.second, share(line)];
            std::iter::once(line.label.clone().into_any())
                .chain(cells.map(|n| n.to_string().into_any()))
                .collect()
        })
        .collect();
    let columns = vec![
        Column::words("Station"),
        Column::figures("Steps", ""),
        Column::figures("Work", "min"),
        Column::figures("Changeovers", "min"),
        Column::figures("Share", "%"),
    ];
    both(plot::lying("Changeover minutes by station", &bars), "Changeovers by station", columns, rows)
}

fn work(lines: &[WorkLine]) -> AnyView {
    if lines.is_empty() {
        return nothing("It fills as work is finished at the bench.");
    }
    let ratio = |line: &WorkLine| 100.0 * line.second as f64 / (line.first as f64).max(1.0);
    let bars: Vec<_> = lines
        .iter()
        .map(|line| Bar {
            label: line.label.clone(),
            value: ratio(line),
            words: format!("{:.0} %", ratio(line)),
            class: if ratio(line) > 120.0 { "late" } else { "run" },
        })
        .collect();
    let rows = lines
        .iter()
        .map(|line| {
            let cells = [
                line.n.to_string(),
                line.first.to_string(),
                line.second.to_string(),
                format!("{:.0}", ratio(line)),
            ];
            std::iter::once(line.label.clone().into_any()).chain(cells.map(IntoAny::into_any)).collect()
        })
        .collect();
    let columns = vec![
        Column::words("Work"),
        Column::figures("Times done", ""),
        Column::figures("Estimated", "min"),
        Column::figures("Actual", "min"),
        Column::figures("Actual of estimated", "%"),
    ];
    both(
        plot::lying("Actual minutes in per cent of the estimate", &bars),
        "Estimated against actual",
        columns,
        rows,
    )
}

fn mishaps(lines: &[MishapLine]) -> AnyView {
    let rows = lines
        .iter()
        .map(|line| {
            vec![
                line.label.clone().into_any(),
                line.n.to_string().into_any(),
                line.settled.to_string().into_any(),
                line.amount.clone().into_any(),
            ]
        })
        .collect();
    let columns = vec![
        Column::words("What happened"),
        Column::figures("Knives", ""),
        Column::figures("Settled", ""),
        Column::figures("It came to", ""),
    ];
    let caption = "Knives lost or damaged here, and what settling it came to".to_owned();
    view! { <DataTable caption=caption caption_hidden=true columns=columns rows=rows /> }.into_any()
}

fn taken(lines: &[TakenLine]) -> Option<AnyView> {
    if lines.is_empty() {
        return None;
    }
    let rows = lines
        .iter()
        .map(|line| {
            vec![
                line.label.clone().into_any(),
                line.n.to_string().into_any(),
                format!("{:.2}", line.middle).into_any(),
                format!("{:.2} to {:.2}", line.least, line.most).into_any(),
            ]
        })
        .collect();
    let columns = vec![
        Column::words("Steel or setup"),
        Column::figures("Services measured", ""),
        Column::figures("The middle", "mm"),
        Column::figures("Least to most", "mm"),
    ];
    let caption = "Height taken, by steel and by the setup the edge was ground on".to_owned();
    Some(view! { <DataTable caption=caption columns=columns rows=rows /> }.into_any())
}

fn learned(heights: &[LearnedLine], rates: &[LearnedLine], sheet: &Sheet) -> AnyView {
    if heights.is_empty() {
        return nothing("It fills when the shop is set up and knives are measured before and after.");
    }
    let take = if heights.iter().chain(rates).any(|line| line.n > 0) {
        view! {
            <form method="post" action="/shop/figures/learned">
                {sheet.version()}
                <Button>"Count on what the ledger says from now on"</Button>
            </form>
        }
        .into_any()
    } else {
        view! { <Notice tone=Tone::Plain>"No knife was measured before and after yet; the figures counted on are the ones set up."</Notice> }
            .into_any()
    };
    let minutes = (!rates.is_empty()).then(|| {
        view! {
            <p class="quiet">
                "Steel an operation grinds away in a minute: volume over this rate is its time, never less than its handling. Steps that were
                 over within their handling count as quicker than that (a censored normal on the logarithm)."
            </p>
            {habits(rates, "Steel ground away in a minute", ("Operation", "Steps done", "mm³/min", 1))}
        }
    });
    view! {
        <p class="quiet">
            "The middle, and the band in which eight of ten services lie. What is counted on now weighs as much as four services; every
             measured one moves it, less where the reading is coarse (conjugate update of a log-normal habit)."
        </p>
        {habits(heights, "Height a service takes", ("Edge", "Services measured", "mm", 2))}
        {minutes}
        {take}
    }
    .into_any()
}

fn mounting(lines: &[LearnedLine], counts: bool, bench: &Sheet) -> AnyView {
    if lines.is_empty() {
        return nothing("It fills as setups are changed at the bench.");
    }
    let take = counts.then(|| {
        view! {
            <form method="post" action="/shop/figures/changeovers">
                {bench.version()}
                <Button>"Write them into the table of changeovers"</Button>
            </form>
        }
    });
    let minutes = |line: &LearnedLine| line.now.map_or(0.0, |(_, minutes, _)| minutes);
    let bars: Vec<_> = lines
        .iter()
        .map(|line| Bar {
            label: line.label.clone(),
            value: line.ledger.1,
            words: format!("{:.0} of {:.0} min", line.ledger.1, minutes(line)),
            // Once or twice may be chance.
            class: if line.n > 2 && line.ledger.1 > 1.25 * minutes(line) + 1.0 { "late" } else { "run" },
        })
        .collect();
    let rows = lines
        .iter()
        .map(|line| {
            let (least, middle, most) = line.ledger;
            vec![
                line.label.clone().into_any(),
                line.n.to_string().into_any(),
                format!("{:.0}", minutes(line)).into_any(),
                format!("{middle:.0}").into_any(),
                format!("{least:.0} to {most:.0}").into_any(),
            ]
        })
        .collect();
    let columns = vec![
        Column::words("Change"),
        Column::figures("Times", ""),
        Column::figures("In the table", "min"),
        Column::figures("By the ledger", "min"),
        Column::figures("Least to most", "min"),
    ];
    let caption = "Minutes a change of setup took, of those in the table";
    view! {
        <p class="quiet">
            "From the end of one piece to the beginning of the next in another setup, by the same hands: dressings and pauses of half an \
             hour beyond the table are left out. The middle of three changes or more can be taken over; the table can be changed by hand \
             under Stations."
        </p>
        {both(plot::lying(caption, &bars), caption, columns, rows)}
        {take}
    }
    .into_any()
}

/// Bands now counted on and by the ledger; `(what, how many, unit, decimals)` head the columns.
fn habits(
    lines: &[LearnedLine],
    caption: &str,
    (what, how_many, unit, places): (&'static str, &'static str, &'static str, usize),
) -> AnyView {
    let bands: Vec<_> = lines
        .iter()
        .flat_map(|line| {
            let band = |name: &str, (low, middle, high): (f64, f64, f64), class| Spread {
                label: format!("{}: {name}", line.label),
                low,
                middle,
                high,
                class,
            };
            let now = line.now.map(|now| band("now", now, "band"));
            now.into_iter().chain([band("ledger", line.ledger, "left")])
        })
        .collect();
    let figures = |of: (f64, f64, f64)| format!("{:.places$} ({:.places$} to {:.places$})", of.1, of.0, of.2);
    let table = lines
        .iter()
        .map(|line| {
            vec![
                line.label.clone().into_any(),
                line.n.to_string().into_any(),
                line.now.map_or_else(|| "handling alone".to_owned(), figures).into_any(),
                figures(line.ledger).into_any(),
            ]
        })
        .collect();
    let columns = vec![
        Column::words(what),
        Column::figures(how_many, ""),
        Column::figures("Counted on now", unit),
        Column::figures("By the ledger", unit),
    ];
    let plot = plot::ranges(&format!("{caption}, now counted on and by the ledger"), &bands, unit);
    both(plot, caption, columns, table)
}

fn months(months: &[Month], currency: &str) -> AnyView {
    if months.iter().all(|month| month.n == 0) {
        return nothing("It fills as bills are issued.");
    }
    let bars: Vec<_> = months
        .iter()
        .map(|month| Bar {
            label: month.name.clone(),
            value: month.total_minor as f64,
            words: if month.n == 0 { "–".to_owned() } else { format!("{} {currency}", month.total) },
            class: if month.total_minor < 0 { "late" } else { "run" },
        })
        .collect();
    let rows = months
        .iter()
        .map(|month| {
            vec![
                month.name.clone().into_any(),
                month.n.to_string().into_any(),
                month.total.clone().into_any(),
                month.tax.clone().into_any(),
            ]
        })
        .collect();
    let columns = vec![
        Column::words("Month"),
        Column::figures("Bills", ""),
        Column::figures("Total", currency),
        Column::figures("Tax in it", currency),
    ];
    both(plot::lying("Billed by month, tax included", &bars), "Bills by month", columns, rows)
}

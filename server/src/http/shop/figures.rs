//! The figures that matter.

use std::collections::BTreeMap;

use axum::extract::{RawQuery, State};
use axum::http::StatusCode;
use chrono::{DateTime, Datelike as _, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use craft::RemovalRate;
use craft::learn::Habit;
use leptos::prelude::*;
use shop::bench::{Bench, Wheel};
use shop::money::Money;
use shop::owner::Typed;
use shop::piece::Harm;
use shop::route::OperationKind;
use shop::units::short;
use web::pages::shop::{
    FiguresPage, FiguresView, LearnedLine, MishapLine, Month, Share, Sheet, TakenLine, WorkLine, WornLine,
};

use super::{Query, done, problem, rendered, said, version, with_history};
use crate::context::Ctx;
use crate::http::caller::{Caller, Staff};
use crate::http::form::{self, Posted};
use crate::http::plan::capital;
use crate::http::{Answer, Problem};
use crate::local;
use crate::store::changes::Subject;
use crate::store::figures::{Billed, Checked, DoneWork, Mishap, Promise, Taken};
use crate::use_cases::exchange_csv::written;
use crate::use_cases::figures::{self, Figures, LearnedChange, LearnedRate};

/// The middle eight tenths of a normal spread lie within this many standard deviations (Φ⁻¹(0.9)).
const EIGHT_TENTHS: f64 = 1.281_551_565_544_8;

pub(super) async fn show(State(ctx): State<Ctx>, caller: Caller, RawQuery(query): RawQuery) -> Answer {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    let found = figures::figures(&ctx).await?.ok_or(Problem::NotFound)?;
    let sheet = Sheet { version: found.typical_version, said: said(&query.said), ..Sheet::default() };
    let sheet = with_history(&ctx, sheet, Subject::Typical, None).await?;
    let view_of = view_of(&found, sheet, ctx.now());
    rendered(&caller, StatusCode::OK, "Figures", move || view! { <FiguresPage of=view_of /> }).await
}

pub(super) async fn use_learned(
    State(ctx): State<Ctx>,
    Staff(person): Staff,
    Posted(typed): Posted<Typed>,
) -> Answer {
    figures::use_learned(&ctx, &person, version(&typed)?).await.map_err(problem)?;
    Ok(done("/shop/figures", "learned"))
}

/// The tables behind the plots as one CSV: which figure, of what, which measure of it, its value and unit.
pub(super) async fn csv(ctx: &Ctx) -> Result<String, Problem> {
    let found = figures::figures(ctx).await?.ok_or(Problem::NotFound)?;
    let view = view_of(&found, Sheet::default(), ctx.now());
    let columns = ["figure", "of", "measure", "value", "unit"].map(str::to_owned);
    Ok(written(&columns, &rows(&view)))
}

fn rows(view: &FiguresView) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    let mut add = |figure: &str, of: &str, measure: &str, value: String, unit: &str| {
        rows.push([figure, of, measure, &value, unit].map(str::to_owned).to_vec());
    };
    for (label, value, unit, note) in &view.top {
        add("on top", label, note, value.clone(), unit);
    }
    let drawers = [
        ("ready against promised", &view.lateness),
        ("from arrival to ready", &view.turn_round),
        ("checks", &view.checks),
    ];
    for (figure, shares) in drawers {
        for share in shares {
            add(figure, &share.label, "how many", share.n.to_string(), "");
        }
    }
    let work = [
        ("changeovers in the standing plan", &view.changeovers, ["work", "changeovers"]),
        ("estimated against actual", &view.work, ["estimated", "actual"]),
    ];
    for (figure, lines, [first, second]) in work {
        for line in lines {
            add(figure, &line.label, "how many", line.n.to_string(), "");
            add(figure, &line.label, first, line.first.to_string(), "min");
            add(figure, &line.label, second, line.second.to_string(), "min");
        }
    }
    let learned =
        [("height a service takes", &view.learned, "mm"), ("steel ground away", &view.rates, "mm³/min")];
    for (figure, lines, unit) in learned {
        for line in lines {
            add(figure, &line.label, "how many", line.n.to_string(), "");
            let bands = [("counted on now", line.now), ("by the ledger", Some(line.ledger))];
            for (band, (low, middle, high)) in bands.into_iter().filter_map(|(band, at)| Some((band, at?))) {
                for (end, value) in [("a tenth below", low), ("middle", middle), ("a tenth above", high)] {
                    add(figure, &line.label, &format!("{band}: {end}"), short(value, 3), unit);
                }
            }
        }
    }
    for line in &view.mounting {
        let figure = "changes of setup";
        add(figure, &line.label, "how many", line.n.to_string(), "");
        let (least, middle, most) = line.ledger;
        let table = line.now.map_or(0.0, |(_, minutes, _)| minutes);
        let measures = [("in the table", table), ("least", least), ("middle", middle), ("most", most)];
        for (measure, minutes) in measures {
            add(figure, &line.label, measure, short(minutes, 1), "min");
        }
    }
    for line in &view.taken {
        let figure = "height taken, by steel and setup";
        add(figure, &line.label, "how many", line.n.to_string(), "");
        for (measure, value) in [("least", line.least), ("middle", line.middle), ("most", line.most)] {
            add(figure, &line.label, measure, short(value, 3), "mm");
        }
    }
    for line in &view.mishaps {
        let figure = "lost and damaged here";
        add(figure, &line.label, "how many", line.n.to_string(), "");
        add(figure, &line.label, "settled", line.settled.to_string(), "");
        add(figure, &line.label, "came to", line.amount.clone(), "");
    }
    for line in &view.worn {
        let (new, today, least) = line.diameters;
        for (measure, mm) in [("diameter new", new), ("diameter today", today), ("taken off at", least)] {
            add("what is left of the wheels", &line.label, measure, short(mm, 2), "mm");
        }
        add("what is left of the wheels", &line.label, "pieces so far", line.pieces.to_string(), "");
        if let Some(left) = line.left {
            add("what is left of the wheels", &line.label, "pieces left, about", left.to_string(), "");
        }
    }
    for month in &view.months {
        add("bills by month", &month.name, "how many", month.n.to_string(), "");
        add("bills by month", &month.name, "total, tax included", month.total.clone(), &view.currency);
        add("bills by month", &month.name, "tax in it", month.tax.clone(), &view.currency);
    }
    rows
}

pub(super) async fn use_changes(
    State(ctx): State<Ctx>,
    Staff(person): Staff,
    Posted(typed): Posted<Typed>,
) -> Answer {
    figures::use_changes(&ctx, &person, version(&typed)?).await.map_err(problem)?;
    Ok(done("/shop/figures", "changeovers"))
}

fn view_of(found: &Figures, sheet: Sheet, now: DateTime<Utc>) -> FiguresView {
    let zone = local::zone(&found.profile);
    let currency = &found.profile.currency;
    FiguresView {
        since: local::date(zone, found.since).format("%-d %B %Y").to_string(),
        top: top(found),
        lateness: drawers(found.promises.iter().map(late_days), &LATE_DRAWERS),
        turn_round: drawers(found.promises.iter().filter_map(days_in_house), &HOUSE_DRAWERS),
        changeovers: changeovers(found),
        checks: checks(&found.ledger.checks),
        mishaps: mishaps(&found.ledger.mishaps, currency),
        work: work(&found.ledger.work, &found.bench),
        learned: found.learned.iter().map(learned).collect(),
        rates: found.rates.iter().map(rate).collect(),
        taken: taken(&found.ledger.taken, &found.bench),
        mounting: found.changes.iter().map(|change| mounting(change, &found.bench)).collect(),
        mounting_counts: found.changes.iter().any(|one| one.counts() && one.minutes() != one.now),
        bench: Sheet { version: found.bench_version, ..Sheet::default() },
        worn: worn(&found.wheels),
        months: months(&found.billed, zone, currency, now),
        currency: currency.clone(),
        sheet,
    }
}

/// Days past the promise; negative when it was ready before.
fn late_days(promise: &Promise) -> f64 {
    (promise.ready - promise.promised).as_seconds_f64() / 86_400.0
}

fn days_in_house(promise: &Promise) -> Option<f64> {
    promise.received.map(|received| (promise.ready - received).as_seconds_f64() / 86_400.0)
}

/// A drawer's upper end in days (inclusive), its name, and whether it is a bad one.
type Drawer = (f64, &'static str, bool);

const LATE_DRAWERS: [Drawer; 6] = [
    (-1.0, "a day or more early", false),
    (0.0, "in time", false),
    (1.0, "up to a day late", true),
    (3.0, "up to 3 days late", true),
    (7.0, "up to a week late", true),
    (f64::INFINITY, "later", true),
];

const HOUSE_DRAWERS: [Drawer; 6] = [
    (1.0, "up to a day", false),
    (3.0, "up to 3 days", false),
    (7.0, "up to a week", false),
    (14.0, "up to 2 weeks", false),
    (28.0, "up to 4 weeks", true),
    (f64::INFINITY, "longer", true),
];

fn drawers(days: impl Iterator<Item = f64>, names: &[Drawer]) -> Vec<Share> {
    let mut shares: Vec<Share> =
        names.iter().map(|(_, label, bad)| Share { label: (*label).to_owned(), n: 0, bad: *bad }).collect();
    for day in days {
        if let Some(place) = names.iter().position(|(end, ..)| day <= *end) {
            shares[place].n += 1;
        }
    }
    shares
}

fn top(found: &Figures) -> Vec<(String, String, String, String)> {
    let n = found.promises.len();
    let in_time = found.promises.iter().filter(|promise| promise.ready <= promise.promised).count();
    let mut figures = Vec::new();
    if let Some(share) = (100 * in_time).checked_div(n) {
        figures.push((
            "Ready in time".to_owned(),
            share.to_string(),
            "%".to_owned(),
            format!("of {n} visits"),
        ));
    }
    if let Some(days) = median(found.promises.iter().filter_map(days_in_house).collect()) {
        let note = "from arrival to ready, half of all visits are quicker".to_owned();
        figures.push(("Turn-round".to_owned(), format!("{days:.1}"), "days".to_owned(), note));
    }
    if let Some(plan) = &found.plan {
        let all = plan.changeover_minutes + plan.work_minutes;
        if let Some(share) = (100 * plan.changeover_minutes).checked_div(all) {
            let note = "of bench time in the standing plan".to_owned();
            figures.push(("Changeovers".to_owned(), share.to_string(), "%".to_owned(), note));
        }
    }
    let firsts = found.ledger.checks.iter().filter(|check| check.first);
    let n = firsts.clone().count();
    if let Some(share) = (100 * firsts.filter(|check| check.passed).count()).checked_div(n) {
        let note = format!("of {n} pieces at their first check");
        figures.push(("Passed at once".to_owned(), share.to_string(), "%".to_owned(), note));
    }
    let (estimated, took) = found
        .ledger
        .work
        .iter()
        .fold((0_u64, 0_u64), |(e, t), w| (e + u64::from(w.estimated), t + u64::from(w.took)));
    if let Some(share) = (100 * took).checked_div(estimated) {
        let note = "actual minutes of the estimated ones".to_owned();
        figures.push(("Work took".to_owned(), share.to_string(), "%".to_owned(), note));
    }
    figures
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let (n, half) = (values.len(), values.len() / 2);
    match n {
        0 => None,
        _ if n % 2 == 1 => Some(values[half]),
        _ => Some(f64::midpoint(values[half - 1], values[half])),
    }
}

fn changeovers(found: &Figures) -> Vec<WorkLine> {
    let Some(plan) = &found.plan else { return Vec::new() };
    found
        .bench
        .stations
        .iter()
        .map(|station| {
            let bars = plan.bars.iter().filter(|bar| bar.station == station.id);
            bars.fold(WorkLine { label: station.name.clone(), ..WorkLine::default() }, |line, bar| WorkLine {
                n: line.n + 1,
                first: line.first + minutes(bar.end - bar.start),
                second: line.second + minutes(bar.start - bar.changeover_start),
                ..line
            })
        })
        .filter(|line| line.n > 0)
        .collect()
}

fn minutes(length: TimeDelta) -> u64 {
    u64::try_from(length.num_minutes()).unwrap_or(0)
}

/// Checks by what was done again after them; those that passed at once come first.
fn checks(made: &[Checked]) -> Vec<Share> {
    if made.is_empty() {
        return Vec::new();
    }
    let passed = made.iter().filter(|check| check.passed && check.first).count();
    let mut again: BTreeMap<OperationKind, usize> = BTreeMap::new();
    for kind in made.iter().filter(|check| !check.passed).flat_map(|check| &check.again) {
        *again.entry(*kind).or_default() += 1;
    }
    let first = Share { label: "passed at once".to_owned(), n: passed, bad: false };
    let again = again.into_iter().map(|(kind, n)| Share { label: format!("again: {kind}"), n, bad: true });
    std::iter::once(first).chain(again).collect()
}

/// What was lost and what was damaged here, and what settling it came to.
fn mishaps(all: &[Mishap], currency: &str) -> Vec<MishapLine> {
    [(Harm::Lost, "Lost"), (Harm::Damaged, "Damaged")]
        .into_iter()
        .map(|(harm, label)| {
            let here = || all.iter().filter(move |one| one.harm == harm);
            MishapLine {
                label: label.to_owned(),
                n: here().count(),
                settled: here().filter(|one| one.settled.is_some()).count(),
                amount: here().filter_map(|one| one.settled?).sum::<Money>().show(currency),
            }
        })
        .filter(|line| line.n > 0)
        .collect()
}

/// By kind of work and setup: a wheel that is slower than its estimate shows by itself.
fn work(done: &[DoneWork], bench: &Bench) -> Vec<WorkLine> {
    let mut lines: BTreeMap<(OperationKind, &str, &str), WorkLine> = BTreeMap::new();
    for one in done {
        let line = lines.entry((one.kind, &one.station, &one.setup)).or_insert_with(|| {
            let label = capital(one.kind.words());
            let setup = bench.station(&one.station).and_then(|s| s.setups.iter().find(|x| x.id == one.setup));
            let label = match setup.filter(|s| !s.name.is_empty()) {
                Some(setup) => format!("{label}: {}", setup.name),
                None => label,
            };
            WorkLine { label, ..WorkLine::default() }
        });
        line.n += 1;
        line.first += u64::from(one.estimated);
        line.second += u64::from(one.took);
    }
    lines.into_values().collect()
}

/// The height services took by steel, then by the setup the edge was ground on.
fn taken(all: &[Taken], bench: &Bench) -> Vec<TakenLine> {
    let mut lines: BTreeMap<(bool, String), Vec<f64>> = BTreeMap::new();
    for one in all {
        let steel =
            one.steel.as_deref().map_or("Steel not known".to_owned(), |steel| format!("Steel {steel}"));
        lines.entry((false, steel)).or_default().push(one.recession_mm);
        if let Some((station, setup)) = &one.ground_on {
            let place = bench.station(station);
            let name =
                place.and_then(|at| at.setups.iter().find(|on| on.id == *setup)).map(|on| on.name.clone());
            let station = place.map_or(station.clone(), |at| at.name.clone());
            let label = match name.filter(|name| !name.is_empty()) {
                Some(name) => format!("{station}: {name}"),
                None => station,
            };
            lines.entry((true, label)).or_default().push(one.recession_mm);
        }
    }
    let line = |((_, label), mut heights): ((bool, String), Vec<f64>)| {
        heights.sort_by(f64::total_cmp);
        let n = heights.len();
        let middle = 0.5 * (heights[(n - 1) / 2] + heights[n / 2]);
        TakenLine { label, n, least: heights[0], middle, most: heights[n - 1] }
    };
    lines.into_iter().map(line).collect()
}

/// One change of setup: the minutes of the table, and what it took.
fn mounting(change: &LearnedChange, bench: &Bench) -> LearnedLine {
    let station = bench.station(&change.station);
    let name = |at: usize| {
        let setup = station.and_then(|station| station.setups.get(at));
        setup.map_or("", |s| if s.name.is_empty() { &s.id } else { &s.name })
    };
    let place = station.map_or("", |station| &station.name);
    let now = f64::from(change.now);
    LearnedLine {
        label: format!("{place}: {} → {}", name(change.from), name(change.to)),
        n: change.n,
        now: Some((now, now, now)),
        ledger: change.ledger,
    }
}

/// What is left of the wheels, the most worn first.
fn worn(wheels: &[Wheel]) -> Vec<WornLine> {
    let line = |wheel: &Wheel| {
        let life = wheel.life()?;
        Some(WornLine {
            label: format!("{} {}", wheel.mark, wheel.name),
            diameters: (wheel.new_diameter_mm?, wheel.diameter_mm, wheel.least_diameter_mm),
            share: life.share,
            pieces: wheel.pieces,
            left: life.pieces,
        })
    };
    let mut lines: Vec<WornLine> = wheels.iter().filter_map(line).collect();
    lines.sort_by(|a, b| a.share.total_cmp(&b.share));
    lines
}

fn learned(of: &figures::Learned) -> LearnedLine {
    let band = |habit: &Habit| {
        let middle = habit.median_mm();
        let factor = (EIGHT_TENTHS * habit.spread()).exp();
        (middle / factor, middle, middle * factor)
    };
    let label = match of.kind {
        craft::EdgeKind::Double => "Plain, both sides",
        craft::EdgeKind::Single => "Plain, one side",
        craft::EdgeKind::Serrated => "Serrated",
    };
    LearnedLine { label: label.to_owned(), n: of.n, now: Some(band(&of.prior)), ledger: band(&of.posterior) }
}

fn rate(of: &LearnedRate) -> LearnedLine {
    let band = |rate: &RemovalRate| {
        let (quick, slow) = rate.eight_tenths();
        (slow, rate.mm3_per_min, quick)
    };
    LearnedLine {
        label: capital(&figures::rate_words(&of.ledger)),
        n: of.n,
        now: of.now.as_ref().map(band),
        ledger: band(&of.ledger),
    }
}

/// The last twelve months of the shop's own calendar, this one included.
fn months(billed: &[Billed], zone: Tz, currency: &str, now: DateTime<Utc>) -> Vec<Month> {
    let today = local::date(zone, now);
    let amount = |money: Money| money.show(currency).trim_end_matches(currency).trim_end().to_owned();
    (0..12_i32)
        .rev()
        .filter_map(|back| {
            let index = today.year() * 12 + today.month0().cast_signed() - back;
            let first =
                NaiveDate::from_ymd_opt(index.div_euclid(12), index.rem_euclid(12).cast_unsigned() + 1, 1)?;
            let here = |bill: &&Billed| {
                let day = local::date(zone, bill.at);
                (day.year(), day.month()) == (first.year(), first.month())
            };
            let bills: Vec<&Billed> = billed.iter().filter(here).collect();
            let total: Money = bills.iter().map(|bill| bill.total).sum();
            Some(Month {
                label: first.format("%b").to_string(),
                name: first.format("%B %Y").to_string(),
                total_minor: total.0,
                total: amount(total),
                tax: amount(bills.iter().map(|bill| bill.tax).sum()),
                n: bills.len(),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_falls_into_the_first_drawer_that_holds_it() {
        let shares = drawers([-2.0, 0.0, 0.01, 1.0, 30.0].into_iter(), &LATE_DRAWERS);
        assert_eq!(shares.iter().map(|share| share.n).collect::<Vec<_>>(), [1, 1, 2, 0, 0, 1]);
    }

    #[test]
    fn bills_fall_into_the_months_of_the_shops_own_calendar() {
        // 23:30 UTC on 31 July is 1 August in Lisbon.
        let at = "2026-07-31T23:30:00Z".parse().unwrap();
        let bill = Billed { at, total: Money(1230), tax: Money(230) };
        let months = months(&[bill], Tz::Europe__Lisbon, "EUR", "2026-08-15T10:00:00Z".parse().unwrap());
        assert_eq!(months.len(), 12);
        let last = months.last().unwrap();
        assert_eq!(
            (last.name.as_str(), last.n, last.total.as_str(), last.tax.as_str()),
            ("August 2026", 1, "12.30", "2.30")
        );
        assert_eq!(months[0].name, "September 2025");
        assert_eq!(months[10].n, 0);
    }

    #[test]
    fn the_median_of_an_even_number_lies_between_the_two_in_the_middle() {
        assert_eq!(median(vec![5.0, 1.0, 3.0]), Some(3.0));
        assert_eq!(median(vec![4.0, 1.0, 3.0, 2.0]), Some(2.5));
        assert_eq!(median(vec![]), None);
    }
}

//! The owner looks at the figures: how late, how much changing over, how good the estimates are, what the ledger teaches.

use std::collections::BTreeMap;

use assess::Typical;
use chrono::{DateTime, Days, Utc};
use craft::learn::{self, Ground, Habit, Observed};
use craft::{Operation, Rates, RemovalRate};
use shop::bench::{Bench, Wheel};
use shop::edge::EdgeKind;
use shop::profile::Profile;
use shop::read::PlanView;
use shop::route::OperationKind;
use shop::units::short;

use super::set_up::NotSaved;
use crate::context::Ctx;
use crate::planning::Body;
use crate::store::changes::{self, Subject};
use crate::store::figures::{self, Billed, ChangedOver, DoneWork, FromLedger, Promise, Taken};
use crate::store::settings::{self, Versioned};
use crate::store::staff::Person;
use crate::store::{self, plans, wheels};

/// How many services the shop's set medians are worth against its ledger: as many as `craft`'s own prior.
const PRIOR_SERVICES: f64 = 4.0;

/// Two caliper readings of ±0.1 mm (two sigma) make a height taken uncertain by this much, mm.
const READING_SD_MM: f64 = 0.07;

/// How far back the figures look.
const DAYS_BACK: u64 = 366;

/// What the ledger teaches about one kind of edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learned {
    /// The kinds of edge it is about, as `craft` counts them.
    pub kind: craft::EdgeKind,
    /// Services that were measured before and after.
    pub n: usize,
    /// What the shop counts on now.
    pub prior: Habit,
    /// What it would count on after its ledger.
    pub posterior: Habit,
}

/// What the ledger teaches about how much an operation grinds away in a minute, mm³.
#[derive(Debug, Clone, PartialEq)]
pub struct LearnedRate {
    /// Steps that were done.
    pub n: usize,
    /// What the shop counts on now; `None`: on handling alone.
    pub now: Option<RemovalRate>,
    /// What it would count on after its ledger.
    pub ledger: RemovalRate,
}

/// What the ledger teaches about one change of setup.
#[derive(Debug, Clone, PartialEq)]
pub struct LearnedChange {
    /// The station's id.
    pub station: String,
    /// From which setup, by its place in the table of changeovers.
    pub from: usize,
    /// To which.
    pub to: usize,
    /// How often it was changed without a long pause.
    pub n: usize,
    /// Minutes in the table now.
    pub now: u32,
    /// The least, the middle and the most minutes it took.
    pub ledger: (f64, f64, f64),
}

impl LearnedChange {
    /// Whether it was changed often enough to go by.
    pub fn counts(&self) -> bool {
        self.n >= LEAST_CHANGES
    }

    /// The middle in whole minutes, as the table has them.
    pub fn minutes(&self) -> u32 {
        self.ledger.1.round() as u32
    }
}

/// Fewer changes than this say little.
const LEAST_CHANGES: usize = 3;

/// So much longer than the table says it was no change of setup but a pause with one in it, minutes.
const PAUSE_MIN: f64 = 30.0;

/// All figures.
#[derive(Debug, Clone)]
pub struct Figures {
    /// The shop.
    pub profile: Profile,
    /// Since when.
    pub since: DateTime<Utc>,
    /// Promised and ready.
    pub promises: Vec<Promise>,
    /// Work and heights, off the ledger.
    pub ledger: FromLedger,
    /// Bills.
    pub billed: Vec<Billed>,
    /// The standing plan.
    pub plan: Option<PlanView>,
    /// The stations' names.
    pub bench: Bench,
    /// Wheels and stones in use.
    pub wheels: Vec<Wheel>,
    /// What the ledger teaches of heights.
    pub learned: Vec<Learned>,
    /// What the ledger teaches of minutes.
    pub rates: Vec<LearnedRate>,
    /// What the ledger teaches of changeovers.
    pub changes: Vec<LearnedChange>,
    /// The version of the bench.
    pub bench_version: i64,
    /// The version of what the shop counts on.
    pub typical_version: i64,
}

/// Gathers the figures of a year. `None` until the shop is set up.
pub async fn figures(ctx: &Ctx) -> store::Result<Option<Figures>> {
    let db = ctx.store.read();
    let now = ctx.now();
    let since = now.checked_sub_days(Days::new(DAYS_BACK)).unwrap_or(now);
    let Some(profile) = settings::get::<Profile>(db).await? else { return Ok(None) };
    let ledger = figures::from_ledger(db, since).await?;
    let typical = settings::get::<Typical>(db).await?;
    let learned = typical.as_ref().map(|typical| learn(&typical.value, &ledger.taken)).unwrap_or_default();
    let rates = settings::get_or_default::<Rates>(db).await?.value;
    let plan = match plans::latest(db).await? {
        None => None,
        Some(stored) => Body::read(&stored).ok().map(|body| body.view(stored.made_at)),
    };
    let bench = settings::get_or_default::<Bench>(db).await?;
    Ok(Some(Figures {
        profile: profile.value,
        since,
        promises: figures::promises(db, since).await?,
        billed: figures::billed(db, since).await?,
        plan,
        changes: learn_changes(&bench.value, &ledger.changed_over),
        bench: bench.value,
        bench_version: bench.version,
        wheels: wheels::in_use(db).await?.into_iter().map(|known| known.wheel).collect(),
        learned,
        rates: learn_rates(&rates, &ledger.work),
        typical_version: typical.map_or(0, |typical| typical.version),
        ledger,
    }))
}

fn kind_of(edge: EdgeKind) -> craft::EdgeKind {
    match edge {
        EdgeKind::Double => craft::EdgeKind::Double,
        EdgeKind::Single => craft::EdgeKind::Single,
        EdgeKind::Arc | EdgeKind::Wavy | EdgeKind::Pointed => craft::EdgeKind::Serrated,
    }
}

/// What the measured services teach against what the shop counts on now.
fn learn(typical: &Typical, taken: &[Taken]) -> Vec<Learned> {
    let mut counted_on = typical.learned;
    [craft::EdgeKind::Double, craft::EdgeKind::Single, craft::EdgeKind::Serrated]
        .into_iter()
        .map(|kind| {
            let observed: Vec<Observed> = taken
                .iter()
                .filter(|one| kind_of(one.edge) == kind)
                .map(|one| Observed { recession_mm: one.recession_mm, reading_sd_mm: READING_SD_MM })
                .collect();
            // Always from what was set at the start: the same ledger must not teach twice.
            let set = Habit::from_median(typical.median_mm(kind), typical.spread, PRIOR_SERVICES);
            let prior = counted_on.of(kind).unwrap_or(set);
            Learned { kind, n: observed.len(), prior, posterior: set.learn(&observed) }
        })
        .collect()
}

/// What the steps that were done teach about each operation on each steel, and on any steel. An operation the ledger says
/// too little of is left out.
fn learn_rates(rates: &Rates, work: &[DoneWork]) -> Vec<LearnedRate> {
    let mut done: BTreeMap<(Operation, Option<&str>), Vec<Ground>> = BTreeMap::new();
    for one in work {
        let Some(cut) = one.cut else { continue };
        let Some(operation) = Operation::ALL.into_iter().find(|known| known.word() == one.kind.code()) else {
            continue;
        };
        let ground = Ground {
            metal_mm3: cut.metal_mm3,
            minutes: f64::from(one.took),
            handling: f64::from(cut.handling),
        };
        done.entry((operation, None)).or_default().push(ground);
        // Under one name, however it was written on the sheet.
        if let Some(steel) = one.steel.as_deref().and_then(|name| rates.steel(name)) {
            done.entry((operation, Some(&steel.name))).or_default().push(ground);
        }
    }
    done.into_iter()
        .filter_map(|((operation, steel), done)| {
            let habit = learn::removal(&done)?;
            let now = rates
                .removal
                .iter()
                .find(|rate| rate.operation == operation && rate.steel.as_deref() == steel)
                .cloned();
            let ledger = RemovalRate {
                operation,
                steel: steel.map(str::to_owned),
                mm3_per_min: habit.median_mm(),
                spread: habit.spread(),
            };
            Some(LearnedRate { n: done.len(), now, ledger })
        })
        .collect()
}

/// What the changes of setup that were made teach about the table of changeovers, pauses left out.
fn learn_changes(bench: &Bench, made: &[ChangedOver]) -> Vec<LearnedChange> {
    let mut lasted: BTreeMap<(usize, usize, usize), Vec<f64>> = BTreeMap::new();
    for one in made {
        let Some(s) = bench.stations.iter().position(|station| station.id == one.station) else { continue };
        let station = &bench.stations[s];
        let at = |id: &str| station.setups.iter().position(|setup| setup.id == id);
        let Some((from, to)) = at(&one.from).zip(at(&one.to)) else { continue };
        let now = f64::from(station.minutes_between(from, to));
        if (0.0..=now + PAUSE_MIN).contains(&one.minutes) {
            lasted.entry((s, from, to)).or_default().push(one.minutes);
        }
    }
    let learned = |((s, from, to), mut minutes): ((usize, usize, usize), Vec<f64>)| {
        minutes.sort_by(f64::total_cmp);
        let n = minutes.len();
        let middle = f64::midpoint(minutes[(n - 1) / 2], minutes[n / 2]);
        let station = &bench.stations[s];
        LearnedChange {
            station: station.id.clone(),
            from,
            to,
            n,
            now: station.minutes_between(from, to),
            ledger: (minutes[0], middle, minutes[n - 1]),
        }
    };
    lasted.into_iter().map(learned).collect()
}

/// The table of changeovers says from now on what the ledger does, where it was changed often enough.
pub async fn use_changes(ctx: &Ctx, by: &Person, version: i64) -> Result<(), NotSaved> {
    let now = ctx.now();
    let since = now.checked_sub_days(Days::new(DAYS_BACK)).unwrap_or(now);
    let tx = ctx.store.begin_write().await?;
    let mut bench = settings::get_or_default::<Bench>(&tx).await?.value;
    let made = figures::from_ledger(&tx, since).await?.changed_over;
    let mut lines = Vec::new();
    for learned in learn_changes(&bench, &made).into_iter().filter(LearnedChange::counts) {
        let Some(station) = bench.stations.iter_mut().find(|station| station.id == learned.station) else {
            continue;
        };
        let (from, to) = (&station.setups[learned.from].id, &station.setups[learned.to].id);
        if learned.minutes() != learned.now {
            lines.push(format!(
                "{}: {from} to {to} {} → {} min, from {} changes",
                station.name,
                learned.now,
                learned.minutes(),
                learned.n
            ));
            station.set_minutes_between(learned.from, learned.to, learned.minutes());
        }
    }
    if lines.is_empty() {
        return Err(NotSaved::field(
            "learned",
            "The table of changeovers says already what the ledger does.",
        ));
    }
    settings::put(&tx, &bench, version, Some(by.id), now).await?;
    changes::add(&tx, Subject::Bench, None, &lines, Some(by.id), now).await?;
    tx.commit().await?;
    ctx.planner.ring();
    Ok(())
}

/// `Bevel, 1.4125`: an operation, and the steel where it is about one.
pub fn rate_words(rate: &RemovalRate) -> String {
    let kind = rate.operation.word().parse::<OperationKind>();
    let kind = kind.map_or(rate.operation.word(), OperationKind::words);
    format!("{kind}, {}", rate.steel.as_deref().unwrap_or("any steel"))
}

/// The shop counts on what its ledger teaches from now on. New estimates use it; what was said before stays said.
pub async fn use_learned(ctx: &Ctx, by: &Person, version: i64) -> Result<(), NotSaved> {
    let now = ctx.now();
    let since = now.checked_sub_days(Days::new(DAYS_BACK)).unwrap_or(now);
    let tx = ctx.store.begin_write().await?;
    let Some(Versioned { value: before, .. }) = settings::get::<Typical>(&tx).await? else {
        return Err(NotSaved::Gone);
    };
    let ledger = figures::from_ledger(&tx, since).await?;
    let mut after = before;
    let mut lines = Vec::new();
    for learned in learn(&before, &ledger.taken).into_iter().filter(|learned| learned.n > 0) {
        let name = match learned.kind {
            craft::EdgeKind::Double => "plain, both sides",
            craft::EdgeKind::Single => "plain, one side",
            craft::EdgeKind::Serrated => "serrated",
        };
        lines.push(format!(
            "{name}: {} → {} mm a service, spread {} → {}, from {} services",
            short(learned.prior.median_mm(), 3),
            short(learned.posterior.median_mm(), 3),
            short(learned.prior.spread(), 2),
            short(learned.posterior.spread(), 2),
            learned.n
        ));
        *after.learned.of(learned.kind) = Some(learned.posterior);
    }
    let rates = settings::get_or_default::<Rates>(&tx).await?;
    let learned = learn_rates(&rates.value, &ledger.work);
    if !learned.is_empty() {
        let mut counted_on = rates.value;
        for LearnedRate { n, now, ledger } in learned {
            let before = now.as_ref().map_or("handling alone".to_owned(), |now| short(now.mm3_per_min, 1));
            lines.push(format!(
                "{}: {before} → {} mm³ a minute, spread {}, from {n} steps",
                rate_words(&ledger),
                short(ledger.mm3_per_min, 1),
                short(ledger.spread, 2),
            ));
            counted_on.removal.retain(|old| (old.operation, &old.steel) != (ledger.operation, &ledger.steel));
            counted_on.removal.push(ledger);
        }
        settings::put(&tx, &counted_on, rates.version, Some(by.id), now).await?;
    }
    if lines.is_empty() {
        return Err(NotSaved::field("learned", "The ledger holds no service measured before and after yet."));
    }
    settings::put(&tx, &after, version, Some(by.id), now).await?;
    changes::add(&tx, Subject::Typical, None, &lines, Some(by.id), now).await?;
    tx.commit().await?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ledger_moves_only_the_kind_of_edge_it_speaks_of() {
        let mut typical = Typical {
            double_mm: 0.18,
            single_mm: 0.2,
            serrated_mm: 0.25,
            spread: 0.5,
            learned: assess::Learned::default(),
        };
        let taken = vec![Taken { edge: EdgeKind::Wavy, recession_mm: 0.5, steel: None, ground_on: None }; 6];
        let learned = learn(&typical, &taken);
        assert_eq!(learned.iter().map(|l| l.n).collect::<Vec<_>>(), [0, 0, 6]);
        assert!((learned[0].posterior.median_mm() - 0.18).abs() < 1e-12);
        let moved = learned[2].posterior.median_mm();
        assert!(moved > 0.25 && moved < 0.5, "{moved}");
        // Taken over, the same ledger teaches the same once more, not twice as much.
        typical.learned.serrated = Some(learned[2].posterior);
        let again = learn(&typical, &taken);
        assert_eq!((again[2].prior, again[2].posterior), (learned[2].posterior, learned[2].posterior));
    }
}

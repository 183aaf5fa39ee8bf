//! Planning within a budget.

use std::sync::atomic::{AtomicBool, Ordering};

use crate::blame::blame;
use crate::company;
use crate::dispatch::{Sight, dispatch};
use crate::draft::{Draft, Score, Times};
use crate::hours::FAR;
use crate::improve::Improve;
use crate::model::{NONE, Shop};
use crate::ripple::Ripple;
use crate::rng::Rng;
use crate::roam::Roam;
use crate::{Complaint, Instance, Plan, bound, line};

/// How much effort a plan may take; whichever limit is reached first ends the search. Without either it runs for 5 s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Budget {
    /// Seconds, as the [`Watch`] tells them.
    pub seconds: Option<f64>,
    /// Steps of the search, over all threads. With this limit alone, equal instance, seed, steps and threads give the
    /// same plan.
    pub iterations: Option<u64>,
    /// Threads to use, at least 1; a browser has one.
    pub threads: usize,
    /// Where the dice begin.
    pub seed: u64,
}

impl Default for Budget {
    fn default() -> Self {
        Self { seconds: None, iterations: None, threads: 1, seed: 1 }
    }
}

/// Seconds when a budget names no limit.
const SECONDS: f64 = 5.0;

/// What the search asks of the world: how long it has run, and whether to stop.
#[derive(Clone, Copy)]
pub struct Watch<'a> {
    /// Seconds since planning was asked for.
    pub elapsed_s: &'a (dyn Fn() -> f64 + Sync),
    /// Set from outside to end the search early with the best plan so far.
    pub stop: &'a AtomicBool,
}

static NEVER: AtomicBool = AtomicBool::new(false);

impl Watch<'static> {
    /// No clock and nobody who stops it: only a budget of iterations ends the search.
    pub fn none() -> Self {
        Self { elapsed_s: &|| 0.0, stop: &NEVER }
    }
}

/// When to stop.
#[derive(Clone, Copy)]
pub(crate) struct Limit<'a> {
    pub(crate) watch: &'a Watch<'a>,
    pub(crate) seconds: f64,
    pub(crate) iterations: u64,
    /// No plan costs less, so a search that gets there is done.
    pub(crate) enough: f64,
}

impl<'a> Limit<'a> {
    pub(crate) fn of(budget: Budget, watch: &'a Watch<'a>) -> Self {
        let seconds = match (budget.seconds, budget.iterations) {
            (None, None) => SECONDS,
            (seconds, _) => seconds.unwrap_or(f64::INFINITY),
        };
        Self { watch, seconds, iterations: budget.iterations.unwrap_or(u64::MAX), enough: 0.0 }
    }

    /// How much of the limit is used up, from 0 to 1. Where steps are limited they alone tell, so that equal steps do the
    /// same whatever the clock says.
    pub(crate) fn progress(&self, iterations: u64) -> f64 {
        let used = if self.iterations < u64::MAX {
            iterations as f64 / self.iterations as f64
        } else if self.seconds.is_finite() {
            (self.watch.elapsed_s)() / self.seconds
        } else {
            0.0
        };
        used.min(1.0)
    }

    /// A share of what is left of it.
    pub(crate) fn part(&self, share: f64) -> Self {
        let now = (self.watch.elapsed_s)();
        let seconds =
            if self.seconds.is_finite() { now + (self.seconds - now) * share } else { self.seconds };
        Self { seconds, ..self.with_steps(|all| (all as f64 * share) as u64) }
    }

    /// Other steps, if they are limited at all; where they are not the clock tells the progress.
    fn with_steps(&self, steps: impl Fn(u64) -> u64) -> Self {
        let iterations = if self.iterations == u64::MAX { u64::MAX } else { steps(self.iterations) };
        Self { iterations, ..*self }
    }

    /// What is left after so many steps.
    pub(crate) fn after(&self, steps: u64) -> Self {
        self.with_steps(|all| all.saturating_sub(steps))
    }

    pub(crate) fn reached(&self, iterations: u64) -> bool {
        iterations >= self.iterations || self.out_of_time()
    }

    /// Whether the clock or somebody outside says stop, whatever the steps.
    pub(crate) fn out_of_time(&self) -> bool {
        self.watch.stop.load(Ordering::Relaxed)
            || (self.seconds.is_finite() && (self.watch.elapsed_s)() >= self.seconds)
    }
}

/// Plan everything in an instance.
///
/// # Errors
/// What cannot be met, by name. [`plan_feasible_part`] plans the rest.
pub fn plan(instance: &Instance, budget: Budget, watch: &Watch<'_>) -> Result<Plan, Vec<Complaint>> {
    let shop = Shop::new(instance)?;
    let company = company::candidates(instance, &shop);
    if company.is_empty() {
        return alone(instance, &shop, budget, watch);
    }
    company::plan(instance, company, budget, |instance, budget| {
        alone(instance, &Shop::new(instance)?, budget, watch)
    })
}

/// Plan without putting anything into fixed loads.
fn alone(
    instance: &Instance,
    shop: &Shop,
    budget: Budget,
    watch: &Watch<'_>,
) -> Result<Plan, Vec<Complaint>> {
    let least = bound::bound(shop);
    let limit = Limit { enough: least, ..Limit::of(budget, watch) };
    let (draft, iterations, found_at) = best_line(shop, &limit, budget).unwrap_or_else(|| {
        let (draft, iterations) = best(shop, &limit, budget);
        (draft, iterations, 0)
    });
    let mut times = Times::new(shop);
    let score = times.lay_out(shop, &draft);
    if score.broken > 0.0 {
        return Err(blame(shop, &draft, &times, instance));
    }
    let mut plan = times.plan(shop, &draft, instance);
    plan.bound = Some(least.max(bound::close(shop, plan.objective.total)).min(plan.objective.total));
    plan.iterations = iterations;
    plan.found_at = found_at;
    plan.elapsed_ms = ((watch.elapsed_s)() * 1000.0) as u64;
    Ok(plan)
}

/// The best draft of a shop that is one line of work, the steps taken, and after how many of its thread's it was found.
fn best_line(shop: &Shop, limit: &Limit<'_>, budget: Budget) -> Option<(Draft, u64, u64)> {
    let line = line::recognise(shop)?;
    let (mut draft, mut steps) = if line.quick() {
        (dispatch(shop, Sight::plain(shop)), 0)
    } else {
        let (draft, steps) = best(shop, &limit.part(GENERAL_FIRST), budget);
        if Times::new(shop).lay_out(shop, &draft).total <= limit.enough {
            return Some((draft, steps, 0));
        }
        (draft, steps)
    };
    let first: Vec<u16> = draft.order.iter().map(|&op| op as u16).collect();
    let mut best: Option<line::Found> = None;
    let rest = limit.after(steps);
    for found in on_threads(&rest, budget, |limit, seed| {
        line::search(&line, first.clone(), &mut Rng::new(seed), limit)
    }) {
        steps += found.steps;
        if best.as_ref().is_none_or(|b| found.cost < b.cost) {
            best = Some(found);
        }
    }
    // An order that runs out of opening hours; the general search may do better.
    let best = best.filter(|b| b.cost < line::NEVER)?;
    draft.order = best.order.into_iter().map(u32::from).collect();
    draft.hold.fill(-FAR);
    draft.person.fill(NONE);
    Some((draft, steps, best.at))
}

/// Where an order has to be timed job by job, the general search has this share of the time before: it is further at first.
const GENERAL_FIRST: f64 = 0.25;

/// The best draft of a shop within a limit, and the steps taken.
fn best(shop: &Shop, limit: &Limit<'_>, budget: Budget) -> (Draft, u64) {
    let mut times = Times::new(shop);
    let mut best = dispatch(shop, Sight::plain(shop));
    let mut score = times.lay_out(shop, &best);
    if score.broken > 0.0 && shop.ops.len() > SOME {
        // Too many longest waits to mend by laying out again and again.
        let mended = Ripple::new(shop, &best, &times).draft();
        let found = times.lay_out(shop, &mended);
        if found.less(score) {
            (best, score) = (mended, found);
        } else {
            times.lay_out(shop, &best);
        }
    }
    let mut steps = 0;
    // A quarter of the time at most: the search needs the rest.
    let early = Limit { seconds: limit.seconds / 4.0, ..*limit };
    for sight in sights(shop, &times) {
        if early.reached(steps) {
            break;
        }
        steps += 1;
        let draft = dispatch(shop, sight);
        let found = times.lay_out(shop, &draft);
        if found.less(score) {
            (best, score) = (draft, found);
        }
    }
    let rest = limit.after(steps);
    let (draft, _, more) = on_threads(&rest, budget, |limit, seed| improved(shop, &best, score, limit, seed))
        .reduce(|a, b| if b.1.less(a.1) { b } else { a })
        .unwrap_or((best, score, 0));
    (draft, steps + more)
}

/// Up to so many operations annealing alone is best: it gets round to everything many times.
const FEW: usize = 60;

/// Up to so many operations annealing has the second half of the time, since it gets out of places that small moves
/// downhill lead into.
const SOME: usize = 400;

/// One thread's search from a draft.
fn improved(shop: &Shop, from: &Draft, score: Score, limit: &Limit<'_>, seed: u64) -> (Draft, Score, u64) {
    let (mut best, mut best_score, mut steps) = (from.clone(), score, 0);
    let n = shop.ops.len();
    if n > FEW {
        let first = if n > SOME { *limit } else { limit.part(0.5) };
        let mut times = Times::new(shop);
        times.lay_out(shop, &best);
        if let Some(roam) = Roam::new(shop, seed, &first, best.clone(), &times) {
            let (draft, took) = roam.run();
            steps = took;
            // What counts is the timetable laid out from the beginning.
            let found = times.lay_out(shop, &draft);
            if found.less(best_score) {
                (best, best_score) = (draft, found);
            }
        }
    }
    if limit.reached(steps) || (best_score.broken == 0.0 && best_score.total <= limit.enough) {
        return (best, best_score, steps);
    }
    let rest = limit.after(steps);
    let (draft, found, more) = Improve::new(shop, seed, &rest, best.clone()).run();
    if found.less(best_score) {
        (best, best_score) = (draft, found);
    }
    (best, best_score, steps + more)
}

/// What else to try after the first sight. Where the first plan is late: other look-aheads, then patience; where it is
/// not: longer runs first.
fn sights(shop: &Shop, first: &Times) -> Vec<Sight> {
    let plain = Sight::plain(shop);
    let due = |f: fn(i64, i64) -> i64| shop.jobs.iter().map(|j| j.due).reduce(f).unwrap_or(0);
    let spread = (due(i64::max) - due(i64::min)) as f64;
    let late = shop.jobs.iter().any(|j| first.end[(j.first + j.len - 1) as usize] > j.due);
    let patient = [(1000, 0.1), (24, 0.1), (8, 0.05), (8, 0.2), (1000, 0.05), (1000, 0.2)];
    let patient =
        patient.map(|(run, share)| Sight { run, slack: 1440.0 + share * spread, setup: 0.1, ..plain });
    let others = [(0.2, 0.2), (2.0, 0.2), (2.0, 1.0), (0.05, 5.0), (0.2, 5.0), (0.2, 1.0), (0.05, 0.2)];
    let others = others.map(|(setup, due)| Sight { due: plain.due * due, setup, ..plain });
    let near = [1.0, 3.0, 10.0, 40.0, 150.0].map(|due| Sight { due, ..plain });
    if late { [&others[..], &near, &patient].concat() } else { [&patient[..], &others, &near].concat() }
}

/// Run a search on every thread, each with dice and a share of the iterations of its own.
fn on_threads<T: Send>(
    limit: &Limit<'_>,
    budget: Budget,
    search: impl Fn(&Limit<'_>, u64) -> T + Sync,
) -> impl Iterator<Item = T> {
    let threads = if cfg!(target_family = "wasm") { 1 } else { budget.threads.clamp(1, 64) };
    let share = |k: u64| limit.with_steps(|all| all / threads as u64 + u64::from(k < all % threads as u64));
    let seed = |k: u64| budget.seed.wrapping_mul(64).wrapping_add(k);
    let mut found = Vec::with_capacity(threads);
    if threads == 1 {
        found.push(search(limit, seed(0)));
    } else {
        let search = &search;
        std::thread::scope(|scope| {
            let running: Vec<_> =
                (0..threads as u64).map(|k| scope.spawn(move || search(&share(k), seed(k)))).collect();
            // A thread that panicked has nothing to say; the others still have.
            found.extend(running.into_iter().filter_map(|t| t.join().ok()));
        });
    }
    found.into_iter()
}

/// A plan of what can be planned, and what was left out.
#[derive(Clone, Debug, PartialEq)]
pub struct Partial {
    /// The instance that was planned: the one asked for without the jobs left out.
    pub instance: Instance,
    /// Its plan.
    pub plan: Plan,
    /// What is not in it, and why.
    pub left_out: Vec<LeftOut>,
}

/// A job that no plan can hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftOut {
    /// The job's name.
    pub job: String,
    /// Why, each a sentence.
    pub why: Vec<Complaint>,
}

/// Plan what can be planned: jobs that nothing could hold are left out, each with its reasons.
///
/// # Errors
/// The stations, tables or people themselves make no sense.
pub fn plan_feasible_part(
    instance: &Instance,
    budget: Budget,
    watch: &Watch<'_>,
) -> Result<Partial, Vec<Complaint>> {
    let mut rest = instance.clone();
    let mut left_out: Vec<LeftOut> = Vec::new();
    loop {
        let complaints = match plan(&rest, budget, watch) {
            Ok(plan) => {
                return Ok(Partial { instance: rest, plan, left_out });
            }
            Err(complaints) => complaints,
        };
        let (of_jobs, others): (Vec<_>, Vec<_>) = complaints.into_iter().partition(|c| c.job.is_some());
        if of_jobs.is_empty() {
            return Err(others);
        }
        for complaint in of_jobs {
            let job = complaint.job.clone().unwrap_or_default();
            match left_out.iter_mut().find(|l| l.job == job) {
                Some(known) => known.why.push(complaint),
                None => left_out.push(LeftOut { job, why: vec![complaint] }),
            }
        }
        rest.jobs.retain(|j| !left_out.iter().any(|l| l.job == j.id));
        rest.standing.retain(|s| !left_out.iter().any(|l| l.job == s.job));
    }
}

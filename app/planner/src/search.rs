//! Planning within a budget.

use std::sync::atomic::{AtomicBool, Ordering};

use crate::dispatch::{Sight, dispatch};
use crate::draft::{Draft, Score, Times};
use crate::model::Shop;
use crate::{Complaint, Instance, Plan, bound};

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
pub(crate) struct Limit<'a> {
    pub(crate) watch: &'a Watch<'a>,
    pub(crate) seconds: f64,
    pub(crate) iterations: u64,
}

impl<'a> Limit<'a> {
    pub(crate) fn of(budget: Budget, watch: &'a Watch<'a>) -> Self {
        let seconds = match (budget.seconds, budget.iterations) {
            (None, None) => SECONDS,
            (seconds, _) => seconds.unwrap_or(f64::INFINITY),
        };
        Self { watch, seconds, iterations: budget.iterations.unwrap_or(u64::MAX) }
    }

    pub(crate) fn reached(&self, iterations: u64) -> bool {
        iterations >= self.iterations
            || self.watch.stop.load(Ordering::Relaxed)
            || (self.seconds.is_finite() && (self.watch.elapsed_s)() >= self.seconds)
    }
}

/// Plan everything in an instance.
///
/// # Errors
/// What cannot be met, by name. [`plan_feasible_part`] plans the rest.
pub fn plan(instance: &Instance, budget: Budget, watch: &Watch<'_>) -> Result<Plan, Vec<Complaint>> {
    let shop = Shop::new(instance)?;
    let limit = Limit::of(budget, watch);
    let (draft, mut times, iterations) = best(&shop, &limit);
    let score = times.lay_out(&shop, &draft, Score::WORST);
    if score.broken > 0.0 {
        return Err(vec![Complaint::new(
            "jobs",
            "no plan was found that keeps all windows, longest waits and fixed work",
        )]);
    }
    let mut plan = times.plan(&shop, &draft, instance);
    plan.bound = Some(bound::bound(&shop).min(plan.objective.total));
    plan.iterations = iterations;
    plan.elapsed_ms = ((watch.elapsed_s)() * 1000.0) as u64;
    Ok(plan)
}

fn best(shop: &Shop, limit: &Limit<'_>) -> (Draft, Times, u64) {
    let mut times = Times::new(shop);
    let mut best = dispatch(shop, Sight::PLAIN);
    let mut score = times.lay_out(shop, &best, Score::WORST);
    let mut iterations = 0;
    for due in [1.0, 3.0, 10.0, 40.0] {
        for setup in [0.2, 0.5, 2.0] {
            if limit.reached(iterations) {
                return (best, times, iterations);
            }
            iterations += 1;
            let draft = dispatch(shop, Sight { due, setup, ..Sight::PLAIN });
            let found = times.lay_out(shop, &draft, score);
            if found.less(score) {
                (best, score) = (draft, found);
            }
        }
    }
    (best, times, iterations)
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

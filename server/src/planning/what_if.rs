//! What would happen to the standing plan if one thing were different. Nothing is changed by asking.

use std::sync::atomic::AtomicBool;

use chrono::{DateTime, TimeDelta, Utc};
use planner::{Budget, Instance, Plan, Shift, Watch};
use shop::ids::PieceId;
use shop::profile::Profile;

use super::body::Body;
use super::instance::RUSH_WEIGHT;
use super::worker::{self, PlanningError};
use crate::clock::Stopwatch;
use crate::context::Ctx;
use crate::local;
use crate::store::settings;

/// Seconds the other plan is searched for. Somebody is waiting for the answer.
const SEARCH_S: f64 = 0.5;

/// One thing that is different.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Question {
    /// This piece were rush.
    Rush(PieceId),
    /// This station were out of order until then.
    Broken(String, DateTime<Utc>),
    /// Everybody stayed so many minutes longer on the next evening.
    Longer(u16),
}

/// What would come of it.
#[derive(Debug, Clone)]
pub struct Answered {
    /// The plan that stands.
    pub standing: Body,
    /// The pieces that would be finished at another time, the largest difference first.
    pub shifts: Vec<Shift>,
    /// Minutes late in all, now and then.
    pub late: (i64, i64),
    /// Minutes of changing over in all, now and then.
    pub changeover: (i64, i64),
    /// Why there could be no such plan; the figures then say nothing.
    pub impossible: Option<String>,
}

/// Asks. `None` while there is no plan, or no such piece or station in it.
pub async fn what_if(ctx: &Ctx, question: Question) -> Result<Option<Answered>, PlanningError> {
    let Some(profile) = settings::get::<Profile>(ctx.store.read()).await? else { return Ok(None) };
    let Some((_, standing)) = worker::standing(ctx).await? else { return Ok(None) };
    let now = ctx.now();
    let Some(changed) = changed(&standing, &profile.value, &question, now) else { return Ok(None) };
    worker::on_a_thread(move || Ok(Some(answer(standing, &changed)))).await
}

fn changed(standing: &Body, profile: &Profile, question: &Question, now: DateTime<Utc>) -> Option<Instance> {
    let instance = &standing.instance;
    match question {
        Question::Rush(piece) => planner::if_rush(instance, &piece.to_string(), RUSH_WEIGHT),
        Question::Broken(station, until) => {
            // What is begun there is ended by hand; the fault counts from then on.
            let begun = standing.plan.operations.iter().filter(|placed| {
                placed.station == *station && standing.of(placed).is_some_and(|(_, op)| op.begun)
            });
            let from = begun.map(|placed| placed.end).max().unwrap_or(0).max(standing.minute(now));
            planner::if_out_of_order(instance, station, from, standing.minute(*until).max(from + 1))
        }
        Question::Longer(minutes) => {
            let closing = local::closing_after(local::zone(profile), &profile.bench, now)?;
            let end = closing + TimeDelta::minutes(i64::from(*minutes));
            Some(planner::if_open_longer(instance, standing.minute(closing), standing.minute(end)))
        }
    }
}

fn answer(standing: Body, changed: &Instance) -> Answered {
    let started = Stopwatch::start();
    let elapsed = || started.elapsed().as_secs_f64();
    let stop = AtomicBool::new(false);
    let watch = Watch { elapsed_s: &elapsed, stop: &stop };
    let budget = Budget { seconds: Some(SEARCH_S), ..Budget::default() };
    let late = |instance: &Instance, plan: &Plan| -> i64 {
        let end = |job: &str| plan.operations.iter().filter(|o| o.job == job).map(|o| o.end).max();
        instance.jobs.iter().filter_map(|job| Some((end(&job.id)? - job.due).max(0))).sum()
    };
    let before = late(&standing.instance, &standing.plan);
    let changeover = standing.plan.objective.changeover;
    match planner::replan(changed, &standing.plan, budget, &watch) {
        Ok(plan) => Answered {
            shifts: planner::shifts(changed, &standing.plan, &plan),
            late: (before, late(changed, &plan)),
            changeover: (changeover, plan.objective.changeover),
            impossible: None,
            standing,
        },
        Err(complaints) => Answered {
            shifts: Vec::new(),
            late: (before, before),
            changeover: (changeover, changeover),
            impossible: Some(worker::sentence(&standing, &complaints)),
            standing,
        },
    }
}

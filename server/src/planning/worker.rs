//! Plans in the background: at once after a change, then better and better while it is quiet.
//!
//! No transaction is open while it plans. What was read is read again, inside the transaction that publishes; when it
//! has changed meanwhile the plan is thrown away and the next round begins with what is true now.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use chrono::{DateTime, TimeDelta, Utc};
use planner::{Budget, Complaint, Instance, Plan, Watch};
use shop::ids::PieceId;
use shop::ledger::{Fact, Who};
use shop::piece::{Event, PieceState};
use uuid::Uuid;

use super::body::{Body, LeftOut};
use super::instance::{Give, Inputs, build, carried_over, standing_starts, still_holds};
use crate::clock::Stopwatch;
use crate::context::Ctx;
use crate::neighbours::PlanningLease;
use crate::store::plans::StoredPlan;
use crate::store::{self, StoreError, WriteTx, ledger, pieces, plans};

/// The worker looks again after this long even if nobody rang: time passes, and another server may have changed things.
const LOOK_AGAIN: Duration = Duration::from_secs(30);

/// With a clock that somebody moves, waiting by our own would miss the move.
const LOOK_AGAIN_MOVABLE: Duration = Duration::from_secs(1);

/// How long a server that does not plan waits before it asks whether it should.
const ANOTHER_PLANS: Duration = Duration::from_secs(5);

/// How long a server that could not plan leaves it to others: longer than they wait before they ask.
const STAND_ASIDE: Duration = Duration::from_secs(10);

/// Work that should have begun by so much and has not, moves the plan. Less, and the plan would fidget; more, and it
/// would promise what nobody can keep.
const GRACE: TimeDelta = TimeDelta::minutes(5);

/// Seconds a first plan may take. People are waiting for it.
const QUICK_S: f64 = 0.4;

/// Seconds of one stretch of improving.
const STRETCH_S: f64 = 5.0;

/// Stretches without anything found after which it rests until something changes.
const FRUITLESS: u32 = 3;

/// A plan replaces another of the same work only when it is better by this share, and by one minute at least: every
/// change costs the people who have to read it.
const LEAST_GAIN: f64 = 0.005;

/// After a change, so long for others that come with it: too short to be felt, and a burst of bookings is not looked at one by one.
const SETTLE: Duration = Duration::from_millis(50);

/// A round that was overtaken is followed by such a pause, twice as long each time up to a limit: while changes come faster than plans,
/// every plan is thrown away, and its work is missing where the changes are made.
const OVERTAKEN_DOUBLINGS: u32 = 5;

/// The niceness of the thread that improves: 19 gives way to everything (setpriority(2)).
#[cfg(target_os = "linux")]
const LEAST_PRIORITY: i32 = 19;

/// What one round did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// There is no bench to plan for yet.
    NotSetUp,
    /// The plan that stands still holds, and nothing better was found.
    Unchanged,
    /// A new plan stands.
    Published,
    /// Something changed while it was planned; the plan was thrown away.
    Overtaken,
}

/// Why no plan came out.
#[derive(Debug, thiserror::Error)]
pub enum PlanningError {
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The bench itself makes no sense; each complaint is a sentence.
    #[error("the bench cannot be planned: {0}")]
    Bench(String),
    /// The planning thread ended without an answer.
    #[error("planning ended without an answer")]
    Lost,
}

/// Works until the program stops.
pub async fn run(ctx: Ctx) {
    let look_again = if ctx.clock.is_movable() { LOOK_AGAIN_MOVABLE } else { LOOK_AGAIN };
    let mut fruitless = 0;
    let mut overtaken = 0;
    let mut lease = PlanningLease::default();
    while !ctx.stop.is_cancelled() {
        let ours = lease.hold(&ctx).await.unwrap_or_else(|error| {
            tracing::error!("no lease on planning: {error}");
            false
        });
        if !ours {
            // Another server plans for all. Its plans show here too; if it dies, its lease runs out.
            tokio::select! {
                () = tokio::time::sleep(ANOTHER_PLANS) => {}
                () = ctx.stop.cancelled() => {}
            }
            continue;
        }
        let outcome = match work_once(&ctx).await {
            Ok(outcome) => outcome,
            Err(error) => {
                // A newer program may have written what this one cannot read, so another server gets its turn.
                tracing::error!("planning failed: {error}");
                give_back(&ctx, &mut lease).await;
                settle(&ctx, STAND_ASIDE).await;
                continue;
            }
        };
        match outcome {
            Outcome::Published => fruitless = 0,
            Outcome::Overtaken => {
                settle(&ctx, SETTLE * 2_u32.pow(overtaken)).await;
                overtaken = (overtaken + 1).min(OVERTAKEN_DOUBLINGS);
                continue;
            }
            Outcome::Unchanged | Outcome::NotSetUp => {}
        }
        overtaken = 0;
        if outcome != Outcome::NotSetUp && fruitless < FRUITLESS {
            match improve_while_quiet(&ctx, fruitless).await {
                Ok(Some(Outcome::Published)) => fruitless = 0,
                Ok(Some(Outcome::Unchanged)) => fruitless += 1,
                // Somebody rang, or it was overtaken: look at what changed.
                Ok(_) => {
                    settle(&ctx, SETTLE).await;
                    fruitless = 0;
                }
                Err(error) => {
                    tracing::error!("improving the plan failed: {error}");
                    fruitless = FRUITLESS;
                }
            }
            continue;
        }
        tokio::select! {
            () = ctx.planner.rung() => fruitless = 0,
            () = tokio::time::sleep(look_again) => {}
            () = ctx.stop.cancelled() => {}
        }
    }
    give_back(&ctx, &mut lease).await;
}

/// Lets the next server plan.
async fn give_back(ctx: &Ctx, lease: &mut PlanningLease) {
    if let Err(error) = lease.give_back(ctx).await {
        tracing::warn!("the lease on planning was not given back: {error}");
    }
}

/// Waits, unless the program stops.
async fn settle(ctx: &Ctx, pause: Duration) {
    tokio::select! {
        () = tokio::time::sleep(pause) => {}
        () = ctx.stop.cancelled() => {}
    }
}

/// Improves until the stretch is over (`Some`), or somebody rings or the program stops (`None`).
async fn improve_while_quiet(ctx: &Ctx, round: u32) -> Result<Option<Outcome>, PlanningError> {
    let stop = Arc::new(AtomicBool::new(false));
    let budget = Budget { seconds: Some(STRETCH_S), seed: u64::from(round) + 1, ..Budget::default() };
    let improving = improve_once(ctx, budget, stop.clone());
    tokio::pin!(improving);
    tokio::select! {
        outcome = &mut improving => return outcome.map(Some),
        () = ctx.planner.rung() => {}
        () = ctx.stop.cancelled() => {}
    }
    stop.store(true, Ordering::Relaxed);
    // What was found until now may still be published, unless what rang has changed it.
    improving.await?;
    // The ring is answered by the next round, which the caller begins at once.
    Ok(None)
}

/// Plans when what there is to plan has changed, or time has overtaken the plan.
pub async fn work_once(ctx: &Ctx) -> Result<Outcome, PlanningError> {
    let now = ctx.now();
    let Some(inputs) = Inputs::load(ctx.store.read(), now).await? else {
        return Ok(Outcome::NotSetUp);
    };
    let standing = standing(ctx).await?;
    if let Some((_, body)) = &standing
        && still_holds(body, now, GRACE)
        && build(&inputs, &body.given).fingerprint == body.fingerprint
    {
        return Ok(Outcome::Unchanged);
    }
    let expected = standing.as_ref().map(|(id, _)| *id);
    let before = standing.map(|(_, body)| body);
    // What changes a plan that stands is answered at once; the quiet afterwards makes it better.
    let seconds = if before.is_some() { planner::REPLAN_S } else { QUICK_S };
    let budget = Budget { seconds: Some(seconds), ..Budget::default() };
    let never = Arc::new(AtomicBool::new(false));
    let answered = on_a_thread(move || answer(&inputs, before.as_ref(), Way::Keep, budget, &never)).await?;
    publish(ctx, answered, expected, now).await
}

/// Looks for a better plan of the same work, and publishes it when it is really better. `stop` ends it early.
pub async fn improve_once(
    ctx: &Ctx,
    budget: Budget,
    stop: Arc<AtomicBool>,
) -> Result<Outcome, PlanningError> {
    let now = ctx.now();
    let Some(inputs) = Inputs::load(ctx.store.read(), now).await? else {
        return Ok(Outcome::NotSetUp);
    };
    let Some((id, before)) = standing(ctx).await? else { return Ok(Outcome::Unchanged) };
    if before.instance.jobs.is_empty() || build(&inputs, &before.given).fingerprint != before.fingerprint {
        return Ok(Outcome::Unchanged);
    }
    let better = in_spare_time(move || {
        let held = Budget { iterations: Some(0), ..budget };
        let kept = answer(&inputs, Some(&before), Way::Keep, held, &stop)?;
        // By turns from the beginning, and onwards from what stands: in a large shop a stretch is too short to get as far
        // as the standing plan from nothing.
        let way = if budget.seed.is_multiple_of(2) { Way::Keep } else { Way::Anew };
        let found = answer(&inputs, Some(&before), way, budget, &stop)?;
        let (was, is) = (kept.plan.objective.total, found.plan.objective.total);
        let same = found.instance.jobs.len() >= kept.instance.jobs.len();
        Ok((same && was - is >= (was.abs() * LEAST_GAIN).max(1.0)).then_some(found))
    })
    .await?;
    match better {
        None => Ok(Outcome::Unchanged),
        Some(found) => publish(ctx, found, Some(id), now).await,
    }
}

/// The plan that stands, read. One that cannot be read any more (an older program wrote it) counts as none.
pub(super) async fn standing(ctx: &Ctx) -> store::Result<Option<(Uuid, Body)>> {
    let Some(stored) = plans::latest(ctx.store.read()).await? else { return Ok(None) };
    match Body::read(&stored) {
        Ok(body) => Ok(Some((stored.id, body))),
        Err(error) => {
            tracing::warn!("the standing plan is put aside: {error}");
            Ok(None)
        }
    }
}

pub(super) async fn on_a_thread<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, PlanningError> + Send + 'static,
) -> Result<T, PlanningError> {
    tokio::task::spawn_blocking(work).await.map_err(|_| PlanningError::Lost)?
}

/// The same on a thread of its own that gets what everybody else leaves of the machine: nobody waits for it. Its priority cannot be
/// raised again, so the thread serves nothing else.
async fn in_spare_time<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, PlanningError> + Send + 'static,
) -> Result<T, PlanningError> {
    let (done, waiting) = tokio::sync::oneshot::channel();
    let run = move || {
        // Linux counts priorities by thread. Where they cannot be lowered it only improves at everybody's cost, as it did before.
        #[cfg(target_os = "linux")]
        if let Err(error) =
            rustix::process::setpriority_process(Some(rustix::thread::gettid()), LEAST_PRIORITY)
        {
            tracing::debug!("improving keeps its priority: {error}");
        }
        // Whoever waited may have gone.
        let _ = done.send(work());
    };
    std::thread::Builder::new().name("improve".to_owned()).spawn(run).map_err(|_| PlanningError::Lost)?;
    waiting.await.map_err(|_| PlanningError::Lost)?
}

/// How to plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Close to the plan that stands, and better where moving what people have seen pays.
    Keep,
    /// From the beginning; the standing starts still count in the cost.
    Anew,
}

/// Answers the question that the shop is. What cannot be planned is left out with its reason; pins, and longest waits
/// that are over, give way rather than stop everything.
pub fn answer(
    inputs: &Inputs,
    standing: Option<&Body>,
    way: Way,
    budget: Budget,
    stop: &AtomicBool,
) -> Result<Body, PlanningError> {
    let started = Stopwatch::start();
    let elapsed = || started.elapsed().as_secs_f64();
    let watch = Watch { elapsed_s: &elapsed, stop };
    let mut give = Give::default();
    loop {
        let mut body = build(inputs, &give);
        let carried = standing.map(|s| carried_over(s, &body)).filter(|p| !p.operations.is_empty());
        if let Some(carried) = &carried {
            body.instance.standing = standing_starts(&body.instance, carried);
        }
        let near = carried.as_ref().filter(|_| way == Way::Keep);
        match part(&body.instance, near, budget, &watch) {
            Ok(found) => {
                let overdue = found.left_out.iter().filter_map(|(job, _)| {
                    let of = body.jobs.get(job)?;
                    (of.operations.first()?.is_none() && !give.waits_of.contains(&of.piece))
                        .then_some(of.piece)
                });
                let overdue: Vec<PieceId> = overdue.collect();
                if !overdue.is_empty() {
                    give.waits_of.extend(overdue);
                    continue;
                }
                for (job, why) in found.left_out {
                    if let Some(of) = body.jobs.remove(&job) {
                        let why = sentence(&body, &why);
                        body.left_out.push(LeftOut { piece: of.piece, label: of.label, name: of.name, why });
                    }
                }
                for piece in &give.waits_of {
                    if let Some(of) = body.jobs.get_mut(&piece.to_string()) {
                        of.assumed = Some(
                            "It waits longer than bare steel should: dry and oil it by hand now.".into(),
                        );
                    }
                }
                body.instance = found.instance;
                body.plan = found.plan;
                body.given = give;
                return Ok(body);
            }
            Err(complaints) if give.pins => {
                let all: Vec<String> =
                    complaints.iter().map(|c| sentence(&body, std::slice::from_ref(c))).collect();
                return Err(PlanningError::Bench(all.join(" ")));
            }
            Err(_) => give.pins = true,
        }
    }
}

struct Part {
    instance: Instance,
    plan: Plan,
    left_out: Vec<(String, Vec<Complaint>)>,
}

/// Plans what can be planned, near a plan that stands if there is one.
fn part(
    instance: &Instance,
    near: Option<&Plan>,
    budget: Budget,
    watch: &Watch<'_>,
) -> Result<Part, Vec<Complaint>> {
    let mut rest = instance.clone();
    let mut left_out: Vec<(String, Vec<Complaint>)> = Vec::new();
    loop {
        let planned = match near {
            Some(standing) => planner::replan(&rest, standing, budget, watch),
            None => planner::plan(&rest, budget, watch),
        };
        let complaints = match planned {
            Ok(plan) => return Ok(Part { instance: rest, plan, left_out }),
            Err(complaints) => complaints,
        };
        let (of_jobs, others): (Vec<_>, Vec<_>) = complaints.into_iter().partition(|c| c.job.is_some());
        if of_jobs.is_empty() {
            return Err(others);
        }
        for complaint in of_jobs {
            let job = complaint.job.clone().unwrap_or_default();
            match left_out.iter_mut().find(|l| l.0 == job) {
                Some(known) => known.1.push(complaint),
                None => left_out.push((job, vec![complaint])),
            }
        }
        let out = |job: &str| left_out.iter().any(|l| l.0 == job);
        rest.jobs.retain(|j| !out(&j.id));
        rest.standing.retain(|s| !out(&s.job));
    }
}

/// The planner's complaints with the shop's own names in them.
pub(super) fn sentence(body: &Body, complaints: &[Complaint]) -> String {
    let mut said = String::new();
    for complaint in complaints {
        let mut text = complaint.error.clone();
        for (id, of) in &body.jobs {
            text = text.replace(&format!("\"{id}\""), &of.label);
        }
        for (id, name) in &body.names {
            text = text.replace(&format!("\"{id}\""), name);
        }
        let mut letters = text.chars();
        if let Some(first) = letters.next() {
            if !said.is_empty() {
                said.push(' ');
            }
            said.extend(first.to_uppercase());
            said.push_str(letters.as_str().trim_end_matches('.'));
            said.push('.');
        }
    }
    said
}

/// Publishes a plan if what it was made for is still true and nobody else has published meanwhile.
async fn publish(
    ctx: &Ctx,
    body: Body,
    expected: Option<Uuid>,
    now: DateTime<Utc>,
) -> Result<Outcome, PlanningError> {
    let id = ctx.new_id();
    let tx = ctx.store.begin_write().await?;
    let Some(inputs) = Inputs::load(&tx, now).await? else { return Ok(Outcome::Overtaken) };
    if build(&inputs, &body.given).fingerprint != body.fingerprint || plans::latest_id(&tx).await? != expected
    {
        return Ok(Outcome::Overtaken);
    }
    plans::publish(&tx, &StoredPlan { id, made_at: now, origin: body.origin, body: body.write()? }).await?;
    line_up(&tx, &inputs, &body, now).await?;
    tx.commit().await?;
    ctx.live.tell("plan", Some(id));
    Ok(Outcome::Published)
}

/// Agreed pieces that have a place are in line.
async fn line_up(tx: &WriteTx, inputs: &Inputs, body: &Body, now: DateTime<Utc>) -> store::Result<()> {
    let agreed = inputs.visits.iter().flat_map(|v| &v.pieces).filter(|p| p.state == PieceState::Agreed);
    for piece in agreed.filter(|p| body.jobs.contains_key(&p.id.to_string())) {
        let Ok(state) = piece.state.after(Event::LineUp) else { continue };
        let lined_up = shop::read::Piece { state, ..piece.clone() };
        pieces::save(tx, &lined_up).await?;
        ledger::add(tx, piece, Who::Program, &Fact::LinedUp, None, now).await?;
    }
    Ok(())
}

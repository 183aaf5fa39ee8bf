//! After one change: a plan close to the one people have seen.

use crate::draft::{Draft, Times};
use crate::model::{NIL, Shop};
use crate::roam::Roam;
use crate::search::{Budget, Limit, Watch};
use crate::standing::{Standing, Starts, Step};
use crate::{Complaint, Instance, Plan, bound};

/// Plan again after a change, keeping to a plan that stands: what it holds stays in its order and at its times unless
/// something pushes it, and what is new goes into the gaps. Then, for as long as the budget allows, new and late work and
/// needless changeovers are improved, where every minute by which standing work moves counts against it, and counts more
/// the nearer that work is; without steps in the budget nothing but what must moves. Only if the standing order can no
/// longer be kept at all is everything planned anew.
///
/// # Errors
/// What cannot be met, by name.
pub fn replan(
    instance: &Instance,
    standing: &Plan,
    budget: Budget,
    watch: &Watch<'_>,
) -> Result<Plan, Vec<Complaint>> {
    let shop = Shop::new(instance)?;
    let starts = Starts::read(instance, &shop, standing);
    let (shop, mut draft) = fitted(shop, &starts);
    let mut times = Times::new(&shop);
    let score = times.lay_out(&shop, &draft);
    if score.broken > 0.0 {
        return crate::plan(instance, budget, watch);
    }
    let mut limit = Limit::of(budget, watch);
    // Laying out and writing down what is found takes about half as long as getting here.
    limit.seconds -= AFTERWARDS * (watch.elapsed_s)();
    let mut steps = 0;
    if !limit.reached(0) {
        let rooted = rooted(&shop, &starts);
        let fresh: Vec<u32> = (0..shop.ops.len() as u32)
            .filter(|&op| starts.placed[op as usize].is_none() && shop.ops[op as usize].fixed == NIL)
            .collect();
        if let Some(mut roam) = Roam::new(&rooted, budget.seed, &limit, draft.clone(), &times) {
            roam.look_after(fresh);
            let (found, took) = roam.run();
            steps = took;
            let mut found_times = Times::new(&shop);
            let found_score = found_times.lay_out(&shop, &found);
            // Less moved for more gained, by both measures: the search's own, and what the instance asks for.
            if found_times.score_in(&rooted).less(times.score_in(&rooted)) && found_score.less(score) {
                (draft, times) = (found, found_times);
            }
        }
    }
    let mut plan = times.plan(&shop, &draft, instance);
    plan.bound = Some(bound::bound(&shop).min(plan.objective.total));
    plan.iterations = steps;
    plan.elapsed_ms = ((watch.elapsed_s)() * 1000.0) as u64;
    Ok(plan)
}

/// Seconds to give a re-plan when people wait for it: 2,000 standing jobs are then answered within 50 ms, of which a third
/// is left for the search; small shops are searched thousands of times.
pub const REPLAN_S: f64 = 0.042;

/// What comes after the search, as a share of what came before it.
const AFTERWARDS: f64 = 0.5;

/// What moving an operation by a minute costs beyond what the instance asks for, if it is to start at once; it halves with
/// every day it is further off. A tenth of an ordinary minute late.
const ROOT: f64 = 0.1;

/// The shop with every operation attached to where it stands.
fn rooted(shop: &Shop, starts: &Starts) -> Shop {
    let mut rooted = shop.clone();
    for (o, at) in rooted.ops.iter_mut().zip(&starts.placed) {
        let Some(at) = at else { continue };
        let days = (at.start - shop.now).max(0) as f64 / 1440.0;
        o.stay += ROOT * shop.weights.tardiness * 0.5f64.powf(days);
        o.standing.get_or_insert(at.start);
    }
    rooted
}

/// The standing order, held to its times, with new work fitted into the gaps; and the shop, given back.
fn fitted(shop: Shop, starts: &Starts) -> (Shop, Draft) {
    let mut draft = Draft::new(&shop);
    let mut standing = Standing::lay(shop, starts);
    // (start, leader) of every load that is not fixed. By start, not by changeover: a changeover may begin before the piece is
    // there, and so before the load the piece comes from.
    let mut order: Vec<(i64, u32)> = Vec::with_capacity(draft.next.len());
    for load in standing.loads.iter().flatten().filter(|l| !l.pinned) {
        order.push((load.start, load.ops[0]));
        draft.person[load.ops[0] as usize] = load.person;
        for (k, &op) in load.ops.iter().enumerate() {
            draft.next[op as usize] = load.ops.get(k + 1).copied().unwrap_or(NIL);
        }
    }
    for (op, at) in starts.placed.iter().enumerate() {
        if let Some(at) = at {
            draft.alt[op] = at.alt;
            draft.hold[op] = at.start;
        }
    }
    for k in 0..standing.shop.jobs.len() {
        let (shop, job) = (&standing.shop, &standing.shop.jobs[k]);
        let ops = job.first..job.first + job.len;
        if ops.clone().all(|op| starts.placed[op as usize].is_some() || shop.ops[op as usize].fixed != NIL) {
            continue;
        }
        // From the first operation without a place on, the route is fitted in anew.
        let Some(first) = ops
            .clone()
            .find(|&op| starts.placed[op as usize].is_none() && shop.ops[op as usize].fixed == NIL)
        else {
            continue;
        };
        let steps: Vec<Step> = (first..ops.end)
            .map(|op| Step {
                alts: shop.alts_of(op).to_vec(),
                lag: shop.ops[op as usize].lag,
                max_lag: shop.ops[op as usize].max_lag,
            })
            .collect();
        let release = if first == job.first {
            job.release
        } else {
            starts.placed[first as usize - 1].map_or(job.release, |p| p.end)
                + shop.ops[first as usize - 1].lag
        };
        let fits = standing.fit(release, &steps).unwrap_or_default();
        for (k, op) in (first..ops.end).enumerate() {
            let Some(f) = fits.get(k) else {
                order.push((i64::MAX, op));
                continue;
            };
            let o = &shop.ops[op as usize];
            let same = |&a: &u32| {
                (shop.alts[a as usize].station, shop.alts[a as usize].setup) == (f.station, f.setup)
            };
            draft.alt[op as usize] = (o.from..o.to).find(same).unwrap_or(o.from);
            if f.joins {
                let leader = standing.loads[usize::from(f.station)][f.place].ops[0];
                draft.next[op as usize] = draft.next[leader as usize];
                draft.next[leader as usize] = op;
            } else {
                draft.person[op as usize] = f.person;
                draft.hold[op as usize] = f.start;
                order.push((f.start, op));
            }
        }
        standing.settle(&fits, first);
    }
    // A route never runs backwards: each of its operations starts later than the one before.
    order.sort_unstable();
    draft.order = order.into_iter().map(|(_, op)| op).collect();
    (standing.shop, draft)
}

//! After one change: a plan close to the one people have seen.

use crate::draft::{Draft, Times};
use crate::model::{NIL, Shop};
use crate::search::{Budget, Watch};
use crate::standing::{Standing, Starts, Step};
use crate::{Complaint, Instance, Plan, bound};

/// Plan again after a change, keeping to a plan that stands: what it holds stays in its order and at its times unless
/// something pushes it, and what is new goes into the gaps. Nothing else moves, so this is quick and takes no search;
/// only if the standing order can no longer be kept at all is everything planned anew within the budget.
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
    let draft = fitted(&shop, &starts);
    let mut times = Times::new(&shop);
    let score = times.lay_out(&shop, &draft);
    if score.broken > 0.0 {
        return crate::plan(instance, budget, watch);
    }
    let mut plan = times.plan(&shop, &draft, instance);
    plan.bound = Some(bound::bound(&shop).min(plan.objective.total));
    plan.elapsed_ms = ((watch.elapsed_s)() * 1000.0) as u64;
    Ok(plan)
}

/// The standing order, held to its times, with new work fitted into the gaps.
fn fitted(shop: &Shop, starts: &Starts) -> Draft {
    let mut standing = Standing::lay(shop.clone(), starts);
    let mut draft = Draft::new(shop);
    // (start, leader) of every load that is not fixed.
    let mut order: Vec<(i64, u32)> = Vec::with_capacity(shop.ops.len());
    for load in standing.loads.iter().flatten().filter(|l| !l.pinned) {
        order.push((load.changeover_start, load.ops[0]));
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
    for job in &shop.jobs {
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
                order.push((f.changeover_start, op));
            }
        }
        standing.settle(&fits, first);
    }
    // By beginning; equal beginnings keep the order of the operations, so that a route never runs backwards.
    order.sort_unstable();
    draft.order = order.into_iter().map(|(_, op)| op).collect();
    draft
}

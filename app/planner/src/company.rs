//! Pieces that keep fixed work company: a basin load that is fixed ahead may have room for more pieces of its setup.
//!
//! The search moves loads and never touches fixed ones, so this is looked at around it: a piece that fits is fixed into
//! the load in a copy of the instance, the copy is planned, and kept if that is cheaper. Only loads that nobody has to attend:
//! to both judges the attendance of fixed work and that of what joins it are two turns of one person at once.

use crate::model::{NIL, Shop};
use crate::search::Budget;
use crate::{Complaint, Fixed, Instance, Plan, verify};

/// At most so many pieces are tried, the most pressing first.
const TRIES: usize = 16;

/// Which operation of which job could be in which fixed load.
pub(crate) fn candidates(instance: &Instance, shop: &Shop) -> Vec<(usize, usize, Fixed)> {
    let mut found = Vec::new();
    for f in &shop.fixed {
        let station = &shop.stations[usize::from(f.station)];
        // Opening hours do not bind fixed work, but they do bind the piece.
        let (c, length) = (f.start - f.changeover_start, f.end - f.start);
        let open = station.hours.fit(f.start, c, length, &mut 0) == Some(f.start);
        let attended = shop.staffed && c + f.attended > 0;
        if f.ops.len() >= station.basin || f.changeover_start < shop.now || !open || attended {
            continue;
        }
        for (op, o) in (0u32..).zip(&shop.ops) {
            let fits = o.fixed == NIL
                && (o.index > 0 || shop.jobs[o.job as usize].release <= f.start)
                && shop.alts_of(op).iter().any(|a| {
                    let unattended = a.attended == 0 && shop.may(usize::from(f.person), a.skill);
                    (a.station, a.setup) == (f.station, f.setup)
                        && a.minutes <= length
                        && (!shop.staffed || unattended)
                });
            if fits {
                let fixed = Fixed {
                    station: station.name.clone(),
                    setup: station.setups[usize::from(f.setup)].clone(),
                    changeover_start: f.changeover_start,
                    start: f.start,
                    end: f.end,
                    person: shop.people.get(usize::from(f.person)).map(|p| p.name.clone()),
                };
                found.push((o.job as usize, o.index as usize, fixed));
            }
        }
    }
    let pressing = |job: usize| instance.jobs[job].weight;
    found.sort_by(|a, b| pressing(b.0).total_cmp(&pressing(a.0)));
    found.truncate(TRIES);
    found
}

/// Plan with `alone`, and once more for each piece that could be in a fixed load; half of the budget goes to either.
pub(crate) fn plan(
    instance: &Instance,
    candidates: Vec<(usize, usize, Fixed)>,
    budget: Budget,
    alone: impl Fn(&Instance, Budget) -> Result<Plan, Vec<Complaint>>,
) -> Result<Plan, Vec<Complaint>> {
    let n = candidates.len() as u64;
    let part = |k: u64| Budget {
        seconds: budget.seconds.map(|s| s * (n + k) as f64 / (2 * n) as f64),
        iterations: budget.iterations.map(|i| i / if k == 0 { 2 } else { 2 * n }),
        ..budget
    };
    let mut best = alone(instance, part(0));
    let bound = best.as_ref().ok().and_then(|p| p.bound);
    let mut kept = instance.clone();
    for (k, (job, index, fixed)) in (1..).zip(candidates) {
        let mut trial = kept.clone();
        trial.jobs[job].operations[index].fixed = Some(fixed);
        let Ok(found) = alone(&trial, part(k)) else { continue };
        let cheaper = best.as_ref().map_or(true, |b| found.objective.total < b.objective.total);
        // To the judge it is not the piece that is fixed.
        if cheaper && verify(instance, &found).is_empty() {
            best = Ok(Plan { bound: bound.map(|b| b.min(found.objective.total)), ..found });
            kept = trial;
        }
    }
    best
}

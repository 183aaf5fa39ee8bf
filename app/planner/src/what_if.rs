//! The same shop with one thing changed, and what that does to a plan.

use serde::{Deserialize, Serialize};

use crate::hours::{FAR, Hours};
use crate::{Instance, Minute, Plan};

/// The instance in which a job is rush: its weight is `weight`. `None` when there is no such job.
pub fn if_rush(instance: &Instance, job: &str, weight: f64) -> Option<Instance> {
    let mut changed = instance.clone();
    changed.jobs.iter_mut().find(|j| j.id == job)?.weight = weight;
    Some(changed)
}

/// The instance in which a station is out of order from `from` to `to` ("the wheel broke until Thursday"). `None` when
/// there is no such station.
pub fn if_out_of_order(instance: &Instance, station: &str, from: Minute, to: Minute) -> Option<Instance> {
    let mut changed = instance.clone();
    let model = changed.stations.iter_mut().find(|s| s.id == station)?;
    let open = Hours::new(model.windows.as_deref()).without(&[(from, to)]);
    // An always open station has no beginning; windows must lie within what an instance may name.
    let near = |t: Minute| t.clamp(-FAR / 1000, FAR / 1000);
    model.windows = Some(open.windows().iter().map(|&(a, b)| [near(a), near(b)]).collect());
    Some(changed)
}

/// The instance with one more window for everybody and every station that has hours ("one more hour tonight"). A
/// window that ends where the new one begins, or begins where it ends, grows, so that work may run on.
pub fn if_open_longer(instance: &Instance, from: Minute, to: Minute) -> Instance {
    let mut changed = instance.clone();
    let lists = changed
        .stations
        .iter_mut()
        .map(|s| &mut s.windows)
        .chain(changed.people.iter_mut().flatten().map(|p| &mut p.windows));
    for windows in lists.flatten() {
        let (mut a, mut b) = (from, to);
        windows.retain(|w| {
            let meets = w[0] <= b && a <= w[1];
            if meets {
                (a, b) = (a.min(w[0]), b.max(w[1]));
            }
            !meets
        });
        windows.push([a, b]);
        windows.sort_unstable();
    }
    changed
}

/// How a job fares in another plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Shift {
    /// The job.
    pub job: String,
    /// Its completion in the one plan.
    pub before: Minute,
    /// And in the other.
    pub after: Minute,
    /// Minutes late before.
    pub late_before: Minute,
    /// And after.
    pub late_after: Minute,
}

/// The jobs whose completion differs between two plans, the largest difference first.
pub fn shifts(instance: &Instance, before: &Plan, after: &Plan) -> Vec<Shift> {
    let completions = |plan: &Plan| {
        let mut ends = std::collections::HashMap::new();
        for o in &plan.operations {
            let end = ends.entry(o.job.clone()).or_insert(o.end);
            *end = o.end.max(*end);
        }
        ends
    };
    let (one, two) = (completions(before), completions(after));
    let mut found: Vec<Shift> = instance
        .jobs
        .iter()
        .filter_map(|j| {
            let (&before, &after) = (one.get(&j.id)?, two.get(&j.id)?);
            let late = |end: Minute| (end - j.due).max(0);
            (before != after).then(|| Shift {
                job: j.id.clone(),
                before,
                after,
                late_before: late(before),
                late_after: late(after),
            })
        })
        .collect();
    found.sort_by_key(|s| std::cmp::Reverse((s.after - s.before).abs()));
    found
}

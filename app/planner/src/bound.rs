//! A cost no plan can be below.
//!
//! Two things are certain. A job alone in the shop ends when its route allows. And a station or the people do one thing at a
//! time, so that of the operations that cannot go elsewhere most must wait ([`priced`]). Changeovers count as the
//! shortest there can be.

mod priced;

use crate::Minute;
use crate::hours::Hours;
use crate::model::{NIL, NONE, Shop, StationModel};
use priced::{Cost, Item, Rise, Stretch, priced};

/// Every job alone in the shop, with the shortest changeovers there are: nobody can do better than all of them at once.
pub(crate) fn bound(shop: &Shop) -> f64 {
    (0..shop.jobs.len()).map(|job| alone(shop, job)).sum()
}

/// What one job costs at least.
fn alone(shop: &Shop, job: usize) -> f64 {
    let model = &shop.jobs[job];
    completion(shop, job, 0).at(shop.alone[(model.first + model.len) as usize - 1].1)
}

/// What completing a job `later` minutes after some end costs, as a function of that end.
fn completion(shop: &Shop, job: usize, later: Minute) -> Cost {
    let (w, job) = (shop.weights, &shop.jobs[job]);
    let late = Rise { from: job.due - later, per_minute: w.tardiness * job.weight };
    let flow = Rise { from: job.release - later, per_minute: w.flow };
    Cost { base: 0.0, rises: [late, flow] }
}

/// Larger shops get no more than [`bound`].
const LARGEST: usize = 4000;
/// How often [`priced`] may look, over all resources: some hundredths of a second.
const LOOKS: usize = 12_000_000;

/// The best bound that is known in some hundredths of a second. `reached` is what a plan costs that was found.
pub(crate) fn close(shop: &Shop, reached: f64) -> f64 {
    if shop.ops.len() > LARGEST {
        return bound(shop);
    }
    let alone: Vec<f64> = (0..shop.jobs.len()).map(|job| alone(shop, job)).collect();
    let changes = Changes::of(shop);
    let extra = changes.sum(shop) * shop.weights.changeover;
    let mut best = alone.iter().sum::<f64>() + extra;
    let stations = (0..shop.stations.len() as u16).filter(|&s| shop.stations[usize::from(s)].basin == 1);
    let resources: Vec<Resource> =
        stations.map(Resource::Station).chain(shop.staffed.then_some(Resource::People)).collect();
    let looks = LOOKS / resources.len().max(1);
    for resource in resources {
        if best >= reached {
            break;
        }
        let (items, rest) = resource.items(shop, &changes, &alone);
        let aim = reached - rest - extra;
        if let Some(together) = priced(&items, &resource.stretches(shop), aim, looks) {
            // Sums of many parts: a hair less is certainly true.
            let together = together - 1e-9 * together.abs();
            best = best.max(whole(shop, together + rest + extra));
        }
    }
    best
}

/// Where every cost is a whole number, so is the least.
fn whole(shop: &Shop, bound: f64) -> f64 {
    let w = shop.weights;
    let mut parts = shop.jobs.iter().map(|j| w.tardiness * j.weight).chain([w.flow, w.changeover, w.moved]);
    if parts.all(|part| part.fract() == 0.0) { (bound - 1e-6).ceil() } else { bound }
}

/// The shortest changeover before each alternative.
struct Changes(Vec<Minute>);

impl Changes {
    fn of(shop: &Shop) -> Self {
        let mut used: Vec<Vec<u32>> = shop.stations.iter().map(|s| vec![0; s.setups.len()]).collect();
        for op in 0..shop.ops.len() as u32 {
            for alt in shop.alts_of(op) {
                used[usize::from(alt.station)][usize::from(alt.setup)] += 1;
            }
        }
        let least = |station: &StationModel, used: &[u32], to: u16| {
            let Some(table) = &station.table else {
                return 0;
            };
            let t = usize::from(to);
            // What stands before is mounted now or was another operation's.
            let mounted = |from: usize| usize::from(station.mounted) == from;
            let before = |from: usize| used[from] > u32::from(from == t) || mounted(from);
            let after_work =
                (0..table.size).filter(|&f| before(f)).map(|f| table.minutes[f * table.size + t]);
            let fresh = (station.mounted == NONE).then(|| table.first[t]);
            after_work.chain(fresh).min().unwrap_or(0)
        };
        Self(
            shop.alts
                .iter()
                .map(|a| {
                    let s = usize::from(a.station);
                    least(&shop.stations[s], &used[s], a.setup)
                })
                .collect(),
        )
    }

    /// Over all operations that have a changeover of their own.
    fn sum(&self, shop: &Shop) -> f64 {
        let mut sum = 0;
        for (op, o) in (0u32..).zip(&shop.ops) {
            let alone = shop.alts_of(op).iter().all(|a| shop.stations[usize::from(a.station)].basin == 1);
            if o.fixed == NIL && alone {
                sum += self.0[o.from as usize..o.to as usize].iter().min().copied().unwrap_or(0);
            }
        }
        sum as f64
    }
}

/// What does one thing at a time.
#[derive(Clone, Copy)]
enum Resource {
    Station(u16),
    /// All people together: so many things at a time as there are people.
    People,
}

impl Resource {
    /// The operations only this resource can do, and what the jobs without any cost alone.
    fn items(self, shop: &Shop, changes: &Changes, alone: &[f64]) -> (Vec<Item>, f64) {
        let mut items = Vec::new();
        let mut rest = 0.0;
        for (k, job) in shop.jobs.iter().enumerate() {
            let before = items.len();
            items.extend((job.first..job.first + job.len).filter_map(|op| self.item(shop, changes, op)));
            // The last of them decides when the job is done; what it needs after that comes on top.
            let last = (0..job.len).rev().find(|&i| self.takes(shop, job.first + i));
            match (items[before..].last_mut(), last) {
                (Some(item), Some(index)) => {
                    let end = shop.alone[(job.first + job.len) as usize - 1].1;
                    let op = job.first + index;
                    let later = self.after_end(shop, op) + remaining(shop, op);
                    item.cost = completion(shop, k, later);
                    // The route alone says when the job can be done at the earliest.
                    let floor = end - later;
                    let base = item.cost.at(floor);
                    for rise in &mut item.cost.rises {
                        rise.from = rise.from.max(floor);
                    }
                    item.cost.base = base;
                }
                _ => rest += alone[k],
            }
        }
        (items, rest)
    }

    /// Whether an operation can only be done with this resource, by itself and at a time that is still open.
    fn takes(self, shop: &Shop, op: u32) -> bool {
        shop.ops[op as usize].fixed == NIL
            && shop.alts_of(op).iter().all(|a| match self {
                Self::Station(s) => a.station == s,
                Self::People => shop.stations[usize::from(a.station)].basin == 1,
            })
    }

    fn item(self, shop: &Shop, changes: &Changes, op: u32) -> Option<Item> {
        if !self.takes(shop, op) {
            return None;
        }
        let earliest = shop.alone[op as usize];
        let from = shop.ops[op as usize].from as usize;
        let alts = || shop.alts_of(op).iter().zip(&changes.0[from..]);
        let (minutes, end) = match self {
            Self::Station(_) => (alts().map(|(a, c)| a.minutes + c).min()?, earliest.1),
            Self::People => (
                alts().map(|(a, c)| a.attended + c).min()?,
                earliest.0 + alts().map(|(a, _)| a.attended).min()?,
            ),
        };
        Some(Item { minutes, earliest: end.max(shop.now + minutes), cost: Cost::default() })
    }

    /// From when the resource is done with an operation until the operation ends.
    fn after_end(self, shop: &Shop, op: u32) -> Minute {
        match self {
            Self::Station(_) => 0,
            Self::People => shop.alts_of(op).iter().map(|a| a.minutes - a.attended).min().unwrap_or(0),
        }
    }

    fn stretches(self, shop: &Shop) -> Vec<Stretch> {
        match self {
            Self::Station(s) => {
                let station = &shop.stations[usize::from(s)];
                let fixed = station.fixed.iter().map(|&f| &shop.fixed[f as usize]);
                let taken: Vec<_> = fixed.map(|f| (f.changeover_start, f.end)).collect();
                merged(&[&station.hours.without(&taken)])
            }
            Self::People => merged(&shop.people.iter().map(|p| &p.hours).collect::<Vec<_>>()),
        }
    }
}

/// Minutes a route needs at least after one of its operations.
fn remaining(shop: &Shop, op: u32) -> Minute {
    let (mut at, mut sum) = (op, 0);
    while shop.after(at) != NIL {
        sum += shop.ops[at as usize].lag;
        at = shop.after(at);
        sum += shop.alts_of(at).iter().map(|a| a.minutes).min().unwrap_or(0);
    }
    sum
}

/// When somebody of several is there, and how many.
fn merged(hours: &[&Hours]) -> Vec<Stretch> {
    let mut edges: Vec<(Minute, i32)> = Vec::new();
    for hours in hours {
        // Windows of one of them may overlap.
        let mut until = Minute::MIN;
        for &(from, to) in hours.windows() {
            if from.max(until) < to {
                edges.extend([(from.max(until), 1), (to, -1)]);
                until = to;
            }
        }
    }
    edges.sort_unstable();
    let mut stretches = Vec::new();
    let mut there = 0;
    for pair in edges.windows(2) {
        there += pair[0].1;
        let (from, to) = (pair[0].0, pair[1].0);
        if there > 0 && from < to {
            stretches.push(Stretch { from, to, side_by_side: there.unsigned_abs() });
        }
    }
    stretches
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::Rng;
    use crate::{Budget, Watch, parse, plan};

    /// Two stations that close, a person or two with hours, up to two operations a job, one of them now and then with a choice.
    fn random_shop(rng: &mut Rng) -> String {
        let mut below = |n: usize| rng.below(n) as i64;
        let mut jobs = Vec::new();
        for k in 0..2 + below(4) {
            let mut operations = Vec::new();
            for _ in 0..=below(2) {
                let first = below(2);
                let alternative = |station: i64, minutes: i64, attended: i64| {
                    let setup = if (k + station) % 2 == 0 { "a" } else { "b" };
                    format!(
                        r#"{{"station":"{station}","setup":"{setup}","minutes":{minutes},"attended":{attended}}}"#
                    )
                };
                let mut on = vec![alternative(first, 5 + below(30), below(5))];
                if below(4) == 0 {
                    on.push(alternative(1 - first, 5 + below(30), below(5)));
                }
                operations.push(format!(r#"{{"on":[{}],"lag":{}}}"#, on.join(","), below(2) * 10));
            }
            jobs.push(format!(
                r#"{{"id":"{k}","release":{},"due":{},"weight":{},"operations":[{}]}}"#,
                below(2) * 20,
                below(100),
                1 + below(5),
                operations.join(",")
            ));
        }
        let windows = if below(2) == 0 { "" } else { r#","windows":[[0,60],[70,140],[200,9000]]"# };
        let people = [
            "",
            r#""people":[{"id":"P"}],"#,
            r#""people":[{"id":"P","windows":[[0,100],[120,9000]]},{"id":"Q"}],"#,
        ];
        format!(
            r#"{{"stations":[{{"id":"0"{windows}}},{{"id":"1","basin":{}}}],
                "changeovers":[{{"station":"0","setups":["a","b"],"minutes":[[1,{}],[{},0]],"first":[4,7]}}],{}
                "jobs":[{}],"objective":{{"tardiness":1,"changeover":{},"flow":{}}}}}"#,
            1 + below(2),
            below(30),
            below(30),
            people[below(3) as usize],
            jobs.join(","),
            below(2),
            below(2)
        )
    }

    #[test]
    fn no_plan_of_a_random_shop_costs_less_than_its_bound() {
        let mut said_something = 0;
        for dice in 0..150 {
            let text = random_shop(&mut Rng::new(dice));
            let instance = parse(&text).expect("it is well formed");
            let effort = Budget { iterations: Some(400), ..Budget::default() };
            let total = plan(&instance, effort, &Watch::none()).expect("it can be met").objective.total;
            let shop = Shop::new(&instance).expect("it can be met");
            let (simple, close) = (bound(&shop), close(&shop, total));
            assert!(simple <= close + 1e-9 && close <= total, "{simple} {close} {total}: {text}");
            said_something += u32::from(close > simple);
        }
        assert!(said_something > 40, "{said_something}");
    }

    #[test]
    fn one_station_that_all_need_makes_them_wait() {
        let job = |id: &str| {
            format!(
                r#"{{"id":"{id}","due":0,"operations":[{{"on":[{{"station":"w","setup":"a","minutes":10}}]}}]}}"#
            )
        };
        let jobs: Vec<String> = ["A", "B", "C", "D"].iter().map(|id| job(id)).collect();
        let text = format!(r#"{{"stations":[{{"id":"w"}}],"jobs":[{}]}}"#, jobs.join(","));
        let shop = Shop::new(&parse(&text).expect("well formed")).expect("it can be met");
        // Ends at 10, 20, 30 and 40 whatever the order; alone each would end at 10.
        assert!((bound(&shop) - 40.0).abs() < 1e-9);
        let close = close(&shop, 100.0);
        assert!((95.0..=100.0).contains(&close), "{close}");
    }
}

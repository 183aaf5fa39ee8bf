//! Tiny shops against every plan there is.
//!
//! Without longest waits and standing starts nothing is gained by starting later than need be, so the best of all orders,
//! alternatives and people, each laid out as early as it goes, is the optimum.

use crate::draft::{Draft, Times};
use crate::model::{NONE, Shop};
use crate::rng::Rng;
use crate::{Alternative, Budget, Instance, Person, Station, Watch, parse, plan, verify};

/// Up to five operations at two stations with setups, hours and releases; one or two people, or none needed.
fn tiny(rng: &mut Rng) -> Instance {
    let mut below = |n: usize| rng.below(n) as i64;
    let windows = |odd: i64| if odd == 0 { "" } else { r#","windows":[[0,45],[45,80],[100,160],[190,900]]"# };
    let (mut jobs, mut left) = (Vec::new(), 3 + below(3));
    while left > 0 {
        let length = (1 + below(2)).min(left);
        left -= length;
        let mut operations = Vec::new();
        for _ in 0..length {
            let station = below(2);
            let setup = ["a", "b"][below(2) as usize];
            let mut alternative = |station: i64| {
                let (minutes, attended) = (3 + below(25), below(12));
                let skill = if below(4) == 0 { r#","skill":"fine""# } else { "" };
                format!(
                    r#"{{"station":"{station}","setup":"{setup}","minutes":{minutes},"attended":{attended}{skill}}}"#
                )
            };
            let mut on = vec![alternative(station), alternative(1 - station)];
            on.truncate(1 + usize::from(below(3) == 0));
            operations.push(format!(r#"{{"on":[{}],"lag":{}}}"#, on.join(","), below(2) * 8));
        }
        jobs.push(format!(
            r#"{{"id":"K{left}","release":{},"due":{},"weight":{},"operations":[{}]}}"#,
            below(2) * 15,
            below(70),
            1 + below(4),
            operations.join(",")
        ));
    }
    let people = [
        String::new(),
        format!(r#""people":[{{"id":"P","may":["fine"]{}}}],"#, windows(below(2))),
        format!(r#""people":[{{"id":"P","may":["fine"]{}}},{{"id":"Q"}}],"#, windows(below(2))),
    ];
    let table = |s: i64, below: &mut dyn FnMut(usize) -> i64| {
        format!(
            r#"{{"station":"{s}","setups":["a","b"],"minutes":[[0,{}],[{},1]],"first":[{},4],"dress":[{{"every":1,"minutes":3}},null]}}"#,
            below(15),
            below(15),
            below(9)
        )
    };
    let tables = [table(0, &mut below), table(1, &mut below)].join(",");
    let text = format!(
        r#"{{"stations":[{{"id":"0","setup":"a"{}}},{{"id":"1"{}}}],"changeovers":[{tables}],{}
            "jobs":[{}],"objective":{{"tardiness":1,"changeover":{},"flow":{}}}}}"#,
        windows(below(2)),
        windows(below(2)),
        people[below(3) as usize],
        jobs.join(","),
        below(3),
        below(2)
    );
    parse(&text).expect("it is well formed")
}

/// The least total of all plans; `None` if none of them holds.
fn least(shop: &Shop) -> Option<f64> {
    fn go(shop: &Shop, draft: &mut Draft, times: &mut Times, best: &mut f64) {
        if draft.order.len() == shop.ops.len() {
            let score = times.lay_out(shop, draft);
            if score.broken == 0.0 {
                *best = best.min(score.total);
            }
            return;
        }
        for op in 0..shop.ops.len() as u32 {
            let before = shop.before(op);
            let ready = shop.ops[op as usize].index == 0 || draft.order.contains(&before);
            if draft.order.contains(&op) || !ready {
                continue;
            }
            draft.order.push(op);
            let o = &shop.ops[op as usize];
            for alt in o.from..o.to {
                let may = |&p: &u16| shop.may(usize::from(p), shop.alts[alt as usize].skill);
                let able: Vec<u16> = (0..shop.people.len() as u16).filter(may).collect();
                for person in if shop.staffed { able } else { vec![NONE] } {
                    (draft.alt[op as usize], draft.person[op as usize]) = (alt, person);
                    go(shop, draft, times, best);
                }
            }
            draft.order.pop();
        }
    }
    let mut best = f64::INFINITY;
    go(shop, &mut Draft::new(shop), &mut Times::new(shop), &mut best);
    best.is_finite().then_some(best)
}

/// The total of what is planned, which must hold, on so many threads.
fn planned(instance: &Instance, threads: usize) -> Option<f64> {
    let budget = Budget { iterations: Some(800 * threads as u64), threads, ..Budget::default() };
    let plan = plan(instance, budget, &Watch::none()).ok()?;
    assert_eq!(verify(instance, &plan), []);
    assert!(plan.bound.is_none_or(|bound| bound <= plan.objective.total));
    Some(plan.objective.total)
}

/// The same shop with more of something.
fn with_more(instance: &Instance, what: usize) -> Instance {
    let mut more = instance.clone();
    match what {
        0 => {
            for windows in more.stations.iter_mut().filter_map(|s| s.windows.as_mut()) {
                for window in windows {
                    window[1] += 15;
                }
            }
        }
        1 => more.stations.iter_mut().for_each(|s| s.windows = None),
        2 => {
            if let Some(people) = &mut more.people {
                people.push(Person { id: "R".into(), windows: None, may: vec!["fine".into()] });
            }
        }
        _ => {
            // A third station without setups.
            more.stations.push(Station { id: "2".into(), setup: None, windows: None, basin: 1 });
            for operation in more.jobs.iter_mut().flat_map(|j| &mut j.operations) {
                let third = Alternative { station: "2".into(), ..operation.on[0].clone() };
                operation.on.push(third);
            }
        }
    }
    more
}

#[test]
fn every_optimum_is_reached_and_more_capacity_never_costs_more() {
    let (mut met, mut gained) = (0, 0);
    for dice in 0..60 {
        let instance = tiny(&mut Rng::new(dice));
        let Ok(shop) = Shop::new(&instance) else { continue };
        let Some(optimum) = least(&shop) else { continue };
        met += 1;
        for threads in [1, 2] {
            let total = planned(&instance, threads).expect("a plan is known");
            assert!((total - optimum).abs() < 1e-6, "dice {dice}: {total}, the least is {optimum}");
        }
        let what = dice as usize % 4;
        let more = planned(&with_more(&instance, what), 1).expect("more can do what less could");
        assert!(more <= optimum + 1e-6, "dice {dice}, more of {what}: {more} after {optimum}");
        gained += u32::from(more < optimum - 1e-6);
    }
    assert!(met > 40 && gained > 10, "{met} {gained}");
}

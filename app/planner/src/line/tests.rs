//! The line's tables, crossings and search against orders counted out one by one.

use proptest::prelude::*;

use super::assemble::Assembly;
use super::breed::{Found, breed, search};
use super::problem::{Line, recognise};
use super::sequence::{Move, Sequence};
use crate::model::Shop;
use crate::rng::Rng;
use crate::search::{Budget, Limit, Watch};
use crate::{Alternative, Changeover, Instance, Job, Operation, Station, Weights};

/// One station, `n` jobs of their own setup each; now and then changeovers and waiting cost something themselves.
fn instance(n: usize, rng: &mut Rng) -> Instance {
    let mut below = |n: usize| rng.below(n) as i64;
    let objective = if below(2) == 0 {
        Weights::default()
    } else {
        Weights { tardiness: 1.0, changeover: below(3) as f64, flow: below(3) as f64 / 2.0, moved: 0.0 }
    };
    let names: Vec<String> = (0..n).map(|k| k.to_string()).collect();
    let changeovers = vec![Changeover {
        station: "wheel".into(),
        setups: names.clone(),
        minutes: (0..n).map(|_| (0..n).map(|_| below(60)).collect()).collect(),
        first: Some((0..n).map(|_| below(60)).collect()),
        dress: None,
    }];
    let jobs = names.iter().map(|name| Job {
        id: name.clone(),
        release: 0,
        due: below(40 * n),
        weight: below(10) as f64,
        operations: vec![Operation {
            on: vec![Alternative {
                station: "wheel".into(),
                setup: name.clone(),
                minutes: 1 + below(60),
                attended: None,
                skill: None,
            }],
            lag: 0,
            max_lag: None,
            fixed: None,
        }],
    });
    Instance {
        now: 10,
        stations: vec![Station { id: "wheel".into(), setup: None, windows: None, basin: 1 }],
        jobs: jobs.collect(),
        changeovers,
        people: None,
        standing: Vec::new(),
        objective,
    }
}

fn line(n: usize, rng: &mut Rng) -> Line {
    recognise(&Shop::new(&instance(n, rng)).expect("it can be met")).expect("it is a line")
}

fn random_order(n: usize, rng: &mut Rng) -> Vec<u16> {
    let mut order: Vec<u16> = (0..n as u16).collect();
    for k in (1..n).rev() {
        order.swap(k, rng.below(k + 1));
    }
    order
}

fn found(line: &Line, iterations: u64, seed: u64) -> Found {
    let watch = Watch::none();
    let budget = Budget { iterations: Some(iterations), ..Budget::default() };
    breed(line, (0..line.n as u16).collect(), &mut Rng::new(seed), &Limit::of(budget, &watch))
}

/// The least cost over all orders, by trying every job in every place.
fn least_of_all(line: &Line) -> i64 {
    fn from_here(line: &Line, order: &mut Vec<u16>) -> i64 {
        if order.len() == line.n {
            return line.cost(order);
        }
        let mut least = i64::MAX;
        for job in 0..line.n as u16 {
            if !order.contains(&job) {
                order.push(job);
                least = least.min(from_here(line, order));
                order.pop();
            }
        }
        least
    }
    from_here(line, &mut Vec::new())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_move_saves_what_the_tables_say(n in 3_usize..40, dice in any::<u64>()) {
        let mut rng = Rng::new(dice);
        let line = line(n, &mut rng);
        let mut s = Sequence::new(&line);
        s.load(&random_order(n, &mut rng));
        for _ in 0..60 {
            let before = line.cost(s.order());
            prop_assert_eq!(s.cost(), before);
            let mut cuts = [1 + rng.below(n), 1 + rng.below(n), 1 + rng.below(n), 1 + rng.below(n)];
            cuts.sort_unstable();
            let [a, b, mut d, c] = cuts;
            if b == c {
                continue;
            }
            d = d.max(b + 1);
            let m = Move { gain: 0, a, b, d, c };
            let mut after = s.clone();
            after.apply(&m);
            let rest = after.end[n] - s.end[n];
            let told = if d == b + 1 {
                s.exchange(a, b, c, rest, i64::MIN / 4)
            } else {
                s.swap(&m, rest, i64::MIN / 4)
            };
            prop_assert_eq!(told, Some(before - line.cost(after.order())));
            s = after;
        }
    }

    #[test]
    fn children_by_arcs_hold_every_job_once_and_cost_what_they_say(n in 2_usize..30, dice in any::<u64>()) {
        let mut rng = Rng::new(dice);
        let line = line(n, &mut rng);
        let mut assembly = Assembly::new(&line);
        let (one, other) = (random_order(n, &mut rng), random_order(n, &mut rng));
        let cycles = assembly.parents(&one, &other);
        prop_assert_eq!(cycles == 0, one == other);
        for _ in 0..10 {
            assembly.begin();
            for cycle in 0..cycles {
                if rng.below(2) == 0 {
                    assembly.take(cycle);
                }
            }
            let (child, cost) = assembly.close();
            let mut jobs = child.to_vec();
            prop_assert_eq!(cost, line.cost(child));
            jobs.sort_unstable();
            prop_assert_eq!(jobs, (0..n as u16).collect::<Vec<_>>());
        }
        assembly.begin();
        (0..cycles).for_each(|cycle| assembly.take(cycle));
        prop_assert_eq!(assembly.close().0, &other[..]);
    }
}

#[test]
fn small_lines_end_at_the_least_of_all_orders() {
    for dice in 0..40 {
        let mut rng = Rng::new(dice);
        let line = line(2 + dice as usize % 6, &mut rng);
        let best = found(&line, 3000, dice);
        assert_eq!(best.cost, line.cost(&best.order), "dice {dice}");
        let least = least_of_all(&line);
        assert_eq!(best.cost, least, "dice {dice}");
        // So few are not bred but tried in every order.
        let watch = Watch::none();
        let tried = search(
            &line,
            (0..line.n as u16).rev().collect(),
            &mut rng,
            &Limit::of(Budget::default(), &watch),
        );
        assert_eq!((tried.cost, line.cost(&tried.order)), (least, least), "dice {dice}");
    }
}

#[test]
fn no_order_of_a_small_line_costs_less_than_its_bound() {
    for dice in 100..140 {
        let mut rng = Rng::new(dice);
        let mut instance = instance(2 + dice as usize % 6, &mut rng);
        // The line's cost is then the plan's.
        (instance.objective.flow, instance.now) = (0.0, 0);
        let shop = Shop::new(&instance).expect("it can be met");
        let least = least_of_all(&recognise(&shop).expect("it is a line")) as f64;
        let bound = crate::bound::close(&shop, least);
        assert!(bound <= least, "dice {dice}: {bound} {least}");
    }
}

#[test]
fn equal_seeds_and_steps_find_equal_orders() {
    let line = line(40, &mut Rng::new(7));
    let (once, again) = (found(&line, 2000, 3), found(&line, 2000, 3));
    assert_eq!((once.order, once.at), (again.order, again.at));
    assert_eq!(once.steps, again.steps);
}

#[test]
fn more_steps_never_end_worse() {
    let line = line(40, &mut Rng::new(11));
    let costs: Vec<i64> = [1, 10, 100, 1000, 3000].map(|steps| found(&line, steps, 5).cost).to_vec();
    assert!(costs.is_sorted_by(|a, b| a >= b), "{costs:?}");
    assert!(costs[4] < costs[0]);
}

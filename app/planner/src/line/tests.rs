//! The line's tables, crossings and search against orders counted out one by one.

use proptest::prelude::*;

use super::Walk;
use super::assemble::Assembly;
use super::breed::{Found, Member, breed, family, place, room, search};
use super::descent::{BLOCK, Plain, SWAP};
use super::hands::{Ahead, Hands};
use super::merge::Merge;
use super::problem::{Line, recognise};
use super::rounds::Rounds;
use super::sequence::{Move, Sequence, Shifted};
use crate::draft::{Draft, Times};
use crate::model::Shop;
use crate::rng::Rng;
use crate::search::{Budget, Limit, Watch};
use crate::{Alternative, Changeover, Dress, Instance, Job, Operation, Person, Station, Weights};

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

/// One person at three stations with a few setups each; now and then they close, are dressed, or pieces arrive late.
fn rounds(n: usize, rng: &mut Rng) -> (Shop, Line) {
    let mut shop = instance(n, rng);
    let mut below = |n: usize| rng.below(n) as i64;
    let (clock, dressed) = (below(2) == 0, below(2) == 0);
    let windows = |length: i64| (0..200).map(|d| [d * 150, d * 150 + length]).collect::<Vec<_>>();
    shop.stations = (0..3)
        .map(|s| Station {
            id: s.to_string(),
            setup: (below(2) == 0).then(|| "a".into()),
            windows: (clock && s > 0).then(|| windows(140)),
            basin: 1,
        })
        .collect();
    let setups: Vec<String> = ["a", "b", "c"].map(String::from).to_vec();
    let dress = Some(Dress { every: 2, minutes: 9 });
    shop.changeovers = (0..3)
        .map(|s| Changeover {
            station: s.to_string(),
            setups: setups.clone(),
            minutes: (0..3).map(|_| (0..3).map(|_| below(20)).collect()).collect(),
            first: Some(vec![3, 8, 5]),
            dress: dressed.then(|| vec![dress, None, dress]),
        })
        .collect();
    shop.people =
        Some(vec![Person { id: "P".into(), windows: clock.then(|| windows(145)), may: Vec::new() }]);
    for job in &mut shop.jobs {
        let on = &mut job.operations[0].on[0];
        (on.station, on.setup) = (below(3).to_string(), setups[below(3) as usize].clone());
        if clock && below(3) == 0 {
            job.release = below(30 * n);
        }
    }
    let shop = Shop::new(&shop).expect("it can be met");
    let line = recognise(&shop).expect("it is one pair of hands");
    (shop, line)
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
            // The first job of each stretch that moves, and after the last.
            let later = |k: usize| {
                let then = after.place[usize::from(s.job[k])];
                after.end()[usize::from(then)] - s.end()[k]
            };
            let mut stretches = vec![(a - 1, b), (b, d - 1), (d - 1, c), (c, n)];
            stretches.retain(|&(from, to)| from < to);
            let mut stretches: Vec<Shifted> =
                stretches.into_iter().map(|(from, to)| Shifted { from, to, by: later(from + 1) }).collect();
            // What follows costs minutes of changeover besides, even if it is nothing.
            let whole = Shifted { from: n, to: n + 1, by: after.end()[n] - s.end()[n] };
            stretches.push(whole);
            stretches.resize(5, Shifted { by: 0.0, ..whole });
            let stretches: [Shifted; 5] = stretches.try_into().expect("five");
            let at_most = stretches.map(|at| (s.upto()[at.to] - s.upto()[at.from]).saves_at_most(at.by));
            let saved = (before - line.cost(after.order())) as f64;
            prop_assert_eq!(s.gain(stretches, at_most, f64::NEG_INFINITY), Some(saved));
            // A glance may only show what is true.
            for (at, at_most) in stretches.iter().zip(at_most) {
                prop_assert!(at_most >= s.saves(at), "{at:?} {at_most}");
            }
            let wanted = saved + rng.below(9) as f64 - 4.0;
            let told = s.gain(stretches, at_most, wanted);
            prop_assert!(told == Some(saved) || told.is_none() && saved <= wanted, "{told:?} {saved} {wanted}");
            // What was looked up anew is what is copied.
            let mut copied = s.clone();
            copied.copy(&after);
            let anew = copied.cost();
            prop_assert_eq!((anew, copied.order()), (after.cost(), after.order()));
            let (order, reversed) = (after.order().to_vec(), after.order().iter().rev().copied().collect::<Vec<_>>());
            copied.load(&reversed);
            copied.load(&order);
            for k in 0..=n {
                prop_assert_eq!(&copied.from(k)[..=n], &after.from(k)[..=n]);
                prop_assert_eq!(&copied.link()[..=n], &after.link()[..=n]);
            }
            s = after;
        }
    }

    #[test]
    fn the_best_exchange_at_a_job_is_the_best_of_all_there(n in 2_usize..80, dice in any::<u64>()) {
        let mut rng = Rng::new(dice);
        let line = line(n, &mut rng);
        let length = Line { weight: vec![0; n], flow: 0, changeover: 1, ..line.clone() };
        let order = random_order(n, &mut rng);
        let mut plain = Plain::new(&line);
        plain.load(&order);
        let allow = rng.below(30) as i16;
        let k = 1 + rng.below(n);
        let mut most = 0;
        let mut look = |a: usize, b: usize, d: usize, c: usize| {
            // Positions count from 1.
            let blocks = [&order[..a - 1], &order[d - 1..c], &order[b..d - 1], &order[a - 1..b], &order[c..]];
            let after = blocks.concat();
            if length.cost(&after) - length.cost(&order) <= i64::from(allow) {
                most = most.max(line.cost(&order) - line.cost(&after));
            }
        };
        for b in k..=n.min(k + BLOCK - 1) {
            (b + 1..=n).for_each(|c| look(k, b, b + 1, c));
            (1..k).for_each(|a| look(a, k - 1, k, b));
        }
        for b in k..=n.min(k + SWAP - 1) {
            for other in 1..=SWAP {
                (b + 2..=(n + 1).saturating_sub(other)).for_each(|d| look(k, b, d, d + other - 1));
                (1..k.saturating_sub(other)).for_each(|a| look(a, a + other - 1, k, b));
            }
        }
        prop_assert_eq!(plain.best_at(k, allow).map_or(0, |m| m.gain), most);
    }

    #[test]
    fn a_move_of_one_pair_of_hands_gains_what_it_says(n in 4_usize..30, dice in any::<u64>()) {
        let mut rng = Rng::new(dice);
        let (shop, line) = rounds(n, &mut rng);
        let Some(rounds) = &line.rounds else { return Ok(()) };
        let mut s = Hands::new(&line, rounds);
        s.load(&random_order(n, &mut rng));
        let mut ahead = Ahead::default();
        for _ in 0..40 {
            let before = s.cost();
            prop_assert_eq!(before, line.cost(s.order()));
            // The general model times the same order alike, but for what is the same in every order.
            let mut draft = Draft::new(&shop);
            draft.order = s.order().iter().map(|&j| u32::from(j)).collect();
            let score = Times::new(&shop).lay_out(&shop, &draft);
            let released: i64 = shop.jobs.iter().map(|j| j.release).sum();
            let scale = line.changeover.max(line.flow) as f64 / shop.weights.changeover.max(shop.weights.flow);
            let scale = if scale.is_finite() && scale > 0.0 { scale } else { 1.0 };
            let told = before as f64 / scale - shop.weights.flow * released as f64;
            prop_assert!((score.total - told).abs() < 1e-6, "{} {}", score.total, told);
            let mut cuts = [1 + rng.below(n), 1 + rng.below(n), 1 + rng.below(n), 1 + rng.below(n)];
            cuts.sort_unstable();
            let [a, b, d, c] = cuts;
            if b == c {
                continue;
            }
            let m = Move { gain: 0, a, b, d: d.max(b + 1), c };
            ahead.forget(n);
            let told = s.gain(&m, i64::MIN / 4, &mut ahead);
            // What has been asked before is remembered.
            prop_assert_eq!(s.gain(&m, i64::MIN / 4, &mut ahead), told);
            let mut after = s.clone();
            after.carry_out(&m);
            prop_assert_eq!(told, Some(before - after.cost()));
            s = after;
        }
    }

    #[test]
    fn changeovers_that_a_move_adds_are_known_beforehand(n in 4_usize..30, dice in any::<u64>()) {
        let mut rng = Rng::new(dice);
        let (_, mut line) = rounds(n, &mut rng);
        (line.changeover, line.flow) = (1, 0);
        line.weight.fill(0);
        let Some(rounds) = line.rounds.take() else { return Ok(()) };
        // Without dressing and closing hours what an order costs is its changeovers.
        let rounds = Rounds { dress: vec![(0, 0); n], hours: None, ..rounds };
        let mut s = Hands::new(&line, &rounds);
        s.load(&random_order(n, &mut rng));
        for _ in 0..40 {
            let (a, d) = (1 + rng.below(n), 1 + rng.below(n));
            let (a, d) = (a.min(d), a.max(d));
            if d < a + 2 {
                continue;
            }
            let mut after = s.clone();
            after.carry_out(&Move { gain: 0, a, b: a, d, c: d });
            prop_assert_eq!(i64::from(s.swapped(a, d)), after.cost() - s.cost());
            let b = a + rng.below(d - a);
            let m = Move { gain: 0, a, b, d: b + 1, c: d };
            let mut after = s.clone();
            after.carry_out(&m);
            prop_assert_eq!(i64::from(s.exchanged(&m)), after.cost() - s.cost());
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
            for _ in 0..rng.below(2).min(cycles) {
                assembly.begin();
                assembly.take_part(rng.below(assembly.arcs_apart()));
            }
            let (child, cost) = assembly.close(n, i64::MAX).unwrap();
            let mut jobs = child.to_vec();
            prop_assert_eq!(cost, line.cost(child));
            jobs.sort_unstable();
            prop_assert_eq!(jobs, (0..n as u16).collect::<Vec<_>>());
        }
        assembly.begin();
        (0..cycles).for_each(|cycle| assembly.take(cycle));
        let cost = line.cost(&other);
        prop_assert_eq!(assembly.close(0, cost), None);
        prop_assert_eq!(assembly.close(0, cost + 1), Some((&other[..], cost)));
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
fn what_costs_nothing_waits_unless_it_shortens_the_way() {
    let mut shorter = 0;
    for dice in 0..60 {
        let mut instance = instance(7, &mut Rng::new(dice));
        instance.objective = Weights::default();
        for job in instance.jobs.iter_mut().step_by(3) {
            job.weight = 0.0;
        }
        // Nothing takes so long that this one would ever be late.
        instance.jobs[1].due = 10_000;
        let line = recognise(&Shop::new(&instance).expect("it can be met")).expect("it is a line");
        let costless = line.costless();
        assert!([0, 1, 3, 6].iter().all(|&j: &usize| costless[j]), "dice {dice}");
        let (least, best) = (least_of_all(&line), found(&line, 3000, dice));
        assert_eq!((best.cost, line.cost(&best.order)), (least, least), "dice {dice}");
        // The others alone, as if what costs nothing had to wait.
        let some: Vec<u16> = (0..7).filter(|&j| !costless[usize::from(j)]).collect();
        let alone = least_of_all(&line.only(&some));
        let shortens = (0..7).any(|j| costless[usize::from(j)] && line.shortens(j));
        assert!(alone == least || alone > least && shortens, "dice {dice}: {alone} {least}");
        shorter += u32::from(alone > least);
    }
    assert!(shorter > 5, "{shorter}");
}

#[test]
fn families_are_orders_with_the_same_few_jobs_late() {
    let n = 10;
    let rng = &mut Rng::new(3);
    let (mut same, mut others) = (0, 0);
    for _ in 0..300 {
        let mut line = line(n, rng);
        // So that often only a few are late; how often is counted below.
        line.due.iter_mut().for_each(|due| *due += 250);
        let mean = line.minutes.iter().sum::<i64>() / n as i64;
        let late = |order: &[u16]| {
            let (mut at, mut from) = (line.begin, n);
            let mut late = Vec::new();
            for &job in order {
                at += line.span[from * (n + 1) + usize::from(job)];
                from = usize::from(job);
                if at - line.due[from] > mean / 2 {
                    late.push(job);
                }
            }
            late.sort_unstable();
            late
        };
        let one = random_order(n, rng);
        let mut two = one.clone();
        two.swap(rng.below(n), rng.below(n));
        let (late_one, late_two) = (late(&one), late(&two));
        assert_eq!(family(&line, &one).is_some(), late_one.len() <= 3, "{late_one:?}");
        if late_one.len() <= 3 && late_two.len() <= 3 {
            assert_eq!(family(&line, &one) == family(&line, &two), late_one == late_two);
            if late_one == late_two { same += 1 } else { others += 1 }
        }
    }
    assert!(same > 20 && others > 20, "{same} {others}");
}

#[test]
fn a_full_family_gives_up_its_worst() {
    let member = |cost, family| Member { cost, order: Vec::new(), family };
    let (some, other) = (Some(1), Some(2));
    let members = [
        member(5, some),
        member(9, some),
        member(7, some),
        member(30, other),
        member(20, None),
        member(8, some),
    ];
    let place = |child: Option<u64>, parent, room| place(&member(6, child), &members, parent, room);
    assert_eq!(place(some, 3, 4), 1);
    assert_eq!(place(some, 4, 4), 1);
    assert_eq!(place(some, 3, 5), 3, "room for one more");
    assert_eq!(place(some, 0, 4), 0, "of the family already");
    assert_eq!(place(Some(3), 0, 1), 0, "of a new family");
    assert_eq!(place(None, 3, 0), 3, "of none");
    // A tenth of the members at first, in the end all.
    let rooms = [0.0, 0.3, 0.55, 0.8, 1.0].map(|used| room(used, 100));
    assert_eq!(rooms, [10, 10, 55, 100, 100]);
    assert_eq!(room(0.0, 5), 2);
}

#[test]
fn one_pair_of_hands_ends_at_the_least_of_all_orders() {
    let mut timed = 0;
    for dice in 0..60 {
        let mut rng = Rng::new(dice);
        let (_, line) = rounds(2 + dice as usize % 6, &mut rng);
        timed += u32::from(line.rounds.is_some());
        let best = found(&line, 3000, dice);
        assert_eq!(best.cost, line.cost(&best.order), "dice {dice}");
        assert_eq!(best.cost, least_of_all(&line), "dice {dice}");
    }
    assert!(timed > 30, "{timed}");
}

#[test]
fn hours_that_never_close_in_time_and_setups_that_remember_nothing_make_a_plain_line() {
    let mut shop = instance(6, &mut Rng::new(3));
    shop.people = Some(vec![Person { id: "P".into(), windows: Some(vec![[0, 100_000]]), may: Vec::new() }]);
    shop.stations[0].windows = Some(vec![[-50, 100_000]]);
    let is_plain = |shop: &Instance| {
        recognise(&Shop::new(shop).expect("it can be met")).expect("it is a line").rounds.is_none()
    };
    assert!(is_plain(&shop));
    shop.stations[0].windows = Some(vec![[0, 200], [200, 100_000]]);
    assert!(!is_plain(&shop));
    // Each station takes as long to set up for a job whatever was there before.
    let (mut shop, n) = (instance(6, &mut Rng::new(5)), 6);
    shop.people = Some(vec![Person { id: "P".into(), windows: None, may: Vec::new() }]);
    let setups = shop.changeovers[0].setups.clone();
    let table = |s: usize| Changeover {
        station: s.to_string(),
        setups: setups.clone(),
        minutes: vec![(0..n).collect(); 6],
        first: Some((0..n).collect()),
        dress: None,
    };
    shop.changeovers = (0..3).map(table).collect();
    shop.stations =
        (0..3).map(|s| Station { id: s.to_string(), setup: None, windows: None, basin: 1 }).collect();
    for (k, job) in shop.jobs.iter_mut().enumerate() {
        job.operations[0].on[0].station = (k % 3).to_string();
    }
    assert!(is_plain(&shop));
    shop.changeovers[1].minutes[4][1] = 50;
    assert!(!is_plain(&shop));
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

/// Merge orders made from the best of all, for a hundred lines. Whatever comes of it is an order, and cheaper than they are. Returns how
/// often none of them was the best, and in how many of these cases that came of it.
fn merged_again(made_from: impl Fn(&[u16], &mut Rng) -> Vec<Vec<u16>>) -> (usize, usize) {
    let mut rng = Rng::new(7);
    let (mut tries, mut best_found) = (0, 0);
    for _ in 0..100 {
        let line = line(8, &mut rng);
        let (best, least) = (found(&line, 2000, 1).order, least_of_all(&line));
        assert_eq!(line.cost(&best), least);
        let mut orders = made_from(&best, &mut rng);
        orders.sort_by_key(|order| line.cost(order));
        let before = line.cost(&orders[0]);
        if before == least {
            continue;
        }
        tries += 1;
        let orders = orders.iter().map(|order| &order[..]);
        if let Some(order) = Merge::new(&line).best(orders, before, &|| false) {
            let mut jobs = order.clone();
            jobs.sort_unstable();
            assert_eq!(jobs, (0..8).collect::<Vec<u16>>());
            assert!(line.cost(&order) < before);
            best_found += usize::from(line.cost(&order) == least);
        }
    }
    (tries, best_found)
}

/// An order with so many jobs from a place on somewhere else.
fn moved(order: &[u16], from: usize, jobs: usize, rng: &mut Rng) -> Vec<u16> {
    let mut order = order.to_vec();
    let block: Vec<u16> = order.drain(from..from + jobs).collect();
    let to = (from + 1 + rng.below(order.len())) % (order.len() + 1);
    order.splice(to..to, block);
    order
}

#[test]
fn merged_orders_are_orders_and_cheaper() {
    let (tries, best_found) =
        merged_again(|best, rng| (0..8).map(|_| moved(best, rng.below(6), 3, rng)).collect());
    assert!(tries >= 10, "{tries} tries");
    assert!(best_found * 2 > tries, "the best order in {best_found} of {tries}");
}

/// Two jobs that are neighbours in the best order are in no other.
#[test]
fn neighbours_that_nobody_has_are_let_in() {
    let (tries, best_found) = merged_again(|best, rng| {
        let cut = 1 + rng.below(7);
        let apart = |rng: &mut Rng| {
            let jobs = 1 + rng.below(3);
            if rng.below(2) == 0 {
                let jobs = jobs.min(cut);
                moved(best, cut - jobs, jobs, rng)
            } else {
                moved(best, cut, jobs.min(8 - cut), rng)
            }
        };
        (0..12).map(|_| apart(rng)).collect()
    });
    assert!(tries >= 90, "{tries} tries");
    assert!(best_found * 2 > tries, "the best order in {best_found} of {tries}");
}

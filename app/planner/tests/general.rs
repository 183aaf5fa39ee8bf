//! The general model on invented shops: whatever is asked, the plan holds, repeats itself, and what cannot be met is named.
#![allow(clippy::unwrap_used, reason = "a test may")]

use planner::{
    Alternative, Budget, Changeover, Dress, Fixed, Instance, Job, Operation, Person, Station, Watch, Weights,
    parse, plan, plan_feasible_part, replan, verify,
};
use proptest::prelude::*;

fn effort(iterations: u64) -> Budget {
    Budget { iterations: Some(iterations), ..Budget::default() }
}

/// Small numbers that follow from a first one.
struct Draw(u64);

impl Draw {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }

    fn from(&mut self, low: i64, high: i64) -> i64 {
        low + self.below((high - low + 1) as u64) as i64
    }

    fn once_in(&mut self, n: u64) -> bool {
        self.below(n) == 0
    }
}

/// A shop with every feature but fixed work, of about so many jobs.
fn invent(seed: u64, jobs: u64) -> Instance {
    let mut draw = Draw(seed.wrapping_mul(0x9E37_79B9) + 1);
    let setups = ["a", "b", "c"];
    let windows = |draw: &mut Draw| {
        (!draw.once_in(4))
            .then(|| (0..200).map(|d| [d * 100, d * 100 + 60 + (d % 3) * 15]).collect::<Vec<_>>())
    };
    let stations: Vec<Station> = (0..4)
        .map(|k| Station {
            id: format!("s{k}"),
            setup: draw.once_in(2).then(|| "a".into()),
            windows: windows(&mut draw),
            basin: if k == 3 { 3 } else { 1 },
        })
        .collect();
    let changeovers = (0..4)
        .map(|k| Changeover {
            station: format!("s{k}"),
            setups: setups.map(String::from).to_vec(),
            minutes: (0..3)
                .map(|i| (0..3).map(|j| if i == j { draw.from(0, 1) } else { draw.from(1, 14) }).collect())
                .collect(),
            first: draw.once_in(2).then(|| vec![3, 4, 5]),
            dress: draw.once_in(2).then(|| vec![Some(Dress { every: 3, minutes: 5 }), None, None]),
        })
        .collect();
    let people = (!draw.once_in(3)).then(|| {
        (0..2)
            .map(|k| Person {
                id: format!("P{k}"),
                windows: windows(&mut draw),
                may: if k == 0 { vec!["fine".into()] } else { vec![] },
            })
            .collect()
    });
    let job = |draw: &mut Draw, k: u64| Job {
        id: format!("K{k}"),
        release: draw.from(0, 60),
        due: draw.from(60, 80 + 25 * jobs as i64),
        weight: [1.0, 2.0, 0.5][draw.below(3) as usize],
        operations: (0..=draw.below(3))
            .map(|_| {
                let first = draw.below(4);
                let ways = if draw.once_in(4) { 2 } else { 1 };
                Operation {
                    on: (0..ways)
                        .map(|w| {
                            let minutes = draw.from(3, 25);
                            Alternative {
                                station: format!("s{}", (first + w) % 4),
                                setup: setups[draw.below(3) as usize].into(),
                                minutes,
                                attended: draw.once_in(3).then(|| draw.from(0, minutes)),
                                skill: draw.once_in(5).then(|| "fine".into()),
                            }
                        })
                        .collect(),
                    lag: [0, 0, 15][draw.below(3) as usize],
                    max_lag: draw.once_in(4).then(|| draw.from(40, 150)),
                    fixed: None,
                }
            })
            .collect(),
    };
    let jobs = (0..jobs).map(|k| job(&mut draw, k)).collect();
    let objective = Weights { tardiness: 1.0, changeover: 1.0, flow: 0.1, moved: 0.0 };
    Instance { now: 0, stations, changeovers, people, jobs, standing: Vec::new(), objective }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_plan_holds_and_repeats_itself(seed in any::<u64>(), jobs in 3u64..60) {
        let instance = invent(seed, jobs);
        for threads in [1, 2] {
            let budget = Budget { threads, seed, ..effort(30) };
            let Ok(one) = plan(&instance, budget, &Watch::none()) else { continue };
            prop_assert_eq!(verify(&instance, &one), vec![]);
            prop_assert_eq!(&plan(&instance, budget, &Watch::none()).unwrap(), &one);
        }
    }

    #[test]
    fn a_replan_holds_and_leaves_the_day_alone_unless_it_pays(seed in any::<u64>(), jobs in 5u64..40) {
        let whole = invent(seed, jobs);
        let mut without = whole.clone();
        without.jobs.retain(|j| j.id != "K1" && j.id != "K3");
        let Ok(standing) = plan(&without, effort(20), &Watch::none()) else { return Ok(()) };
        let Ok(kept) = replan(&whole, &standing, effort(0), &Watch::none()) else { return Ok(()) };
        let searched = replan(&whole, &standing, effort(20), &Watch::none()).unwrap();
        prop_assert_eq!(verify(&whole, &kept), vec![]);
        prop_assert_eq!(verify(&whole, &searched), vec![]);
        prop_assert!(searched.objective.total <= kept.objective.total + 1e-6);
    }

    #[test]
    fn fixed_work_stands_where_it_was_fixed(seed in any::<u64>(), jobs in 4u64..40) {
        let mut instance = invent(seed, jobs);
        let Ok(before) = plan(&instance, effort(10), &Watch::none()) else { return Ok(()) };
        // What starts first is begun.
        for p in before.operations.iter().filter(|p| p.start < 25) {
            let job = instance.jobs.iter_mut().find(|j| j.id == p.job).unwrap();
            job.operations[p.index].fixed = Some(Fixed {
                station: p.station.clone(),
                setup: p.setup.clone(),
                changeover_start: p.changeover_start,
                start: p.start,
                end: p.end,
                person: p.person.clone(),
            });
        }
        instance.now = 25;
        let Ok(after) = plan(&instance, effort(20), &Watch::none()) else { return Ok(()) };
        prop_assert_eq!(verify(&instance, &after), vec![]);
    }
}

#[test]
fn one_person_at_six_stations_does_as_well_as_one_machine() {
    // Nothing to set up: whoever does everything by hand is one machine, and that case has a search of its own.
    let mut draw = Draw(77);
    let jobs: Vec<(i64, i64, f64)> =
        (0..40).map(|_| (draw.from(5, 30), draw.from(50, 500), draw.from(1, 9) as f64)).collect();
    let shop = |stations: u64| {
        let mut k = 0;
        Instance {
            now: 0,
            stations: (0..stations)
                .map(|s| Station { id: format!("s{s}"), setup: None, windows: None, basin: 1 })
                .collect(),
            changeovers: Vec::new(),
            people: Some(vec![Person { id: "P".into(), windows: None, may: Vec::new() }]),
            jobs: jobs
                .iter()
                .map(|&(minutes, due, weight)| {
                    k += 1;
                    let on = Alternative {
                        station: format!("s{}", k % stations),
                        setup: "hand".into(),
                        minutes,
                        attended: None,
                        skill: None,
                    };
                    let operations = vec![Operation { on: vec![on], lag: 0, max_lag: None, fixed: None }];
                    Job { id: format!("K{k}"), release: 0, due, weight, operations }
                })
                .collect(),
            standing: Vec::new(),
            objective: Weights::default(),
        }
    };
    let machine = plan(&shop(1), effort(40), &Watch::none()).unwrap();
    let person = plan(&shop(6), effort(4000), &Watch::none()).unwrap();
    // A line repeats itself too, on any number of threads.
    let two = || plan(&shop(6), Budget { threads: 2, ..effort(60) }, &Watch::none()).unwrap();
    assert_eq!(two(), two());
    assert!(machine.objective.total > 0.0);
    assert!(
        person.objective.total <= machine.objective.total,
        "{} against {}",
        person.objective.total,
        machine.objective.total
    );
}

#[test]
fn work_that_no_longer_fits_is_refused_by_name_and_the_rest_planned() {
    // Each fits by itself into the only window; both together do not.
    let text = r#"{"stations": [{"id": "wheel", "windows": [[0, 100]]}],
        "jobs": [
          {"id": "A", "due": 50, "weight": 5, "operations": [{"on": [{"station": "wheel", "setup": "a", "minutes": 60}]}]},
          {"id": "B", "due": 50, "operations": [{"on": [{"station": "wheel", "setup": "a", "minutes": 70}]}]}]}"#;
    let instance = parse(text).unwrap();
    let refused = plan(&instance, effort(50), &Watch::none()).unwrap_err();
    assert_eq!(refused[0].job.as_deref(), Some("B"), "{refused:?}");
    assert!(refused[0].error.contains("operation 0 of \"B\" finds no window"), "{}", refused[0].error);
    let part = plan_feasible_part(&instance, effort(50), &Watch::none()).unwrap();
    assert_eq!(part.left_out.iter().map(|l| l.job.as_str()).collect::<Vec<_>>(), ["B"]);
    assert_eq!(verify(&part.instance, &part.plan), []);
}

#[test]
fn a_pin_that_nothing_can_stand_before_is_refused_by_name() {
    // "b" is fixed with the changeover from "c", but nothing is ever done in "c".
    let text = r#"{"stations": [{"id": "wheel", "setup": "a"}],
        "changeovers": [{"station": "wheel", "setups": ["a", "b", "c"], "minutes": [[0, 5, 9], [5, 0, 9], [9, 7, 0]]}],
        "jobs": [{"id": "A", "due": 50, "operations": [{"on": [{"station": "wheel", "setup": "b", "minutes": 10}],
          "fixed": {"station": "wheel", "setup": "b", "changeover_start": 20, "start": 27, "end": 37}}]}]}"#;
    let refused = match parse(text) {
        Err(refused) => refused,
        Ok(instance) => plan(&instance, effort(20), &Watch::none()).unwrap_err(),
    };
    assert_eq!(refused[0].job.as_deref(), Some("A"), "{refused:?}");
}

#[test]
fn pins_in_a_circle_are_refused_by_name() {
    // The second step is pinned to end before the first can start.
    let text = r#"{"stations": [{"id": "wheel"}, {"id": "hone"}],
        "jobs": [{"id": "A", "due": 50, "operations": [
          {"on": [{"station": "wheel", "setup": "a", "minutes": 10}],
           "fixed": {"station": "wheel", "setup": "a", "changeover_start": 40, "start": 40, "end": 50}},
          {"on": [{"station": "hone", "setup": "x", "minutes": 10}],
           "fixed": {"station": "hone", "setup": "x", "changeover_start": 20, "start": 20, "end": 30}}]}]}"#;
    let refused = parse(text).unwrap_err();
    assert_eq!(refused[0].job.as_deref(), Some("A"), "{refused:?}");
    assert!(refused[0].error.contains("contradictory fixed work"), "{}", refused[0].error);
}

#[test]
fn a_piece_joins_a_basin_load_that_is_fixed_ahead() {
    // The bath is fixed for A from 20 to 40 and holds two. B, due at 45, would otherwise wait until 40 and end at 55.
    let text = r#"{"stations": [{"id": "bath", "basin": 2}],
        "jobs": [
          {"id": "A", "due": 40, "operations": [{"on": [{"station": "bath", "setup": "oil", "minutes": 20}],
            "fixed": {"station": "bath", "setup": "oil", "changeover_start": 20, "start": 20, "end": 40}}]},
          {"id": "B", "release": 10, "due": 45, "operations": [{"on": [{"station": "bath", "setup": "oil", "minutes": 15}]}]}]}"#;
    let instance = parse(text).unwrap();
    let plan = plan(&instance, effort(20), &Watch::none()).unwrap();
    assert_eq!(verify(&instance, &plan), []);
    assert_eq!(plan.find("B", 0).map(|o| (o.start, o.end)), Some((20, 40)));
    assert_eq!(plan.objective.total, 0.0);
}

#[test]
fn who_attends_fixed_work_attends_nothing_else_even_in_its_basin() {
    // The bath again, with somebody there. Where nobody has to stand by, B joins; where A's load is attended it waits.
    let bath = |attended: i64| {
        parse(&format!(
            r#"{{"stations": [{{"id": "bath", "basin": 2}}], "people": [{{"id": "P"}}],
            "jobs": [
              {{"id": "A", "due": 40, "operations": [{{"on": [{{"station": "bath", "setup": "oil", "minutes": 20, "attended": {attended}}}],
                "fixed": {{"station": "bath", "setup": "oil", "changeover_start": 20, "start": 20, "end": 40, "person": "P"}}}}]}},
              {{"id": "B", "release": 10, "due": 45, "operations": [{{"on": [{{"station": "bath", "setup": "oil", "minutes": 15, "attended": 0}}]}}]}}]}}"#
        ))
        .unwrap()
    };
    let place = |instance: &Instance| {
        let plan = plan(instance, effort(20), &Watch::none()).unwrap();
        assert_eq!(verify(instance, &plan), []);
        plan.find("B", 0).map(|o| (o.start, o.end))
    };
    assert_eq!(place(&bath(0)), Some((20, 40)));
    assert_eq!(place(&bath(5)), Some((40, 55)));
    // A plan that joins them all the same is refused.
    let mut joined = plan(&bath(0), effort(20), &Watch::none()).unwrap();
    joined.bound = None;
    assert!(verify(&bath(5), &joined)[0].error.contains("is needed at"), "{:?}", verify(&bath(5), &joined));
}

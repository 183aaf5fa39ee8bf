//! One person at six stations against the one machine it really is.
//!
//! Three shops are made of each published instance, and each is searched for the same time on one thread:
//! - the line: one machine, as published;
//! - one person whose work all goes to one of six stations, and who goes home a minute before the most that the work could
//!   take. No plan worth looking at is affected, so the optimum stays that of the line, but nothing can be looked up any
//!   more: every order is timed by the clock;
//! - one person with the jobs dealt out over six stations, where each station keeps what is mounted while the person is at
//!   the others. A changeover is then that from the last job at the same station, so the optimum is another one, and nobody
//!   has published it. It stands beside the same shop with a second person at a job that nobody waits for: the same problem, but
//!   not one pair of hands, so it is searched like any shop.

use std::error::Error;

use planner::{Budget, Changeover, Instance, Minute, Person, Plan, Station};

use crate::published::{Published, timed};

const STATIONS: usize = 6;

/// Print the table for so many seconds a plan.
pub(crate) fn table(instances: &[Published], seconds: f64, cpu: bool) -> Result<(), Box<dyn Error>> {
    println!("one person at six stations, {seconds} s each, one thread, seed 1");
    println!("instance       best   the line  by clock  |  dealt out   as any shop");
    let (mut line_gap, mut clock_gap, mut worse, mut gains) = (Vec::new(), Vec::new(), 0, Vec::new());
    for p in instances {
        let cost = |instance: &Instance| -> Result<f64, Box<dyn Error>> {
            let budget = Budget { seconds: Some(seconds), ..Budget::default() };
            let (plan, _): (Plan, f64) = timed(instance, budget, cpu)?;
            match planner::verify(instance, &plan).first() {
                Some(wrong) => Err(format!("instance {}: an unsound plan: {wrong}", p.number).into()),
                None => Ok(plan.objective.total),
            }
        };
        let dealt = dealt_out(&p.instance);
        let (line, clock) = (cost(&p.instance)?, cost(&by_clock(&p.instance))?);
        let (hands, any) = (cost(&dealt)?, cost(&with_an_idler(dealt))?);
        println!("{:8} {:10} {line:10} {clock:9}  | {hands:10} {any:13}", p.number, p.best);
        if p.best > 0.0 {
            line_gap.push(100.0 * (line - p.best) / p.best);
            clock_gap.push(100.0 * (clock - p.best) / p.best);
        }
        worse += u32::from(clock > line);
        if any > 0.0 {
            gains.push(100.0 * (any - hands) / any);
        }
    }
    let mean = |all: &[f64]| all.iter().sum::<f64>() / all.len().max(1) as f64;
    println!(
        "summary one person, {seconds} s: mean gap of the line {:.3} %, by the clock {:.3} %, worse than the line on {worse} of {}; \
         dealt out over six stations {:.1} % below the general search",
        mean(&line_gap),
        mean(&clock_gap),
        instances.len(),
        mean(&gains)
    );
    Ok(())
}

fn person(windows: Option<Vec<[Minute; 2]>>) -> Person {
    Person { id: "P".into(), windows, may: vec!["all".into()] }
}

fn stations() -> Vec<Station> {
    (0..STATIONS).map(|s| Station { id: format!("s{s}"), setup: None, windows: None, basin: 1 }).collect()
}

/// All at the first of six stations; the person's day ends a minute before the most that the work could take.
fn by_clock(line: &Instance) -> Instance {
    let mut shop = line.clone();
    let table = &mut shop.changeovers[0];
    table.station = "s0".into();
    let mut most = 0;
    for (to, job) in shop.jobs.iter_mut().enumerate() {
        let on = &mut job.operations[0].on[0];
        on.station = "s0".into();
        let first = table.first.as_ref().map_or(0, |f| f[to]);
        most += on.minutes + table.minutes.iter().map(|row| row[to]).fold(first, Minute::max);
    }
    shop.stations = stations();
    shop.people = Some(vec![person(Some(vec![[0, most - 1]]))]);
    shop
}

/// The jobs in turn at six stations, each with its share of the changeovers.
fn dealt_out(line: &Instance) -> Instance {
    let mut shop = line.clone();
    let whole = shop.changeovers.remove(0);
    for s in 0..STATIONS {
        let here = || (s..whole.setups.len()).step_by(STATIONS);
        shop.changeovers.push(Changeover {
            station: format!("s{s}"),
            setups: here().map(|k| whole.setups[k].clone()).collect(),
            minutes: here().map(|i| here().map(|j| whole.minutes[i][j]).collect()).collect(),
            first: whole.first.as_ref().map(|first| here().map(|k| first[k]).collect()),
            dress: None,
        });
    }
    for (k, job) in shop.jobs.iter_mut().enumerate() {
        let on = &mut job.operations[0].on[0];
        (on.station, on.skill) = (format!("s{}", k % STATIONS), Some("all".into()));
    }
    shop.stations = stations();
    shop.people = Some(vec![person(None)]);
    shop
}

/// The same shop with somebody who may do a job that has no weight and takes a minute, and nothing else.
fn with_an_idler(mut shop: Instance) -> Instance {
    let mut idle = shop.jobs[0].clone();
    idle.id = "idle".into();
    idle.weight = 0.0;
    let on = &mut idle.operations[0].on[0];
    (on.station, on.setup, on.minutes, on.skill) = ("idle".into(), "none".into(), 1, Some("idle".into()));
    shop.jobs.push(idle);
    shop.stations.push(Station { id: "idle".into(), setup: None, windows: None, basin: 1 });
    let idler = Person { id: "Q".into(), windows: None, may: vec!["idle".into()] };
    shop.people.get_or_insert_default().push(idler);
    shop
}

//! Measures the general model on invented shops: how it scales, how fast a promise and a re-plan are, and what a plan is
//! worth against rules of thumb. Lines that begin with `summary` are for the record.
//!
//! `PARTS` (scale,change,weeks) and `PIECES` (15,150,1450,14500) make a run shorter. Searches are given processor time where
//! Linux tells it, which is fair on a busy machine; promises and re-plans, which are too short for that, are timed by the wall
//! clock.
#![allow(clippy::print_stdout, clippy::print_stderr, reason = "a bench speaks through them")]

#[path = "bench_shop/rules.rs"]
mod rules;
#[path = "bench_shop/shop.rs"]
mod shop;

use std::sync::atomic::AtomicBool;

use planner::{Budget, Complaint, Instance, Plan, Scatter, Standing, Watch};

type Outcome<T> = Result<T, String>;

fn main() -> std::process::ExitCode {
    let parts = std::env::var("PARTS").unwrap_or_else(|_| "scale,change,weeks".into());
    let run = || -> Outcome<()> {
        if parts.contains("scale") {
            scale()?;
        }
        if parts.contains("change") {
            change()?;
        }
        if parts.contains("weeks") {
            weeks()?;
        }
        Ok(())
    };
    match run() {
        Ok(()) => std::process::ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("bench_shop: {error}");
            std::process::ExitCode::FAILURE
        }
    }
}

/// Seconds the processor spent on this thread so far.
fn clock() -> f64 {
    let spent = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    spent.tv_sec as f64 + spent.tv_nsec as f64 / 1e9
}

fn named(complaints: &[Complaint]) -> String {
    complaints.first().map_or_else(String::new, ToString::to_string)
}

/// A plan and the seconds it took.
fn planned(instance: &Instance, seconds: Option<f64>) -> Outcome<(Plan, f64)> {
    let began = clock();
    let elapsed = || clock() - began;
    let stop = AtomicBool::new(false);
    let iterations = seconds.is_none().then_some(0);
    let budget = Budget { seconds, iterations, ..Budget::default() };
    let watch = Watch { elapsed_s: &elapsed, stop: &stop };
    let plan = planner::plan(instance, budget, &watch).map_err(|c| named(&c))?;
    let took = clock() - began;
    match planner::verify(instance, &plan).first() {
        Some(wrong) => Err(format!("an unsound plan: {wrong}")),
        None => Ok((plan, took)),
    }
}

/// The most memory this process has used so far, in megabytes.
fn peak_mb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    line.and_then(|l| l.trim().trim_end_matches("kB").trim().parse::<f64>().ok()).unwrap_or(0.0) / 1024.0
}

fn scale() -> Outcome<()> {
    println!("scale: first plan by the constructive rule, then 5 s of search, one thread");
    println!("  pieces operations people   first ms      first       5 s   gain %   peak MB");
    let pieces = std::env::var("PIECES").unwrap_or_else(|_| "15,150,1450,14500".into());
    for pieces in pieces.split(',').filter_map(|p| p.trim().parse::<u64>().ok()) {
        for people in [0, 2] {
            let instance = shop::invent(&shop::Size { pieces, people, days: None, waits: true }, 1);
            let operations: usize = instance.jobs.iter().map(|j| j.operations.len()).sum();
            let (first, took) = planned(&instance, None)?;
            let (best, _) = planned(&instance, Some(5.0))?;
            let (a, b) = (first.objective.total, best.objective.total);
            let gain = if a > 0.0 { 100.0 * (a - b) / a } else { 0.0 };
            println!(
                "{pieces:8} {operations:10} {people:6} {:10.1} {a:10.0} {b:9.0} {gain:8.1} {:9.0}",
                took * 1000.0,
                peak_mb()
            );
            println!(
                "summary scale operations={operations} people={people} first_ms={:.1} gain_pct={gain:.1} peak_mb={:.0}",
                took * 1000.0,
                peak_mb()
            );
        }
    }
    Ok(())
}

/// The median and the 99th percentile.
fn spread(mut times: Vec<f64>) -> (f64, f64) {
    times.sort_by(f64::total_cmp);
    let at = |share: f64| {
        times.get(((times.len() as f64 * share) as usize).min(times.len().max(1) - 1)).copied().unwrap_or(0.0)
    };
    (at(0.5), at(0.99))
}

fn change() -> Outcome<()> {
    let size = shop::Size { pieces: 2000, people: 4, days: None, waits: true };
    let instance = shop::invent(&size, 3);
    let (plan, _) = planned(&instance, Some(2.0))?;
    let began = clock();
    let standing = Standing::open(&instance, &plan).map_err(|c| named(&c))?;
    let opened = clock() - began;
    let outlook = standing.outlook(Scatter::default());
    println!(
        "change: 2,000 jobs stand; opening them takes {:.1} ms, playing them through 64 times {:.1} ms, once per plan",
        opened * 1000.0,
        (clock() - began - opened) * 1000.0
    );
    let more = shop::invent(&shop::Size { pieces: 300, ..size }, 4);
    let (mut promises, mut replans, mut held) = (Vec::new(), Vec::new(), Vec::new());
    for (k, job) in more.jobs.iter().enumerate() {
        let mut job = job.clone();
        job.id = format!("N{k}");
        // Shorter than what the kernel counts of processor time.
        let began = std::time::Instant::now();
        standing.promise(&job, &outlook).map_err(|c| c.to_string())?;
        promises.push(began.elapsed().as_secs_f64() * 1000.0);
        if k % 6 > 0 {
            continue;
        }
        let mut changed = instance.clone();
        changed.jobs.push(job);
        for (seconds, iterations, times) in
            [(Some(planner::REPLAN_S), None, &mut replans), (None, Some(0), &mut held)]
        {
            let began = std::time::Instant::now();
            let elapsed = || began.elapsed().as_secs_f64();
            let stop = AtomicBool::new(false);
            let budget = Budget { seconds, iterations, ..Budget::default() };
            let watch = Watch { elapsed_s: &elapsed, stop: &stop };
            let found = planner::replan(&changed, &plan, budget, &watch).map_err(|c| named(&c))?;
            times.push(elapsed() * 1000.0);
            if let Some(wrong) = planner::verify(&changed, &found).first() {
                return Err(format!("an unsound re-plan: {wrong}"));
            }
        }
    }
    for (what, times) in [("promise", promises), ("replan", replans), ("replan_without_search", held)] {
        let n = times.len();
        let (median, most) = spread(times);
        println!("summary change {what} n={n} median_ms={median:.2} p99_ms={most:.2}");
    }
    Ok(())
}

fn weeks() -> Outcome<()> {
    println!("weeks: 120 pieces, two people, tight dates; four weeks each");
    println!("  rule                    changeover %   weighted minutes late   jobs late");
    let mut rows: Vec<(&str, Vec<rules::Figures>)> = Vec::new();
    for seed in 1..=4 {
        // Rules of thumb know no longest waits, so these weeks have none.
        let size = shop::Size { pieces: 120, people: 2, days: Some(5), waits: false };
        let instance = shop::invent(&size, seed);
        let mut add = |name, plan: &Plan| -> Outcome<()> {
            if let Some(wrong) = planner::verify(&instance, plan).first() {
                return Err(format!("{name}: an unsound plan: {wrong}"));
            }
            let figures = rules::figures(&instance, plan);
            match rows.iter_mut().find(|r| r.0 == name) {
                Some(row) => row.1.push(figures),
                None => rows.push((name, vec![figures])),
            }
            Ok(())
        };
        for rule in [rules::Rule::FirstCome, rules::Rule::DueDate, rules::Rule::SameSetup] {
            add(rule.name(), &rules::follow(&instance, rule))?;
        }
        add("planner, first plan", &planned(&instance, None)?.0)?;
        add("planner, 5 s", &planned(&instance, Some(5.0))?.0)?;
    }
    for (name, all) in rows {
        let mean = |f: fn(&rules::Figures) -> f64| all.iter().map(f).sum::<f64>() / all.len() as f64;
        let (change, late, jobs) = (mean(|f| f.changeover_pct), mean(|f| f.tardiness), mean(|f| f.late_jobs));
        println!("  {name:22} {change:13.1} {late:23.0} {jobs:11.1}");
        println!(
            "summary weeks rule=\"{name}\" changeover_pct={change:.1} tardiness={late:.0} late_jobs={jobs:.1}"
        );
    }
    Ok(())
}

//! The planner on published single-machine instances with sequence-dependent setups and weighted tardiness.
//!
//! `WTSDS` names a folder with `wt_sds_*.instance` files in the format of V. A. Cicirello (2003), `best.csv` (instance,
//! value of its optimum) and, if there is one, `peer.csv` (instance, seconds, value another solver reached).
//! `WTSDS_SECONDS` (1,10), `WTSDS_THREADS` (1,2), `WTSDS_SEED` (1) and `WTSDS_ONLY` (all) are lists that make a run shorter.
//! `WTSDS_PERSON` (10) is how long the same instances are searched as the work of one person at six stations ([`person`]).
//! Time is wall time, or with `WTSDS_CLOCK=cpu` what the processor spent on each thread, which is fair on a busy machine.

use std::collections::BTreeMap;
use std::error::Error;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;
use std::time::Instant;

use planner::{
    Alternative, Budget, Changeover, Instance, Job, Minute, Operation, Plan, Station, Watch, Weights,
};

/// What is asked of ten seconds on one thread: optima reached, as a share of the instances, and the mean gap in per cent.
const HITS: f64 = 0.9;
const MEAN_GAP_PCT: f64 = 0.2;

pub(crate) struct Published {
    pub(crate) number: u32,
    pub(crate) instance: Instance,
    pub(crate) best: f64,
    peer: Option<f64>,
}

struct Outcome {
    number: u32,
    value: f64,
    best: f64,
    peer: Option<f64>,
}

impl Outcome {
    /// Over the optimum in per cent; an optimum of 0 has none.
    fn gap_pct(&self) -> Option<f64> {
        (self.best > 0.0).then(|| 100.0 * (self.value - self.best) / self.best)
    }

    fn hit(&self) -> bool {
        self.value <= self.best
    }

    fn class(&self) -> u32 {
        (self.number - 1) / 10
    }
}

/// Measure everything that was asked for. Returns whether the aims were met, where they were measured at all.
pub(crate) fn run() -> Result<bool, Box<dyn Error>> {
    let Some(folder) = std::env::var_os("WTSDS").map(PathBuf::from) else {
        println!("published instances: left out, because WTSDS names no folder with them");
        return Ok(true);
    };
    let only: Vec<u32> = crate::list("WTSDS_ONLY", "")?;
    let instances = read_all(&folder, &only)?;
    let cpu = std::env::var("WTSDS_CLOCK").is_ok_and(|clock| clock == "cpu");
    let seeds: Vec<u64> = crate::list("WTSDS_SEED", "1")?;
    let mut met = true;
    for seconds in crate::list::<f64>("WTSDS_SECONDS", "1,10")? {
        for threads in crate::list::<usize>("WTSDS_THREADS", "1,2")? {
            for &seed in &seeds {
                let clock = if cpu { "of processor time" } else { "by the clock" };
                println!("published instances, {seconds} s {clock}, {threads} thread(s), seed {seed}");
                let outcomes = series(&instances, seconds, threads, seed, cpu)?;
                classes(&outcomes);
                let reached = summary(&outcomes, seconds, threads);
                met &= reached || seconds < 10.0 || threads > 1 || !only.is_empty();
            }
        }
    }
    for seconds in crate::list::<f64>("WTSDS_PERSON", "10")? {
        crate::person::table(&instances, seconds, cpu)?;
    }
    Ok(met)
}

fn series(
    instances: &[Published],
    seconds: f64,
    threads: usize,
    seed: u64,
    cpu: bool,
) -> Result<Vec<Outcome>, Box<dyn Error>> {
    println!("instance       best       peer       ours   gap %   bound  found s   steps/s");
    let mut outcomes = Vec::new();
    for p in instances {
        let budget = Budget { seconds: Some(seconds), iterations: None, threads, seed };
        let (plan, took_s) = timed(&p.instance, budget, cpu)?;
        let complaints = planner::verify(&p.instance, &plan);
        if let Some(complaint) = complaints.first() {
            return Err(format!("instance {}: the plan is unsound: {complaint}", p.number).into());
        }
        let outcome = Outcome { number: p.number, value: plan.objective.total, best: p.best, peer: p.peer };
        let per_s = plan.iterations as f64 / took_s.max(1e-6);
        println!(
            "{:8} {:10} {:>10} {:10}{} {:>6} {:7.0} {:8.2} {:9.0}",
            p.number,
            p.best,
            p.peer.map_or(String::from("-"), |v| v.to_string()),
            outcome.value,
            if outcome.hit() { '*' } else { ' ' },
            outcome.gap_pct().map_or(String::from("-"), |g| format!("{g:.2}")),
            plan.bound.unwrap_or(0.0),
            // All threads step about equally fast.
            plan.found_at as f64 * threads as f64 / per_s.max(1.0),
            per_s,
        );
        outcomes.push(outcome);
    }
    Ok(outcomes)
}

fn classes(outcomes: &[Outcome]) {
    let mut classes: BTreeMap<u32, Vec<&Outcome>> = BTreeMap::new();
    for outcome in outcomes {
        classes.entry(outcome.class()).or_default().push(outcome);
    }
    println!("  class    hits   mean gap %");
    for (class, members) in classes {
        let hits = members.iter().filter(|o| o.hit()).count();
        let gap = mean(members.iter().filter_map(|o| o.gap_pct()))
            .map_or(String::from("-"), |gap| format!("{gap:.3}"));
        let (first, last) = (class * 10 + 1, class * 10 + 10);
        println!("{:>8} {hits:3}/{:<3} {gap:>10}", format!("{first}-{last}"), members.len());
    }
}

/// Print the summary. Returns whether the aims are met.
fn summary(outcomes: &[Outcome], seconds: f64, threads: usize) -> bool {
    let hits = outcomes.iter().filter(|o| o.hit()).count();
    let gap = mean(outcomes.iter().filter_map(Outcome::gap_pct)).unwrap_or(0.0);
    // An empty sum of floats is -0.
    let minutes = outcomes.iter().filter(|o| o.best <= 0.0).map(|o| o.value).fold(0.0, |sum, v| sum + v);
    let worse: Vec<String> = outcomes
        .iter()
        .filter(|o| o.peer.is_some_and(|peer| o.value > peer))
        .map(|o| o.number.to_string())
        .collect();
    let peer_hits = outcomes.iter().filter(|o| o.peer.is_some_and(|peer| peer <= o.best)).count();
    println!(
        "summary {seconds} s, {threads} thread(s): {hits} of {} optima (peer {peer_hits}), mean gap {gap:.3} %, \
         {minutes} weighted minutes over optima of 0, worse than the peer: {}",
        outcomes.len(),
        if worse.is_empty() { String::from("none") } else { worse.join(" ") },
    );
    hits as f64 >= HITS * outcomes.len() as f64 && gap <= MEAN_GAP_PCT && worse.is_empty()
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = values.fold((0.0, 0u32), |(sum, count), v| (sum + v, count + 1));
    (count > 0).then(|| sum / f64::from(count))
}

/// Plan in a thread of its own, whose processor time therefore begins at nothing. Returns the seconds it took, too.
pub(crate) fn timed(instance: &Instance, budget: Budget, cpu: bool) -> Result<(Plan, f64), Box<dyn Error>> {
    let one = || {
        let began = Instant::now();
        let wall = move || began.elapsed().as_secs_f64();
        let stop = AtomicBool::new(false);
        let elapsed_s: &(dyn Fn() -> f64 + Sync) = if cpu { &processor_s } else { &wall };
        let plan = planner::plan(instance, budget, &Watch { elapsed_s, stop: &stop });
        // With several threads the one that waits for them has spent nothing; they stop when the time is up.
        let took = if cpu && budget.threads > 1 { budget.seconds.unwrap_or(0.0) } else { elapsed_s() };
        (plan, took)
    };
    let (plan, took_s) =
        std::thread::scope(|scope| scope.spawn(one).join()).map_err(|_| "the planner panicked")?;
    match plan {
        Ok(plan) => Ok((plan, took_s)),
        Err(complaints) => {
            Err(complaints.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ").into())
        }
    }
}

/// Seconds the processor has spent on this thread so far.
fn processor_s() -> f64 {
    let spent = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    spent.tv_sec as f64 + spent.tv_nsec as f64 / 1e9
}

fn read_all(folder: &Path, only: &[u32]) -> Result<Vec<Published>, Box<dyn Error>> {
    let best = column(&folder.join("best.csv"), "best")?;
    let peer = folder.join("peer.csv");
    let peer = if peer.exists() { column(&peer, "value")? } else { BTreeMap::new() };
    let mut all = Vec::new();
    for (&number, &best) in &best {
        if only.is_empty() || only.contains(&number) {
            let path = folder.join(format!("wt_sds_{number}.instance"));
            let text = std::fs::read_to_string(&path).map_err(|e| format!("{}: {e}", path.display()))?;
            let instance = read(&text).ok_or_else(|| format!("{}: not in the format", path.display()))?;
            all.push(Published { number, instance, best, peer: peer.get(&number).copied() });
        }
    }
    Ok(all)
}

/// One column of a small table without quotes, by the column `instance`.
fn column(path: &Path, name: &str) -> Result<BTreeMap<u32, f64>, Box<dyn Error>> {
    let text = std::fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))?;
    let mut rows = text.lines().map(|line| line.split(',').map(str::trim).collect::<Vec<_>>());
    let head = rows.next().unwrap_or_default();
    let find =
        |name: &str| head.iter().position(|h| *h == name).ok_or(format!("{}: no {name}", path.display()));
    let (key, value) = (find("instance")?, find(name)?);
    let mut found = BTreeMap::new();
    for row in rows.filter(|row| row.len() == head.len()) {
        found.insert(row[key].parse()?, row[value].parse()?);
    }
    Ok(found)
}

/// One `wt_sds_*.instance` file: sections of numbers, the setups as lines `from to minutes` with -1 for the beginning.
fn read(text: &str) -> Option<Instance> {
    let mut sections: BTreeMap<&str, Vec<Vec<Minute>>> = BTreeMap::new();
    let mut section = "";
    for line in text.lines().map(str::trim) {
        if line.ends_with(':') {
            section = line;
        } else if line.starts_with("End") || line.starts_with("Begin") {
            section = "";
        } else if let Ok(numbers) = line.split_whitespace().map(str::parse).collect::<Result<Vec<_>, _>>() {
            sections.entry(section).or_default().push(numbers);
        }
    }
    let single = |name: &str| -> Option<Vec<Minute>> {
        sections.get(name)?.iter().map(|numbers| numbers.first().copied()).collect()
    };
    let (minutes, weights, due) = (single("Process Times:")?, single("Weights:")?, single("Duedates:")?);
    let n = minutes.len();
    let (mut table, mut first) = (vec![vec![0; n]; n], vec![0; n]);
    for row in sections.get("Setup Times:")? {
        let &[from, to, setup] = row.as_slice() else {
            return None;
        };
        let to = usize::try_from(to).ok().filter(|&to| to < n)?;
        match usize::try_from(from) {
            Ok(from) => *table.get_mut(from)?.get_mut(to)? = setup,
            Err(_) => first[to] = setup,
        }
    }
    if n == 0 || weights.len() != n || due.len() != n {
        return None;
    }
    let job = |k: usize| Job {
        id: k.to_string(),
        release: 0,
        due: due[k],
        weight: weights[k] as f64,
        operations: vec![Operation {
            on: vec![Alternative {
                station: "machine".into(),
                setup: k.to_string(),
                minutes: minutes[k],
                attended: None,
                skill: None,
            }],
            lag: 0,
            max_lag: None,
            fixed: None,
        }],
    };
    Some(Instance {
        now: 0,
        stations: vec![Station { id: "machine".into(), setup: None, windows: None, basin: 1 }],
        changeovers: vec![Changeover {
            station: "machine".into(),
            setups: (0..n).map(|k| k.to_string()).collect(),
            minutes: table,
            first: Some(first),
            dress: None,
        }],
        people: None,
        jobs: (0..n).map(job).collect(),
        standing: Vec::new(),
        objective: Weights::default(),
    })
}

//! Rules of thumb a shop goes by without a plan, and what a plan comes to.

use std::collections::HashMap;

use planner::{Alternative, Changeover, Instance, Minute, Placed, Plan};

/// What is taken next of all that can start soonest.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Rule {
    /// Whatever came first.
    FirstCome,
    /// What is due first.
    DueDate,
    /// What needs no changeover, then what is due first.
    SameSetup,
}

impl Rule {
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::FirstCome => "first come, first served",
            Self::DueDate => "due date",
            Self::SameSetup => "same setup first",
        }
    }
}

/// What a plan comes to.
pub(crate) struct Figures {
    /// Changeover and dressing as a share of all minutes stations are busy.
    pub(crate) changeover_pct: f64,
    pub(crate) tardiness: f64,
    pub(crate) late_jobs: f64,
}

pub(crate) fn figures(instance: &Instance, plan: &Plan) -> Figures {
    let mut loads: HashMap<(&str, Minute), Minute> = HashMap::new();
    for o in &plan.operations {
        loads.insert((&o.station, o.start), o.end - o.changeover_start);
    }
    let busy: Minute = loads.values().sum();
    let late = instance
        .jobs
        .iter()
        .filter(|j| plan.find(&j.id, j.operations.len() - 1).is_some_and(|last| last.end > j.due));
    Figures {
        changeover_pct: 100.0 * plan.objective.changeover as f64 / busy.max(1) as f64,
        tardiness: plan.objective.tardiness,
        late_jobs: late.count() as f64,
    }
}

#[derive(Clone)]
struct At {
    free: Minute,
    mounted: Option<String>,
    since: u32,
}

struct Choice {
    begin: Minute,
    start: Minute,
    person: Option<usize>,
    since: u32,
    c: Minute,
}

/// The plan that comes out when everybody goes by one rule. Knows one way for each operation, no longest waits and no
/// fixed work, as the invented weeks have it.
pub(crate) fn follow(instance: &Instance, rule: Rule) -> Plan {
    let tables: HashMap<&str, &Changeover> =
        instance.changeovers.iter().map(|c| (c.station.as_str(), c)).collect();
    let fresh = |s: &planner::Station| At { free: Minute::MIN / 4, mounted: s.setup.clone(), since: 0 };
    let mut stations: HashMap<&str, At> =
        instance.stations.iter().map(|s| (s.id.as_str(), fresh(s))).collect();
    let mut people: Vec<Minute> = vec![Minute::MIN / 4; instance.people.iter().flatten().count()];
    // For each job its next operation and when it may start.
    let mut next: Vec<(usize, Minute)> = instance.jobs.iter().map(|j| (0, j.release)).collect();
    let mut plan = Plan::default();
    loop {
        let mut best: Option<((Minute, Minute, Minute), usize, Choice)> = None;
        for (j, job) in instance.jobs.iter().enumerate() {
            let Some(operation) = job.operations.get(next[j].0) else { continue };
            let a = &operation.on[0];
            let at = &stations[a.station.as_str()];
            let table = tables.get(a.station.as_str()).copied();
            let choice = place(instance, a, at, table, &people, next[j].1);
            let first = match rule {
                Rule::FirstCome => (choice.begin, job.release, j as Minute),
                Rule::DueDate => (choice.begin, job.due, 0),
                Rule::SameSetup => (choice.begin, choice.c, job.due),
            };
            if best.as_ref().is_none_or(|b| first < b.0) {
                best = Some((first, j, choice));
            }
        }
        let Some((_, j, choice)) = best else { break };
        let a = instance.jobs[j].operations[next[j].0].on[0].clone();
        // A basin is filled with what is there and takes no longer.
        let room = instance.stations.iter().find(|s| s.id == a.station).map_or(1, |s| s.basin) as usize;
        let mut load = vec![j];
        for (k, job) in instance.jobs.iter().enumerate() {
            let Some(other) = job.operations.get(next[k].0).map(|o| &o.on[0]) else { continue };
            let same = other.station == a.station && other.setup == a.setup && other.minutes <= a.minutes;
            if load.len() < room
                && k != j
                && same
                && next[k].1 <= choice.start
                && other.attended_minutes() <= a.attended_minutes()
            {
                load.push(k);
            }
        }
        let end = choice.start + a.minutes;
        for k in load {
            let index = next[k].0;
            plan.operations.push(Placed {
                job: instance.jobs[k].id.clone(),
                index,
                station: a.station.clone(),
                setup: a.setup.clone(),
                person: choice.person.and_then(|p| Some(instance.people.as_ref()?[p].id.clone())),
                changeover_start: choice.begin,
                start: choice.start,
                end,
            });
            next[k] = (index + 1, end + instance.jobs[k].operations[index].lag);
        }
        if let Some(p) = choice.person {
            people[p] = choice.start + a.attended_minutes();
        }
        plan.objective.changeover += choice.c;
        if let Some(at) = stations.get_mut(a.station.as_str()) {
            *at = At { free: end, mounted: Some(a.setup), since: choice.since + 1 };
        }
    }
    cost(instance, &mut plan);
    plan
}

fn cost(instance: &Instance, plan: &mut Plan) {
    for job in &instance.jobs {
        let Some(last) = plan.find(&job.id, job.operations.len() - 1) else { continue };
        let end = last.end;
        plan.objective.tardiness += job.weight * (end - job.due).max(0) as f64;
        plan.objective.flow += end - job.release;
    }
    let w = instance.objective;
    plan.objective.total =
        w.tardiness * plan.objective.tardiness + w.changeover * plan.objective.changeover as f64;
}

/// Where an operation would stand if it were next.
fn place(
    instance: &Instance,
    a: &Alternative,
    at: &At,
    table: Option<&Changeover>,
    people: &[Minute],
    ready: Minute,
) -> Choice {
    let (c, since) = change(table, at, &a.setup);
    let windows = instance.stations.iter().find(|s| s.id == a.station).and_then(|s| s.windows.as_deref());
    let from = ready.max(at.free.max(instance.now) + c);
    let able = |p: &planner::Person| a.skill.as_ref().is_none_or(|s| p.may.contains(s));
    let mut best: Option<(Minute, Option<usize>)> = None;
    let Some(all) = &instance.people else {
        let start = fit(windows, from, c, a.minutes);
        return Choice { begin: start - c, start, person: None, since, c };
    };
    for (p, person) in all.iter().enumerate().filter(|(_, p)| able(p)) {
        let mut start = from.max(people[p] + c);
        loop {
            let s = fit(windows, start, c, a.minutes);
            start = fit(person.windows.as_deref(), s, c, a.attended_minutes());
            if start == s {
                break;
            }
        }
        if best.is_none_or(|(s, _)| start < s) {
            best = Some((start, Some(p)));
        }
    }
    let (start, person) = best.unwrap_or((Minute::MAX / 4, None));
    Choice { begin: start - c, start, person, since, c }
}

fn change(table: Option<&Changeover>, at: &At, to: &str) -> (Minute, u32) {
    let same = at.mounted.as_deref() == Some(to);
    let Some(table) = table else { return (0, if same { at.since } else { 0 }) };
    let place = |setup: &str| table.setups.iter().position(|s| s == setup).unwrap_or(0);
    let column = place(to);
    let Some(from) = &at.mounted else { return (table.first.as_ref().map_or(0, |f| f[column]), 0) };
    let minutes = table.minutes[place(from)][column];
    match table.dress.as_ref().and_then(|d| d[column]).filter(|d| same && at.since >= d.every) {
        Some(dress) => (minutes + dress.minutes, 0),
        None => (minutes, if same { at.since } else { 0 }),
    }
}

fn fit(windows: Option<&[[Minute; 2]]>, start: Minute, before: Minute, after: Minute) -> Minute {
    let Some(windows) = windows else { return start };
    let first = windows.partition_point(|w| w[1] < start + after);
    let fits = |w: &&[Minute; 2]| start.max(w[0] + before) + after <= w[1];
    windows[first..].iter().find(fits).map_or(Minute::MAX / 4, |w| start.max(w[0] + before))
}

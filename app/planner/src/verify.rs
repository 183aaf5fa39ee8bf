//! The judge: reads a finished plan against its instance and lists every broken promise.
//!
//! It works on names and shares no code with the search, so that a mistake there cannot hide here.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use crate::instance::{Alternative, Changeover, Instance, Job, Operation, Station};
use crate::{Complaint, Minute, Objective, Placed, Plan};

/// Re-read a finished plan and list every broken promise; an empty list means the plan holds and costs what it says.
///
/// Totals are compared to one part in a million.
pub fn verify(instance: &Instance, plan: &Plan) -> Vec<Complaint> {
    let mut judge = Judge { instance, complaints: Vec::new() };
    let Some(done) = judge.gather(plan) else {
        return judge.complaints;
    };
    judge.routes(&done);
    let changeover = judge.stations(&done);
    if instance.people.is_some() {
        judge.people(&done);
    }
    judge.figures(plan, &done, changeover);
    judge.complaints
}

/// An operation as planned, beside what the instance says of it.
#[derive(Clone, Copy)]
struct Done<'a> {
    placed: &'a Placed,
    job: &'a Job,
    operation: &'a Operation,
    alternative: &'a Alternative,
}

type Key<'a> = (&'a str, usize);

struct Judge<'a> {
    instance: &'a Instance,
    complaints: Vec<Complaint>,
}

impl<'a> Judge<'a> {
    fn need(&mut self, holds: bool, at: &str, error: impl FnOnce() -> String) {
        if !holds {
            self.complaints.push(Complaint::new(at, error()));
        }
    }

    /// Every operation once, each on a station and setup it can be done on. `None` when the rest makes no sense.
    fn gather(&mut self, plan: &'a Plan) -> Option<BTreeMap<Key<'a>, Done<'a>>> {
        let jobs: HashMap<&str, &Job> = self.instance.jobs.iter().map(|j| (j.id.as_str(), j)).collect();
        let mut done = BTreeMap::new();
        for (k, placed) in plan.operations.iter().enumerate() {
            let at = format!("operations[{k}]");
            let job = jobs.get(placed.job.as_str()).copied();
            let Some((job, operation)) = job.and_then(|j| j.operations.get(placed.index).map(|o| (j, o)))
            else {
                self.need(false, &at, || {
                    format!("there is no operation {} of a job \"{}\"", placed.index, placed.job)
                });
                continue;
            };
            let Some(alternative) =
                operation.on.iter().find(|a| a.station == placed.station && a.setup == placed.setup)
            else {
                self.need(false, &at, || {
                    format!(
                        "\"{}\" cannot be done on \"{}\" in setup \"{}\"",
                        placed.job, placed.station, placed.setup
                    )
                });
                continue;
            };
            let key = (placed.job.as_str(), placed.index);
            let twice = done.insert(key, Done { placed, job, operation, alternative }).is_some();
            self.need(!twice, &at, || {
                format!("operation {} of \"{}\" stands twice", placed.index, placed.job)
            });
        }
        for job in &self.instance.jobs {
            for index in 0..job.operations.len() {
                let there = done.contains_key(&(job.id.as_str(), index));
                self.need(there, "operations", || format!("operation {index} of \"{}\" is missing", job.id));
            }
        }
        self.complaints.is_empty().then_some(done)
    }

    /// Pins, now, releases, lags and longest waits.
    fn routes(&mut self, done: &BTreeMap<Key<'a>, Done<'a>>) {
        for (&(id, index), d) in done {
            let at = format!("{id}/{index}");
            let p = d.placed;
            match &d.operation.fixed {
                Some(f) => {
                    let person = f.person.is_none() || f.person == p.person;
                    let same = (&f.station, &f.setup, f.changeover_start, f.start, f.end)
                        == (&p.station, &p.setup, p.changeover_start, p.start, p.end);
                    self.need(same && person, &at, || "fixed work does not stand where it is fixed".into());
                }
                None => {
                    self.need(p.changeover_start >= self.instance.now, &at, || "begins before now".into());
                }
            }
            if index == 0 {
                let after = p.start >= d.job.release || d.operation.fixed.is_some();
                self.need(after, &at, || format!("starts before its release at {}", d.job.release));
            } else {
                let before = &done[&(id, index - 1)];
                let gap = p.start - before.placed.end;
                let (least, most) = (before.operation.lag, before.operation.max_lag);
                self.need(gap >= least, &at, || {
                    format!("starts {gap} minutes after the one before, at least {least} are needed")
                });
                self.need(most.is_none_or(|m| gap <= m), &at, || {
                    format!("waits {gap} minutes, longer than it may")
                });
            }
        }
    }

    /// One load at a time, the right changeover before each, inside the windows. Returns the minutes of changeover.
    fn stations(&mut self, done: &BTreeMap<Key<'a>, Done<'a>>) -> Minute {
        let mut spent = 0;
        for station in &self.instance.stations {
            let mut loads: BTreeMap<(Minute, Minute, usize), Vec<Done<'a>>> = BTreeMap::new();
            for (k, d) in done.values().filter(|d| d.placed.station == station.id).enumerate() {
                let own = if station.basin > 1 { 0 } else { k };
                loads.entry((d.placed.start, d.placed.end, own)).or_default().push(*d);
            }
            let table = self.instance.changeovers.iter().find(|c| c.station == station.id);
            spent += self.one_station(station, table, loads.values());
        }
        spent
    }

    fn one_station<'b>(
        &mut self,
        station: &'a Station,
        table: Option<&'a Changeover>,
        loads: impl Iterator<Item = &'b Vec<Done<'a>>>,
    ) -> Minute
    where
        'a: 'b,
    {
        let mut mounted = station.setup.as_deref();
        let mut free: Option<Minute> = None;
        let (mut since, mut spent) = (0, 0);
        for load in loads {
            let first = load[0].placed;
            let at = format!("{} at {}", station.id, first.start);
            self.need(load.len() <= station.basin as usize, &at, || {
                format!("{} pieces, room for {}", load.len(), station.basin)
            });
            let alike = load.iter().all(|d| {
                (&d.placed.setup, d.placed.changeover_start, &d.placed.person)
                    == (&first.setup, first.changeover_start, &first.person)
            });
            self.need(alike, &at, || "one load with several setups, changeovers or people".into());
            let longest = load.iter().map(|d| d.alternative.minutes).max().unwrap_or(0);
            self.need(first.end - first.start == longest, &at, || {
                format!("lasts {} minutes, needs {longest}", first.end - first.start)
            });
            let change = table.map_or(Some((0, since)), |t| changeover(t, mounted, since, &first.setup));
            let Some((minutes, count)) = change else {
                self.need(false, &at, || format!("setup \"{}\" is not in the table", first.setup));
                continue;
            };
            let found = first.start - first.changeover_start;
            self.need(found == minutes, &at, || format!("{found} minutes of changeover, needs {minutes}"));
            self.need(free.is_none_or(|f| first.changeover_start >= f), &at, || {
                "overlaps what is before it".into()
            });
            let pinned = load.iter().all(|d| d.operation.fixed.is_some());
            let open = inside(station.windows.as_deref(), first.changeover_start, first.end);
            self.need(open || pinned, &at, || "lies outside the station's windows".into());
            since = count + 1;
            mounted = Some(&first.setup);
            free = Some(first.end);
            spent += minutes;
        }
        spent
    }

    /// Somebody with the skill, there and with nothing else, from the changeover's start to the end of attendance.
    fn people(&mut self, done: &BTreeMap<Key<'a>, Done<'a>>) {
        // (person, from, until, station): pieces of one load are one turn, and what joins fixed work is another.
        let mut turns: BTreeSet<(&str, Minute, Minute, &str, bool)> = BTreeSet::new();
        let mut attended: HashMap<(&str, Minute, Minute, &str), Minute> = HashMap::new();
        for (&(id, index), d) in done {
            let at = format!("{id}/{index}");
            let named = d.placed.person.as_deref();
            let person = named.and_then(|n| self.instance.people.iter().flatten().find(|p| p.id == n));
            let Some(person) = person else {
                self.need(false, &at, || format!("nobody is named {named:?}"));
                continue;
            };
            if let Some(skill) = &d.alternative.skill {
                self.need(person.may.contains(skill), &at, || format!("{} may not \"{skill}\"", person.id));
            }
            let p = d.placed;
            turns.insert((&person.id, p.changeover_start, p.start, &p.station, d.operation.fixed.is_some()));
            let longest = attended.entry((&person.id, p.changeover_start, p.start, &p.station)).or_insert(0);
            *longest = (*longest).max(d.alternative.attended_minutes());
        }
        let mut last: Option<(&str, Minute)> = None;
        for (person, begin, start, station, pinned) in turns {
            let end = start + attended[&(person, begin, start, station)];
            if end == begin {
                continue;
            }
            let at = format!("{person} at {begin}");
            let free = last.is_none_or(|(who, until)| who != person || begin >= until);
            self.need(free, &at, || format!("is needed at \"{station}\" and elsewhere"));
            let hours = self
                .instance
                .people
                .iter()
                .flatten()
                .find(|p| p.id == person)
                .and_then(|p| p.windows.as_deref());
            self.need(inside(hours, begin, end) || pinned, &at, || format!("is not there until {end}"));
            last = Some((person, end));
        }
    }

    /// The objective says what the plan costs, and the bound does not exceed it.
    fn figures(&mut self, plan: &Plan, done: &BTreeMap<Key<'a>, Done<'a>>, changeover: Minute) {
        let mut found = Objective { changeover, ..Objective::default() };
        for job in &self.instance.jobs {
            let Some(last) = done.get(&(job.id.as_str(), job.operations.len().wrapping_sub(1))) else {
                continue;
            };
            found.tardiness += job.weight * (last.placed.end - job.due).max(0) as f64;
            found.flow += last.placed.end - job.release;
        }
        let mut seen = HashSet::new();
        for s in &self.instance.standing {
            let Some(d) = done.get(&(s.job.as_str(), s.index)) else {
                self.need(false, "standing", || {
                    format!("there is no operation {} of a job \"{}\"", s.index, s.job)
                });
                continue;
            };
            let once = seen.insert((&s.job, s.index));
            self.need(once, "standing", || format!("operation {} of \"{}\" stands twice", s.index, s.job));
            found.moved += (d.placed.start - s.start).abs();
        }
        let w = self.instance.objective;
        found.total = w.tardiness * found.tardiness
            + w.changeover * found.changeover as f64
            + w.flow * found.flow as f64
            + w.moved * found.moved as f64;
        let said = plan.objective;
        let whole = [
            ("changeover", said.changeover, found.changeover),
            ("flow", said.flow, found.flow),
            ("moved", said.moved, found.moved),
        ];
        for (name, said, found) in whole {
            self.need(said == found, "objective", || format!("says {name} {said}, it is {found}"));
        }
        for (name, said, found) in
            [("tardiness", said.tardiness, found.tardiness), ("total", said.total, found.total)]
        {
            let near = (said - found).abs() <= 1e-6 * found.abs().max(1.0);
            self.need(near, "objective", || format!("says {name} {said}, it is {found}"));
        }
        if let Some(bound) = plan.bound {
            self.need(bound <= found.total + 1e-6 * found.total.abs().max(1.0), "bound", || {
                format!("{bound} is above the total {}", found.total)
            });
        }
    }
}

/// Changeover and dressing before a load of `to`, and the count of loads since then; `None` when a setup is not listed.
fn changeover(table: &Changeover, mounted: Option<&str>, since: u32, to: &str) -> Option<(Minute, u32)> {
    let place = |setup: &str| table.setups.iter().position(|s| s == setup);
    let column = place(to)?;
    let Some(from) = mounted else {
        return Some((table.first.as_ref().map_or(0, |f| f[column]), 0));
    };
    let minutes = table.minutes[place(from)?][column];
    if from != to {
        return Some((minutes, 0));
    }
    match table.dress.as_ref().and_then(|d| d[column]) {
        Some(dress) if since >= dress.every => Some((minutes + dress.minutes, 0)),
        _ => Some((minutes, since)),
    }
}

fn inside(windows: Option<&[[Minute; 2]]>, begin: Minute, end: Minute) -> bool {
    windows.is_none_or(|all| all.iter().any(|w| w[0] <= begin && end <= w[1]))
}

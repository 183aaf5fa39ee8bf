//! The instance in numbers: names become indices, defaults are filled in, and what cannot be met is refused by name.

use std::collections::HashMap;

use crate::hours::Hours;
use crate::{Complaint, Instance, Minute, Weights, check};

/// No station, setup, person or skill.
pub(crate) const NONE: u16 = u16::MAX;
/// No operation or load.
pub(crate) const NIL: u32 = u32::MAX;

/// A checked instance, ready for the search.
#[derive(Clone, Debug)]
pub(crate) struct Shop {
    pub(crate) now: Minute,
    pub(crate) stations: Vec<StationModel>,
    pub(crate) people: Vec<PersonModel>,
    /// Whether somebody must attend at all.
    pub(crate) staffed: bool,
    pub(crate) jobs: Vec<JobModel>,
    pub(crate) ops: Vec<OpModel>,
    /// Earliest start and end of each operation, were its job alone in the shop.
    pub(crate) alone: Vec<(Minute, Minute)>,
    pub(crate) alts: Vec<Alt>,
    pub(crate) fixed: Vec<FixedLoad>,
    pub(crate) weights: Weights,
    pub(crate) skills: Vec<String>,
}

#[derive(Clone, Debug)]
pub(crate) struct StationModel {
    pub(crate) name: String,
    pub(crate) hours: Hours,
    pub(crate) basin: usize,
    pub(crate) mounted: u16,
    pub(crate) setups: Vec<String>,
    pub(crate) table: Option<Table>,
    /// Fixed loads here, by start.
    pub(crate) fixed: Vec<u32>,
}

/// Changeover minutes of one station.
#[derive(Clone, Debug)]
pub(crate) struct Table {
    pub(crate) size: usize,
    pub(crate) minutes: Vec<Minute>,
    pub(crate) first: Vec<Minute>,
    /// (every, minutes); `every` 0 is never.
    pub(crate) dress: Vec<(u32, Minute)>,
}

#[derive(Clone, Debug)]
pub(crate) struct PersonModel {
    pub(crate) name: String,
    /// Their hours without the fixed work they attend.
    pub(crate) hours: Hours,
    pub(crate) may: Vec<bool>,
}

#[derive(Clone, Debug)]
pub(crate) struct JobModel {
    pub(crate) release: Minute,
    pub(crate) due: Minute,
    pub(crate) weight: f64,
    pub(crate) first: u32,
    pub(crate) len: u32,
}

#[derive(Clone, Debug)]
pub(crate) struct OpModel {
    pub(crate) job: u32,
    pub(crate) index: u32,
    /// Its alternatives: `alts[from..to]`.
    pub(crate) from: u32,
    pub(crate) to: u32,
    pub(crate) lag: Minute,
    pub(crate) max_lag: Minute,
    /// Its fixed load, or `NIL`.
    pub(crate) fixed: u32,
    pub(crate) standing: Option<Minute>,
    /// What a minute away from its standing start costs.
    pub(crate) stay: f64,
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Alt {
    pub(crate) station: u16,
    pub(crate) setup: u16,
    pub(crate) skill: u16,
    pub(crate) minutes: Minute,
    pub(crate) attended: Minute,
}

/// Begun or pinned work that shares one start at one station.
#[derive(Clone, Debug)]
pub(crate) struct FixedLoad {
    pub(crate) station: u16,
    pub(crate) setup: u16,
    pub(crate) person: u16,
    pub(crate) changeover_start: Minute,
    pub(crate) start: Minute,
    pub(crate) end: Minute,
    pub(crate) attended: Minute,
    pub(crate) ops: Vec<u32>,
}

impl Table {
    /// Changeover and dressing before a load of setup `to`, when `since` loads ran since `mounted` was mounted or
    /// dressed; and the count to go on with, before this load is counted.
    #[inline]
    pub(crate) fn change(&self, mounted: u16, since: u32, to: u16) -> (Minute, u32) {
        let t = to as usize;
        if mounted == NONE {
            return (self.first[t], 0);
        }
        let c = self.minutes[mounted as usize * self.size + t];
        if mounted != to {
            return (c, 0);
        }
        let (every, minutes) = self.dress[t];
        if every > 0 && since >= every { (c + minutes, 0) } else { (c, since) }
    }

    /// No changeover into `to` can be shorter.
    pub(crate) fn least_into(&self, to: u16, nothing_mounted: bool) -> Minute {
        let t = to as usize;
        let least = (0..self.size).map(|from| self.minutes[from * self.size + t]).min().unwrap_or(0);
        if nothing_mounted { least.min(self.first[t]) } else { least }
    }
}

impl StationModel {
    #[inline]
    pub(crate) fn change(&self, mounted: u16, since: u32, to: u16) -> (Minute, u32) {
        match &self.table {
            Some(table) => table.change(mounted, since, to),
            None => (0, if mounted == to { since } else { 0 }),
        }
    }

    pub(crate) fn least_into(&self, to: u16) -> Minute {
        self.table.as_ref().map_or(0, |t| t.least_into(to, self.mounted == NONE))
    }
}

impl Shop {
    /// Number the names and check everything that can be checked without searching.
    pub(crate) fn new(instance: &Instance) -> Result<Self, Vec<Complaint>> {
        let mut names = Names::default();
        let mut complaints = check::figures(instance);
        if !complaints.is_empty() {
            return Err(complaints);
        }
        let stations = names.stations(instance, &mut complaints);
        let people = names.people(instance, &mut complaints);
        let mut shop = Self {
            now: instance.now,
            stations,
            people,
            staffed: instance.people.is_some(),
            jobs: Vec::with_capacity(instance.jobs.len()),
            ops: Vec::new(),
            alone: Vec::new(),
            alts: Vec::new(),
            fixed: Vec::new(),
            weights: instance.objective,
            skills: Vec::new(),
        };
        if complaints.is_empty() {
            names.jobs(instance, &mut shop, &mut complaints);
        }
        if complaints.is_empty() {
            names.standing(instance, &mut shop, &mut complaints);
            names.fixed(instance, &mut shop, &mut complaints);
        }
        names.give_skills(instance, &mut shop);
        if complaints.is_empty() {
            shop.block_people();
            (shop.alone, complaints) = check::feasibility(instance, &shop);
        }
        if complaints.is_empty() { Ok(shop) } else { Err(complaints) }
    }

    #[inline]
    pub(crate) fn alts_of(&self, op: u32) -> &[Alt] {
        let o = &self.ops[op as usize];
        &self.alts[o.from as usize..o.to as usize]
    }

    /// The operation before this one in its route, or `NIL`.
    #[inline]
    pub(crate) fn before(&self, op: u32) -> u32 {
        if self.ops[op as usize].index == 0 { NIL } else { op - 1 }
    }

    /// The operation after this one in its route, or `NIL`.
    #[inline]
    pub(crate) fn after(&self, op: u32) -> u32 {
        let o = &self.ops[op as usize];
        if o.index + 1 == self.jobs[o.job as usize].len { NIL } else { op + 1 }
    }

    pub(crate) fn may(&self, person: usize, skill: u16) -> bool {
        skill == NONE || self.people[person].may[skill as usize]
    }

    /// Take fixed work out of the hours of whoever attends it.
    fn block_people(&mut self) {
        for (k, person) in self.people.iter_mut().enumerate() {
            let taken: Vec<(Minute, Minute)> = self
                .fixed
                .iter()
                .filter(|f| usize::from(f.person) == k && f.start + f.attended > f.changeover_start)
                .map(|f| (f.changeover_start, f.start + f.attended))
                .collect();
            if !taken.is_empty() {
                person.hours = person.hours.without(&taken);
            }
        }
    }
}

/// From names to indices while the model is built.
#[derive(Default)]
struct Names<'a> {
    station: HashMap<&'a str, u16>,
    setup: Vec<HashMap<&'a str, u16>>,
    person: HashMap<&'a str, u16>,
    skill: HashMap<&'a str, u16>,
    job: HashMap<&'a str, u32>,
}

impl<'a> Names<'a> {
    fn stations(&mut self, instance: &'a Instance, complaints: &mut Vec<Complaint>) -> Vec<StationModel> {
        let mut stations = Vec::with_capacity(instance.stations.len());
        for (k, s) in instance.stations.iter().enumerate() {
            if self.station.insert(&s.id, k as u16).is_some() {
                complaints.push(Complaint::new(
                    format!("stations[{k}].id"),
                    format!("two stations are named \"{}\"", s.id),
                ));
            }
            self.setup.push(HashMap::new());
            stations.push(StationModel {
                name: s.id.clone(),
                hours: Hours::new(s.windows.as_deref()),
                basin: s.basin as usize,
                mounted: NONE,
                setups: Vec::new(),
                table: None,
                fixed: Vec::new(),
            });
        }
        for (k, c) in instance.changeovers.iter().enumerate() {
            let at = format!("changeovers[{k}]");
            let Some(&station) = self.station.get(c.station.as_str()) else {
                complaints.push(Complaint::new(
                    format!("{at}.station"),
                    format!("no station is named \"{}\"", c.station),
                ));
                continue;
            };
            let model = &mut stations[usize::from(station)];
            if model.table.is_some() {
                complaints
                    .push(Complaint::new(at, format!("a second changeover table for \"{}\"", c.station)));
                continue;
            }
            let n = c.setups.len();
            let square = c.minutes.len() == n && c.minutes.iter().all(|row| row.len() == n);
            let first = c.first.as_ref().is_none_or(|f| f.len() == n);
            let dress = c.dress.as_ref().is_none_or(|d| d.len() == n);
            if !(square && first && dress) {
                complaints.push(Complaint::new(at, format!("the table of \"{}\" names {n} setups: minutes must be {n} by {n}, first and dress {n} long", c.station)));
                continue;
            }
            for (index, setup) in c.setups.iter().enumerate() {
                if self.setup[usize::from(station)].insert(setup, index as u16).is_some() {
                    complaints.push(Complaint::new(
                        format!("{at}.setups[{index}]"),
                        format!("\"{setup}\" is listed twice"),
                    ));
                }
            }
            model.setups.clone_from(&c.setups);
            model.table = Some(Table {
                size: n,
                minutes: c.minutes.concat(),
                first: c.first.clone().unwrap_or_else(|| vec![0; n]),
                dress: match &c.dress {
                    Some(list) => list.iter().map(|d| d.map_or((0, 0), |d| (d.every, d.minutes))).collect(),
                    None => vec![(0, 0); n],
                },
            });
        }
        for (k, s) in instance.stations.iter().enumerate() {
            if let Some(setup) = &s.setup {
                let at = || format!("stations[{k}].setup");
                match self.setup_index(&mut stations[k], k, setup) {
                    Some(index) => stations[k].mounted = index,
                    None => complaints.push(Complaint::new(
                        at(),
                        format!("setup \"{setup}\" is not in the changeover table of \"{}\"", s.id),
                    )),
                }
            }
        }
        stations
    }

    /// The number of a setup at a station; stations without a table learn setups as they are used.
    fn setup_index(&mut self, model: &mut StationModel, station: usize, setup: &'a str) -> Option<u16> {
        if let Some(&index) = self.setup[station].get(setup) {
            return Some(index);
        }
        if model.table.is_some() {
            return None;
        }
        let index = model.setups.len() as u16;
        self.setup[station].insert(setup, index);
        model.setups.push(setup.to_owned());
        Some(index)
    }

    fn people(&mut self, instance: &'a Instance, complaints: &mut Vec<Complaint>) -> Vec<PersonModel> {
        let mut people = Vec::new();
        for (k, p) in instance.people.iter().flatten().enumerate() {
            if self.person.insert(&p.id, k as u16).is_some() {
                complaints.push(Complaint::new(
                    format!("people[{k}].id"),
                    format!("two people are named \"{}\"", p.id),
                ));
            }
            for skill in &p.may {
                let next = self.skill.len() as u16;
                self.skill.entry(skill).or_insert(next);
            }
            people.push(PersonModel {
                name: p.id.clone(),
                hours: Hours::new(p.windows.as_deref()),
                may: Vec::new(),
            });
        }
        people
    }

    fn give_skills(&self, instance: &'a Instance, shop: &mut Shop) {
        for (model, p) in shop.people.iter_mut().zip(instance.people.iter().flatten()) {
            model.may = vec![false; self.skill.len()];
            for skill in &p.may {
                model.may[usize::from(self.skill[skill.as_str()])] = true;
            }
        }
        shop.skills = vec![String::new(); self.skill.len()];
        for (name, &index) in &self.skill {
            shop.skills[usize::from(index)] = String::from(*name);
        }
    }

    fn jobs(&mut self, instance: &'a Instance, shop: &mut Shop, complaints: &mut Vec<Complaint>) {
        for (k, job) in instance.jobs.iter().enumerate() {
            if self.job.insert(&job.id, k as u32).is_some() {
                complaints.push(Complaint::of_job(
                    &job.id,
                    format!("jobs[{k}].id"),
                    format!("two jobs are named \"{}\"", job.id),
                ));
            }
            let first = shop.ops.len() as u32;
            for (index, op) in job.operations.iter().enumerate() {
                let from = shop.alts.len();
                for (a, alt) in op.on.iter().enumerate() {
                    let at = |what: &str| format!("jobs[{k}].operations[{index}].on[{a}]{what}");
                    let Some(&station) = self.station.get(alt.station.as_str()) else {
                        complaints.push(Complaint::of_job(
                            &job.id,
                            at(".station"),
                            format!("no station is named \"{}\"", alt.station),
                        ));
                        continue;
                    };
                    let model = &mut shop.stations[usize::from(station)];
                    let Some(setup) = self.setup_index(model, usize::from(station), &alt.setup) else {
                        let error = format!(
                            "setup \"{}\" is not in the changeover table of \"{}\"",
                            alt.setup, alt.station
                        );
                        complaints.push(Complaint::of_job(&job.id, at(".setup"), error));
                        continue;
                    };
                    if shop.alts[from..].iter().any(|o| (o.station, o.setup) == (station, setup)) {
                        let error = format!("\"{}\" in setup \"{}\" is listed twice", alt.station, alt.setup);
                        complaints.push(Complaint::of_job(&job.id, at(""), error));
                        continue;
                    }
                    let skill = match (&alt.skill, shop.staffed) {
                        (Some(skill), true) => {
                            let next = self.skill.len() as u16;
                            // A skill nobody has is refused later, if no other alternative is left.
                            *self.skill.entry(skill).or_insert(next)
                        }
                        _ => NONE,
                    };
                    shop.alts.push(Alt {
                        station,
                        setup,
                        skill,
                        minutes: alt.minutes,
                        attended: alt.attended_minutes(),
                    });
                }
                shop.ops.push(OpModel {
                    job: k as u32,
                    index: index as u32,
                    from: from as u32,
                    to: shop.alts.len() as u32,
                    lag: op.lag,
                    max_lag: op.max_lag.unwrap_or(crate::hours::FAR),
                    fixed: NIL,
                    standing: None,
                    stay: shop.weights.moved,
                });
            }
            shop.jobs.push(JobModel {
                release: job.release,
                due: job.due,
                weight: job.weight,
                first,
                len: job.operations.len() as u32,
            });
        }
    }

    fn standing(&self, instance: &Instance, shop: &mut Shop, complaints: &mut Vec<Complaint>) {
        for (k, s) in instance.standing.iter().enumerate() {
            let at = format!("standing[{k}]");
            match self.job.get(s.job.as_str()).map(|&j| &shop.jobs[j as usize]) {
                Some(job) if s.index < job.len as usize => {
                    let op = &mut shop.ops[job.first as usize + s.index];
                    if op.standing.replace(s.start).is_some() {
                        complaints.push(Complaint::new(
                            at,
                            format!("operation {} of \"{}\" stands twice", s.index, s.job),
                        ));
                    }
                }
                _ => complaints.push(Complaint::new(
                    at,
                    format!("there is no operation {} of a job \"{}\"", s.index, s.job),
                )),
            }
        }
    }

    fn fixed(&self, instance: &Instance, shop: &mut Shop, complaints: &mut Vec<Complaint>) {
        let mut loads: Vec<FixedLoad> = Vec::new();
        for (op, model) in (0u32..).zip(&shop.ops) {
            let job = &instance.jobs[model.job as usize];
            let Some(f) = &job.operations[model.index as usize].fixed else {
                continue;
            };
            let at = format!("jobs[{}].operations[{}].fixed", model.job, model.index);
            let mut refuse = |error: String| complaints.push(Complaint::of_job(&job.id, at.clone(), error));
            let station = self.station.get(f.station.as_str()).copied();
            let setup = station.and_then(|s| self.setup[usize::from(s)].get(f.setup.as_str()).copied());
            let alt = shop.alts_of(op).iter().find(|a| Some(a.station) == station && Some(a.setup) == setup);
            let Some(&alt) = alt else {
                refuse(format!(
                    "\"{}\" is fixed at \"{}\" in setup \"{}\", where it cannot be done",
                    job.id, f.station, f.setup
                ));
                continue;
            };
            let person = match (&f.person, shop.staffed) {
                (_, false) => NONE,
                (None, true) => {
                    refuse(format!("\"{}\" is fixed but nobody is named to attend it", job.id));
                    continue;
                }
                (Some(name), true) => {
                    let Some(&p) = self.person.get(name.as_str()) else {
                        refuse(format!("nobody is named \"{name}\""));
                        continue;
                    };
                    p
                }
            };
            if person != NONE && alt.skill != NONE {
                let may = &instance.people.as_deref().unwrap_or_default()[usize::from(person)].may;
                let skill = job.operations[model.index as usize]
                    .on
                    .iter()
                    .find(|a| a.station == f.station && a.setup == f.setup);
                if let Some(skill) = skill.and_then(|a| a.skill.as_ref()).filter(|s| !may.contains(s)) {
                    refuse(format!("\"{}\" is fixed with somebody who may not \"{skill}\"", job.id));
                    continue;
                }
            }
            if f.changeover_start > f.start || f.end <= f.start {
                refuse(format!("\"{}\" is fixed with times out of order", job.id));
                continue;
            }
            let basin = shop.stations[usize::from(alt.station)].basin;
            let same = loads
                .iter_mut()
                .find(|l| basin > 1 && l.station == alt.station && (l.start, l.end) == (f.start, f.end));
            match same {
                Some(load)
                    if load.setup == alt.setup
                        && load.changeover_start == f.changeover_start
                        && load.person == person
                        && load.ops.len() < basin =>
                {
                    load.ops.push(op);
                    load.attended = load.attended.max(alt.attended);
                }
                Some(_) => refuse(format!(
                    "\"{}\" is fixed into a load at \"{}\" that it does not match",
                    job.id, f.station
                )),
                None => loads.push(FixedLoad {
                    station: alt.station,
                    setup: alt.setup,
                    person,
                    changeover_start: f.changeover_start,
                    start: f.start,
                    end: f.end,
                    attended: alt.attended,
                    ops: vec![op],
                }),
            }
        }
        loads.sort_by_key(|l| (l.start, l.station));
        for (k, load) in (0u32..).zip(&loads) {
            shop.stations[usize::from(load.station)].fixed.push(k);
            for &op in &load.ops {
                shop.ops[op as usize].fixed = k;
            }
        }
        shop.fixed = loads;
    }
}

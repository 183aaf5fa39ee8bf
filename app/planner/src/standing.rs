//! The plan people have seen, kept as a timetable that a new job can be fitted into in no time.

use crate::check::earliest;
use crate::hours::FAR;
use crate::model::{Alt, NIL, NONE, Shop};
use crate::{Complaint, Instance, Job, Minute, Placed, Plan};

/// A plan that stands, opened for questions. Opening costs a few milliseconds for thousands of jobs; each question far less.
#[derive(Clone, Debug)]
pub struct Standing {
    pub(crate) shop: Shop,
    /// Loads at each station, by start.
    pub(crate) loads: Vec<Vec<Load>>,
    /// Busy turns of each person, by beginning.
    pub(crate) turns: Vec<Vec<(Minute, Minute)>>,
}

/// One load in the timetable.
#[derive(Clone, Debug)]
pub(crate) struct Load {
    pub(crate) setup: u16,
    pub(crate) person: u16,
    pub(crate) changeover_start: Minute,
    pub(crate) start: Minute,
    pub(crate) end: Minute,
    pub(crate) attended: Minute,
    pub(crate) pinned: bool,
    /// Loads of this setup since it was mounted or dressed, before this one.
    pub(crate) since: u32,
    /// Operations of the shop in it; operations of a job that is being fitted in are not listed.
    pub(crate) ops: Vec<u32>,
    pub(crate) pieces: usize,
}

/// Where an operation of a new job fits.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Fit {
    pub(crate) station: u16,
    pub(crate) setup: u16,
    pub(crate) person: u16,
    pub(crate) changeover_start: Minute,
    pub(crate) start: Minute,
    pub(crate) end: Minute,
    pub(crate) attended: Minute,
    /// Its place among the station's loads.
    pub(crate) place: usize,
    /// Whether it joins the load at `place` rather than stand before it.
    pub(crate) joins: bool,
}

/// What an operation of a new job needs.
pub(crate) struct Step {
    pub(crate) alts: Vec<Alt>,
    pub(crate) lag: Minute,
    pub(crate) max_lag: Minute,
}

impl Standing {
    /// Open a plan for its instance.
    ///
    /// # Errors
    /// The instance cannot be met, or the plan lacks one of its operations.
    pub fn open(instance: &Instance, plan: &Plan) -> Result<Self, Vec<Complaint>> {
        let shop = Shop::new(instance)?;
        let starts = Starts::read(instance, &shop, plan);
        if let Some(op) = starts.placed.iter().position(Option::is_none) {
            let o = &shop.ops[op];
            let id = &instance.jobs[o.job as usize].id;
            return Err(vec![Complaint::of_job(
                id,
                format!("jobs[{}].operations[{}]", o.job, o.index),
                format!("operation {} of \"{id}\" is not in the plan", o.index),
            )]);
        }
        Ok(Self::lay(shop, &starts))
    }

    /// A timetable of whatever of the shop's work has a place.
    pub(crate) fn lay(shop: Shop, starts: &Starts) -> Self {
        let mut loads: Vec<Vec<Load>> = vec![Vec::new(); shop.stations.len()];
        let mut order: Vec<u32> =
            (0..shop.ops.len() as u32).filter(|&op| starts.placed[op as usize].is_some()).collect();
        order.sort_by_key(|&op| starts.placed[op as usize].map(|p| p.start));
        for op in order {
            let Some(p) = starts.placed[op as usize] else {
                continue;
            };
            let alt = shop.alts[p.alt as usize];
            let basin = shop.stations[usize::from(alt.station)].basin;
            let list = &mut loads[usize::from(alt.station)];
            if let Some(last) = list.last_mut()
                && basin > 1
                && (last.start, last.end) == (p.start, p.end)
            {
                last.ops.push(op);
                last.pieces += 1;
                last.attended = last.attended.max(alt.attended);
                continue;
            }
            list.push(Load {
                setup: alt.setup,
                person: p.person,
                changeover_start: p.changeover_start,
                start: p.start,
                end: p.end,
                attended: alt.attended,
                pinned: shop.ops[op as usize].fixed != NIL,
                since: 0,
                ops: vec![op],
                pieces: 1,
            });
        }
        let turns = vec![Vec::new(); shop.people.len()];
        let mut standing = Self { shop, loads, turns };
        for station in 0..standing.loads.len() {
            standing.recount(station);
        }
        standing.collect_turns();
        standing
    }

    /// A new job's operations in the numbers of this shop.
    pub(crate) fn steps(&self, job: &Job) -> Result<Vec<Step>, Complaint> {
        let unknown = |what: &str, name: &str| {
            Complaint::of_job(&job.id, "job", format!("no {what} is named \"{name}\""))
        };
        let mut steps = Vec::with_capacity(job.operations.len());
        for o in &job.operations {
            let mut alts = Vec::with_capacity(o.on.len());
            for a in &o.on {
                let station = self
                    .shop
                    .stations
                    .iter()
                    .position(|s| s.name == a.station)
                    .ok_or_else(|| unknown("station", &a.station))?;
                let model = &self.shop.stations[station];
                let setup = match model.setups.iter().position(|s| *s == a.setup) {
                    Some(setup) => setup,
                    // Without a table any setup will do; the number only has to differ from those in use.
                    None if model.table.is_none() => usize::from(NONE) - 1,
                    None => return Err(unknown("setup", &a.setup)),
                };
                let skill = match (&a.skill, self.shop.staffed) {
                    (Some(skill), true) => {
                        self.shop
                            .skills
                            .iter()
                            .position(|s| s == skill)
                            .ok_or_else(|| unknown("skill", skill))? as u16
                    }
                    _ => NONE,
                };
                alts.push(Alt {
                    station: station as u16,
                    setup: setup as u16,
                    skill,
                    minutes: a.minutes,
                    attended: a.attended_minutes(),
                });
            }
            steps.push(Step { alts, lag: o.lag, max_lag: o.max_lag.unwrap_or(FAR) });
        }
        Ok(steps)
    }

    /// Fit a route into the gaps, each step as early as it can be without moving anything that stands.
    /// `Err` is the step that fits nowhere.
    pub(crate) fn fit(&self, release: Minute, steps: &[Step]) -> Result<Vec<Fit>, usize> {
        let mut fits: Vec<Fit> = Vec::with_capacity(steps.len());
        let mut not_before = vec![-FAR; steps.len()];
        let mut rounds = 0;
        while fits.len() < steps.len() {
            let k = fits.len();
            let ready = if k == 0 { release } else { fits[k - 1].end + steps[k - 1].lag };
            let ready = ready.max(not_before[k]);
            // A person cannot be at the steps of one route at once, since they follow each other; attendance that
            // outlasts the step is the one exception and is looked at with the steps already fitted.
            let best = steps[k]
                .alts
                .iter()
                .filter_map(|alt| self.earliest_gap(alt, ready, &fits))
                .min_by_key(|f| (f.end, f.start));
            let Some(fit) = best else { return Err(k) };
            if k > 0 {
                let too_long = fit.start - fits[k - 1].end - steps[k - 1].max_lag;
                if too_long > 0 {
                    rounds += 1;
                    if rounds > ROUNDS {
                        return Err(k);
                    }
                    not_before[k - 1] = fits[k - 1].start + too_long;
                    fits.truncate(k - 1);
                    continue;
                }
            }
            fits.push(fit);
        }
        Ok(fits)
    }

    /// The first gap at a station where an alternative fits from `ready` on.
    fn earliest_gap(&self, alt: &Alt, ready: Minute, own: &[Fit]) -> Option<Fit> {
        let station = usize::from(alt.station);
        let (model, loads) = (&self.shop.stations[station], &self.loads[station]);
        let least = earliest(&self.shop, alt, ready)?;
        // Loads that end before the first thinkable changeover cannot be behind us in the queue.
        let mut place = loads.partition_point(|l| l.start < least);
        // Joining the load before or at that place is the cheapest of all.
        if model.basin > 1 {
            for (k, l) in loads.iter().enumerate().skip(place) {
                let before = |f: &&Fit| usize::from(f.station) == station && f.place <= k;
                let taken = own
                    .iter()
                    .filter(|f| f.joins && usize::from(f.station) == station && f.place == k)
                    .count();
                let fits = l.setup == alt.setup
                    && !l.pinned
                    && l.pieces + taken < model.basin
                    && l.start >= ready
                    && alt.minutes <= l.end - l.start
                    && alt.attended <= l.attended
                    && (l.person == NONE || self.shop.may(usize::from(l.person), alt.skill));
                if fits {
                    let fit = Fit {
                        station: alt.station,
                        setup: alt.setup,
                        person: l.person,
                        changeover_start: l.changeover_start,
                        start: l.start,
                        end: l.end,
                        attended: alt.attended,
                        place: k,
                        joins: true,
                    };
                    // A gap in front of it may still be earlier.
                    let gap = self.gap_from(alt, ready, place, Some(k), own);
                    return Some(gap.filter(|g| g.end < fit.end).unwrap_or(fit));
                }
                if l.start > least + LOOK && own.iter().find(before).is_none() {
                    break;
                }
            }
        }
        place = place.saturating_sub(1);
        self.gap_from(alt, ready, place, None, own)
    }

    /// The first gap before the loads `from..=until`.
    fn gap_from(
        &self,
        alt: &Alt,
        ready: Minute,
        from: usize,
        until: Option<usize>,
        own: &[Fit],
    ) -> Option<Fit> {
        let station = usize::from(alt.station);
        let loads = &self.loads[station];
        let end = until.unwrap_or(loads.len());
        (from..=end).find_map(|place| self.in_gap(alt, ready, station, place, own))
    }

    /// Whether an alternative fits right before the load at `place`, and where.
    fn in_gap(&self, alt: &Alt, ready: Minute, station: usize, place: usize, own: &[Fit]) -> Option<Fit> {
        let (shop, model, loads) = (&self.shop, &self.shop.stations[station], &self.loads[station]);
        // One route may visit a station twice: its earlier step then stands in this gap, and counts as the load before.
        let mine =
            own.iter().rev().find(|f| usize::from(f.station) == station && !f.joins && f.place == place);
        let (mounted, since, free) = match (mine, place.checked_sub(1)) {
            (Some(f), _) => {
                let before =
                    place.checked_sub(1).map_or((model.mounted, 0), |p| (loads[p].setup, loads[p].since + 1));
                let (_, count) = model.change(before.0, before.1, f.setup);
                (f.setup, count + 1, f.end)
            }
            (None, Some(p)) => (loads[p].setup, loads[p].since + 1, loads[p].end),
            (None, None) => (model.mounted, 0, -FAR),
        };
        let (c, count) = model.change(mounted, since, alt.setup);
        let from = ready.max(free.max(shop.now) + c);
        let until = loads.get(place).map_or(FAR, |l| l.start);
        if from + alt.minutes > until {
            return None;
        }
        let (start, person) = self.attend(alt, c, from, until - alt.minutes, own)?;
        let fit = Fit {
            station: alt.station,
            setup: alt.setup,
            person,
            changeover_start: start - c,
            start,
            end: start + alt.minutes,
            attended: alt.attended,
            place,
            joins: false,
        };
        self.rest_holds(station, place, alt.setup, count + 1, &fit).then_some(fit)
    }

    /// The first start in `from..=until` when station and somebody are free together.
    fn attend(
        &self,
        alt: &Alt,
        c: Minute,
        from: Minute,
        until: Minute,
        own: &[Fit],
    ) -> Option<(Minute, u16)> {
        let shop = &self.shop;
        let hours = &shop.stations[usize::from(alt.station)].hours;
        if !shop.staffed {
            return hours.fit(from, c, alt.minutes, &mut 0).filter(|&s| s <= until).map(|s| (s, NONE));
        }
        let mut best: Option<(Minute, u16)> = None;
        for p in (0..shop.people.len()).filter(|&p| shop.may(p, alt.skill)) {
            let mut start = from;
            let found = loop {
                if start > until || best.is_some_and(|(s, _)| start >= s) {
                    break None;
                }
                let Some(s) = hours.fit(start, c, alt.minutes, &mut 0) else {
                    break None;
                };
                if c + alt.attended == 0 {
                    break Some(s);
                }
                let Some(t) = shop.people[p].hours.fit(s, c, alt.attended, &mut 0) else {
                    break None;
                };
                let t = self.after_turns(p, t, c, alt.attended, own);
                if t == s {
                    break Some(s);
                }
                start = t;
            };
            if let Some(s) = found.filter(|&s| s <= until)
                && best.is_none_or(|(b, _)| s < b)
            {
                best = Some((s, p as u16));
            }
        }
        best
    }

    /// The first start ≥ `start` at which a person's turns leave room.
    fn after_turns(
        &self,
        person: usize,
        start: Minute,
        before: Minute,
        after: Minute,
        own: &[Fit],
    ) -> Minute {
        let turns = &self.turns[person];
        let mut start = start;
        let mut k = turns.partition_point(|t| t.1 <= start - before);
        loop {
            let mut moved = false;
            while k < turns.len() && turns[k].0 < start + after {
                if turns[k].1 > start - before {
                    start = turns[k].1 + before;
                    moved = true;
                }
                k += 1;
            }
            for f in own.iter().filter(|f| usize::from(f.person) == person && !f.joins) {
                let (a, b) = (f.changeover_start, f.start + f.attended);
                if b > a && a < start + after && b > start - before {
                    start = b + before;
                    moved = true;
                }
            }
            if !moved {
                return start;
            }
        }
    }

    /// Whether what follows a new load at a station can stay where it stands, with the changeovers it then needs.
    fn rest_holds(&self, station: usize, place: usize, setup: u16, since: u32, new: &Fit) -> bool {
        let model = &self.shop.stations[station];
        let (mut mounted, mut since, mut free) = (setup, since, new.end);
        for load in &self.loads[station][place..] {
            let (c, count) = model.change(mounted, since, load.setup);
            let old = load.start - load.changeover_start;
            if c != old {
                if load.pinned || load.start - c < free.max(self.shop.now) {
                    return false;
                }
                if c > old && !self.can_begin_at(model, load, load.start - c, new) {
                    return false;
                }
            } else if load.changeover_start < free {
                return false;
            }
            if count == load.since {
                // From here on everything is as it was.
                return true;
            }
            (mounted, since, free) = (load.setup, count + 1, load.end);
        }
        true
    }

    /// Whether a load's changeover may begin earlier than it does.
    fn can_begin_at(
        &self,
        model: &crate::model::StationModel,
        load: &Load,
        begin: Minute,
        new: &Fit,
    ) -> bool {
        if model.hours.fit(load.start, load.start - begin, load.end - load.start, &mut 0) != Some(load.start)
        {
            return false;
        }
        if load.person == NONE {
            return true;
        }
        let p = usize::from(load.person);
        if self.shop.people[p].hours.fit(load.start, load.start - begin, load.attended, &mut 0)
            != Some(load.start)
        {
            return false;
        }
        let clear = |a: Minute, b: Minute| b <= begin || a >= load.changeover_start;
        let turns = &self.turns[p];
        let near = turns.partition_point(|t| t.1 <= begin);
        turns[near..].iter().take_while(|t| t.0 < load.changeover_start).all(|t| clear(t.0, t.1))
            && (new.person != load.person || clear(new.changeover_start, new.start + new.attended))
    }

    /// Name the places of a new job's operations.
    pub(crate) fn placed(&self, job: &Job, fits: &[Fit]) -> Vec<Placed> {
        let of = |(index, f): (usize, &Fit)| {
            let model = &self.shop.stations[usize::from(f.station)];
            let by_name =
                || job.operations[index].on.iter().find(|a| a.station == model.name).map(|a| a.setup.clone());
            Placed {
                job: job.id.clone(),
                index,
                station: model.name.clone(),
                setup: model.setups.get(usize::from(f.setup)).cloned().or_else(by_name).unwrap_or_default(),
                person: (f.person != NONE).then(|| self.shop.people[usize::from(f.person)].name.clone()),
                changeover_start: f.changeover_start,
                start: f.start,
                end: f.end,
            }
        };
        fits.iter().enumerate().map(of).collect()
    }
}

/// How often a step is held back for the next before the route is given up.
const ROUNDS: usize = 500;

/// A basin load that starts more minutes than this after the piece could be there is not worth joining: two days.
const LOOK: Minute = 2880;

/// Where each operation of a shop stands in a plan.
pub(crate) struct Starts {
    pub(crate) placed: Vec<Option<At>>,
}

/// One operation's place in numbers.
#[derive(Clone, Copy)]
pub(crate) struct At {
    pub(crate) alt: u32,
    pub(crate) person: u16,
    pub(crate) changeover_start: Minute,
    pub(crate) start: Minute,
    pub(crate) end: Minute,
}

impl Starts {
    /// Read a plan; operations it does not hold, or holds where they can no longer be done, are `None`.
    pub(crate) fn read(instance: &Instance, shop: &Shop, plan: &Plan) -> Self {
        let jobs: std::collections::HashMap<&str, usize> =
            instance.jobs.iter().enumerate().map(|(k, j)| (j.id.as_str(), k)).collect();
        let people: std::collections::HashMap<&str, u16> =
            shop.people.iter().enumerate().map(|(k, p)| (p.name.as_str(), k as u16)).collect();
        let mut placed = vec![None; shop.ops.len()];
        for p in &plan.operations {
            let Some(&job) = jobs.get(p.job.as_str()) else {
                continue;
            };
            let model = &shop.jobs[job];
            if p.index >= model.len as usize {
                continue;
            }
            let op = model.first as usize + p.index;
            let (from, to) = (shop.ops[op].from, shop.ops[op].to);
            let alt = (from..to).find(|&a| {
                let a = &shop.alts[a as usize];
                let station = &shop.stations[usize::from(a.station)];
                station.name == p.station && station.setups[usize::from(a.setup)] == p.setup
            });
            let Some(alt) = alt else { continue };
            let person = p.person.as_deref().and_then(|n| people.get(n).copied()).unwrap_or(NONE);
            placed[op] =
                Some(At { alt, person, changeover_start: p.changeover_start, start: p.start, end: p.end });
        }
        Self { placed }
    }
}

impl Standing {
    /// Take a fitted route into the timetable; its operations are numbered from `first` on.
    pub(crate) fn settle(&mut self, fits: &[Fit], first: u32) {
        // From the back, so that places stay right.
        let mut touched = Vec::new();
        let mut order: Vec<usize> = (0..fits.len()).collect();
        order.sort_by_key(|&k| std::cmp::Reverse((fits[k].place, fits[k].start)));
        for k in order {
            let f = &fits[k];
            let op = first + k as u32;
            let list = &mut self.loads[usize::from(f.station)];
            if f.joins {
                list[f.place].ops.push(op);
                list[f.place].pieces += 1;
                continue;
            }
            list.insert(
                f.place,
                Load {
                    setup: f.setup,
                    person: f.person,
                    changeover_start: f.changeover_start,
                    start: f.start,
                    end: f.end,
                    attended: f.attended,
                    pinned: false,
                    since: 0,
                    ops: vec![op],
                    pieces: 1,
                },
            );
            touched.push(usize::from(f.station));
        }
        touched.sort_unstable();
        touched.dedup();
        for station in touched {
            self.recount(station);
        }
        self.collect_turns();
    }

    /// Changeovers and counts of a station from its order; starts stay.
    fn recount(&mut self, station: usize) {
        let model = &self.shop.stations[station];
        let (mut mounted, mut since) = (model.mounted, 0);
        for load in &mut self.loads[station] {
            let (c, count) = model.change(mounted, since, load.setup);
            load.since = count;
            if !load.pinned {
                load.changeover_start = load.start - c;
            }
            (mounted, since) = (load.setup, count + 1);
        }
    }

    fn collect_turns(&mut self) {
        for turns in &mut self.turns {
            turns.clear();
        }
        for load in self.loads.iter().flatten() {
            if load.person != NONE && load.start + load.attended > load.changeover_start {
                self.turns[usize::from(load.person)]
                    .push((load.changeover_start, load.start + load.attended));
            }
        }
        for list in &mut self.turns {
            list.sort_unstable();
        }
    }
}

//! The shop as it stands, as a planning question.
//!
//! What is assumed where the shop does not know: a booked piece arrives at its slot, or with the post a few working days
//! after booking; a price that waits for an answer is answered by the second opening from now. Pieces that wait for the
//! shop or for parts, and bookings that nobody confirmed, have no place.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use planner::{
    Alternative, Changeover, Dress, Fixed, Instance, Job, Minute, Operation as PlannedOperation, Person,
    StandingStart, Station, Weights,
};
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};
use shop::bench::Bench;
use shop::booking::Arrival;
use shop::hours::Hours;
use shop::ids::{OperationId, PieceId};
use shop::piece::{PieceState, WaitsOn};
use shop::profile::Profile;
use shop::read::{Operation, OperationState, Piece, Visit};
use shop::route::RouteStep;

use super::body::{Body, JobOf, LeftOut, OperationOf};
use crate::local;
use crate::store::documents::Crew;
use crate::store::operations::Pin;
use crate::store::{self, operations, settings, staff, visits};

/// A minute of lateness of a rush piece counts as much as so many minutes of another. Four: a rush piece passes
/// ordinary work, but does not make five others late.
pub(super) const RUSH_WEIGHT: f64 = 4.0;

/// What a minute costs. Lateness counts most. A changeover minute costs a fifth of a late one on top of the time it
/// takes, so that equal plans batch. Waiting costs a little, so that nothing idles for no reason. Moving what people
/// have seen costs something, so that the plan stays calm: an hour earlier for one piece is worth one move of two hours.
const WEIGHTS: Weights = Weights { tardiness: 1.0, changeover: 0.2, flow: 0.02, moved: 0.01 };

/// Days of opening hours a plan reaches over at least.
const LEAST_DAYS: i64 = 42;

/// And at most: a backlog beyond it is said to be left out.
const MOST_DAYS: i64 = 400;

/// Everything planning reads, as it stood at one moment.
#[derive(Debug, Clone)]
pub struct Inputs {
    /// The moment.
    pub now: DateTime<Utc>,
    /// The shop's rules and hours.
    pub profile: Profile,
    /// Stations and setups.
    pub bench: Bench,
    /// Who works there.
    pub crew: Crew,
    /// What people are called.
    pub names: HashMap<uuid::Uuid, String>,
    /// All visits that are not over, with their pieces.
    pub visits: Vec<Visit>,
    /// The operations of every piece with work ahead, in order, with their pins.
    pub operations: Vec<(Operation, Option<Pin>)>,
}

impl Inputs {
    /// Reads the shop. `None` until the owner has set up shop and bench.
    pub async fn load(db: &impl store::Queries, now: DateTime<Utc>) -> store::Result<Option<Self>> {
        let (Some(profile), Some(bench)) =
            (settings::get::<Profile>(db).await?, settings::get::<Bench>(db).await?)
        else {
            return Ok(None);
        };
        let crew = settings::get_or_default::<Crew>(db).await?.value;
        let names = staff::list(db).await?.into_iter().map(|p| (p.id, p.full_name)).collect();
        Ok(Some(Self {
            now,
            profile: profile.value,
            bench: bench.value,
            crew,
            names,
            visits: visits::open(db).await?,
            operations: operations::ahead(db).await?,
        }))
    }

    fn zone(&self) -> Tz {
        local::zone(&self.profile)
    }
}

/// What the builder may leave aside when the whole cannot be met.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Give {
    /// Treat pins as wishes.
    pub pins: bool,
    /// Pieces whose longest wait is over or cannot be kept.
    pub waits_of: BTreeSet<PieceId>,
}

/// The shop as a planning question: the body to be, with an empty plan.
pub fn build(inputs: &Inputs, give: &Give) -> Body {
    let zone = inputs.zone();
    let origin = local::midnight(zone, local::date(zone, inputs.now));
    let mut builder = Builder {
        inputs,
        give,
        zone,
        origin,
        now: minute(origin, inputs.now, true),
        jobs: Vec::new(),
        of: BTreeMap::new(),
        rests: Vec::new(),
        begun: BTreeMap::new(),
        left_out: Vec::new(),
    };
    builder.all_jobs();
    builder.settle_begun();
    let instance = builder.instance();
    let names = names(inputs);
    let fingerprint = fingerprint(&instance, &builder.of, &builder.left_out);
    Body {
        origin,
        instance,
        plan: planner::Plan::default(),
        jobs: builder.of,
        names,
        left_out: builder.left_out,
        fingerprint,
        given: give.clone(),
    }
}

/// Minutes from `origin` to `at`, rounded up or down to a whole one.
fn minute(origin: DateTime<Utc>, at: DateTime<Utc>, up: bool) -> Minute {
    let seconds = (at - origin).num_seconds();
    if up { -(-seconds).div_euclid(60) } else { seconds.div_euclid(60) }
}

struct Builder<'a> {
    inputs: &'a Inputs,
    give: &'a Give,
    zone: Tz,
    origin: DateTime<Utc>,
    now: Minute,
    jobs: Vec<Job>,
    of: BTreeMap<String, JobOf>,
    /// Stations that hold a rest which began before the plan.
    rests: Vec<Station>,
    /// Begun work at each station: (job, index) with its start and end.
    begun: BTreeMap<String, Vec<Begun>>,
    left_out: Vec<LeftOut>,
}

struct Begun {
    job: usize,
    index: usize,
    start: Minute,
    minutes: Minute,
    setup: String,
    person: Option<String>,
}

/// How a piece comes into the plan.
enum Place {
    /// Not before this instant; the sentence says what is assumed.
    From(DateTime<Utc>, Option<String>),
    /// Not at all.
    Out(String),
    /// Not, and there is nothing to say about it.
    Silent,
}

impl Builder<'_> {
    fn all_jobs(&mut self) {
        let mut by_piece: HashMap<PieceId, Vec<&(Operation, Option<Pin>)>> = HashMap::new();
        for entry in &self.inputs.operations {
            by_piece.entry(entry.0.piece).or_default().push(entry);
        }
        for visit in &self.inputs.visits {
            for piece in &visit.pieces {
                let operations = by_piece.remove(&piece.id).unwrap_or_default();
                self.one_piece(visit, piece, &operations);
            }
        }
    }

    fn one_piece(&mut self, visit: &Visit, piece: &Piece, operations: &[&(Operation, Option<Pin>)]) {
        let label = label(visit, piece);
        let out =
            |why: String| LeftOut { piece: piece.id, label: label.clone(), name: piece.name.clone(), why };
        if !piece.state.has_work_ahead() {
            return;
        }
        let ahead: Vec<_> = operations
            .iter()
            .filter(|(op, _)| matches!(op.state, OperationState::Open | OperationState::Started))
            .collect();
        let begun = ahead.iter().any(|(op, _)| op.state == OperationState::Started);
        let (release, assumed) = match self.place(visit, piece) {
            Place::From(at, assumed) => (at, assumed),
            // What stands on a station stands there, whatever it waits for.
            Place::Out(_) | Place::Silent if begun => (self.inputs.now, None),
            Place::Out(why) => return self.left_out.push(out(why)),
            Place::Silent => return,
        };
        if ahead.is_empty() {
            if operations.is_empty() {
                self.left_out.push(out("It has no route yet; inspect it first.".into()));
            }
            return;
        }
        for (op, _) in &ahead {
            if let Err(why) = self.possible(&op.step) {
                return self.left_out.push(out(why));
            }
        }
        self.add(visit, piece, label, operations, release, assumed);
    }

    /// From when on a piece can be worked on.
    fn place(&self, visit: &Visit, piece: &Piece) -> Place {
        let now = self.inputs.now;
        if let Some(waiting) = &piece.waiting
            && waiting.on != WaitsOn::Customer
        {
            return Place::Out(match waiting.on {
                WaitsOn::Parts => format!("It waits for parts: {}.", waiting.what.trim_end_matches('.')),
                _ => format!("It is held: {}.", waiting.what.trim_end_matches('.')),
            });
        }
        // An answer takes until the second opening from now, as far as the plan knows.
        let answer =
            || local::opening_of_day_after(self.zone, &self.inputs.profile.bench, now, 2).unwrap_or(now);
        match piece.state {
            PieceState::Expected if visit.confirmed_at.is_none() => Place::Silent,
            PieceState::Expected => {
                let (at, assumed) = arrival(&self.inputs.profile, visit, now);
                Place::From(at, Some(assumed))
            }
            PieceState::Measured => {
                Place::From(answer(), Some("We assume that the price is answered by then.".into()))
            }
            _ if piece.waiting.is_some() => {
                Place::From(answer(), Some("We assume that the customer has answered by then.".into()))
            }
            _ => Place::From(self.midnight_today(), None),
        }
    }

    fn midnight_today(&self) -> DateTime<Utc> {
        self.origin
    }

    /// Why a step cannot be planned at all.
    fn possible(&self, step: &RouteStep) -> Result<(), String> {
        let Some(station) = self.inputs.bench.station(&step.station) else {
            return Err(format!(
                "To {} it needs the station {}, which the bench no longer has.",
                step.kind, step.station
            ));
        };
        if !station.setups.iter().any(|s| s.id == step.setup) {
            return Err(format!(
                "To {} it needs the setup {}, which the {} no longer has.",
                step.kind, step.setup, station.name
            ));
        }
        if station.closed {
            return Err(format!("To {} it needs the {}, which is out of order.", step.kind, station.name));
        }
        if let Some(skill) = &step.skill
            && !self.inputs.crew.hands.is_empty()
            && !self.inputs.crew.hands.iter().any(|h| h.skills.contains(skill))
        {
            return Err(format!("To {} somebody has to know how to {skill}, and nobody does.", step.kind));
        }
        Ok(())
    }

    fn add(
        &mut self,
        visit: &Visit,
        piece: &Piece,
        label: String,
        operations: &[&(Operation, Option<Pin>)],
        release: DateTime<Utc>,
        assumed: Option<String>,
    ) {
        let id = piece.id.to_string();
        let job = self.jobs.len();
        let mut release = minute(self.origin, release, true);
        let mut steps: Vec<PlannedOperation> = Vec::new();
        let mut of: Vec<Option<OperationOf>> = Vec::new();
        let last_done = operations.iter().rfind(|(op, _)| op.state == OperationState::Done).map(|(op, _)| op);
        if let Some((op, at)) = last_done.and_then(|op| Some((op, op.done_at?))) {
            let end = minute(self.origin, at, true).min(self.now);
            release = release.max(end + Minute::from(op.step.lag));
            let waits = op.step.max_lag.filter(|_| !self.give.waits_of.contains(&piece.id));
            if let Some(most) = waits {
                steps.push(self.rest(&id, end, op.step.lag, most));
                of.push(None);
            }
        }
        release =
            operations::put_off(operations).map_or(release, |at| release.max(minute(self.origin, at, true)));
        for (op, pin) in operations {
            if !matches!(op.state, OperationState::Open | OperationState::Started) {
                continue;
            }
            let begun = op.state == OperationState::Started;
            let mut step = self.step(op);
            if begun {
                self.note_begun(op, job, steps.len());
                step.on[0].skill = None;
            } else if let Some(pin) = pin.as_ref().filter(|_| !self.give.pins) {
                step.fixed = self.pinned(op, pin);
            }
            of.push(Some(OperationOf {
                id: op.id,
                kind: op.step.kind,
                estimated: op.estimated,
                fixed: begun || op.pinned,
                begun,
            }));
            steps.push(step);
        }
        let rush = piece.rush || visit.rush;
        self.jobs.push(Job {
            id: id.clone(),
            release,
            due: minute(self.origin, piece.due_at, false),
            weight: if rush { RUSH_WEIGHT } else { 1.0 },
            operations: steps,
        });
        let due = piece.due_at;
        let name = piece.name.clone();
        let of = JobOf { piece: piece.id, visit: visit.id, label, name, due, rush, assumed, operations: of };
        self.of.insert(id, of);
    }

    fn step(&self, op: &Operation) -> PlannedOperation {
        let step = &op.step;
        PlannedOperation {
            on: vec![Alternative {
                station: step.station.clone(),
                setup: step.setup.clone(),
                minutes: Minute::from(step.minutes.max(1)),
                attended: step.attended.map(|m| Minute::from(m.min(step.minutes.max(1)))),
                skill: step.skill.clone().filter(|_| !self.inputs.crew.hands.is_empty()),
            }],
            lag: Minute::from(step.lag),
            max_lag: step.max_lag.map(|m| Minute::from(m.max(step.lag))),
            fixed: None,
        }
    }

    /// A rest that began with work already done, so that the longest wait after it binds.
    fn rest(&mut self, job: &str, end: Minute, lag: u32, most: u32) -> PlannedOperation {
        let station = format!("rest/{job}");
        self.rests.push(Station { id: station.clone(), setup: None, windows: None, basin: 1 });
        let on = Alternative {
            station: station.clone(),
            setup: "rest".into(),
            minutes: 1,
            attended: Some(0),
            skill: None,
        };
        let person = self.inputs.crew.hands.first().map(|h| h.staff.to_string());
        PlannedOperation {
            on: vec![on],
            lag: Minute::from(lag),
            max_lag: Some(Minute::from(most.max(lag))),
            fixed: Some(Fixed {
                station,
                setup: "rest".into(),
                changeover_start: end - 1,
                start: end - 1,
                end,
                person,
            }),
        }
    }

    fn note_begun(&mut self, op: &Operation, job: usize, index: usize) {
        let start = minute(self.origin, op.started_at.unwrap_or(self.inputs.now), false).min(self.now);
        let planned = Minute::from(op.step.minutes.max(1));
        let elapsed = self.now - start;
        // Work that takes longer than planned ends soon; in steps of five minutes, so that the plan stays calm.
        let minutes = if elapsed < planned { planned } else { (elapsed / 5 + 1) * 5 };
        self.begun.entry(op.step.station.clone()).or_default().push(Begun {
            job,
            index,
            start,
            minutes,
            setup: op.step.setup.clone(),
            person: op.by.map(|s| s.to_string()),
        });
    }

    fn pinned(&self, op: &Operation, pin: &Pin) -> Option<Fixed> {
        let start = minute(self.origin, pin.start, false);
        let changeover_start = minute(self.origin, pin.changeover_start, false);
        // A pin whose time has come without anybody starting binds no more.
        (changeover_start >= self.now).then(|| Fixed {
            station: op.step.station.clone(),
            setup: op.step.setup.clone(),
            changeover_start,
            start,
            end: start + Minute::from(op.step.minutes.max(1)),
            person: pin
                .person
                .map(|s| s.to_string())
                .or_else(|| self.inputs.crew.hands.first().map(|h| h.staff.to_string())),
        })
    }

    /// Makes begun work fixed. What shares a basin is one load; a station that does one piece at a time holds the one
    /// that was begun first. Somebody who began something else meanwhile has left the earlier work.
    fn settle_begun(&mut self) {
        let begun = std::mem::take(&mut self.begun);
        let staffed = !self.inputs.crew.hands.is_empty();
        let mut loads: Vec<(Minute, Option<String>, Vec<(usize, usize)>)> = Vec::new();
        for (station, mut works) in begun {
            works.sort_by_key(|b| (b.start, b.job));
            let model = self.inputs.bench.station(&station);
            let basin = model.map_or(1, |s| s.basin.max(1)) as usize;
            let first = &works[0];
            let (setup, start, person) = (first.setup.clone(), first.start, first.person.clone());
            let person = person
                .or_else(|| self.inputs.crew.hands.first().map(|h| h.staff.to_string()))
                .filter(|_| staffed);
            let diagonal = model
                .and_then(|s| {
                    s.setups.iter().position(|x| x.id == setup).and_then(|i| s.changeover.get(i)?.get(i))
                })
                .map_or(0, |m| Minute::from(*m));
            let together: Vec<_> = works.iter().filter(|b| b.setup == setup).take(basin).collect();
            let end = together.iter().map(|b| b.start + b.minutes).max().unwrap_or(start + 1);
            for b in &together {
                let op = &mut self.jobs[b.job].operations[b.index];
                op.on[0].minutes = end - start;
                op.on[0].attended = Some(op.on[0].attended.unwrap_or(end - start).min(end - start));
                op.fixed = Some(Fixed {
                    station: station.clone(),
                    setup: setup.clone(),
                    changeover_start: start - diagonal,
                    start,
                    end,
                    person: person.clone(),
                });
            }
            loads.push((start, person, together.iter().map(|b| (b.job, b.index)).collect()));
        }
        loads.sort_by_key(|l| l.0);
        for k in 0..loads.len() {
            let next = loads[k + 1..].iter().find(|l| l.1.is_some() && l.1 == loads[k].1);
            let Some(until) = next.map(|l| {
                let (job, index) = l.2[0];
                self.jobs[job].operations[index].fixed.as_ref().map_or(l.0, |f| f.changeover_start)
            }) else {
                continue;
            };
            for &(job, index) in &loads[k].2 {
                let alternative = &mut self.jobs[job].operations[index].on[0];
                let most = (until - loads[k].0).max(0);
                alternative.attended = Some(alternative.attended_minutes().min(most));
            }
        }
    }

    fn instance(&mut self) -> Instance {
        let days = self.days();
        let first = local::date(self.zone, self.inputs.now);
        let windows = |hours: &Hours| -> Vec<[Minute; 2]> {
            local::windows(self.zone, hours, first, days)
                .map(|(from, to)| [minute(self.origin, from, true), minute(self.origin, to, false)])
                .filter(|w| w[0] < w[1])
                .collect()
        };
        let open = windows(&self.inputs.profile.bench);
        let through = windows(&without_breaks(&self.inputs.profile.bench));
        let mounted = self.mounted();
        let mut stations: Vec<Station> = Vec::new();
        let mut changeovers: Vec<Changeover> = Vec::new();
        for s in &self.inputs.bench.stations {
            let hours = if s.through_breaks { &through } else { &open };
            stations.push(Station {
                id: s.id.clone(),
                setup: mounted.get(s.id.as_str()).cloned(),
                windows: Some(if s.closed { vec![] } else { hours.clone() }),
                basin: s.basin.max(1),
            });
            let table = |row: &Vec<u32>| row.iter().map(|m| Minute::from(*m)).collect();
            changeovers.push(Changeover {
                station: s.id.clone(),
                setups: s.setups.iter().map(|x| x.id.clone()).collect(),
                minutes: s.changeover.iter().map(table).collect(),
                first: Some(s.setups.iter().map(|x| Minute::from(x.first)).collect()),
                dress: Some(
                    s.setups
                        .iter()
                        .map(|x| x.dress.map(|d| Dress { every: d.every.max(1), minutes: d.minutes.into() }))
                        .collect(),
                ),
            });
        }
        stations.append(&mut self.rests);
        let hands = &self.inputs.crew.hands;
        let mut people: Vec<Person> = hands
            .iter()
            .map(|hand| Person {
                id: hand.staff.to_string(),
                windows: Some(hand.hours.as_ref().map_or_else(|| open.clone(), windows)),
                may: hand.skills.clone(),
            })
            .collect();
        // Whoever began something without being planned for is there for that alone.
        let named: BTreeSet<String> = self
            .jobs
            .iter()
            .flat_map(|j| &j.operations)
            .filter_map(|o| o.fixed.as_ref()?.person.clone())
            .collect();
        if !people.is_empty() {
            let known: BTreeSet<String> = people.iter().map(|p| p.id.clone()).collect();
            people.extend(named.difference(&known).map(|id| Person {
                id: id.clone(),
                windows: Some(vec![]),
                may: vec![],
            }));
        }
        Instance {
            now: self.now,
            stations,
            changeovers,
            people: (!people.is_empty()).then_some(people),
            jobs: std::mem::take(&mut self.jobs),
            standing: vec![],
            objective: WEIGHTS,
        }
    }

    /// What is mounted where: what is being worked in, else what the bench says.
    fn mounted(&self) -> HashMap<&str, String> {
        let mut mounted: HashMap<&str, String> = self
            .inputs
            .bench
            .stations
            .iter()
            .filter_map(|s| {
                let setup = s.mounted.clone().filter(|m| s.setups.iter().any(|x| x.id == *m))?;
                Some((s.id.as_str(), setup))
            })
            .collect();
        for (op, _) in &self.inputs.operations {
            if op.state == OperationState::Started
                && let Some(s) = self.inputs.bench.station(&op.step.station)
            {
                mounted.insert(&s.id, op.step.setup.clone());
            }
        }
        mounted
    }

    /// How many days of hours the work may need: three times what it would take the people there are, and some weeks.
    fn days(&self) -> u64 {
        let work: Minute = self
            .jobs
            .iter()
            .flat_map(|j| &j.operations)
            .map(|o| o.on[0].attended_minutes() + o.lag.min(60))
            .sum();
        let week: u32 = self
            .inputs
            .profile
            .bench
            .week
            .iter()
            .flatten()
            .map(|s| u32::from(s.to.saturating_sub(s.from)))
            .sum();
        let weeks = 3 * work / Minute::from(week.max(60)) + 1;
        let latest = self.jobs.iter().map(|j| j.release / 1440).max().unwrap_or(0);
        (latest + 7 * weeks).clamp(LEAST_DAYS, MOST_DAYS).unsigned_abs()
    }
}

/// When a booked piece is expected, and the sentence that says so.
pub fn arrival(profile: &Profile, visit: &Visit, now: DateTime<Utc>) -> (DateTime<Utc>, String) {
    let zone = local::zone(profile);
    let tomorrow = || local::opening_of_day_after(zone, &profile.bench, now, 1).unwrap_or(now);
    match &visit.arrival {
        Arrival::Counter { slot } => {
            let at = local::instant(zone, *slot);
            if at >= now {
                (at, "It is expected at the counter at its slot.".into())
            } else {
                (tomorrow(), "It was not brought at its slot; we assume the next working day.".into())
            }
        }
        Arrival::Post => {
            let from = visit.confirmed_at.unwrap_or(visit.booked_at);
            let at =
                local::opening_of_day_after(zone, &profile.bench, from, profile.post_days).unwrap_or(now);
            if at >= now {
                (at, "It is expected with the post.".into())
            } else {
                (tomorrow(), "Its parcel is overdue; we assume the next working day.".into())
            }
        }
    }
}

/// Hours from the first opening to the last closing of each day.
fn without_breaks(hours: &Hours) -> Hours {
    let mut whole = hours.clone();
    for day in &mut whole.week {
        if let (Some(first), Some(last)) = (day.first().copied(), day.last().copied()) {
            *day = vec![shop::hours::Stretch { from: first.from, to: last.to }];
        }
    }
    whole
}

fn label(visit: &Visit, piece: &Piece) -> String {
    piece.tag.map_or_else(|| format!("{}/{}", visit.reference, piece.number), |tag| tag.to_string())
}

fn names(inputs: &Inputs) -> BTreeMap<String, String> {
    let mut names = BTreeMap::new();
    for s in &inputs.bench.stations {
        names.insert(s.id.clone(), s.name.clone());
        for x in &s.setups {
            let name = if x.name.is_empty() { x.id.clone() } else { x.name.clone() };
            names.insert(format!("{}/{}", s.id, x.id), name);
        }
    }
    names.extend(inputs.names.iter().map(|(id, name)| (id.to_string(), name.clone())));
    names
}

/// SHA-256 of what there is to plan. The time of asking is not in it.
fn fingerprint(instance: &Instance, of: &BTreeMap<String, JobOf>, left_out: &[LeftOut]) -> String {
    let timeless = Instance { now: 0, standing: vec![], ..instance.clone() };
    let whole = serde_json::to_vec(&(timeless, of, left_out)).unwrap_or_default();
    Sha256::digest(&whole).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The plan that stands, said in the numbers of a new question: jobs whose first operations are done have lost them,
/// and minute 0 may have moved.
pub fn carried_over(standing: &Body, question: &Body) -> planner::Plan {
    let shift = (standing.origin - question.origin).num_minutes();
    let mut places: HashMap<OperationId, &planner::Placed> = HashMap::new();
    for placed in &standing.plan.operations {
        if let Some((_, op)) = standing.of(placed) {
            places.insert(op.id, placed);
        }
    }
    let mut plan = planner::Plan::default();
    for (job, of) in &question.jobs {
        for (index, op) in of.operations.iter().enumerate() {
            let Some(place) = op.as_ref().and_then(|op| places.get(&op.id)) else { continue };
            plan.operations.push(planner::Placed {
                job: job.clone(),
                index,
                changeover_start: place.changeover_start + shift,
                start: place.start + shift,
                end: place.end + shift,
                ..(*place).clone()
            });
        }
    }
    plan.operations.sort_by_key(|p| p.start);
    plan
}

/// The standing starts of a carried-over plan that are not fixed now and still lie ahead.
pub fn standing_starts(question: &Instance, carried: &planner::Plan) -> Vec<StandingStart> {
    let jobs: HashMap<&str, &Job> = question.jobs.iter().map(|j| (j.id.as_str(), j)).collect();
    carried
        .operations
        .iter()
        .filter(|p| {
            let operation = jobs.get(p.job.as_str()).and_then(|j| j.operations.get(p.index));
            p.start >= question.now && operation.is_some_and(|o| o.fixed.is_none())
        })
        .map(|p| StandingStart { job: p.job.clone(), index: p.index, start: p.start })
        .collect()
}

/// Whether a plan still holds at `now`: nothing that has not begun should have begun by more than `grace`.
pub fn still_holds(body: &Body, now: DateTime<Utc>, grace: TimeDelta) -> bool {
    let late = body.minute(now - grace);
    body.plan
        .operations
        .iter()
        .filter_map(|p| Some((p, body.of(p)?.1)))
        .all(|(p, op)| if op.begun { p.end >= late } else { p.start >= late })
}

//! A plan as the search sees it: an order of loads with a few choices, and the timetable that follows from it.
//!
//! Laying out the loads one by one, each as early as stations, people, windows, releases and lags allow, gives the
//! best timetable for that order whenever lateness, changeover and flow are what counts. A piece that would wait too
//! long for its next operation holds back the one before, and the layout is repeated from there: all rules only ever
//! push starts to the right, so the least timetable that keeps them all exists and this finds it. Holds (not before a
//! standing start, say) make the timetables reachable that are better for staying late.

use crate::bench::{Bench, Need, Spot};
use crate::hours::FAR;
use crate::model::{NIL, NONE, Shop};
use crate::{Minute, Objective, Placed, Plan};

/// Order and choices. A load is named by its first operation; the others hang on `next`.
#[derive(Clone, Debug)]
pub(crate) struct Draft {
    /// Loads (not the fixed ones) in the order in which they are laid out.
    pub(crate) order: Vec<u32>,
    /// The next operation in the same load, or `NIL`.
    pub(crate) next: Vec<u32>,
    /// The alternative chosen for each operation, as an index into the shop's list.
    pub(crate) alt: Vec<u32>,
    /// Who attends a load, or `NONE` for whoever can first.
    pub(crate) person: Vec<u16>,
    /// No earlier start than this, beyond what is needed; `-FAR` is none.
    pub(crate) hold: Vec<Minute>,
}

/// What a draft costs; plans that break something are compared by how much first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Score {
    pub(crate) broken: f64,
    pub(crate) total: f64,
}

impl Score {
    pub(crate) const WORST: Self = Self { broken: f64::INFINITY, total: f64::INFINITY };

    #[inline]
    pub(crate) fn less(self, other: Self) -> bool {
        self.broken < other.broken || (self.broken == other.broken && self.total < other.total - 1e-7)
    }

    /// One figure for annealing: what is broken costs `penalty` a piece.
    #[inline]
    pub(crate) fn energy(self, penalty: f64) -> f64 {
        if self.broken > 0.0 { self.total + penalty * self.broken } else { self.total }
    }
}

/// When a layout is not worth finishing.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ceiling {
    pub(crate) energy: f64,
    pub(crate) penalty: f64,
}

impl Ceiling {
    pub(crate) const NONE: Self = Self { energy: f64::INFINITY, penalty: 0.0 };
}

/// The timetable of a draft.
#[derive(Clone, Debug)]
pub(crate) struct Times {
    /// Start of each operation.
    pub(crate) start: Vec<Minute>,
    pub(crate) end: Vec<Minute>,
    pub(crate) changeover_start: Vec<Minute>,
    pub(crate) person: Vec<u16>,
    pub(crate) score: Score,
    /// Position in the order of the load an operation is in.
    pub(crate) place: Vec<u32>,
    /// Keep what is held back for later pieces from one layout to the next. Thousands of operations have dozens of such
    /// pieces, and finding them anew costs a pass each; few operations are better off exact.
    pub(crate) keep: bool,
    bench: Bench,
    lag_hold: Vec<Minute>,
    held: Vec<u32>,
    /// States along the way, so that a layout need not begin at the beginning.
    marks: Vec<Mark>,
}

/// The state before a position.
#[derive(Clone, Debug)]
struct Mark {
    bench: Bench,
    cost: f64,
    broken: f64,
}

/// Positions between two marks: a mark costs about as much as laying out a dozen loads.
const MARK: usize = 128;

/// A layout is repeated at most this often for pieces that would wait too long, per load and in all; a draft that needs
/// more counts as broken. Random small shops need fewer than 5.
const REPEATS: (usize, usize) = (4, 400);

impl Draft {
    pub(crate) fn new(shop: &Shop) -> Self {
        let n = shop.ops.len();
        Self {
            order: Vec::with_capacity(n),
            next: vec![NIL; n],
            alt: shop.ops.iter().map(|o| o.from).collect(),
            person: vec![NONE; n],
            hold: vec![-FAR; n],
        }
    }

    /// The operations of a load.
    #[inline]
    pub(crate) fn members(&self, leader: u32) -> impl Iterator<Item = u32> + '_ {
        let mut op = leader;
        std::iter::from_fn(move || {
            if op == NIL {
                return None;
            }
            let this = op;
            op = self.next[op as usize];
            Some(this)
        })
    }

    pub(crate) fn copy_from(&mut self, other: &Self) {
        self.order.clone_from(&other.order);
        self.next.clone_from(&other.next);
        self.alt.clone_from(&other.alt);
        self.person.clone_from(&other.person);
        self.hold.clone_from(&other.hold);
    }
}

/// Why a pass stopped before the end.
enum Stop {
    /// An operation has to start no earlier than that, or what follows it comes too late.
    Hold(u32, Minute),
    /// Not worth finishing.
    Ceiling,
}

impl Times {
    pub(crate) fn new(shop: &Shop) -> Self {
        let n = shop.ops.len();
        Self {
            start: vec![0; n],
            end: vec![0; n],
            changeover_start: vec![0; n],
            person: vec![NONE; n],
            score: Score::WORST,
            place: vec![NIL; n],
            keep: false,
            bench: Bench::new(shop),
            lag_hold: vec![-FAR; n],
            held: Vec::new(),
            marks: Vec::new(),
        }
    }

    /// Take over the timetable of another, without its marks.
    pub(crate) fn copy_from(&mut self, other: &Self) {
        self.start.clone_from(&other.start);
        self.end.clone_from(&other.end);
        self.changeover_start.clone_from(&other.changeover_start);
        self.person.clone_from(&other.person);
        self.place.clone_from(&other.place);
        self.lag_hold.clone_from(&other.lag_hold);
        self.held.clone_from(&other.held);
        self.score = other.score;
    }

    /// Note the position of every operation.
    pub(crate) fn number(&mut self, draft: &Draft) {
        for (k, &leader) in (0u32..).zip(&draft.order) {
            for op in draft.members(leader) {
                self.place[op as usize] = k;
            }
        }
    }

    /// Lay out a draft from the beginning.
    pub(crate) fn lay_out(&mut self, shop: &Shop, draft: &Draft) -> Score {
        self.number(draft);
        let keep = std::mem::replace(&mut self.keep, false);
        let score = self.lay_out_from(shop, draft, 0, Ceiling::NONE, None);
        self.keep = keep;
        score
    }

    /// What the timetable as it was laid out costs by the weights of `shop`, which may differ from those it was laid out with.
    pub(crate) fn score_in(&self, shop: &Shop) -> Score {
        let costs = |op: u32| {
            let k = op as usize;
            ending_cost(shop, op, self.end[k]) + moved_cost(shop, op, self.start[k])
        };
        let ops: f64 = (0..shop.ops.len() as u32).map(costs).sum();
        Score { total: ops + shop.weights.changeover * self.bench.changeover as f64, ..self.score }
    }

    /// Write what is held back for later pieces into the draft.
    pub(crate) fn fix_holds(&self, draft: &mut Draft) {
        for &op in &self.held {
            let hold = &mut draft.hold[op as usize];
            *hold = (*hold).max(self.lag_hold[op as usize]);
        }
    }

    /// Lay out a draft close to the one before, keeping what was held back, so that another can be compared to it.
    pub(crate) fn lay_out_again(&mut self, shop: &Shop, draft: &Draft) -> Score {
        self.number(draft);
        self.lay_out_from(shop, draft, 0, Ceiling::NONE, None)
    }

    /// Lay out a draft that differs from the one `known` (whose timetable this is a copy of) only from position `from`
    /// on. A score of `WORST` means it was not worth finishing.
    pub(crate) fn lay_out_from(
        &mut self,
        shop: &Shop,
        draft: &Draft,
        from: usize,
        ceiling: Ceiling,
        known: Option<&Self>,
    ) -> Score {
        let mut repeats = if self.keep { 8 } else { (REPEATS.0 * draft.order.len()).min(REPEATS.1) };
        let mut from = from;
        if known.is_none() {
            self.marks.clear();
        }
        if !self.keep {
            // What was held back behind the change is free again.
            let (place, lag_hold) = (&self.place, &mut self.lag_hold);
            self.held.retain(|&op| {
                let stays = (place[op as usize] as usize) < from;
                if !stays {
                    lag_hold[op as usize] = -FAR;
                }
                stays
            });
        }
        loop {
            match self.pass(shop, draft, from, ceiling, known, repeats == 0) {
                Ok(score) => {
                    self.score = score;
                    return score;
                }
                Err(Stop::Ceiling) => return Score::WORST,
                Err(Stop::Hold(op, not_before)) => {
                    repeats -= 1;
                    if self.lag_hold[op as usize] == -FAR {
                        self.held.push(op);
                    }
                    self.lag_hold[op as usize] = not_before;
                    from = from.min(self.place[op as usize] as usize);
                }
            }
        }
    }

    /// One pass from left to right; an operation that must be held back stops it, unless this is the `last` one.
    fn pass(
        &mut self,
        shop: &Shop,
        draft: &Draft,
        from: usize,
        ceiling: Ceiling,
        known: Option<&Self>,
        last: bool,
    ) -> Result<Score, Stop> {
        let w = shop.weights;
        let marked = from / MARK;
        let (mut cost, mut broken);
        let begin = if let Some(mark) = known.and_then(|k| k.marks.get(marked)) {
            self.bench.copy_from(&mark.bench);
            (cost, broken) = (mark.cost, mark.broken);
            marked * MARK
        } else {
            self.bench.reset(shop);
            (cost, broken) = (0.0, 0.0);
            for f in &shop.fixed {
                for &op in &f.ops {
                    let o = op as usize;
                    (self.start[o], self.end[o], self.changeover_start[o], self.person[o]) =
                        (f.start, f.end, f.changeover_start, f.person);
                    cost += ending_cost(shop, op, f.end) + moved_cost(shop, op, f.start);
                }
            }
            0
        };
        for (k, &leader) in draft.order.iter().enumerate().skip(begin) {
            if known.is_none() && k % MARK == 0 {
                let mark = k / MARK;
                if mark == self.marks.len() {
                    self.marks.push(Mark { bench: self.bench.clone(), cost, broken });
                } else {
                    let mark = &mut self.marks[mark];
                    mark.bench.copy_from(&self.bench);
                    (mark.cost, mark.broken) = (cost, broken);
                }
            }
            let (need, spot) = match self.next_spot(shop, draft, leader) {
                Ok(found) => found,
                Err(need) => {
                    // No window is left: stand behind everything else, and say how bad that is.
                    broken += 1000.0;
                    let start =
                        need.ready.max(self.bench.stations[usize::from(need.station)].free).max(FAR / 1000);
                    let person = if shop.staffed {
                        need.person.min((shop.people.len() as u16).saturating_sub(1))
                    } else {
                        NONE
                    };
                    let spot = Spot::at(start, need.minutes, person);
                    (need, spot)
                }
            };
            self.bench.put(&need, &spot);
            for op in draft.members(leader) {
                let o = op as usize;
                (self.start[o], self.end[o], self.changeover_start[o], self.person[o]) =
                    (spot.start, spot.end, spot.changeover_start, spot.person);
                cost += ending_cost(shop, op, spot.end) + moved_cost(shop, op, spot.start);
                let before = shop.before(op);
                if before != NIL {
                    let too_long = spot.start - self.end[before as usize] - shop.ops[before as usize].max_lag;
                    if too_long > 0 {
                        if last || shop.ops[before as usize].fixed != NIL {
                            broken += 1.0 + too_long as f64 / 1000.0;
                        } else {
                            return Err(Stop::Hold(before, self.start[before as usize] + too_long));
                        }
                    }
                }
                let after = shop.after(op);
                if after != NIL && shop.ops[after as usize].fixed != NIL {
                    let gap = shop.fixed[shop.ops[after as usize].fixed as usize].start - spot.end;
                    let model = &shop.ops[o];
                    if gap < model.lag {
                        broken += 1.0 + (model.lag - gap) as f64 / 1000.0;
                    } else if gap > model.max_lag {
                        if last {
                            broken += 1.0 + (gap - model.max_lag) as f64 / 1000.0;
                        } else {
                            return Err(Stop::Hold(op, spot.start + gap - model.max_lag));
                        }
                    }
                }
            }
            let so_far = Score {
                broken: broken + self.bench.broken,
                total: cost + w.changeover * self.bench.changeover as f64,
            };
            if so_far.energy(ceiling.penalty) > ceiling.energy {
                return Err(Stop::Ceiling);
            }
        }
        self.bench.finish(shop);
        let score = Score {
            broken: broken + self.bench.broken,
            total: cost + w.changeover * self.bench.changeover as f64,
        };
        if score.energy(ceiling.penalty) > ceiling.energy { Err(Stop::Ceiling) } else { Ok(score) }
    }

    #[inline]
    fn next_spot(&mut self, shop: &Shop, draft: &Draft, leader: u32) -> Result<(Need, Spot), Need> {
        let alt = &shop.alts[draft.alt[leader as usize] as usize];
        let mut need = Need {
            station: alt.station,
            setup: alt.setup,
            minutes: alt.minutes,
            attended: alt.attended,
            ready: self.ready(shop, draft, leader),
            person: draft.person[leader as usize],
        };
        let alone = draft.next[leader as usize] == NIL;
        if alone {
            let skill = alt.skill;
            return self.bench.find(shop, &need, &|p| shop.may(p, skill)).map(|s| (need, s)).ok_or(need);
        }
        for op in draft.members(leader).skip(1) {
            let other = &shop.alts[draft.alt[op as usize] as usize];
            need.minutes = need.minutes.max(other.minutes);
            need.attended = need.attended.max(other.attended);
            need.ready = need.ready.max(self.ready(shop, draft, op));
        }
        let skilled = |p: usize| {
            draft.members(leader).all(|op| shop.may(p, shop.alts[draft.alt[op as usize] as usize].skill))
        };
        self.bench.find(shop, &need, &skilled).map(|s| (need, s)).ok_or(need)
    }

    #[inline]
    fn ready(&self, shop: &Shop, draft: &Draft, op: u32) -> Minute {
        let o = &shop.ops[op as usize];
        let ready = if o.index == 0 {
            shop.jobs[o.job as usize].release
        } else {
            self.end[op as usize - 1] + shop.ops[op as usize - 1].lag
        };
        ready.max(draft.hold[op as usize]).max(self.lag_hold[op as usize])
    }

    /// The timetable as people read it, by start.
    pub(crate) fn plan(&self, shop: &Shop, draft: &Draft, instance: &crate::Instance) -> Plan {
        let mut objective = Objective::default();
        let (mut seen_load, mut standing) = (vec![false; shop.ops.len()], 0);
        for &leader in &draft.order {
            seen_load[leader as usize] = true;
        }
        for f in &shop.fixed {
            objective.changeover += f.start - f.changeover_start;
        }
        for (k, o) in shop.ops.iter().enumerate() {
            if seen_load[k] {
                objective.changeover += self.start[k] - self.changeover_start[k];
            }
            if let Some(s) = o.standing {
                standing += (self.start[k] - s).abs();
            }
            let job = &shop.jobs[o.job as usize];
            if o.index + 1 == job.len {
                objective.tardiness += job.weight * (self.end[k] - job.due).max(0) as f64;
                objective.flow += self.end[k] - job.release;
            }
        }
        objective.moved = standing;
        let w = shop.weights;
        objective.total = w.tardiness * objective.tardiness
            + w.changeover * objective.changeover as f64
            + w.flow * objective.flow as f64
            + w.moved * objective.moved as f64;
        let mut order: Vec<(Minute, u32)> = self.start.iter().copied().zip(0..).collect();
        order.sort_unstable();
        let operations = order.into_iter().map(|(_, op)| self.placed(shop, draft, instance, op)).collect();
        Plan { objective, operations, ..Plan::default() }
    }

    fn placed(&self, shop: &Shop, draft: &Draft, instance: &crate::Instance, op: u32) -> Placed {
        let (k, o) = (op as usize, &shop.ops[op as usize]);
        let (station, setup) = if o.fixed == NIL {
            let alt = &shop.alts[draft.alt[k] as usize];
            (alt.station, alt.setup)
        } else {
            let f = &shop.fixed[o.fixed as usize];
            (f.station, f.setup)
        };
        let model = &shop.stations[usize::from(station)];
        Placed {
            job: instance.jobs[o.job as usize].id.clone(),
            index: o.index as usize,
            station: model.name.clone(),
            setup: model.setups[usize::from(setup)].clone(),
            person: (self.person[k] != NONE).then(|| shop.people[usize::from(self.person[k])].name.clone()),
            changeover_start: self.changeover_start[k],
            start: self.start[k],
            end: self.end[k],
        }
    }
}

#[inline]
fn ending_cost(shop: &Shop, op: u32, end: Minute) -> f64 {
    let o = &shop.ops[op as usize];
    let job = &shop.jobs[o.job as usize];
    if o.index + 1 != job.len {
        return 0.0;
    }
    let w = shop.weights;
    w.tardiness * job.weight * (end - job.due).max(0) as f64 + w.flow * (end - job.release) as f64
}

#[inline]
fn moved_cost(shop: &Shop, op: u32, start: Minute) -> f64 {
    let o = &shop.ops[op as usize];
    o.standing.map_or(0.0, |s| o.stay * (start - s).abs() as f64)
}

//! The search over large shops: small moves, each followed only as far as it reaches.
//!
//! Moves are those that matter where changeovers and one pair of hands decide: a load goes elsewhere at its station or
//! among what its person does, joins the run of its setup before or after, a whole run joins another, what waits goes
//! before what it waits for, a job is taken out and put back, somebody else attends, another alternative, pieces into a
//! basin load or out of it. Two of three picks fall on what costs something. The search walks downhill and, where there is
//! time for it, accepts a little worse by a falling threshold (Dueck and Scheuer 1990; runs as blocks as in Subramanian,
//! Battarra and Potts 2014).

mod moves;

use crate::draft::{Draft, Score, Times};
use crate::model::{NIL, Shop};
use crate::ripple::{REACH, Ripple};
use crate::rng::Rng;
use crate::search::Limit;

/// Neighbours looked at in one step of the search.
const LOOKS: u64 = 32;

/// Accepted changes after which the keys are spread again.
const CHANGES: u32 = 400;

/// The first threshold, as a share of what is a small rise; and from how many operations on there is none.
const WARMTH: f64 = 0.3;
const COOL: usize = 3000;

/// No run longer than that is moved as one.
const RUN: usize = 40;

pub(crate) struct Roam<'a> {
    shop: &'a Shop,
    rng: Rng,
    limit: &'a Limit<'a>,
    ripple: Ripple<'a>,
    /// Operations that are not fixed.
    loose: Vec<u32>,
    /// Operations of late jobs, and the first of loads with a changeover, as they were not long ago.
    late: Vec<u32>,
    /// Operations looked after in particular: what is new, say.
    fresh: Vec<u32>,
    changed_over: Vec<u32>,
    choices: Vec<u32>,
    basins: Vec<u32>,
    best: Draft,
    best_score: Score,
    penalty: f64,
    steps: u64,
    changes: u32,
    crowded: bool,
}

/// What a move did to the timetable before it is followed.
type Moved = Option<()>;

impl<'a> Roam<'a> {
    /// Start from a draft with its timetable; `None` when that cannot be followed in this way.
    pub(crate) fn new(
        shop: &'a Shop,
        seed: u64,
        limit: &'a Limit<'a>,
        draft: Draft,
        times: &Times,
    ) -> Option<Self> {
        let score = times.score_in(shop);
        let ripple = Ripple::new(shop, &draft, times);
        if !ripple.broken.is_finite() || ripple.score().broken > score.broken {
            return None;
        }
        let free = |op: &u32| shop.ops[*op as usize].fixed == NIL;
        let loose: Vec<u32> = (0..shop.ops.len() as u32).filter(free).collect();
        let basin =
            |op: &u32| shop.alts_of(*op).iter().any(|a| shop.stations[usize::from(a.station)].basin > 1);
        let mut roam = Self {
            shop,
            rng: Rng::new(seed),
            limit,
            choices: loose.iter().copied().filter(|&op| shop.alts_of(op).len() > 1).collect(),
            basins: loose.iter().copied().filter(basin).collect(),
            loose,
            late: Vec::new(),
            fresh: Vec::new(),
            changed_over: Vec::new(),
            best: draft,
            best_score: score,
            penalty: 1000.0 + 2.0 * if score.total.is_finite() { score.total.min(1e12) } else { 1e6 },
            steps: 0,
            changes: 0,
            crowded: false,
            ripple,
        };
        roam.ripple.spread_keys();
        roam.look_round();
        Some(roam)
    }

    /// Look after these operations as much as after all late ones together.
    pub(crate) fn look_after(&mut self, ops: Vec<u32>) {
        self.fresh = ops;
    }

    /// Search until the limit; the best draft and the steps taken.
    pub(crate) fn run(mut self) -> (Draft, u64) {
        if self.loose.is_empty() {
            return (self.best, self.steps);
        }
        // Where a second is too short to get round to everything, only downhill.
        let hot = if self.loose.len() > COOL { 0.0 } else { self.typical_rise() * WARMTH };
        while !self.limit.reached(self.steps) && !self.enough() {
            self.steps += 1;
            let left = 1.0 - self.limit.progress(self.steps);
            let temperature = hot * left * left * left;
            for _ in 0..LOOKS {
                self.look(temperature);
                // A step takes a millisecond or two there, and somebody may be waiting.
                if self.loose.len() > COOL && self.limit.out_of_time() {
                    break;
                }
            }
            if self.changes >= CHANGES || self.crowded {
                self.ripple.spread_keys();
                (self.changes, self.crowded) = (0, false);
                self.look_round();
                self.note();
            }
        }
        self.note();
        (self.best, self.steps)
    }

    fn enough(&self) -> bool {
        self.best_score.broken == 0.0 && self.best_score.total <= self.limit.enough
    }

    /// Remember the timetable if it is the best so far.
    fn note(&mut self) {
        if self.ripple.score().less(self.best_score) {
            self.best_score = self.ripple.score();
            self.best = self.ripple.draft();
        }
    }

    /// One neighbour.
    fn look(&mut self, temperature: f64) {
        let now = self.ripple.score().energy(self.penalty);
        let ceiling = if temperature > 0.0 {
            now - temperature * (1.0 - self.rng.unit()).ln() + 1e-7
        } else {
            now + 1e-7
        };
        self.ripple.begin();
        let fine = self.change().is_some()
            && self.ripple.follow(ceiling, self.penalty, REACH)
            && self.ripple.score().energy(self.penalty) <= ceiling;
        if !fine {
            self.ripple.undo();
            return;
        }
        let worse = self.ripple.score().energy(self.penalty) > now + 1e-7;
        if worse && now < self.best_score.total - 1e-4 * now.abs() {
            // About to leave the best place so far.
            self.ripple.undo();
            self.note();
            return;
        }
        self.ripple.keep();
        self.changes += 1;
    }

    /// By how much random neighbours are dearer: of five that are, one by less.
    fn typical_rise(&mut self) -> f64 {
        let mut rises = Vec::new();
        for _ in 0..100 {
            let was = self.ripple.score();
            self.ripple.begin();
            if self.change().is_some() && self.ripple.follow(f64::INFINITY, self.penalty, REACH) {
                let is = self.ripple.score();
                if is.broken <= was.broken && is.total > was.total {
                    rises.push(is.total - was.total);
                }
            }
            self.ripple.undo();
        }
        rises.sort_by(f64::total_cmp);
        rises.get(rises.len() / 5).copied().unwrap_or(1.0)
    }
}

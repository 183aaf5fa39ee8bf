//! A timetable that follows small changes: only what a change reaches is timed again.
//!
//! Every load has one load before it at its station, one before it in the hands of whoever attends it, and the loads its
//! pieces come from. When a load is moved, it and its old and new neighbours are timed again, and from there on only the
//! loads for which something really changed; closing hours and idle minutes soak most changes up within a day. This is
//! the longest-path updating known from local search in job shops (Nowicki and Smutnicki 1996; Dell'Amico and Trubian
//! 1993), with opening hours, setups and fixed work in the timing of a node. A key per load, as in list labelling (Dietz
//! and Sleator 1987), keeps the order of all loads, so that nothing ever waits for itself.

mod follow;
mod moves;

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use follow::cost_of;

use crate::Minute;
use crate::draft::{Draft, Score, Times};
use crate::hours::FAR;
use crate::model::{NIL, NONE, Shop};

/// What is known of a load. Loads have numbers of their own below the number of operations.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Load {
    pub(crate) station: u16,
    pub(crate) setup: u16,
    pub(crate) person: u16,
    pub(crate) minutes: Minute,
    pub(crate) attended: Minute,
    /// Its place in the order of all loads.
    pub(crate) key: u64,
    /// Not before that, beyond what is needed.
    pub(crate) hold: Minute,
    /// The loads around it at its station and in the hands of its person, or `NIL`.
    pub(crate) before: u32,
    pub(crate) after: u32,
    before_hand: u32,
    after_hand: u32,
    hint: u32,
    hand_hint: u32,
    /// Whether it waits to be timed again: 1 when what it depends on came later, 3 when anything came earlier.
    dirty: u8,
    /// The trial in which its timing was last noted for undoing.
    noted: u32,
}

/// When a load happens, and what it leaves behind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Timing {
    pub(crate) changeover_start: Minute,
    pub(crate) start: Minute,
    pub(crate) end: Minute,
    since: u32,
    /// Fixed loads of the station that are behind it.
    passed: u32,
    /// When its person is free again.
    hand: Minute,
    /// Not before that, or a piece waits too long for what comes next.
    wait_hold: Minute,
    pub(crate) cost: f64,
    broken: f64,
}

enum Step {
    Taken { load: u32, key: u64, person: u16, alt: u32, hold: Minute },
    Put { load: u32 },
    Joined { op: u32, own: u32, load: u32, alt: u32 },
    Left { op: u32, own: u32, load: u32 },
}

/// Loads and their timing.
pub(crate) struct Ripple<'a> {
    pub(crate) shop: &'a Shop,
    pub(crate) loads: Vec<Load>,
    pub(crate) times: Vec<Timing>,
    /// The alternative of each operation.
    pub(crate) alt: Vec<u32>,
    /// The load each operation is in; `NIL` for fixed work and for what is taken out.
    pub(crate) load_of: Vec<u32>,
    /// The first operation of each load.
    pub(crate) head: Vec<u32>,
    next: Vec<u32>,
    /// Numbers no load has.
    spare: Vec<u32>,
    /// Loads of each station and person by key.
    pub(crate) at_station: Vec<Vec<u32>>,
    pub(crate) in_hand: Vec<Vec<u32>>,
    pub(crate) cost: f64,
    pub(crate) broken: f64,
    /// What fixed work costs, whatever else happens.
    fixed_cost: f64,
    tail_broken: Vec<f64>,
    waiting: BinaryHeap<Reverse<(u64, u32)>>,
    earlier: usize,
    trial: u32,
    /// How many loads may still be put off in this trial.
    put_offs: u32,
    noted: Vec<(u32, Timing)>,
    noted_tails: Vec<(usize, f64)>,
    steps: Vec<Step>,
    was: Score,
}

/// A load that has to wait longer than so many minutes for what comes next lets others go first, at most so many loads in
/// one trial.
const STAY: Minute = 20;
const PUT_OFFS: u32 = 300;

/// Keys begin this far apart.
const APART: u64 = 1 << 32;

/// A change that reaches more loads than this is not followed to its end.
pub(crate) const REACH: usize = 20_000;

impl<'a> Ripple<'a> {
    /// Take over a draft with its timetable; who attends is then settled.
    pub(crate) fn new(shop: &'a Shop, draft: &Draft, times: &Times) -> Self {
        let n = shop.ops.len();
        let blank = Load {
            station: NONE,
            setup: NONE,
            person: NONE,
            minutes: 0,
            attended: 0,
            key: 0,
            hold: -FAR,
            before: NIL,
            after: NIL,
            before_hand: NIL,
            after_hand: NIL,
            hint: 0,
            hand_hint: 0,
            dirty: 0,
            noted: 0,
        };
        let timing = Timing {
            changeover_start: 0,
            start: 0,
            end: 0,
            since: 0,
            passed: 0,
            hand: -FAR,
            wait_hold: -FAR,
            cost: 0.0,
            broken: 0.0,
        };
        let mut ripple = Self {
            shop,
            loads: vec![blank; n],
            times: vec![timing; n],
            alt: draft.alt.clone(),
            load_of: vec![NIL; n],
            head: (0..n as u32).collect(),
            next: draft.next.clone(),
            spare: Vec::new(),
            at_station: vec![Vec::new(); shop.stations.len()],
            in_hand: vec![Vec::new(); shop.people.len()],
            cost: 0.0,
            broken: 0.0,
            fixed_cost: shop
                .fixed
                .iter()
                .map(|f| {
                    let ops: f64 = f.ops.iter().map(|&op| cost_of(shop, op, f.start, f.end)).sum();
                    ops + shop.weights.changeover * (f.start - f.changeover_start) as f64
                })
                .sum(),
            tail_broken: vec![0.0; shop.stations.len()],
            waiting: BinaryHeap::new(),
            earlier: 0,
            trial: 0,
            put_offs: 0,
            noted: Vec::new(),
            noted_tails: Vec::new(),
            steps: Vec::new(),
            was: Score::WORST,
        };
        for (k, &leader) in (1u64..).zip(&draft.order) {
            ripple.measure(leader);
            let hold = draft.members(leader).map(|op| draft.hold[op as usize]).max().unwrap_or(-FAR);
            let load = &mut ripple.loads[leader as usize];
            load.key = k * APART;
            load.hold = hold;
            if shop.staffed {
                let given = times.person[leader as usize];
                load.person = if usize::from(given) < shop.people.len() { given } else { 0 };
            }
        }
        ripple.spare = (0..n as u32)
            .filter(|&op| shop.ops[op as usize].fixed != NIL || ripple.load_of[op as usize] != op)
            .collect();
        ripple.link(draft.order.clone());
        ripple.retime();
        ripple
    }

    /// The draft this is the timetable of.
    pub(crate) fn draft(&self) -> Draft {
        let mut draft = Draft::new(self.shop);
        draft.next.clone_from(&self.next);
        draft.alt.clone_from(&self.alt);
        for load in self.order() {
            let (l, leader) = (load as usize, self.head[load as usize]);
            draft.order.push(leader);
            draft.person[leader as usize] = self.loads[l].person;
            draft.hold[leader as usize] = self.loads[l].hold.max(self.times[l].wait_hold);
        }
        draft
    }

    fn order(&self) -> Vec<u32> {
        let mut order: Vec<u32> = self.at_station.iter().flatten().copied().collect();
        order.sort_unstable_by_key(|&l| self.rank(l));
        order
    }

    pub(crate) fn score(&self) -> Score {
        Score { broken: self.broken, total: self.cost }
    }

    #[inline]
    pub(crate) fn rank(&self, load: u32) -> (u64, u32) {
        (self.loads[load as usize].key, load)
    }

    #[inline]
    pub(crate) fn members(&self, load: u32) -> impl Iterator<Item = u32> + '_ {
        let mut op = self.head[load as usize];
        std::iter::from_fn(move || {
            let this = op;
            (this != NIL).then(|| {
                op = self.next[this as usize];
                this
            })
        })
    }

    /// The load next to another at its station or in its person's hands, before or behind it.
    #[inline]
    pub(crate) fn neighbour(&self, load: u32, behind: bool, hand: bool) -> u32 {
        let l = &self.loads[load as usize];
        match (behind, hand) {
            (false, false) => l.before,
            (true, false) => l.after,
            (false, true) => l.before_hand,
            (true, true) => l.after_hand,
        }
    }

    /// Whether a load holds a single operation.
    pub(crate) fn alone(&self, load: u32) -> bool {
        self.next[self.head[load as usize] as usize] == NIL
    }

    /// Length, attendance, place and setup of a load from the operations in it.
    fn measure(&mut self, load: u32) {
        let head = self.head[load as usize];
        let first = self.shop.alts[self.alt[head as usize] as usize];
        let (mut minutes, mut attended, mut op) = (0, 0, head);
        while op != NIL {
            let a = &self.shop.alts[self.alt[op as usize] as usize];
            minutes = minutes.max(a.minutes);
            attended = attended.max(a.attended);
            self.load_of[op as usize] = load;
            op = self.next[op as usize];
        }
        let load = &mut self.loads[load as usize];
        (load.station, load.setup, load.minutes, load.attended) =
            (first.station, first.setup, minutes, attended);
    }

    /// Spread the keys out again, by start; the timetable stays as it is.
    pub(crate) fn spread_keys(&mut self) {
        let mut order: Vec<u32> = self.at_station.iter().flatten().copied().collect();
        order.sort_unstable_by_key(|&l| (self.times[l as usize].start, self.rank(l)));
        for (k, &l) in (1u64..).zip(&order) {
            self.loads[l as usize].key = k * APART;
        }
        self.link(order);
        self.cost = self.total();
    }

    fn total(&self) -> f64 {
        self.fixed_cost + self.at_station.iter().flatten().map(|&l| self.times[l as usize].cost).sum::<f64>()
    }

    fn link(&mut self, order: Vec<u32>) {
        for list in self.at_station.iter_mut().chain(&mut self.in_hand) {
            list.clear();
        }
        for l in order {
            let (station, person) = (self.loads[l as usize].station, self.loads[l as usize].person);
            let list = &mut self.at_station[usize::from(station)];
            let last = list.last().copied().unwrap_or(NIL);
            list.push(l);
            (self.loads[l as usize].before, self.loads[l as usize].after) = (last, NIL);
            if last != NIL {
                self.loads[last as usize].after = l;
            }
            (self.loads[l as usize].before_hand, self.loads[l as usize].after_hand) = (NIL, NIL);
            if person != NONE {
                let list = &mut self.in_hand[usize::from(person)];
                let last = list.last().copied().unwrap_or(NIL);
                list.push(l);
                self.loads[l as usize].before_hand = last;
                if last != NIL {
                    self.loads[last as usize].after_hand = l;
                }
            }
        }
    }

    /// Time everything from the beginning.
    fn retime(&mut self) {
        self.begin();
        self.put_offs = self.shop.ops.len() as u32;
        for load in self.order() {
            self.mark(load, true);
        }
        self.cost = self.fixed_cost;
        self.broken = 0.0;
        for tail in &mut self.tail_broken {
            *tail = 0.0;
        }
        for t in &mut self.times {
            (t.cost, t.broken) = (0.0, 0.0);
        }
        let settled = self.follow(f64::INFINITY, 0.0, 1000 + 50 * self.shop.ops.len());
        for station in 0..self.at_station.len() {
            self.time_tail(station);
        }
        if !settled {
            self.broken = f64::INFINITY;
        }
        self.keep();
    }

    /// Begin a trial: what follows can be undone.
    pub(crate) fn begin(&mut self) {
        self.trial = self.trial.wrapping_add(1);
        self.put_offs = PUT_OFFS;
        self.noted.clear();
        self.noted_tails.clear();
        self.steps.clear();
        self.was = self.score();
    }

    /// Keep what the trial changed.
    pub(crate) fn keep(&mut self) {
        self.noted.clear();
        self.steps.clear();
    }

    #[inline]
    fn mark(&mut self, load: u32, earlier: bool) {
        if load == NIL {
            return;
        }
        let l = &mut self.loads[load as usize];
        if l.dirty == 0 {
            self.waiting.push(Reverse((l.key, load)));
        }
        if earlier && l.dirty < 3 {
            self.earlier += 1;
        }
        l.dirty |= if earlier { 3 } else { 1 };
    }
}

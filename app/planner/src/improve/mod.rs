//! The general search: annealing over orders and choices.
//!
//! Neighbours are small changes of a [`Draft`]: a load (or a few in a row) goes elsewhere, two change places, a piece
//! joins the run of its setup, a job is taken out and put back, another alternative, another person, pieces into one
//! basin load or out of it, a hold set or lifted. Each is laid out from the first changed position on and given up as
//! soon as it is dearer than the annealing would accept (Kirkpatrick, Gelatt and Vecchi 1983; the threshold is drawn
//! beforehand). Small instances restart from the best and from fresh orders; large ones only walk downhill.

mod holds;

use crate::dispatch::{Sight, dispatch};
use crate::draft::{Ceiling, Draft, Score, Times};
use crate::hours::FAR;
use crate::model::{NIL, NONE, Shop};
use crate::rng::Rng;
use crate::search::Limit;

/// Neighbours looked at in one step of the search.
const LOOKS: u64 = 32;

/// Up to so many operations it also begins from any order whatever.
const TINY: usize = 40;

/// Up to so many operations the search anneals with restarts; beyond it a second is too short to cool even once.
const SMALL: usize = 400;

pub(crate) struct Improve<'a> {
    shop: &'a Shop,
    rng: Rng,
    limit: &'a Limit<'a>,
    known: Draft,
    times: Times,
    trial: Draft,
    trial_times: Times,
    best: Draft,
    best_score: Score,
    penalty: f64,
    steps: u64,
    /// Operations with more than one alternative.
    choices: Vec<u32>,
    /// Operations that can share a basin.
    basins: Vec<u32>,
    /// Whether holding something back can ever pay.
    holds: bool,
    /// Whether starts count that people have seen.
    stays: bool,
}

impl<'a> Improve<'a> {
    pub(crate) fn new(shop: &'a Shop, seed: u64, limit: &'a Limit<'a>, draft: Draft) -> Self {
        let mut times = Times::new(shop);
        let mut score = times.lay_out(shop, &draft);
        let mut draft = draft;
        if shop.ops.len() <= SMALL {
            // Holds from dispatching are guesses; what has to be held back is found exactly here.
            let mut freed = draft.clone();
            freed.hold.fill(-FAR);
            let without = times.lay_out(shop, &freed);
            if score.less(without) {
                score = times.lay_out(shop, &draft);
            } else {
                (draft, score) = (freed, without);
            }
        }
        times.keep = shop.ops.len() > SMALL;
        let free = |op: &u32| shop.ops[*op as usize].fixed == NIL;
        let all = 0..shop.ops.len() as u32;
        let fixed = shop.stations.iter().any(|s| !s.fixed.is_empty());
        Self {
            shop,
            rng: Rng::new(seed),
            limit,
            trial: draft.clone(),
            trial_times: times.clone(),
            best: draft.clone(),
            best_score: score,
            times,
            penalty: 1000.0 + 2.0 * if score.total.is_finite() { score.total.min(1e12) } else { 1e6 },
            steps: 0,
            choices: all.clone().filter(free).filter(|&op| shop.alts_of(op).len() > 1).collect(),
            basins: all
                .filter(free)
                .filter(|&op| {
                    shop.alts_of(op).iter().any(|a| shop.stations[usize::from(a.station)].basin > 1)
                })
                .collect(),
            holds: fixed
                || draft.hold.iter().any(|&h| h > -FAR)
                || shop.ops.iter().any(|o| o.standing.is_some() && o.stay > 0.0),
            stays: shop.ops.iter().any(|o| o.standing.is_some() && o.stay > 0.0),
            known: draft,
        }
    }

    /// Search until the limit; the best draft and the steps taken.
    pub(crate) fn run(mut self) -> (Draft, Score, u64) {
        if self.known.order.is_empty() {
            return (self.best, self.best_score, self.steps);
        }
        if self.shop.ops.len() <= SMALL {
            self.anneal();
        } else {
            while !self.done() {
                self.looks(0.0);
            }
        }
        (self.best, self.best_score, self.steps)
    }

    fn done(&self) -> bool {
        self.limit.reached(self.steps)
            || (self.best_score.broken == 0.0 && self.best_score.total <= self.limit.enough)
    }

    /// Cool again and again: longer each time, from the best, from a fresh order by another index, from where we are, from
    /// anywhere.
    fn anneal(&mut self) {
        let mut rounds = 60 + 4 * self.shop.ops.len() as u64;
        let mut turn = 0;
        while !self.done() {
            match turn % 4 {
                0 if turn > 0 => {
                    let best = self.best.clone();
                    self.take_up(best);
                }
                1 => {
                    let sight = Sight {
                        due: 10f64.powf(self.rng.unit() * 2.0),
                        setup: 10f64.powf(self.rng.unit() * 2.0 - 1.5),
                        ..Sight::plain(self.shop)
                    };
                    let mut fresh = dispatch(self.shop, sight);
                    fresh.hold.fill(-FAR);
                    self.take_up(fresh);
                }
                3 if self.shop.ops.len() <= TINY => {
                    let any = self.any_draft();
                    self.take_up(any);
                }
                _ => {}
            }
            let hot = self.typical_rise();
            for k in 0..rounds {
                if self.done() {
                    return;
                }
                let left = 1.0 - k as f64 / rounds as f64;
                // From about half the typical rise to next to nothing.
                self.looks(hot * 0.5 * left * left * left);
            }
            if self.stays {
                self.settle();
            }
            turn += 1;
            if turn % 4 == 0 {
                rounds = (rounds * 3 / 2).min(40_000);
            }
        }
    }

    /// Every load by itself, in any order that routes allow, done in any way.
    fn any_draft(&mut self) -> Draft {
        let mut draft = Draft::new(self.shop);
        let mut heads: Vec<(u32, u32)> = self.shop.jobs.iter().map(|j| (j.first, j.first + j.len)).collect();
        while !heads.is_empty() {
            let k = self.rng.below(heads.len());
            let (op, end) = heads[k];
            if self.shop.ops[op as usize].fixed == NIL {
                draft.alt[op as usize] = self.some_alternative(op);
                draft.order.push(op);
            }
            heads[k].0 += 1;
            if heads[k].0 == end {
                heads.swap_remove(k);
            }
        }
        draft
    }

    /// Continue from another draft.
    fn take_up(&mut self, draft: Draft) {
        self.known = draft;
        self.times.lay_out(self.shop, &self.known);
        self.note();
    }

    fn note(&mut self) {
        if self.times.score.less(self.best_score) {
            self.best_score = self.times.score;
            self.best.copy_from(&self.known);
            if self.times.keep {
                // What was held back is part of the answer, so that it can be laid out again at once.
                self.times.fix_holds(&mut self.best);
            }
        }
    }

    /// The median by which random neighbours are dearer.
    fn typical_rise(&mut self) -> f64 {
        let mut rises: Vec<f64> = Vec::new();
        for _ in 0..60 {
            self.trial.copy_from(&self.known);
            let Some(from) = self.change() else { continue };
            self.trial_times.copy_from(&self.times);
            self.trial_times.number(&self.trial);
            let score =
                self.trial_times.lay_out_from(self.shop, &self.trial, from, Ceiling::NONE, Some(&self.times));
            let rise = score.energy(0.0) - self.times.score.energy(0.0);
            if rise > 0.0 && score.broken <= self.times.score.broken {
                rises.push(rise);
            }
        }
        rises.sort_by(f64::total_cmp);
        rises.get(rises.len() / 2).copied().unwrap_or(1.0)
    }

    /// One step: a few neighbours at one temperature.
    fn looks(&mut self, temperature: f64) {
        self.steps += 1;
        for _ in 0..LOOKS {
            self.trial.copy_from(&self.known);
            let Some(from) = self.change() else { continue };
            self.trial_times.copy_from(&self.times);
            self.trial_times.number(&self.trial);
            let now = self.times.score.energy(self.penalty);
            let ceiling = Ceiling {
                energy: now - temperature * (1.0 - self.rng.unit()).ln() + 1e-7,
                penalty: self.penalty,
            };
            let score =
                self.trial_times.lay_out_from(self.shop, &self.trial, from, ceiling, Some(&self.times));
            if score.energy(self.penalty) <= ceiling.energy {
                std::mem::swap(&mut self.known, &mut self.trial);
                // From the beginning: what was held back for a piece that now comes earlier is free again.
                self.times.lay_out_again(self.shop, &self.known);
                self.note();
            }
            if self.times.keep && self.done() {
                return;
            }
        }
    }

    /// Change the trial draft; the first position that differs, or `None` if nothing came of it.
    fn change(&mut self) -> Option<usize> {
        let n = self.trial.order.len();
        if n == 0 {
            return None;
        }
        let staffed = self.shop.staffed && self.shop.people.len() > 1;
        match self.rng.below(100) {
            0..=11 if !self.basins.is_empty() => self.regroup(),
            12..=23 if !self.choices.is_empty() => Some(self.choose()),
            24..=29 if staffed => self.assign(),
            30..=41 if self.holds => self.set_hold(),
            42..=50 => self.join_run(),
            51..=58 => self.exchange(),
            59..=64 => self.reinsert(),
            65..=74 => {
                let length = 2 + self.rng.below(4);
                self.shift(length)
            }
            _ => self.shift(1),
        }
    }

    fn some_position(&mut self) -> usize {
        self.rng.below(self.trial.order.len())
    }

    /// The first and last position the loads `from..from + length` may begin at, order of routes kept.
    fn room(&self, from: usize, length: usize) -> (usize, usize) {
        let (mut low, mut high) = (0, self.trial.order.len() - length);
        for &leader in &self.trial.order[from..from + length] {
            for op in self.trial.members(leader) {
                let before = self.shop.before(op);
                if before != NIL && self.shop.ops[before as usize].fixed == NIL {
                    let place = self.times.place[before as usize] as usize;
                    if place < from {
                        low = low.max(place + 1);
                    }
                }
                let after = self.shop.after(op);
                if after != NIL && self.shop.ops[after as usize].fixed == NIL {
                    let place = self.times.place[after as usize] as usize;
                    if place >= from + length {
                        high = high.min(place - length);
                    }
                }
            }
        }
        (low, high)
    }

    fn move_to(&mut self, from: usize, length: usize, to: usize) -> Option<usize> {
        if to == from {
            return None;
        }
        let order = &mut self.trial.order;
        if to < from {
            order[to..from + length].rotate_right(length);
        } else {
            order[from..to + length].rotate_left(length);
        }
        Some(from.min(to))
    }

    fn shift(&mut self, length: usize) -> Option<usize> {
        let n = self.trial.order.len();
        let from = self.some_position();
        if from + length > n {
            return None;
        }
        let (low, high) = self.room(from, length);
        if low >= high {
            return None;
        }
        // Near more often than far.
        let reach = if self.rng.below(2) == 0 { n } else { 12 };
        let (low, high) = (low.max(from.saturating_sub(reach)), high.min(from + reach));
        let to = low + self.rng.below(high + 1 - low);
        self.move_to(from, length, to)
    }

    fn exchange(&mut self) -> Option<usize> {
        let (a, b) = (self.some_position(), self.some_position());
        let (a, b) = (a.min(b), a.max(b));
        if a == b || self.room(a, 1).1 < b || self.room(b, 1).0 > a {
            return None;
        }
        self.trial.order.swap(a, b);
        Some(a)
    }

    /// A load goes next to another of its setup at its station.
    fn join_run(&mut self) -> Option<usize> {
        let n = self.trial.order.len();
        let from = self.some_position();
        let mine = self.shop.alts[self.trial.alt[self.trial.order[from] as usize] as usize];
        let start = self.rng.below(n);
        let reach = n.min(400);
        let other =
            (0..reach)
                .map(|k| {
                    if n <= 400 { (start + k) % n } else { (from + n - reach / 2 + (start + k) % reach) % n }
                })
                .find(|&k| {
                    let theirs = self.shop.alts[self.trial.alt[self.trial.order[k] as usize] as usize];
                    k != from && (theirs.station, theirs.setup) == (mine.station, mine.setup)
                })?;
        let (low, high) = self.room(from, 1);
        if low > high {
            return None;
        }
        let wanted = if other > from { other } else { other + 1 };
        self.move_to(from, 1, wanted.clamp(low, high))
    }

    /// Take the single loads of a job out and put them back, in order, within a stretch of the plan.
    fn reinsert(&mut self) -> Option<usize> {
        let n = self.trial.order.len();
        let seat = self.some_position();
        let job = &self.shop.jobs[self.shop.ops[self.trial.order[seat] as usize].job as usize];
        let ops = job.first..job.first + job.len;
        let mut places: Vec<usize> = Vec::with_capacity(job.len as usize);
        for op in ops {
            if self.shop.ops[op as usize].fixed != NIL {
                continue;
            }
            let place = self.times.place[op as usize] as usize;
            if self.trial.order[place] != op || self.trial.next[op as usize] != NIL {
                return None;
            }
            places.push(place);
        }
        let count = places.len();
        let (mut first, mut last) = (places[0], places[count - 1]);
        let reach = if self.rng.below(2) == 0 { n } else { 30 };
        first = first.saturating_sub(self.rng.below(reach + 1));
        last = (last + self.rng.below(reach + 1)).min(n - 1);
        let mut seats: Vec<usize> = (0..count).map(|_| first + self.rng.below(last + 1 - first)).collect();
        seats.sort_unstable();
        for k in 1..count {
            seats[k] = seats[k].max(seats[k - 1] + 1);
        }
        if seats[count - 1] > last {
            return None;
        }
        let moving: Vec<u32> = places.iter().map(|&p| self.trial.order[p]).collect();
        let mut rest = self.known.order[first..=last].iter().copied().filter(|op| !moving.contains(op));
        let mut next = 0;
        for k in first..=last {
            if next < count && seats[next] == k {
                self.trial.order[k] = moving[next];
                next += 1;
            } else if let Some(op) = rest.next() {
                self.trial.order[k] = op;
            }
        }
        Some(first)
    }

    /// Another alternative for an operation, perhaps elsewhere in the order, in a load that is there already, or together
    /// with another alternative for the step before or after.
    fn choose(&mut self) -> usize {
        let op = self.choices[self.rng.below(self.choices.len())];
        let place = self.times.place[op as usize] as usize;
        let other = self.some_alternative(op);
        if self.rng.below(2) == 0
            && let Some(from) = self.join_load(op, other)
        {
            return from;
        }
        let mut from = place;
        let mut at = place;
        let alone = self.trial.order[place] == op && self.trial.next[op as usize] == NIL;
        if !alone {
            at = self.split_off(op);
            from = from.min(at);
        }
        self.trial.alt[op as usize] = other;
        self.trial.person[op as usize] = NONE;
        if alone && self.rng.below(3) == 0 {
            let beside = if self.rng.below(2) == 0 { self.shop.before(op) } else { self.shop.after(op) };
            from = from.min(self.choose_too(beside).unwrap_or(from));
        } else if at == place && self.rng.below(2) == 0 {
            let (low, high) = self.room(place, 1);
            if low < high {
                let to = low + self.rng.below(high + 1 - low);
                from = self.move_to(place, 1, to).unwrap_or(from);
            }
        }
        from
    }

    fn some_alternative(&mut self, op: u32) -> u32 {
        let o = &self.shop.ops[op as usize];
        o.from + self.rng.below((o.to - o.from) as usize) as u32
    }

    /// Another alternative for a neighbour in the route that stands alone; nothing holds it back any more.
    fn choose_too(&mut self, op: u32) -> Option<usize> {
        if op == NIL || self.shop.ops[op as usize].fixed != NIL {
            return None;
        }
        let place = self.times.place[op as usize] as usize;
        let alone = self.trial.order[place] == op && self.trial.next[op as usize] == NIL;
        if !alone {
            return None;
        }
        self.trial.alt[op as usize] = self.some_alternative(op);
        self.trial.person[op as usize] = NONE;
        self.trial.hold[op as usize] = -FAR;
        Some(place)
    }

    /// Put an operation in an alternative into another load of that station and setup, between the steps around it.
    fn join_load(&mut self, op: u32, other: u32) -> Option<usize> {
        let alt = self.shop.alts[other as usize];
        let room = self.shop.stations[usize::from(alt.station)].basin;
        if room < 2 {
            return None;
        }
        let place = self.times.place[op as usize] as usize;
        let (low, high) = self.bounds(op);
        let n = self.trial.order.len();
        let (low, high) =
            if n > 800 { (low.max(place.saturating_sub(400)), high.min(place + 400)) } else { (low, high) };
        if low > high {
            return None;
        }
        let span = high + 1 - low;
        let begin = self.rng.below(span);
        let to = (0..span).map(|k| low + (begin + k) % span).find(|&k| {
            let leader = self.trial.order[k];
            let theirs = self.shop.alts[self.trial.alt[leader as usize] as usize];
            k != place
                && (theirs.station, theirs.setup) == (alt.station, alt.setup)
                && self.trial.members(leader).count() < room
        })?;
        let leader = self.trial.order[to];
        if self.trial.order[place] == op && self.trial.next[op as usize] == NIL {
            self.trial.order.remove(place);
        } else {
            self.unhook(op, place);
        }
        self.trial.alt[op as usize] = other;
        self.trial.next[op as usize] = self.trial.next[leader as usize];
        self.trial.next[leader as usize] = op;
        self.trial.person[leader as usize] = NONE;
        Some(place.min(to))
    }

    fn assign(&mut self) -> Option<usize> {
        let at = self.some_position();
        let leader = self.trial.order[at];
        let person = self.rng.below(self.shop.people.len() + 1);
        let person = if person == self.shop.people.len() { NONE } else { person as u16 };
        let able = person == NONE
            || self.trial.members(leader).all(|op| {
                self.shop.may(usize::from(person), self.shop.alts[self.trial.alt[op as usize] as usize].skill)
            });
        if !able || self.trial.person[leader as usize] == person {
            return None;
        }
        self.trial.person[leader as usize] = person;
        Some(at)
    }

    /// Basin loads: a piece leaves its load, and joins another or stays alone.
    fn regroup(&mut self) -> Option<usize> {
        let op = self.basins[self.rng.below(self.basins.len())];
        let place = self.times.place[op as usize] as usize;
        let alt = self.shop.alts[self.trial.alt[op as usize] as usize];
        let room = self.shop.stations[usize::from(alt.station)].basin;
        if room < 2 {
            return None;
        }
        let alone = self.trial.order[place] == op && self.trial.next[op as usize] == NIL;
        if !alone && self.rng.below(3) == 0 {
            return Some(self.split_off(op));
        }
        self.join_load(op, self.trial.alt[op as usize])
    }

    /// Positions an operation by itself may take: behind the one before, in front of the one after.
    fn bounds(&self, op: u32) -> (usize, usize) {
        let (mut low, mut high) = (0, self.trial.order.len() - 1);
        let before = self.shop.before(op);
        if before != NIL && self.shop.ops[before as usize].fixed == NIL {
            low = low.max(self.times.place[before as usize] as usize + 1);
        }
        let after = self.shop.after(op);
        if after != NIL && self.shop.ops[after as usize].fixed == NIL {
            high = high.min(self.times.place[after as usize] as usize - 1);
        }
        (low, high)
    }

    /// Take an operation out of its load, which keeps its place under another leader if need be.
    fn unhook(&mut self, op: u32, place: usize) {
        let leader = self.trial.order[place];
        let after = self.trial.next[op as usize];
        if leader == op {
            self.trial.order[place] = after;
            self.trial.person[after as usize] = self.trial.person[op as usize];
        } else {
            let mut k = leader;
            while self.trial.next[k as usize] != op {
                k = self.trial.next[k as usize];
            }
            self.trial.next[k as usize] = after;
        }
        self.trial.next[op as usize] = NIL;
        self.trial.person[op as usize] = NONE;
    }

    /// Give an operation a load of its own right before or after the one it was in; its position.
    fn split_off(&mut self, op: u32) -> usize {
        let place = self.times.place[op as usize] as usize;
        self.unhook(op, place);
        let (low, high) = self.bounds(op);
        let at = (place + self.rng.below(2)).clamp(low, high + 1);
        self.trial.order.insert(at, op);
        place.min(at)
    }
}

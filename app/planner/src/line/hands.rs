//! Downhill for one pair of hands at several stations: the same exchanges of blocks as on a plain line, timed job by job.
//!
//! What an exchange adds to the changeovers is known beforehand: only stations that both blocks visit are touched, and at
//! each of them three arcs. Most exchanges lengthen the whole and are passed over by that; the others are timed from
//! where they begin, and given up as soon as they cost more than the best one known.

use std::ops::RangeInclusive;

use super::descent::{Awake, BLOCK};
use super::problem::Line;
use super::rounds::{MOST, Rounds, State};
use super::sequence::Move;
use super::{Stop, Walk};

/// An order under search.
#[derive(Clone, Debug)]
pub(crate) struct Hands<'a> {
    line: &'a Line,
    rounds: &'a Rounds,
    /// `job[0]` is the node the line starts from; positions are `1..=n`.
    job: Vec<u16>,
    place: Vec<u16>,
    /// Before each position.
    state: Vec<State>,
    /// The next job at the same station, or the node `n`, to which every changeover is 0.
    next: Vec<u16>,
    /// The first job at each station.
    first: [u16; MOST],
    awake: Awake,
    /// Changeover and dressing before each position.
    change: Vec<i64>,
    ahead: Ahead,
    spare: Vec<u16>,
}

/// What the jobs from each position on cost if they begin so much earlier or later, as far as that has been asked.
#[derive(Clone, Debug, Default)]
pub(super) struct Ahead {
    cost: Vec<i64>,
    trail: Vec<(usize, i64)>,
    hint: u32,
}

/// Minutes earlier or later for which that is remembered.
const WIDE: i64 = 120;
const UNKNOWN: i64 = i64::MIN;

impl Ahead {
    /// Begin anew for another order.
    pub(super) fn forget(&mut self, n: usize) {
        self.cost.clear();
        self.cost.resize((n + 2) * (2 * WIDE as usize + 1), UNKNOWN);
    }
}

/// Of one block, the first and last job at each station, or `n`.
#[derive(Clone, Copy)]
struct Ends {
    first: [u16; MOST],
    last: [u16; MOST],
}

impl Ends {
    /// One more job at the end of the block.
    #[inline]
    fn add(&mut self, station: usize, job: u16, none: usize) {
        if usize::from(self.first[station]) == none {
            self.first[station] = job;
        }
        self.last[station] = job;
    }
}

impl<'a> Hands<'a> {
    pub(crate) fn new(line: &'a Line, rounds: &'a Rounds) -> Self {
        let n = line.n;
        let mut job: Vec<u16> = vec![n as u16; n + 2];
        (1..=n).for_each(|k| job[k] = k as u16 - 1);
        let mut fresh = Self {
            line,
            rounds,
            job,
            place: (1..=n as u16 + 1).collect(),
            state: vec![State::begin(line); n + 2],
            next: vec![n as u16; n + 2],
            first: [n as u16; MOST],
            awake: Awake::new(line),
            change: vec![0; n + 2],
            ahead: Ahead::default(),
            spare: Vec::with_capacity(n),
        };
        fresh.refresh(1);
        fresh
    }

    /// States from a position on.
    fn refresh(&mut self, from: usize) {
        let n = self.line.n;
        for k in from..=n {
            let mut state = self.state[k];
            self.change[k] = self.rounds.step(self.line, &mut state, self.job[k]);
            self.state[k + 1] = state;
        }
        let mut next = [n as u16; MOST];
        for k in (1..=n).rev() {
            let s = self.station(self.job[k]);
            self.next[k] = next[s];
            next[s] = self.job[k];
        }
        self.first = next;
    }

    #[inline]
    fn station(&self, job: u16) -> usize {
        usize::from(self.rounds.station[usize::from(job)]) % MOST
    }

    #[inline]
    fn arc(&self, from: u16, to: u16) -> i32 {
        self.line.out[usize::from(from) * (self.line.n + 1) + usize::from(to)]
    }

    /// What an exchange gains, if that is more than `least`.
    #[inline]
    pub(super) fn gain(&self, m: &Move, least: i64, ahead: &mut Ahead) -> Option<i64> {
        self.gain_from(self.state[m.a], [m.d..=m.c, m.b + 1..=m.d - 1, m.a..=m.b], m.c, least, ahead)
    }

    /// The same from a state on, with stretches of jobs up to position `until`, and then the others as they are.
    #[inline]
    fn gain_from<const N: usize>(
        &self,
        mut state: State,
        stretches: [RangeInclusive<usize>; N],
        until: usize,
        least: i64,
        ahead: &mut Ahead,
    ) -> Option<i64> {
        let n = self.line.n;
        let now = self.state[n + 1].cost;
        for stretch in stretches {
            for &job in &self.job[stretch] {
                self.rounds.step(self.line, &mut state, job);
            }
            if state.cost >= now - least {
                return None;
            }
        }
        for k in until + 1..=n {
            let was = &self.state[k];
            if state.goes_as(was) {
                // What comes later costs no less.
                if state.at >= was.at && was.cost - state.cost <= least {
                    return None;
                }
                return Some(now - state.cost - self.rest(k, state.at, ahead));
            }
            self.rounds.step(self.line, &mut state, self.job[k]);
            if state.cost >= now - least {
                return None;
            }
        }
        Some(now - state.cost)
    }

    /// What the jobs from a position on cost if the hands are free for them at a minute, all else as it is.
    #[inline]
    fn rest(&self, from: usize, at: i64, ahead: &mut Ahead) -> i64 {
        let (line, n) = (self.line, self.line.n);
        let (mut k, mut at, mut sum) = (from, at, 0);
        ahead.trail.clear();
        while k <= n {
            let was = &self.state[k];
            if at == was.at {
                sum += self.state[n + 1].cost - was.cost;
                break;
            }
            let slot = at - was.at + WIDE;
            if (0..=2 * WIDE).contains(&slot) {
                let slot = k * (2 * WIDE as usize + 1) + slot as usize;
                if ahead.cost[slot] != UNKNOWN {
                    sum += ahead.cost[slot];
                    break;
                }
                ahead.trail.push((slot, sum));
            }
            let j = usize::from(self.job[k]);
            let (end, cost) = self.rounds.take(line, j, at, self.change[k], &mut ahead.hint);
            sum += cost;
            at = end;
            k += 1;
        }
        for &(slot, before) in &ahead.trail {
            ahead.cost[slot] = sum - before;
        }
        sum
    }

    /// Changeover added at its station when the job at `k` goes behind position `to`, or before it.
    #[inline]
    fn moved(&self, k: usize, to: usize) -> i32 {
        let job = self.job[k];
        let s = self.station(job);
        let (before, after) = (self.state[k].last[s], self.next[k]);
        let (last, next) = if to > k {
            let last = self.state[to + 1].last[s];
            (last, self.next[self.at(last)])
        } else {
            let last = self.state[to].last[s];
            (last, if usize::from(last) == self.line.n { self.first[s] } else { self.next[self.at(last)] })
        };
        if last == job || next == job {
            return 0;
        }
        self.arc(before, after) + self.arc(last, job) + self.arc(job, next)
            - self.arc(before, job)
            - self.arc(job, after)
            - self.arc(last, next)
    }

    /// The same when the jobs at `a` and `d` change places.
    #[inline]
    pub(super) fn swapped(&self, a: usize, d: usize) -> i32 {
        let (i, j) = (self.job[a], self.job[d]);
        let s = self.station(i);
        if s != self.station(j) {
            return self.moved(a, d) + self.moved(d, a);
        }
        let (before, after, last, next) =
            (self.state[a].last[s], self.next[a], self.state[d].last[s], self.next[d]);
        if after == j {
            return self.arc(before, j) + self.arc(j, i) + self.arc(i, next)
                - self.arc(before, i)
                - self.arc(i, j)
                - self.arc(j, next);
        }
        self.arc(before, j) + self.arc(j, after) + self.arc(last, i) + self.arc(i, next)
            - self.arc(before, i)
            - self.arc(i, after)
            - self.arc(last, j)
            - self.arc(j, next)
    }

    /// Who comes after a block at a station.
    fn after(&self, block: &Ends, station: usize) -> u16 {
        self.next[self.at(block.last[station])]
    }

    fn at(&self, job: u16) -> usize {
        usize::from(self.place[usize::from(job)])
    }

    /// Changeover added by an exchange of neighbouring blocks; the search adds it up block by block.
    #[cfg(test)]
    pub(super) fn exchanged(&self, m: &Move) -> i32 {
        let ends = |from: usize, to: usize| {
            let mut ends = self.none();
            (from..=to).for_each(|k| ends.add(self.station(self.job[k]), self.job[k], self.line.n));
            ends
        };
        let (one, two) = (ends(m.a, m.b), ends(m.d, m.c));
        let both = |&s: &usize| [one, two].iter().all(|e| usize::from(e.first[s]) < self.line.n);
        (0..MOST)
            .filter(both)
            .map(|s| self.crossed(s, &one, &two, self.state[m.a].last[s], self.after(&two, s)))
            .sum()
    }

    fn none(&self) -> Ends {
        Ends { first: [self.line.n as u16; MOST], last: [self.line.n as u16; MOST] }
    }

    /// Changeover that one station gains when its jobs of two neighbouring blocks change places: `before` comes before
    /// both, `after` after both.
    #[inline]
    fn crossed(&self, s: usize, one: &Ends, two: &Ends, before: u16, after: u16) -> i32 {
        let (f1, l1, f2, l2) = (one.first[s], one.last[s], two.first[s], two.last[s]);
        self.arc(before, f2) + self.arc(l2, f1) + self.arc(l1, after)
            - self.arc(before, f1)
            - self.arc(l1, f2)
            - self.arc(l2, after)
    }

    /// The best exchange in which a short block begins or ends at `k`, if any gains.
    fn best_at(&self, k: usize, ahead: &mut Ahead) -> Option<Move> {
        let n = self.line.n;
        let mut best = Move::default();
        let better = |gain: Option<i64>, m: Move, best: &mut Move| {
            if let Some(gain) = gain.filter(|&gain| gain > best.gain) {
                *best = Move { gain, ..m };
            }
        };
        let none = n as u16;
        let mut block = self.none();
        for length in 1..=BLOCK.min(n + 1 - k) {
            let b = k + length - 1;
            let s = self.station(self.job[b]);
            block.add(s, self.job[b], n);
            // The block k..=b goes behind b + 1..=c.
            let (mut over, mut change, mut total) = (self.none(), [0; MOST], 0);
            let mut first = self.state[k];
            for c in b + 1..=n {
                let j = self.job[c];
                let s = self.station(j);
                over.add(s, j, n);
                if block.first[s] != none {
                    total -= change[s];
                    change[s] = self.crossed(s, &block, &over, self.state[k].last[s], self.next[c]);
                    total += change[s];
                }
                self.rounds.step(self.line, &mut first, j);
                if total <= self.awake.allow {
                    let gain = self.gain_from(first, [k..=b], c, best.gain, ahead);
                    better(gain, Move { gain: 0, a: k, b, d: b + 1, c }, &mut best);
                }
            }
            // Or before a..k.
            let (mut over, mut change, mut total) = (self.none(), [0; MOST], 0);
            for a in (1..k).rev() {
                let j = self.job[a];
                let s = self.station(j);
                if over.last[s] == none {
                    over.last[s] = j;
                }
                over.first[s] = j;
                if block.first[s] != none {
                    total -= change[s];
                    change[s] = self.crossed(s, &over, &block, self.state[a].last[s], self.after(&block, s));
                    total += change[s];
                }
                if total <= self.awake.allow {
                    let m = Move { gain: 0, a, b: k - 1, d: k, c: b };
                    better(self.gain(&m, best.gain, ahead), m, &mut best);
                }
            }
        }
        // The job at k changes places with another.
        for o in (1..=n).filter(|o| o.abs_diff(k) > 1) {
            let (a, d) = (k.min(o), k.max(o));
            if self.swapped(a, d) <= self.awake.allow {
                let m = Move { gain: 0, a, b: a, d, c: d };
                better(self.gain(&m, best.gain, ahead), m, &mut best);
            }
        }
        (best.gain > 0).then_some(best)
    }
}

impl Walk for Hands<'_> {
    fn order(&self) -> &[u16] {
        &self.job[1..=self.line.n]
    }

    fn cost(&self) -> i64 {
        self.state[self.line.n + 1].cost
    }

    fn load(&mut self, order: &[u16]) {
        let differs = |(mine, theirs): (&u16, &u16)| mine != theirs;
        let Some(first) = self.job[1..].iter().zip(order).position(differs) else {
            return;
        };
        self.job[1..=order.len()].copy_from_slice(order);
        for (k, &job) in order.iter().enumerate() {
            self.place[usize::from(job)] = k as u16 + 1;
        }
        self.refresh(first + 1);
    }

    fn wake(&mut self, job: u16) {
        self.awake.wake(job);
    }

    fn carry_out(&mut self, m: &Move) {
        m.exchange(&mut self.job, &mut self.place, &mut self.spare);
        self.refresh(m.a);
        self.awake.wake_cuts(&self.job, m);
    }

    fn descend(&mut self, stop: Stop<'_>) {
        let mut ahead = std::mem::take(&mut self.ahead);
        ahead.forget(self.line.n);
        while let Some(job) = self.awake.pop() {
            while let Some(best) = self.best_at(usize::from(self.place[usize::from(job)]), &mut ahead) {
                self.carry_out(&best);
                ahead.forget(self.line.n);
                if stop() {
                    break;
                }
            }
            self.awake.looked_at(job);
            if stop() {
                self.awake.sleep();
            }
        }
        self.ahead = ahead;
    }
}

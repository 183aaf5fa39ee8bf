//! Crossing two orders by the arcs in which they differ.
//!
//! Where setups decide, what is worth inheriting is who follows whom. Edge assembly (Nagata and Kobayashi 2013, for the
//! symmetric travelling salesman) builds children that differ from one parent in a few arcs, all of them taken from the
//! other. With arcs that have a direction it is simple: go along an arc of the first parent, back along the arc of the
//! second that ends there, and so on until the walk closes. Such cycles share no arc, and exchanging the arcs of any of
//! them leaves every job one predecessor and one successor. What falls off the path as a loop is let in again where it
//! does least harm, judged first by changeover and then by the whole cost.
//!
//! Such cycles are given, and there are few: two local optima of sixty jobs mostly differ in two or three of them, one of twenty arcs and
//! more, and a crossing that takes all of it or nothing has hardly a choice. So a child may also take a part of a cycle, closed by
//! one arc of neither parent.

use super::problem::{Line, Walked};

/// Places tried by whole cost for each loop, the least changeovers first.
const PLACES: usize = 6;

/// A part of a cycle has at least so many arcs of the second parent: with fewer it is hardly more than what a descent tries.
const PART: usize = 4;

/// Two parents, the cycles in which they differ, and the child in the making.
#[derive(Clone, Debug)]
pub(crate) struct Assembly<'a> {
    line: &'a Line,
    /// Who comes after each node in the first parent; the node `n` is the beginning and the end.
    after: Vec<u16>,
    /// The same in the second parent, and who comes before.
    other: Vec<u16>,
    before_other: Vec<u16>,
    /// The nodes of all cycles, one cycle after the other, and where each begins and ends.
    tails: Vec<u16>,
    cycles: Vec<(usize, usize)>,
    /// Who comes after each node in the child.
    next: Vec<u16>,
    seen: Vec<bool>,
    path: Vec<u16>,
    ring: Vec<u16>,
    trial: Vec<u16>,
    /// How far the line has come after each job of the path.
    walked: Vec<Walked>,
    /// Changeovers by row of the one after.
    back: Vec<i32>,
    /// Neighbours in the loop, and the changeover between them.
    links: Vec<(u16, u16, i32)>,
    /// Added changeover, place in the path, and the member of the loop that goes first.
    places: Vec<(i32, u16, u16)>,
}

impl<'a> Assembly<'a> {
    pub(crate) fn new(line: &'a Line) -> Self {
        let m = line.n + 1;
        let nodes = || vec![0; m];
        Self {
            line,
            after: nodes(),
            other: nodes(),
            before_other: nodes(),
            tails: Vec::new(),
            cycles: Vec::new(),
            next: nodes(),
            seen: vec![false; line.n + 1],
            path: Vec::new(),
            ring: Vec::new(),
            trial: Vec::new(),
            walked: Vec::new(),
            back: (0..m * m).map(|k| line.out[k % m * m + k / m]).collect(),
            links: Vec::new(),
            places: Vec::new(),
        }
    }

    /// Take up two parents. Returns in how many cycles they differ.
    pub(crate) fn parents(&mut self, one: &[u16], other: &[u16]) -> usize {
        let n = self.line.n;
        let (mut x, mut y) = (n as u16, n as u16);
        for (&a, &b) in one.iter().zip(other).chain([(&(n as u16), &(n as u16))]) {
            self.after[usize::from(x)] = a;
            self.other[usize::from(y)] = b;
            self.before_other[usize::from(b)] = y;
            (x, y) = (a, b);
        }
        self.seen.fill(false);
        self.tails.clear();
        self.cycles.clear();
        for first in 0..=n {
            let from = self.tails.len();
            let mut v = first;
            while !self.seen[v] && self.after[v] != self.other[v] {
                self.seen[v] = true;
                self.tails.push(v as u16);
                v = usize::from(self.before_other[usize::from(self.after[v])]);
            }
            if self.tails.len() > from {
                self.cycles.push((from, self.tails.len()));
            }
        }
        self.cycles.len()
    }

    /// How many arcs of the first parent the second has not.
    pub(crate) fn arcs_apart(&self) -> usize {
        self.tails.len()
    }

    /// Whether `job` comes right after `before` (or the beginning) in the first parent.
    pub(crate) fn first_had(&self, before: Option<u16>, job: u16) -> bool {
        self.after[before.map_or(self.line.n, usize::from)] == job
    }

    /// Begin a child as a copy of the first parent.
    pub(crate) fn begin(&mut self) {
        self.next.copy_from_slice(&self.after);
    }

    /// Give the child the second parent's arcs of one cycle.
    pub(crate) fn take(&mut self, cycle: usize) {
        let (from, to) = self.cycles[cycle];
        for &u in &self.tails[from..to] {
            self.next[usize::from(u)] = self.other[usize::from(u)];
        }
    }

    /// Give the child a part of the cycle through one of the arcs apart: at least [`PART`] arcs of the second parent in a row, as many as
    /// make the changeovers least once an arc of neither parent has closed the walk. A cycle hardly longer than that is taken whole.
    pub(crate) fn take_part(&mut self, arc: usize) {
        let Some(cycle) = self.cycles.iter().position(|&(_, to)| arc < to) else { return };
        let (from, to) = self.cycles[cycle];
        let length = to - from;
        let m = self.line.n + 1;
        let out = |a: usize, b: u16| self.line.out[a * m + usize::from(b)];
        let tail = |k: usize| usize::from(self.tails[if arc + k < to { arc + k } else { arc + k - length }]);
        let first = tail(0);
        // Each tail takes over who comes after the one before it; the first is left without, and takes whom nobody takes.
        let (mut added, mut least, mut taken) = (0, i32::MAX, 0);
        for k in 1..length.saturating_sub(1) {
            let t = tail(k);
            let left = self.after[t];
            added += out(t, self.other[t]) - out(t, left);
            let closed = added + out(first, left);
            if k >= PART && closed < least && usize::from(left) != first {
                (least, taken) = (closed, k);
            }
        }
        if taken == 0 {
            self.take(cycle);
            return;
        }
        for k in 1..=taken {
            let t = tail(k);
            self.next[t] = self.other[t];
        }
        self.next[first] = self.after[tail(taken)];
    }

    /// Let the loops into the path, if there are no more than `loose` jobs in them. Returns the child's order and its cost, if that is less
    /// than `most`.
    pub(crate) fn close(&mut self, loose: usize, most: i64) -> Option<(&[u16], i64)> {
        let n = self.line.n;
        self.seen.fill(false);
        self.path.clear();
        let mut v = usize::from(self.next[n]);
        while v != n {
            self.seen[v] = true;
            self.path.push(v as u16);
            v = usize::from(self.next[v]);
        }
        if n - self.path.len() > loose {
            return None;
        }
        if self.path.len() == n {
            let cost = self.line.cost(&self.path);
            return (cost < most).then_some((&self.path, cost));
        }
        let mut cost = None;
        for first in 0..n {
            if self.path.len() == n {
                break;
            }
            let mut v = first;
            self.ring.clear();
            while !self.seen[v] {
                self.seen[v] = true;
                self.ring.push(v as u16);
                v = usize::from(self.next[v]);
            }
            if !self.ring.is_empty() {
                let last = self.path.len() + self.ring.len() == n;
                cost = Some(self.let_in(if last { most } else { i64::MAX })?);
            }
        }
        Some((&self.path, cost?))
    }

    /// Cut the loop open and let it into the path. Returns what the path then costs; `None`, and the path as it was, if that would not be
    /// less than `most`.
    fn let_in(&mut self, most: i64) -> Option<i64> {
        self.weigh_places();
        let plain = self.line.rounds.is_none();
        if plain {
            self.walked.clear();
            self.walked.push(self.line.start());
            for k in 0..self.path.len() {
                self.walked.push(self.line.follow(self.walked[k], &self.path[k..=k]));
            }
        }
        let (mut least, mut best) = (most, None);
        for &(_, at, first) in &self.places {
            let (head, tail) = self.path.split_at(usize::from(at));
            let (later, sooner) = self.ring.split_at(usize::from(first));
            let cost = if plain {
                let ring = self.line.follow(self.line.follow(self.walked[usize::from(at)], sooner), later);
                if ring.cost >= least {
                    continue;
                }
                self.line.follow(ring, tail).cost
            } else {
                self.trial.clear();
                for jobs in [head, sooner, later, tail] {
                    self.trial.extend_from_slice(jobs);
                }
                self.line.cost(&self.trial)
            };
            if cost < least {
                (least, best) = (cost, Some((usize::from(at), usize::from(first))));
            }
        }
        let (at, first) = best?;
        self.ring.rotate_left(first);
        self.path.splice(at..at, self.ring.iter().copied());
        Some(least)
    }

    /// The places in the path with the least added changeover, each with the best cut of the loop.
    fn weigh_places(&mut self) {
        let m = self.line.n + 1;
        let row = |node: usize| node * m..(node + 1) * m;
        self.links.clear();
        let mut last = usize::from(self.ring[self.ring.len() - 1]);
        for &y in &self.ring {
            self.links.push((last as u16, y, self.line.out[last * m + usize::from(y)]));
            last = usize::from(y);
        }
        self.places.clear();
        for at in 0..=self.path.len() {
            let before = if at == 0 { self.line.n } else { usize::from(self.path[at - 1]) };
            // After the last job comes the node `n`, to which every changeover is 0.
            let behind = self.path.get(at).map_or(self.line.n, |&j| usize::from(j));
            let (into, out) = (&self.line.out[row(before)], &self.back[row(behind)]);
            let mut best = (i32::MAX, 0);
            for (first, &(last, y, link)) in (0u16..).zip(&self.links) {
                let added = into[usize::from(y)] + out[usize::from(last)] - link;
                if added < best.0 {
                    best = (added, first);
                }
            }
            self.places.push((best.0 - into[behind], at as u16, best.1));
        }
        if self.places.len() > PLACES {
            self.places.select_nth_unstable(PLACES - 1);
            self.places.truncate(PLACES);
        }
    }
}

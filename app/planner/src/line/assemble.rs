//! Crossing two orders by the arcs in which they differ.
//!
//! Where setups decide, what is worth inheriting is who follows whom. Edge assembly (Nagata and Kobayashi 2013, for the
//! symmetric travelling salesman) builds children that differ from one parent in a few arcs, all of them taken from the
//! other. With arcs that have a direction it is simple: go along an arc of the first parent, back along the arc of the
//! second that ends there, and so on until the walk closes. Such cycles share no arc, and exchanging the arcs of any of
//! them leaves every job one predecessor and one successor. What falls off the path as a loop is let in again where it
//! does least harm, judged first by changeover and then by the whole cost.

use super::problem::Line;

/// Places tried by whole cost for each loop, the least changeovers first.
const PLACES: usize = 6;

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
    kept: Vec<u16>,
    /// Added changeover, place in the path, and the member of the loop that goes first.
    places: Vec<(i32, u16, u16)>,
}

impl<'a> Assembly<'a> {
    pub(crate) fn new(line: &'a Line) -> Self {
        let nodes = || vec![0; line.n + 1];
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
            kept: Vec::new(),
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

    /// Let the loops into the path. Returns the child's order and its cost.
    pub(crate) fn close(&mut self) -> (&[u16], i64) {
        let n = self.line.n;
        self.seen.fill(false);
        self.path.clear();
        let mut v = usize::from(self.next[n]);
        while v != n {
            self.seen[v] = true;
            self.path.push(v as u16);
            v = usize::from(self.next[v]);
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
                cost = Some(self.let_in());
            }
        }
        let cost = cost.unwrap_or_else(|| self.line.cost(&self.path));
        (&self.path, cost)
    }

    /// Cut the loop open and let it into the path. Returns what the path then costs.
    fn let_in(&mut self) -> i64 {
        self.weigh_places();
        let mut least = i64::MAX;
        for &(_, at, first) in &self.places {
            let (at, first) = (usize::from(at), usize::from(first));
            self.trial.clear();
            self.trial.extend_from_slice(&self.path[..at]);
            self.trial.extend_from_slice(&self.ring[first..]);
            self.trial.extend_from_slice(&self.ring[..first]);
            self.trial.extend_from_slice(&self.path[at..]);
            let cost = self.line.cost(&self.trial);
            if cost < least {
                least = cost;
                std::mem::swap(&mut self.trial, &mut self.kept);
            }
        }
        std::mem::swap(&mut self.path, &mut self.kept);
        least
    }

    /// The places in the path with the least added changeover, each with the best cut of the loop.
    fn weigh_places(&mut self) {
        let n = self.line.n;
        let row = |from: usize| &self.line.out[from * (n + 1)..(from + 1) * (n + 1)];
        self.places.clear();
        for at in 0..=self.path.len() {
            let before = if at == 0 { n } else { usize::from(self.path[at - 1]) };
            // After the last job comes the node `n`, to which every changeover is 0.
            let behind = self.path.get(at).map_or(n, |&j| usize::from(j));
            let into = row(before);
            let mut best = (i32::MAX, at as u16, 0);
            let mut last = usize::from(self.ring[self.ring.len() - 1]);
            for (first, &y) in (0u16..).zip(&self.ring) {
                let (y, out) = (usize::from(y), row(last));
                let added = into[y] - out[y] + out[behind] - into[behind];
                if added < best.0 {
                    best = (added, at as u16, first);
                }
                last = y;
            }
            self.places.push(best);
        }
        if self.places.len() > PLACES {
            self.places.select_nth_unstable(PLACES - 1);
            self.places.truncate(PLACES);
        }
    }
}

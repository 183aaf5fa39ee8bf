//! An order of jobs with tables that tell the cost of shifting any stretch of it in a few look-ups.
//!
//! A stretch of jobs that keeps its inner order and is shifted by δ minutes costs Σ w·max(0, δ − slack), slack being
//! due date less present completion. With the slacks of all positions sorted once, and for each position k and each
//! rank r the sums of w and w·slack over the positions from k on whose slack is among the r least, the cost of the
//! stretch from k to m at shift δ is two look-ups after one binary search. Liao, Tsou and Huang (2012) and Subramanian,
//! Battarra and Potts (2014) evaluate such moves by concatenating functions of each stretch; sums by rank do the same with less
//! to rebuild: the whole table after an accepted move is n² additions.

use super::problem::Line;

/// An order under search.
#[derive(Clone, Debug)]
pub(crate) struct Sequence<'a> {
    pub(crate) line: &'a Line,
    /// `job[0]` is the node the line starts from; positions are `1..=n`.
    pub(crate) job: Vec<u16>,
    pub(crate) place: Vec<u16>,
    /// Completion of each position; `end[0]` is the beginning.
    pub(crate) end: Vec<i64>,
    /// Lateness cost of the positions up to each.
    pub(crate) paid: Vec<i64>,
    /// Slacks in ascending order, padded to a power of two.
    slack: Vec<i64>,
    half: usize,
    /// Row k: sums over positions ≥ k, by rank.
    sums: Vec<(i64, i64)>,
    width: usize,
    /// Jobs by slack.
    ranked: Vec<u16>,
    spare: Vec<u16>,
    /// Changeover between the jobs at two positions, by row of the one before; the column `n + 1` is the end, 0.
    from: Vec<i32>,
    /// The same by row of the one after.
    into: Vec<i32>,
    /// Changeover between each position and the next.
    pub(crate) link: Vec<i32>,
    pub(crate) stride: usize,
}

/// Exchange of the neighbouring blocks `a..=b` and `b + 1..=c`, or of `a..=b` and `d..=c` with `b + 1..d` between.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Move {
    pub(crate) gain: i64,
    pub(crate) a: usize,
    pub(crate) b: usize,
    /// Where the second block begins.
    pub(crate) d: usize,
    pub(crate) c: usize,
}

impl Move {
    /// Carries the exchange out on an order and on the places of its jobs; `spare` is room to work in.
    pub(crate) fn exchange(&self, job: &mut [u16], place: &mut [u16], spare: &mut Vec<u16>) {
        spare.clear();
        spare.extend_from_slice(&job[self.d..=self.c]);
        spare.extend_from_slice(&job[self.b + 1..self.d]);
        spare.extend_from_slice(&job[self.a..=self.b]);
        job[self.a..=self.c].copy_from_slice(spare);
        for k in self.a..=self.c {
            place[usize::from(job[k])] = k as u16;
        }
    }
}

impl<'a> Sequence<'a> {
    pub(crate) fn new(line: &'a Line) -> Self {
        let n = line.n;
        let padded = (n + 1).next_power_of_two();
        let mut jobs = vec![n as u16; n + 2];
        (1..=n).for_each(|k| jobs[k] = k as u16 - 1);
        let mut fresh = Self {
            line,
            job: jobs,
            place: (1..=n as u16 + 1).collect(),
            end: vec![line.begin; n + 2],
            paid: vec![0; n + 2],
            slack: vec![i64::MAX; padded],
            half: padded / 2,
            sums: vec![(0, 0); (n + 2) * (n + 1)],
            width: n + 1,
            ranked: (0..n as u16).collect(),
            spare: Vec::with_capacity(n),
            from: vec![0; (n + 2) * (n + 2)],
            into: vec![0; (n + 2) * (n + 2)],
            link: vec![0; n + 2],
            stride: n + 2,
        };
        fresh.relink(1, n);
        fresh.refresh();
        fresh
    }

    /// Changeovers from position `k` to each position.
    #[inline]
    pub(crate) fn from(&self, k: usize) -> &[i32] {
        &self.from[k * self.stride..(k + 1) * self.stride]
    }

    /// Changeovers from each position to position `k`.
    #[inline]
    pub(crate) fn into(&self, k: usize) -> &[i32] {
        &self.into[k * self.stride..(k + 1) * self.stride]
    }

    /// Take up another order; costs less the fewer positions differ.
    pub(crate) fn load(&mut self, order: &[u16]) {
        let differs = |(mine, theirs): (&u16, &u16)| mine != theirs;
        let mine = &self.job[1..=order.len()];
        let Some(first) = mine.iter().zip(order).position(differs) else {
            return;
        };
        let last = mine.iter().zip(order).rposition(differs).unwrap_or(first);
        self.job[first + 1..=last + 1].copy_from_slice(&order[first..=last]);
        for k in first + 1..=last + 1 {
            self.place[usize::from(self.job[k])] = k as u16;
        }
        self.relink(first + 1, last + 1);
        self.refresh();
    }

    /// Changeovers by position, after the jobs at `a..=c` have changed.
    fn relink(&mut self, a: usize, c: usize) {
        let (n, m, stride) = (self.line.n, self.line.n + 1, self.stride);
        let job = &self.job[..=n];
        for k in 0..=n {
            let row = usize::from(job[k]) * m;
            let (out, back) = (&self.line.out[row..row + m], &self.line.back[row..row + m]);
            let (first, last) = if (a..=c).contains(&k) { (0, n) } else { (a, c) };
            let from = &mut self.from[k * stride + first..=k * stride + last];
            let into = &mut self.into[k * stride + first..=k * stride + last];
            for ((from, into), &j) in from.iter_mut().zip(into).zip(&job[first..=last]) {
                *from = out[usize::from(j)];
                *into = back[usize::from(j)];
            }
        }
        for k in a - 1..=c.min(n) {
            self.link[k] = self.from[k * stride + k + 1];
        }
        self.link[n] = 0;
    }

    pub(crate) fn order(&self) -> &[u16] {
        &self.job[1..=self.line.n]
    }

    /// The whole cost of the order.
    pub(crate) fn cost(&self) -> i64 {
        let line = self.line;
        let mut cost = self.paid[line.n];
        if line.flow > 0 {
            cost += line.flow * self.end[1..=line.n].iter().sum::<i64>();
        }
        if line.changeover > 0 {
            let work: i64 = line.minutes.iter().sum();
            cost += line.changeover * (self.end[line.n] - line.begin - work);
        }
        cost
    }

    /// Completions and tables anew.
    pub(crate) fn refresh(&mut self) {
        let line = self.line;
        let (n, m) = (line.n, line.n + 1);
        let (mut at, mut from, mut paid) = (line.begin, n, 0);
        for k in 1..=n {
            let j = usize::from(self.job[k]);
            at += line.span[from * m + j];
            self.end[k] = at;
            paid += line.weight[j] * (at - line.due[j]).max(0);
            self.paid[k] = paid;
            from = j;
        }
        // The order by slack changes little from one move to the next, and insertion sort likes that.
        for r in 0..n {
            let j = self.ranked[r];
            let slack = line.due[usize::from(j)] - self.end[usize::from(self.place[usize::from(j)])];
            let mut to = r;
            while to > 0 && self.slack[to - 1] > slack {
                self.slack[to] = self.slack[to - 1];
                self.ranked[to] = self.ranked[to - 1];
                to -= 1;
            }
            self.slack[to] = slack;
            self.ranked[to] = j;
        }
        self.spare.resize(n + 1, 0);
        for (r, &j) in self.ranked.iter().enumerate() {
            self.spare[usize::from(self.place[usize::from(j)])] = r as u16;
        }
        let width = self.width;
        for k in (1..=n).rev() {
            let j = usize::from(self.job[k]);
            let r = usize::from(self.spare[k]);
            let w = line.weight[j];
            let ws = w * (line.due[j] - self.end[k]);
            let (upper, lower) = self.sums.split_at_mut((k + 1) * width);
            let (row, below) = (&mut upper[k * width..], &lower[..width]);
            row[..=r].copy_from_slice(&below[..=r]);
            for (to, from) in row[r + 1..].iter_mut().zip(&below[r + 1..]) {
                *to = (from.0 + w, from.1 + ws);
            }
        }
    }

    /// How many slacks are below a shift.
    #[inline]
    fn rank(&self, shift: i64) -> usize {
        let mut r = 0;
        let mut step = self.half;
        while step > 0 {
            r += step * usize::from(self.slack[r + step - 1] < shift);
            step /= 2;
        }
        r
    }

    /// Lateness cost of the positions from `k` on, were they shifted.
    #[inline]
    fn after(&self, k: usize, rank: usize, shift: i64) -> i64 {
        let (w, ws) = self.sums[k * self.width + rank];
        shift * w - ws
    }

    /// What exchanging the neighbouring blocks `a..=b` and `b + 1..=c` saves, when it lengthens the whole by `rest`;
    /// `None` when a glance shows that it does not save more than `best`.
    #[inline]
    pub(crate) fn exchange(&self, a: usize, b: usize, c: usize, rest: i64, best: i64) -> Option<i64> {
        let n = self.line.n;
        let (end, into, from) = (&self.end, self.into(a), self.from(a - 1));
        // The second block begins where the first did.
        let second = end[a - 1] - end[b] + i64::from(from[b + 1] - self.link[b]);
        let first = end[c] + second - end[a - 1] + i64::from(into[c] - self.link[a - 1]);
        let plain = self.line.flow == 0 && self.line.changeover == 0;
        // The second block can save what it costs now; the rest too if it comes earlier. The first is always later.
        let mut hope = self.paid[c] - self.paid[b];
        if rest < 0 {
            hope += self.paid[n] - self.paid[c];
        }
        if plain && hope <= best && first >= 0 {
            return None;
        }
        let before = self.paid[n] - self.paid[a - 1];
        let r = self.rank(first);
        let mut now = self.after(a, r, first) - self.after(b + 1, r, first);
        if plain && first >= 0 && now + best >= self.paid[b] - self.paid[a - 1] + hope {
            return None;
        }
        let r = self.rank(rest);
        now += self.after(c + 1, r, rest);
        let r = self.rank(second);
        now += self.after(b + 1, r, second) - self.after(c + 1, r, second);
        let mut gain = before - now;
        if !plain {
            let (x, y, z) = ((b + 1 - a) as i64, (c - b) as i64, (n - c) as i64);
            gain -= self.line.flow * (first * x + second * y + rest * z) + self.line.changeover * rest;
        }
        Some(gain)
    }

    /// What exchanging the blocks `a..=b` and `d..=c` saves, with at least one job between them, when it lengthens the
    /// whole by `rest`.
    #[inline]
    pub(crate) fn swap(&self, m: &Move, rest: i64, best: i64) -> Option<i64> {
        let n = self.line.n;
        let (a, b, d, c) = (m.a, m.b, m.d, m.c);
        let end = &self.end;
        let second = end[a - 1] - end[d - 1] + i64::from(self.from(a - 1)[d] - self.link[d - 1]);
        let middle = end[c] + second - end[b] + i64::from(self.from(c)[b + 1] - self.link[b]);
        let first = end[d - 1] + middle - end[a - 1] + i64::from(self.from(d - 1)[a] - self.link[a - 1]);
        let plain = self.line.flow == 0 && self.line.changeover == 0;
        if plain && first >= 0 {
            let mut hope = self.paid[c] - self.paid[d - 1];
            if rest < 0 {
                hope += self.paid[n] - self.paid[c];
            }
            if middle < 0 {
                hope += self.paid[d - 1] - self.paid[b];
            }
            if hope <= best {
                return None;
            }
        }
        let r = self.rank(first);
        let mut now = self.after(a, r, first) - self.after(b + 1, r, first);
        let r = self.rank(middle);
        now += self.after(b + 1, r, middle) - self.after(d, r, middle);
        let r = self.rank(second);
        now += self.after(d, r, second) - self.after(c + 1, r, second);
        let r = self.rank(rest);
        now += self.after(c + 1, r, rest);
        let mut gain = self.paid[n] - self.paid[a - 1] - now;
        if !plain {
            let (x, m, y, z) = ((b + 1 - a) as i64, (d - b - 1) as i64, (c + 1 - d) as i64, (n - c) as i64);
            gain -= self.line.flow * (first * x + middle * m + second * y + rest * z)
                + self.line.changeover * rest;
        }
        Some(gain)
    }

    /// Carry out an exchange.
    pub(crate) fn apply(&mut self, m: &Move) {
        self.rearrange(m);
        self.refresh();
    }

    /// Carry out an exchange without bringing the tables up to date.
    pub(crate) fn rearrange(&mut self, m: &Move) {
        m.exchange(&mut self.job, &mut self.place, &mut self.spare);
        self.relink(m.a, m.c);
    }
}

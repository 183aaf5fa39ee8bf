//! An order of jobs with sums by position that show at a glance which exchanges cannot save anything.
//!
//! A stretch of jobs that keeps its inner order and is shifted by δ minutes costs Σ w·max(0, late + δ), which is convex in δ.
//! So it costs no less than its tangent at 0 tells, and no less than if all of it were late: two products of sums by
//! position. An exchange shifts three or four stretches, each by a δ of its own; on four public instances these bounds
//! refused 89 to 99 exchanges in a hundred, and the rest is summed up job by job. Liao, Tsou and Huang (2012) and
//! Subramanian, Battarra and Potts (2014) concatenate the functions of each stretch instead; that tells every cost at once,
//! but after each accepted move there is far more to rebuild than the n sums here.

use std::ops::Range;

use super::lanes::row_length;
use super::problem::{LARGEST, Line};

/// An order under search.
#[derive(Clone, Debug)]
pub(crate) struct Sequence<'a> {
    pub(crate) line: &'a Line,
    /// `job[0]` is the node the line starts from; positions are `1..=n`.
    pub(crate) job: Vec<u16>,
    pub(crate) place: Vec<u16>,
    /// Sums over the positions up to each; `upto[0]` is the beginning.
    upto: Vec<Upto>,
    /// Weight of each position, and by how many minutes it is late (below 0 early).
    late: Vec<(i64, i64)>,
    /// Changeovers by job, by row of the one before and by row of the one after.
    out: Vec<i16>,
    back: Vec<i16>,
    /// Changeover between the jobs at two positions, by row of the one before; the column `n + 1` is the end, 0.
    from: Vec<i16>,
    /// Changeover between each position and the next.
    link: Vec<i16>,
    stride: usize,
    spare: Vec<u16>,
    spare_rows: Vec<i16>,
}

/// Sums over the positions up to one.
#[derive(Clone, Copy, Debug, Default)]
struct Upto {
    /// Completion.
    end: i64,
    /// Changeover to the next position, alone.
    link: i64,
    /// Lateness cost.
    paid: i64,
    /// Weights of those that are late.
    late: i64,
    /// The same with those that end in time to the minute.
    due: i64,
    /// All weights.
    weight: i64,
    /// All weights by minutes late, below 0 where early.
    behind: i64,
}

/// No changeover of a line with too many jobs to try every order is longer, in minutes: up to eight of them are added in 16 bits.
pub(crate) const LONGEST: i64 = 4_000;

/// No line has as many jobs, so that the innermost loops need not check their indices.
const ROOM: usize = 512;
const _: () = assert!(LARGEST < ROOM);

/// So many values of a table from one on.
#[inline]
fn window(table: &[i16], at: usize) -> &[i16; ROOM] {
    table[at..].first_chunk().unwrap_or(&[0; ROOM])
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
        let stride = row_length(n);
        let mut jobs = vec![n as u16; n + 2];
        (1..=n).for_each(|k| jobs[k] = k as u16 - 1);
        let m = n + 1;
        let (mut out, mut back) = (vec![0; m * m + ROOM], vec![0; m * m + ROOM]);
        for from in 0..m {
            for to in 0..m {
                out[from * m + to] = line.out[from * m + to] as i16;
                back[to * m + from] = out[from * m + to];
            }
        }
        let mut fresh = Self {
            line,
            job: jobs,
            place: (1..=n as u16 + 1).collect(),
            upto: vec![Upto { end: line.begin, ..Upto::default() }; n + 1],
            late: vec![(0, 0); n + 1],
            out,
            back,
            from: vec![0; (n + 2) * stride],
            link: vec![0; stride],
            stride,
            spare: Vec::with_capacity(n),
            spare_rows: Vec::with_capacity(n * stride),
        };
        fresh.look_up(1, n);
        fresh.refresh(1);
        fresh
    }

    /// Changeovers from position `k` to each position.
    #[inline]
    pub(crate) fn from(&self, k: usize) -> &[i16] {
        &self.from[k * self.stride..(k + 1) * self.stride]
    }

    /// Writes down the changeovers from each position to position `k`.
    #[inline]
    pub(crate) fn into(&self, k: usize, row: &mut [i16]) {
        let back = window(&self.back, usize::from(self.job[k]) * (self.line.n + 1));
        for (c, &j) in row.iter_mut().zip(&self.job[..=self.line.n]) {
            *c = back[usize::from(j) % ROOM];
        }
    }

    /// Changeovers between each position and the next.
    #[inline]
    pub(crate) fn link(&self) -> &[i16] {
        &self.link
    }

    /// Changeover between the jobs at two positions.
    #[inline]
    fn change(&self, from: usize, to: usize) -> i64 {
        i64::from(self.from[from * self.stride + to])
    }

    /// Completion of the last job.
    pub(crate) fn end(&self) -> i64 {
        self.upto[self.line.n].end
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
        self.look_up(first + 1, last + 1);
        self.refresh(first + 1);
    }

    /// Changeovers by position, after the jobs at `a..=c` have changed.
    fn look_up(&mut self, a: usize, c: usize) {
        let n = self.line.n;
        self.look_up_columns(a..c + 1, 0, n);
        self.look_up_columns(0..a, a, c);
        self.look_up_columns(c + 1..n + 1, a, c);
        self.relink(a, c);
    }

    /// Changeovers from some positions to those at `first..=last`.
    fn look_up_columns(&mut self, rows: Range<usize>, first: usize, last: usize) {
        let n = self.line.n;
        for k in rows {
            let out = window(&self.out, usize::from(self.job[k]) * (n + 1));
            let row = &mut self.from[k * self.stride..(k + 1) * self.stride];
            for (from, &j) in row[first..=last].iter_mut().zip(&self.job[first..=last]) {
                *from = out[usize::from(j) % ROOM];
            }
        }
    }

    /// Changeovers to the next position, after the jobs at `a..=c` have changed.
    fn relink(&mut self, a: usize, c: usize) {
        for k in a - 1..=c {
            self.link[k] = self.from[k * self.stride + k + 1];
        }
    }

    pub(crate) fn order(&self) -> &[u16] {
        &self.job[1..=self.line.n]
    }

    /// The whole cost of the order.
    pub(crate) fn cost(&self) -> i64 {
        let line = self.line;
        let mut cost = self.upto[line.n].paid;
        if line.flow > 0 {
            cost += line.flow * self.upto[1..=line.n].iter().map(|upto| upto.end).sum::<i64>();
        }
        if line.changeover > 0 {
            let work: i64 = line.minutes.iter().sum();
            cost += line.changeover * (self.end() - line.begin - work);
        }
        cost
    }

    /// Completions and sums anew, after the jobs from `first` on have changed.
    fn refresh(&mut self, first: usize) {
        let line = self.line;
        self.upto[first - 1].link = i64::from(self.link[first - 1]);
        let mut upto = self.upto[first - 1];
        for k in first..=line.n {
            let j = usize::from(self.job[k]);
            let w = line.weight[j];
            upto.end += upto.link + line.minutes[j];
            upto.link = i64::from(self.link[k]);
            let late = upto.end - line.due[j];
            upto.paid += w * late.max(0);
            upto.late += if late > 0 { w } else { 0 };
            upto.due += if late >= 0 { w } else { 0 };
            upto.weight += w;
            upto.behind += w * late;
            self.upto[k] = upto;
            self.late[k] = (w, late);
        }
    }

    /// No less than what shifting the positions `from + 1..=to` saves: cost over shift is convex, so it lies above its
    /// tangent at 0 and above what it would be if everything were late.
    #[inline]
    fn saves_at_most(from: &Upto, to: &Upto, shift: i64) -> i64 {
        let paid = to.paid - from.paid;
        let slope = if shift < 0 { to.late - from.late } else { to.due - from.due };
        let all_late = shift * (to.weight - from.weight) + (to.behind - from.behind);
        (-shift * slope).min(paid - all_late).min(paid)
    }

    /// What shifting the positions `from + 1..=to` saves.
    #[inline]
    fn saves(&self, from: usize, to: usize, shift: i64) -> i64 {
        let then: i64 = self.late[from + 1..=to].iter().map(|&(w, late)| w * (late + shift).max(0)).sum();
        self.upto[to].paid - self.upto[from].paid - then
    }

    /// What exchanging the neighbouring blocks `a..=b` and `b + 1..=c` saves, when it lengthens the whole by `rest`;
    /// `None` when a glance shows that it does not save more than `best`.
    #[inline]
    pub(crate) fn exchange(&self, a: usize, b: usize, c: usize, rest: i64, best: i64) -> Option<i64> {
        let n = self.line.n;
        let (before, one, two, last) = (&self.upto[a - 1], &self.upto[b], &self.upto[c], &self.upto[n]);
        // The second block begins where the first did.
        let second = before.end - one.end + self.change(a - 1, b + 1) - one.link;
        let first = two.end + second - before.end + self.change(c, a) - before.link;
        let (x, y, z) = ((b + 1 - a) as i64, (c - b) as i64, (n - c) as i64);
        let aside = self.line.flow * (first * x + second * y + rest * z) + self.line.changeover * rest + best;
        let hope = Self::saves_at_most(one, two, second) + Self::saves_at_most(two, last, rest) - aside;
        if hope + Self::saves_at_most(before, one, first) <= 0 {
            return None;
        }
        let moved = self.saves(a - 1, b, first);
        if hope + moved <= 0 {
            return None;
        }
        Some(moved + self.saves(b, c, second) + self.saves(c, n, rest) - aside + best)
    }

    /// What exchanging the blocks `a..=b` and `d..=c` saves, with at least one job between them, when it lengthens the
    /// whole by `rest`.
    #[inline]
    pub(crate) fn swap(&self, m: &Move, rest: i64, best: i64) -> Option<i64> {
        let n = self.line.n;
        let (a, b, d, c) = (m.a, m.b, m.d, m.c);
        let (before, one, between, two, last) =
            (&self.upto[a - 1], &self.upto[b], &self.upto[d - 1], &self.upto[c], &self.upto[n]);
        let second = before.end - between.end + self.change(a - 1, d) - between.link;
        let middle = two.end + second - one.end + self.change(c, b + 1) - one.link;
        let first = between.end + middle - before.end + self.change(d - 1, a) - before.link;
        let (x, y, z, o) = ((b + 1 - a) as i64, (d - b - 1) as i64, (c + 1 - d) as i64, (n - c) as i64);
        let aside = self.line.flow * (first * x + middle * y + second * z + rest * o)
            + self.line.changeover * rest
            + best;
        let hope = Self::saves_at_most(one, between, middle)
            + Self::saves_at_most(between, two, second)
            + Self::saves_at_most(two, last, rest)
            - aside;
        if hope + Self::saves_at_most(before, one, first) <= 0 {
            return None;
        }
        Some(
            self.saves(a - 1, b, first)
                + self.saves(b, d - 1, middle)
                + self.saves(d - 1, c, second)
                + self.saves(c, n, rest)
                - aside
                + best,
        )
    }

    /// Carry out an exchange.
    pub(crate) fn apply(&mut self, m: &Move) {
        m.exchange(&mut self.job, &mut self.place, &mut self.spare);
        // The rows move with their jobs; in each the columns of the exchanged jobs are looked up.
        let (n, row) = (self.line.n, |k: usize| k * self.stride);
        self.spare_rows.clear();
        for block in [m.d..m.c + 1, m.b + 1..m.d, m.a..m.b + 1] {
            self.spare_rows.extend_from_slice(&self.from[row(block.start)..row(block.end)]);
        }
        self.from[row(m.a)..row(m.c + 1)].copy_from_slice(&self.spare_rows);
        self.look_up_columns(0..n + 1, m.a, m.c);
        self.relink(m.a, m.c);
        self.refresh(m.a);
    }
}

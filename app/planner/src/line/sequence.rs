//! An order of jobs with sums by position that show at a glance which exchanges cannot save anything.
//!
//! A stretch of jobs that keeps its inner order and is shifted by δ minutes costs Σ w·max(0, late + δ), which is convex in δ.
//! So it costs no less than its tangent at 0 tells, and no less than if all of it were late: two products of sums by
//! position. An exchange shifts three or four stretches, each by a δ of its own; on seven public instances the tangents alone
//! refused 38 to 96 exchanges in a hundred, the more the more is late, both together 86 to 98, and the rest is summed up
//! job by job. Liao, Tsou and Huang (2012) and Subramanian, Battarra and Potts (2014) concatenate the functions of each
//! stretch instead; that tells every cost at once, but after each accepted move there is far more to rebuild than the n sums here.

use std::ops::{Range, Sub};

use wide::f64x4;

use super::lanes::row_length;
use super::problem::{LARGEST, Line};

/// An order under search.
#[derive(Clone, Debug)]
pub(crate) struct Sequence<'a> {
    pub(crate) line: &'a Line,
    /// `job[0]` is the node the line starts from; positions are `1..=n`.
    pub(crate) job: Vec<u16>,
    pub(crate) place: Vec<u16>,
    /// Completion of each position, in minutes after the line begins; `end[0]` is the beginning.
    end: Box<[f64; TABLE]>,
    /// Sums over the positions up to each; after the last one more, to which minutes of changeover are added.
    upto: Box<[Sums; TABLE]>,
    /// Weight of each position, and by how many minutes it is late (below 0 early).
    weight: Vec<f64>,
    late: Vec<f64>,
    minutes: Vec<f64>,
    due: Vec<f64>,
    weight_of: Vec<f64>,
    /// Changeovers by job, by row of the one before and by row of the one after.
    out: Vec<i16>,
    back: Vec<i16>,
    /// Changeover between the jobs at two positions, by row of the one before; the column `n + 1` is the end, 0.
    from: Vec<i16>,
    /// Changeover between each position and the next.
    link: Box<[i16; TABLE]>,
    stride: usize,
    spare: Vec<u16>,
    spare_rows: Vec<i16>,
}

/// Sums over some positions. All numbers here are whole and below 2⁵³ ([`super::problem::recognise`]), so nothing is rounded.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Sums {
    /// Lateness cost.
    paid: f64,
    /// What a minute costs of all that follows, late or not.
    flow: f64,
    /// The same with the weights of those that are late.
    pub(crate) late: f64,
    /// The same with the weights of those, too, that end in time to the minute.
    due: f64,
    /// The same with all weights.
    weight: f64,
    /// What they could be later at no cost: weights by minutes early.
    spare: f64,
}

impl Sub for Sums {
    type Output = Self;
    #[inline]
    fn sub(self, other: Self) -> Self {
        Self {
            paid: self.paid - other.paid,
            flow: self.flow - other.flow,
            late: self.late - other.late,
            due: self.due - other.due,
            weight: self.weight - other.weight,
            spare: self.spare - other.spare,
        }
    }
}

/// `f64::min` also looks for what is not a number.
#[inline]
fn less(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

impl Sums {
    /// No less than what it saves to begin so much later: cost over shift is convex, so it lies above its
    /// tangent at 0 and above what it would be if everything were late.
    #[inline]
    pub(crate) fn saves_at_most(&self, later: f64) -> f64 {
        let sooner = -later;
        let tangent = less(sooner * self.late, sooner * self.due);
        less(less(tangent, sooner * self.weight + self.spare), sooner * self.flow + self.paid)
    }
}

/// A stretch of jobs that keeps its inner order and begins later or, below 0, sooner.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Shifted {
    /// The position before the first.
    pub(crate) from: usize,
    pub(crate) to: usize,
    pub(crate) by: f64,
}

/// No changeover of a line with too many jobs to try every order is longer, in minutes: up to eight of them are added in 16 bits.
pub(crate) const LONGEST: i64 = 4_000;

/// No line has as many jobs, so that the innermost loops need not check their indices.
pub(crate) const ROOM: usize = 512;
/// Length of tables by position, with a few to read beyond.
pub(crate) const TABLE: usize = ROOM + 8;
const _: () = assert!(LARGEST < ROOM);

/// So many values of a table from one on.
#[inline]
fn window(table: &[i16], at: usize) -> &[i16; ROOM] {
    table[at..].first_chunk().unwrap_or(&[0; ROOM])
}

/// Picks what a table has for each of some jobs.
#[inline]
fn pick(table: &[i16; ROOM], jobs: &[u16], row: &mut [i16]) {
    let of = |&j: &u16| table[usize::from(j) % ROOM];
    let ((jobs, jobs_rest), (row, row_rest)) = (jobs.as_chunks::<8>(), row.as_chunks_mut::<8>());
    for (row, jobs) in row.iter_mut().zip(jobs) {
        *row = jobs.each_ref().map(of);
    }
    for (row, job) in row_rest.iter_mut().zip(jobs_rest) {
        *row = of(job);
    }
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
        let mut jobs = vec![n as u16; (n + 2).next_multiple_of(8)];
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
            end: Box::new([0.0; TABLE]),
            upto: Box::new(std::array::from_fn(|_| Sums::default())),
            weight: vec![0.0; n + 2],
            late: vec![0.0; n + 2],
            minutes: line.minutes.iter().map(|&m| m as f64).collect(),
            due: line.due.iter().map(|&d| (d - line.begin) as f64).collect(),
            weight_of: line.weight.iter().map(|&w| w as f64).collect(),
            out,
            back,
            from: vec![0; (n + 2) * stride + TABLE],
            link: Box::new([0; TABLE]),
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
    pub(crate) fn from(&self, k: usize) -> &[i16; TABLE] {
        self.from[k * self.stride..].first_chunk().unwrap_or(&[0; TABLE])
    }

    /// Writes down the changeovers from each position to position `k`.
    #[inline]
    pub(crate) fn into(&self, k: usize, row: &mut [i16]) {
        let back = window(&self.back, usize::from(self.job[k]) * (self.line.n + 1));
        let whole = (self.line.n + 1).next_multiple_of(8);
        pick(back, &self.job[..whole], &mut row[..whole]);
    }

    /// Changeovers between each position and the next.
    #[inline]
    pub(crate) fn link(&self) -> &[i16; TABLE] {
        &self.link
    }

    /// Completion at each position, in minutes after the line begins; 0 before the first.
    #[inline]
    pub(crate) fn end(&self) -> &[f64; TABLE] {
        &self.end
    }

    /// Sums over the positions up to each.
    #[inline]
    pub(crate) fn upto(&self) -> &[Sums; TABLE] {
        &self.upto
    }

    /// Take up another order; costs less the fewer positions differ.
    pub(crate) fn load(&mut self, order: &[u16]) {
        let Some((first, last)) = self.take_over(order) else { return };
        self.look_up(first, last);
        self.refresh(first);
    }

    /// Take up the order of another sequence of the same line, with all that is known of it.
    pub(crate) fn copy(&mut self, other: &Self) {
        let Some((first, last)) = self.take_over(other.order()) else { return };
        let (n, stride) = (self.line.n, self.stride);
        let mut copy = |range: Range<usize>| self.from[range.clone()].copy_from_slice(&other.from[range]);
        for k in (0..first).chain(last + 1..=n) {
            copy(k * stride + first..k * stride + last + 1);
        }
        copy(first * stride..(last + 1) * stride);
        self.link[first - 1..=last].copy_from_slice(&other.link[first - 1..=last]);
        self.end[first..=n].copy_from_slice(&other.end[first..=n]);
        self.upto[first..=n + 1].copy_from_slice(&other.upto[first..=n + 1]);
        self.weight[first..=n].copy_from_slice(&other.weight[first..=n]);
        self.late[first..=n].copy_from_slice(&other.late[first..=n]);
    }

    /// Takes over the jobs of an order and their places, and no more. Returns the first and the last position that were different.
    fn take_over(&mut self, order: &[u16]) -> Option<(usize, usize)> {
        let differs = |(mine, theirs): (&u16, &u16)| mine != theirs;
        let mine = &self.job[1..=order.len()];
        let first = mine.iter().zip(order).position(differs)?;
        let last = mine.iter().zip(order).rposition(differs)?;
        let (first, last) = (first + 1, last + 1);
        self.job[first..=last].copy_from_slice(&order[first - 1..last]);
        for k in first..=last {
            self.place[usize::from(self.job[k])] = k as u16;
        }
        Some((first, last))
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
            pick(out, &self.job[first..=last], &mut row[first..=last]);
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
        let mut cost = self.upto[line.n].paid as i64;
        if line.flow > 0 {
            cost +=
                line.flow * (self.end[1..=line.n].iter().sum::<f64>() as i64 + line.begin * line.n as i64);
        }
        if line.changeover > 0 {
            let work: i64 = line.minutes.iter().sum();
            cost += line.changeover * (self.end[line.n] as i64 - work);
        }
        cost
    }

    /// Completions and sums anew, after the jobs from `first` on have changed.
    fn refresh(&mut self, first: usize) {
        let n = self.line.n;
        let flow = self.line.flow as f64;
        let (mut end, mut upto) = (self.end[first - 1], self.upto[first - 1]);
        for k in first..=n {
            let j = usize::from(self.job[k]);
            let w = self.weight_of[j];
            end += f64::from(self.link[k - 1]) + self.minutes[j];
            let late = end - self.due[j];
            let paid = if late > 0.0 { w * late } else { 0.0 };
            upto.paid += paid;
            upto.flow += flow;
            upto.late += flow + if late > 0.0 { w } else { 0.0 };
            upto.due += flow + if late >= 0.0 { w } else { 0.0 };
            upto.weight += flow + w;
            upto.spare += paid - w * late;
            self.end[k] = end;
            self.upto[k] = upto;
            self.weight[k] = w;
            self.late[k] = late;
        }
        let changeover = self.line.changeover as f64;
        upto.flow += changeover;
        upto.late += changeover;
        upto.due += changeover;
        upto.weight += changeover;
        self.upto[n + 1] = upto;
    }

    /// What shifting a stretch saves.
    #[inline]
    pub(crate) fn saves(&self, s: &Shifted) -> f64 {
        let (weight, late) = (&self.weight[s.from + 1..=s.to], &self.late[s.from + 1..=s.to]);
        let (weights, weight_rest) = weight.as_chunks::<4>();
        let (lates, late_rest) = late.as_chunks::<4>();
        let by = f64x4::splat(s.by);
        let mut then = f64x4::ZERO;
        for (&w, &late) in weights.iter().zip(lates) {
            then += f64x4::from(w) * (f64x4::from(late) + by).fast_max(f64x4::ZERO);
        }
        let mut rest = 0.0;
        for (w, late) in weight_rest.iter().zip(late_rest) {
            let late = late + s.by;
            rest += if late > 0.0 { w * late } else { 0.0 };
        }
        let (from, to) = (&self.upto[s.from], &self.upto[s.to]);
        to.paid - from.paid - s.by * (to.flow - from.flow) - then.reduce_add() - rest
    }

    /// What shifting some stretches saves; `None` if that is no more than `best`. `at_most` tells what is known of
    /// each at a glance. The first stretch should be the one of which least is known.
    pub(crate) fn gain<const N: usize>(
        &self,
        stretches: [Shifted; N],
        at_most: [f64; N],
        best: f64,
    ) -> Option<f64> {
        let mut gain = at_most.iter().sum::<f64>();
        for (stretch, at_most) in stretches.iter().zip(at_most) {
            gain += self.saves(stretch) - at_most;
            if gain <= best {
                return None;
            }
        }
        Some(gain)
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

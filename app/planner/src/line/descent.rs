//! Downhill to an order that no exchange of two blocks betters.

use super::lanes::{Lanes, WORD, before, columns, row_length};
use super::problem::Line;
use super::sequence::{Move, Sequence};
use super::{Stop, Walk};

/// Blocks of up to so many jobs are moved over blocks of any length. Runs of one setup class are about that long on the
/// public instances; 8 misses moves that 13 finds, 20 costs more time than it gains.
pub(crate) const BLOCK: usize = 13;
/// Blocks of up to so many jobs are exchanged over what lies between.
pub(crate) const SWAP: usize = 2;

/// Exchanges that lengthen the whole by more than a mean changeover divided by this are passed over unseen (Subramanian and
/// Farias 2017 limit their search in the same way): on the public instances none of them was ever worth making.
const ALLOW: i64 = 2;

/// Which jobs are worth looking at again.
#[derive(Clone, Debug)]
pub(crate) struct Awake {
    flag: Vec<bool>,
    queue: Vec<u16>,
    pub(crate) allow: i32,
}

impl Awake {
    pub(crate) fn new(line: &Line) -> Self {
        let n = line.n;
        let allow = (line.out.iter().map(|&c| i64::from(c)).sum::<i64>() / ((n + 1) * n) as i64 / ALLOW)
            .max(5) as i32;
        Self { flag: vec![false; n + 1], queue: Vec::with_capacity(n), allow }
    }

    pub(crate) fn wake(&mut self, job: u16) {
        if usize::from(job) + 1 < self.flag.len() && !self.flag[usize::from(job)] {
            self.flag[usize::from(job)] = true;
            self.queue.push(job);
        }
    }

    /// Wake the job after each cut of a move that was carried out: moves are found by the first job of a block. The jobs
    /// before the cuts as well gain less than the time they take. `jobs` has the jobs at `1..=n` and something else around them.
    pub(crate) fn wake_cuts(&mut self, jobs: &[u16], m: &Move) {
        let y = m.c + 1 - m.d;
        let middle = m.d - m.b - 1;
        for cut in [m.a, m.a + y, m.a + y + middle, m.c + 1] {
            self.wake(jobs[cut]);
        }
    }

    /// Nothing is awake any more.
    pub(crate) fn sleep(&mut self) {
        self.queue.clear();
        self.flag.fill(false);
    }

    pub(crate) fn pop(&mut self) -> Option<u16> {
        let job = self.queue.pop()?;
        self.flag[usize::from(job)] = false;
        Some(job)
    }
}

/// A plain line under search.
#[derive(Clone, Debug)]
pub(crate) struct Plain<'a> {
    s: Sequence<'a>,
    awake: Awake,
    rows: Rows,
}

/// Room for rows by position.
#[derive(Clone, Debug)]
struct Rows {
    added: Vec<i16>,
    into: Vec<i16>,
}

impl<'a> Plain<'a> {
    pub(crate) fn new(line: &'a Line) -> Self {
        let row = || vec![0; row_length(line.n)];
        Self { s: Sequence::new(line), awake: Awake::new(line), rows: Rows { added: row(), into: row() } }
    }

    /// The best exchange in which a short block begins at `k`, if any gains. Exchanges that lengthen the whole by more than
    /// `allow` minutes are passed over unseen.
    pub(super) fn best_at(&mut self, k: usize, allow: i16) -> Option<Move> {
        let (s, rows) = (&self.s, &mut self.rows);
        let n = s.line.n;
        let mut best = Move::default();
        let (before_k, link) = (s.from(k - 1), s.link());
        // What it adds to let a block that begins with the one at `k` in after each position, but for what follows.
        s.into(k, &mut rows.added);
        for (into, link) in rows.added.iter_mut().zip(link) {
            *into -= link;
        }
        let added = &rows.added[..];
        // The block k..=b goes later, or earlier.
        for length in 1..=BLOCK.min(n + 1 - k) {
            let b = k + length - 1;
            let from_b = s.from(b);
            let fixed = before_k[b + 1] - link[k - 1] - link[b];
            for word in (0..=n).step_by(WORD) {
                let rest = Lanes::of(added, word) + Lanes::of(from_b, word + 1);
                let valid = before(k - 1, word) | (before(n + 1, word) & !before(b + 1, word));
                for i in columns(rest.at_most(allow - fixed) & valid, word) {
                    let rest = i64::from(fixed + added[i] + from_b[i + 1]);
                    let (a, last, c) = if i > b { (k, b, i) } else { (i + 1, k - 1, b) };
                    if let Some(gain) = s.exchange(a, last, c, rest, best.gain)
                        && gain > best.gain
                    {
                        best = Move { gain, a, b: last, d: last + 1, c };
                    }
                }
            }
        }
        // The block k..=b changes places with one of y jobs.
        for x in 1..=SWAP.min(n + 1 - k) {
            let b = k + x - 1;
            s.into(b + 1, &mut rows.into);
            let (into, from_b) = (&rows.into[..], s.from(b));
            let fixed = -link[k - 1] - link[b];
            for y in 1..=SWAP {
                for word in (0..=n).step_by(WORD) {
                    let rest = Lanes::of(added, word)
                        + Lanes::of(before_k, word + 1)
                        + Lanes::of(into, word + y)
                        + Lanes::of(from_b, word + 1 + y)
                        - Lanes::of(link, word + y);
                    let valid = before((k - 1).saturating_sub(y), word)
                        | (before(n + 1 - y, word) & !before(b + 1, word));
                    for i in columns(rest.at_most(allow - fixed) & valid, word) {
                        let rest = fixed + added[i] + before_k[i + 1] + into[i + y] + from_b[i + 1 + y]
                            - link[i + y];
                        let m = if i > b {
                            Move { gain: 0, a: k, b, d: i + 1, c: i + y }
                        } else {
                            Move { gain: 0, a: i + 1, b: i + y, d: k, c: b }
                        };
                        if let Some(gain) = s.swap(&m, i64::from(rest), best.gain)
                            && gain > best.gain
                        {
                            best = Move { gain, ..m };
                        }
                    }
                }
            }
        }
        (best.gain > 0).then_some(best)
    }
}

impl Walk for Plain<'_> {
    fn order(&self) -> &[u16] {
        self.s.order()
    }

    fn cost(&self) -> i64 {
        self.s.cost()
    }

    fn load(&mut self, order: &[u16]) {
        self.s.load(order);
    }

    fn wake(&mut self, job: u16) {
        self.awake.wake(job);
    }

    fn carry_out(&mut self, m: &Move) {
        self.s.apply(m);
        self.awake.wake_cuts(&self.s.job, m);
    }

    /// A descent takes a millisecond at most, so nobody asks the clock.
    fn descend(&mut self, _stop: Stop<'_>) {
        let allow = self.awake.allow as i16;
        while let Some(job) = self.awake.pop() {
            while let Some(best) = self.best_at(usize::from(self.s.place[usize::from(job)]), allow) {
                self.carry_out(&best);
            }
        }
    }
}

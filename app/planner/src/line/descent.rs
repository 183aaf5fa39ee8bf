//! Downhill to an order that no exchange of two blocks betters.

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
    buffer: Vec<i32>,
}

impl Awake {
    pub(crate) fn new(line: &Line) -> Self {
        let n = line.n;
        let allow = (line.out.iter().map(|&c| i64::from(c)).sum::<i64>() / ((n + 1) * n) as i64 / ALLOW)
            .max(5) as i32;
        Self { flag: vec![false; n + 1], queue: Vec::with_capacity(n), allow, buffer: Vec::new() }
    }

    pub(crate) fn wake(&mut self, job: u16) {
        if usize::from(job) + 1 < self.flag.len() && !self.flag[usize::from(job)] {
            self.flag[usize::from(job)] = true;
            self.queue.push(job);
        }
    }

    /// Wake the jobs on both sides of each cut of a move that was carried out.
    /// `jobs` has the jobs at `1..=n` and something else around them.
    pub(crate) fn wake_cuts(&mut self, jobs: &[u16], m: &Move) {
        let y = m.c + 1 - m.d;
        let middle = m.d - m.b - 1;
        for cut in [m.a, m.a + y, m.a + y + middle, m.c + 1] {
            self.wake(jobs[cut - 1]);
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
}

impl<'a> Plain<'a> {
    pub(crate) fn new(line: &'a Line) -> Self {
        Self { s: Sequence::new(line), awake: Awake::new(line) }
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
        let allow = self.awake.allow;
        let mut buffer = std::mem::take(&mut self.awake.buffer);
        while let Some(job) = self.awake.pop() {
            while let Some(best) =
                best_at(&self.s, usize::from(self.s.place[usize::from(job)]), allow, &mut buffer)
            {
                self.carry_out(&best);
            }
        }
        self.awake.buffer = buffer;
    }
}

/// The best exchange in which a short block begins or ends at `k`, if any gains. Exchanges that lengthen the whole by
/// more than `allow` minutes are passed over unseen.
fn best_at(s: &Sequence<'_>, k: usize, allow: i32, buffer: &mut Vec<i32>) -> Option<Move> {
    let n = s.line.n;
    let mut best = Move::default();
    let link = &s.link[..];
    // The block k..=b goes later, or earlier.
    for length in 1..=BLOCK.min(n + 1 - k) {
        let b = k + length - 1;
        let (into_k, from_b) = (s.into(k), s.from(b));
        if b < n {
            let fixed = s.from(k - 1)[b + 1] - link[k - 1] - link[b];
            let columns = into_k[b + 1..=n].iter().zip(&from_b[b + 2..]).zip(&link[b + 1..=n]);
            buffer.clear();
            buffer.extend(columns.map(|((into, from), link)| fixed + into + from - link));
            for (i, &rest) in buffer.iter().enumerate() {
                if rest <= allow {
                    let c = b + 1 + i;
                    if let Some(gain) = s.exchange(k, b, c, i64::from(rest), best.gain)
                        && gain > best.gain
                    {
                        best = Move { gain, a: k, b, d: b + 1, c };
                    }
                }
            }
        }
        if k > 1 {
            let fixed = s.from(k - 1)[b + 1] - link[k - 1] - link[b];
            let columns = into_k[..k - 1].iter().zip(&from_b[1..k]).zip(&link[..k - 1]);
            buffer.clear();
            buffer.extend(columns.map(|((into, from), link)| fixed + into + from - link));
            for (i, &rest) in buffer.iter().enumerate() {
                if rest <= allow {
                    let a = i + 1;
                    if let Some(gain) = s.exchange(a, k - 1, b, i64::from(rest), best.gain)
                        && gain > best.gain
                    {
                        best = Move { gain, a, b: k - 1, d: k, c: b };
                    }
                }
            }
        }
    }
    for x in 1..=SWAP {
        for y in 1..=SWAP {
            // The block at k changes places with a later one.
            let b = k + x - 1;
            if b + 1 + y <= n {
                let (d0, count) = (b + 2, n + 1 - y - (b + 1));
                let fixed = -link[k - 1] - link[b];
                let (begin, next, back, after) = (
                    &s.from(k - 1)[d0..],
                    &s.into(b + 1)[d0 + y - 1..],
                    &s.into(k)[d0 - 1..],
                    &s.from(b)[d0 + y..],
                );
                let (l1, l2) = (&link[d0 - 1..], &link[d0 + y - 1..]);
                buffer.clear();
                buffer.extend(
                    (0..count).map(|i| fixed + begin[i] + next[i] + back[i] + after[i] - l1[i] - l2[i]),
                );
                for (i, &rest) in buffer.iter().enumerate() {
                    if rest <= allow {
                        let d = d0 + i;
                        let m = Move { gain: 0, a: k, b, d, c: d + y - 1 };
                        if let Some(gain) = s.swap(&m, i64::from(rest), best.gain)
                            && gain > best.gain
                        {
                            best = Move { gain, ..m };
                        }
                    }
                }
            }
            // Or with an earlier one.
            let c = k + y - 1;
            if c <= n && k > x + 1 {
                let count = k - x - 1;
                let fixed = -link[k - 1] - link[c];
                let (begin, next, back, after) =
                    (&s.into(k)[..count], &s.from(c)[1 + x..], &s.from(k - 1)[1..], &s.into(c + 1)[x..]);
                let l2 = &link[x..];
                buffer.clear();
                buffer.extend(
                    (0..count).map(|i| fixed + begin[i] + next[i] + back[i] + after[i] - link[i] - l2[i]),
                );
                for (i, &rest) in buffer.iter().enumerate() {
                    if rest <= allow {
                        let m = Move { gain: 0, a: i + 1, b: i + x, d: k, c };
                        if let Some(gain) = s.swap(&m, i64::from(rest), best.gain)
                            && gain > best.gain
                        {
                            best = Move { gain, ..m };
                        }
                    }
                }
            }
        }
    }
    (best.gain > 0).then_some(best)
}

//! Downhill to an order that no exchange of two blocks betters.

use super::lanes::{Lanes, WORD, before, columns};
use super::problem::Line;
use super::sequence::{Move, ROOM, Sequence, Shifted, Sums, TABLE};
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
        loop {
            let job = self.queue.pop()?;
            if std::mem::take(&mut self.flag[usize::from(job)]) {
                return Some(job);
            }
        }
    }

    /// A job has been looked at as all stands now, so it need not be again, wherever it is in the queue.
    pub(crate) fn looked_at(&mut self, job: u16) {
        self.flag[usize::from(job)] = false;
    }
}

/// A plain line under search.
#[derive(Clone, Debug)]
pub(crate) struct Plain<'a> {
    s: Sequence<'a>,
    /// What was remembered last.
    kept: Sequence<'a>,
    awake: Awake,
    rows: Rows,
}

/// Room for rows by position, about a block that is let in after each of them.
#[derive(Clone, Debug)]
struct Rows {
    /// What it lengthens the changeovers, but for those to what follows.
    added: Box<[i16; TABLE]>,
    /// How much later its first job begins, if all before it stays where it is.
    moved: Box<[f64; TABLE]>,
    /// Changeovers to the job behind the block.
    into: Box<[i16; TABLE]>,
}

impl<'a> Plain<'a> {
    pub(crate) fn new(line: &'a Line) -> Self {
        let row = || Box::new([0; TABLE]);
        let s = Sequence::new(line);
        Self {
            kept: s.clone(),
            s,
            awake: Awake::new(line),
            rows: Rows { moved: Box::new([0.0; TABLE]), added: row(), into: row() },
        }
    }

    /// The best exchange in which a short block begins at `k`, if any gains. Exchanges that lengthen the whole by more than
    /// `allow` minutes are passed over unseen.
    pub(super) fn best_at(&mut self, k: usize, allow: i16) -> Option<Move> {
        let (s, rows) = (&self.s, &mut self.rows);
        let (n, k) = (s.line.n, k.clamp(1, ROOM - 1));
        let mut best = Best::default();
        let (before_k, link, end, upto) = (s.from(k - 1), s.link(), s.end(), s.upto());
        s.into(k, &mut rows.added[..]);
        let begins = end[(k - 1) % ROOM] + f64::from(link[(k - 1) % ROOM]);
        for (((added, link), moved), end) in
            rows.added.iter_mut().zip(&link[..]).zip(&mut rows.moved[..]).zip(&end[..=n])
        {
            *moved = end - begins + f64::from(*added);
            *added -= link;
        }
        let (added, moved) = (&*rows.added, &*rows.moved);
        let (head, whole) = (upto[(k - 1) % ROOM], upto[n % ROOM + 1]);
        let lengths = BLOCK.min(n + 1 - k);
        for word in (0..=n).step_by(WORD) {
            let into = Lanes::of(added, word);
            // Of each block what it lengthens the changeovers wherever it goes, and where it may go.
            let mut blocks = [(0, 0); BLOCK];
            for (b, (fixed, likely)) in (k..k + lengths).zip(&mut blocks) {
                *fixed = before_k[b + 1] - link[k - 1] - link[b];
                *likely = (into + Lanes::of(s.from(b), word + 1)).at_most(allow - *fixed);
            }
            let (sooner, later) = (before(k - 1, word), before(n + 1, word));
            for (b, (fixed, likely)) in (k..k + lengths).zip(blocks) {
                let b = b % ROOM;
                let from_b = s.from(b);
                let (block, tail) = (upto[b] - head, whole - upto[b]);
                // The block k..=b goes earlier.
                let longer = end[b] - end[k - 1] - f64::from(link[k - 1]);
                for i in columns(likely & sooner, word) {
                    let i = i % ROOM;
                    let rest = added[i] + from_b[i + 1];
                    let stretches = [
                        Shifted { from: i, to: k - 1, by: longer + f64::from(rest) },
                        Shifted { from: k - 1, to: b, by: moved[i] },
                        Shifted { from: b, to: n + 1, by: f64::from(fixed + rest) },
                    ];
                    best.look(
                        s,
                        stretches,
                        [head - upto[i], block, tail],
                        Move { gain: 0, a: i + 1, b: k - 1, d: k, c: b },
                    );
                }
                // Or later.
                let shorter = f64::from(before_k[b + 1] - link[b]) - (end[b] - end[k - 1]);
                for i in columns(likely & later & !before(b + 1, word), word) {
                    let i = i % ROOM;
                    let rest = fixed + added[i] + from_b[i + 1];
                    let stretches = [
                        Shifted { from: b, to: i, by: shorter },
                        Shifted { from: k - 1, to: b, by: shorter + moved[i] },
                        Shifted { from: i, to: n + 1, by: f64::from(rest) },
                    ];
                    best.look(
                        s,
                        stretches,
                        [upto[i] - upto[b], block, whole - upto[i]],
                        Move { gain: 0, a: k, b, d: b + 1, c: i },
                    );
                }
            }
        }
        // The block k..=b changes places with one of y jobs.
        for x in 1..=SWAP.min(n + 1 - k) {
            let b = k + x - 1;
            s.into(b + 1, &mut rows.into[..]);
            let b = b % ROOM;
            let (into, from_b) = (&*rows.into, s.from(b));
            let fixed = -link[k - 1] - link[b];
            let block = upto[b] - head;
            for y in 1..=SWAP {
                for word in (0..=n).step_by(WORD) {
                    let rest = Lanes::of(added, word)
                        + Lanes::of(before_k, word + 1)
                        + Lanes::of(into, word + y)
                        + Lanes::of(from_b, word + 1 + y)
                        - Lanes::of(link, word + y);
                    let likely = rest.at_most(allow - fixed);
                    let sooner = before((k - 1).saturating_sub(y), word);
                    for i in columns(likely & sooner, word) {
                        let i = i % ROOM;
                        let j = i + y;
                        let rest = fixed + added[i] + before_k[i + 1] + into[j] + from_b[j + 1] - link[j];
                        let second = moved[i];
                        let middle = second + end[b] - end[j] + f64::from(from_b[j + 1] - link[j]);
                        let first = middle + end[k - 1] - end[i] + f64::from(before_k[i + 1] - link[i]);
                        let stretches = [
                            Shifted { from: j, to: k - 1, by: middle },
                            Shifted { from: i, to: j, by: first },
                            Shifted { from: k - 1, to: b, by: second },
                            Shifted { from: b, to: n + 1, by: f64::from(rest) },
                        ];
                        let sums = [head - upto[j], upto[j] - upto[i], block, whole - upto[b]];
                        best.look(s, stretches, sums, Move { gain: 0, a: i + 1, b: j, d: k, c: b });
                    }
                    for i in columns(likely & before(n + 1 - y, word) & !before(b + 1, word), word) {
                        let i = i % ROOM;
                        let j = i + y;
                        let rest = fixed + added[i] + before_k[i + 1] + into[j] + from_b[j + 1] - link[j];
                        let second = end[k - 1] - end[i] + f64::from(before_k[i + 1] - link[i]);
                        let middle = second + end[j] - end[b] + f64::from(into[j] - link[b]);
                        let first = middle + moved[i];
                        let stretches = [
                            Shifted { from: b, to: i, by: middle },
                            Shifted { from: k - 1, to: b, by: first },
                            Shifted { from: i, to: j, by: second },
                            Shifted { from: j, to: n + 1, by: f64::from(rest) },
                        ];
                        let sums = [upto[i] - upto[b], block, upto[j] - upto[i], whole - upto[j]];
                        best.look(s, stretches, sums, Move { gain: 0, a: k, b, d: i + 1, c: j });
                    }
                }
            }
        }
        (best.gain > 0.0).then_some(Move { gain: best.gain as i64, ..best.m })
    }
}

/// The best exchange so far.
#[derive(Clone, Copy, Debug, Default)]
struct Best {
    gain: f64,
    m: Move,
}

impl Best {
    /// Look at an exchange that shifts some stretches, of which these are the sums: first at the tangents alone, which refuse most,
    /// all of them those towards sooner, since the others are no less steep.
    #[expect(
        clippy::inline_always,
        reason = "called as a function it makes a step a fifth more instructions"
    )]
    #[inline(always)]
    fn look<const N: usize>(&mut self, s: &Sequence<'_>, stretches: [Shifted; N], sums: [Sums; N], m: Move) {
        let mut hope = 0.0;
        for (sums, stretch) in sums.iter().zip(&stretches) {
            hope -= stretch.by * sums.late;
        }
        if hope <= self.gain {
            return;
        }
        let mut at_most = [0.0; N];
        let mut hope = 0.0;
        for ((at_most, sums), stretch) in at_most.iter_mut().zip(&sums).zip(&stretches) {
            *at_most = sums.saves_at_most(stretch.by);
            hope += *at_most;
        }
        if hope > self.gain
            && let Some(gain) = s.gain(stretches, at_most, self.gain)
        {
            *self = Self { gain, m };
        }
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

    fn keep(&mut self) {
        self.kept.copy(&self.s);
    }

    fn go_back(&mut self, _kept: &[u16]) {
        self.s.copy(&self.kept);
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
            self.awake.looked_at(job);
        }
    }
}

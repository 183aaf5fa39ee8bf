//! The best order that can be made of the arcs of many.
//!
//! A population holds nearly every arc of the best order long before anybody in it is that order, and crossing two members
//! at a time seldom puts them together. Here all of them are put on one net: a node is a job at a position near one it has
//! stood at, an arc leads from a job to one that has followed it somewhere. A walk through the net from the first position
//! to the last is an order, but for jobs it visits twice or not at all. Each visit earns a price, and subgradient steps
//! (Held, Wolfe and Crowder 1974) look for the prices at which the cheapest walk visits every job about once. That is the
//! relaxation of the state space (Christofides, Mingozzi and Toth 1981) with which Tanaka and Araki (2013) prove optima of
//! this problem; on the few arcs of a population it takes milliseconds. What it says is still to be paid after each node at
//! each minute then guides a beam search for an order that is one, as Cook and Seymour (2003) merge tours.
//!
//! Minutes are sampled, with straight lines between the samples, so what is still to be paid is close but no bound.

use super::Stop;
use super::problem::{LARGEST, Line, Walked};
use crate::rng::Rng;

/// Samples of the minutes at which a job may end at one position.
const SAMPLES: usize = 32;
/// A row of samples with room on either side, so that a shifted row can be read without asking where it ends.
const PADDED: usize = 3 * SAMPLES + 2;
/// A job may also stand so many positions before and after one where it has stood.
const NEAR: usize = 2;
/// Out of reach.
const NEVER: f32 = 1e30;

/// Subgradient steps of the first net, when nothing is known about the prices, and of the others.
const PASSES_FIRST: usize = 40;
const PASSES: usize = 35;
/// The step shrinks by this factor after so many passes without a better bound.
const SHRINK: f32 = 0.7;
const PATIENCE: usize = 5;
/// So much of the last direction goes into the next.
const MOMENTUM: f32 = 0.5;

/// Beginnings of orders that are followed at each position.
const BEAM: usize = 150;
/// Slots to tell that two of them hold the same jobs.
const SLOTS: usize = 1024;

const WORDS: usize = LARGEST.div_ceil(64);
type Jobs = [u64; WORDS];

/// Room for nets of one line, and the prices found so far.
#[derive(Clone, Debug)]
pub(crate) struct Merge<'a> {
    line: &'a Line,
    /// Numbers for each job among those done and as the last of them; combined they name what is begun (Zobrist 1970).
    names: Vec<[u64; 2]>,
    /// What a visit to each job earns; empty before the first net.
    price: Vec<f32>,
    /// The job of each node, layer by layer; the first is the node the line starts from.
    jobs: Vec<u16>,
    /// Where each layer begins; one more at the end.
    layers: Vec<usize>,
    arcs: Vec<Arc>,
    /// Where the arcs of each node begin; one more at the end.
    arcs_of: Vec<usize>,
    /// The first sample of each layer, in minutes.
    since: Vec<i64>,
    /// Minutes between samples.
    step: i64,
    /// What is still to be paid after each node, sampled, prices taken off.
    ahead: Vec<[f32; SAMPLES]>,
    /// The same before the jobs of one layer are done.
    before: Vec<f32>,
}

#[derive(Clone, Copy, Debug)]
struct Arc {
    to: u32,
    /// What the changeover costs.
    cost: f32,
    /// Where the row of the other end is read, and by which part of a step after a sample.
    at: u32,
    part: f32,
}

/// The beginning of an order.
#[derive(Clone, Copy, Debug)]
struct Begun {
    walked: Walked,
    /// Prices of the jobs to come.
    earn: f32,
    node: u32,
    done: Jobs,
    /// Names the jobs done.
    name: u64,
}

/// A way on from the beginning of an order.
#[derive(Clone, Copy, Debug)]
struct Way {
    /// What the whole would cost.
    whole: f32,
    earn: f32,
    walked: Walked,
    node: u32,
    from: u32,
}

impl<'a> Merge<'a> {
    /// About as many steps of the search take as long.
    pub(crate) const STEPS: u64 = 100;

    pub(crate) fn new(line: &'a Line) -> Self {
        let mut dice = Rng::new(0);
        Self {
            line,
            names: (0..line.n).map(|_| [dice.next(), dice.next()]).collect(),
            price: Vec::new(),
            jobs: Vec::new(),
            layers: Vec::new(),
            arcs: Vec::new(),
            arcs_of: Vec::new(),
            since: Vec::new(),
            step: 1,
            ahead: Vec::new(),
            before: Vec::new(),
        }
    }

    /// An order made of arcs of these that costs less than `below`, if one is found before `stop` says so.
    /// The first of them should be the best.
    pub(crate) fn best<'o>(
        &mut self,
        orders: impl Iterator<Item = &'o [u16]> + Clone,
        below: i64,
        stop: Stop<'_>,
    ) -> Option<Vec<u16>> {
        let first = orders.clone().next()?;
        let passes = if self.price.is_empty() { PASSES_FIRST } else { PASSES };
        if self.price.is_empty() {
            self.first_prices(first);
        }
        self.lay_out(orders);
        // Costs are whole numbers, but large ones are not exact in 32 bits.
        let under = below as f32 - 0.5;
        let bound = self.find_prices(under, passes, stop);
        let order = (bound < under).then(|| self.follow(under, stop))??;
        (self.line.cost(&order) < below).then_some(order)
    }

    /// A job is worth at first what the order saves without it.
    fn first_prices(&mut self, order: &[u16]) {
        let (line, whole) = (self.line, self.line.cost(order));
        self.price.resize(line.n, 0.0);
        for (k, &j) in order.iter().enumerate() {
            let without = line.follow(line.follow(line.start(), &order[..k]), &order[k + 1..]);
            self.price[usize::from(j)] = (whole - without.cost) as f32;
        }
    }

    /// Build the net.
    fn lay_out<'o>(&mut self, orders: impl Iterator<Item = &'o [u16]>) {
        let line = self.line;
        let (n, m) = (line.n, line.n + 1);
        let mut follows = vec![Vec::new(); m];
        let mut stands = vec![false; m * m];
        self.since.clear();
        self.since.resize(m, i64::MAX);
        let mut until = vec![i64::MIN; m];
        for order in orders {
            let (mut from, mut end) = (n, line.begin);
            for (k, &j) in (1..).zip(order) {
                let to = usize::from(j);
                if !follows[from].contains(&j) {
                    follows[from].push(j);
                }
                end += line.span[from * m + to];
                for near in k.max(NEAR + 1) - NEAR..=(k + NEAR).min(n) {
                    stands[near * m + to] = true;
                }
                self.since[k] = self.since[k].min(end);
                until[k] = until[k].max(end);
                from = to;
            }
        }
        let widest = (1..=n).map(|k| until[k] - self.since[k]).max().unwrap_or(0);
        self.step = widest / (SAMPLES as i64 - 3) + 1;
        for k in 1..=n {
            self.since[k] -= self.step;
        }
        self.since[0] = line.begin;

        self.jobs.clear();
        self.jobs.push(n as u16);
        self.layers.clear();
        self.layers.extend([0, 1]);
        self.arcs.clear();
        self.arcs_of.clear();
        self.arcs_of.push(0);
        let mut node = vec![u32::MAX; n];
        for k in 1..=n {
            node.fill(u32::MAX);
            let layer = self.jobs.len();
            for v in self.layers[k - 1]..layer {
                let from = usize::from(self.jobs[v]);
                for &j in follows[from].iter().filter(|&&j| stands[k * m + usize::from(j)]) {
                    let to = usize::from(j);
                    let span = line.span[from * m + to];
                    let shift = self.since[k - 1] + span - self.since[k];
                    let (whole, part) = (shift.div_euclid(self.step), shift.rem_euclid(self.step));
                    if whole >= SAMPLES as i64 {
                        continue;
                    }
                    let whole = whole.max(-(SAMPLES as i64));
                    if node[to] == u32::MAX {
                        node[to] = self.jobs.len() as u32;
                        self.jobs.push(j);
                    }
                    let row = (node[to] as usize - layer) * PADDED;
                    self.arcs.push(Arc {
                        to: node[to],
                        cost: (line.changeover * i64::from(line.out[from * m + to])) as f32,
                        at: (row as i64 + SAMPLES as i64 + whole) as u32,
                        part: part as f32 / self.step as f32,
                    });
                }
                self.arcs_of.push(self.arcs.len());
            }
            self.layers.push(self.jobs.len());
        }
        self.arcs_of.resize(self.jobs.len() + 1, self.arcs.len());
        self.ahead.resize(self.jobs.len(), [0.0; SAMPLES]);
    }

    /// Look for the prices that say most. Returns about what every order of the net
    /// then costs at least, or `below` or more as soon as it is that much.
    fn find_prices(&mut self, below: f32, passes: usize, stop: Stop<'_>) -> f32 {
        let n = self.line.n;
        let (mut bound, mut best) = (f32::NEG_INFINITY, self.price.clone());
        let mut towards = vec![0.0; n];
        let mut visits = vec![0i16; n];
        let (mut length, mut in_vain) = (1.0, 0);
        for _ in 0..passes {
            if stop() {
                break;
            }
            self.look_ahead();
            let found = self.ahead[0][0] + self.price.iter().sum::<f32>();
            if found > bound {
                bound = found;
                best.copy_from_slice(&self.price);
                in_vain = 0;
            } else {
                in_vain += 1;
                if in_vain == PATIENCE {
                    length *= SHRINK;
                    in_vain = 0;
                }
            }
            visits.fill(0);
            if bound >= below || !self.walk(&mut visits) || visits.iter().all(|&v| v == 1) {
                break;
            }
            let mut square = 0.0;
            for (t, &v) in towards.iter_mut().zip(&visits) {
                *t = MOMENTUM * *t + f32::from(1 - v);
                square += *t * *t;
            }
            let by = length * (below - found).max(1.0) / square.max(1.0);
            for (price, t) in self.price.iter_mut().zip(&towards) {
                *price += by * t;
            }
        }
        self.price = best;
        bound
    }

    /// What is still to be paid after each node, at the present prices.
    fn look_ahead(&mut self) {
        let (line, n) = (self.line, self.line.n);
        self.ahead[self.layers[n]..].fill([0.0; SAMPLES]);
        for k in (0..n).rev() {
            let (layer, next) = (self.layers[k]..self.layers[k + 1], self.layers[k + 1]..self.layers[k + 2]);
            self.before.clear();
            self.before.resize(next.len() * PADDED, NEVER);
            for (row, v) in self.before.chunks_exact_mut(PADDED).zip(next) {
                let j = usize::from(self.jobs[v]);
                let (weight, flow, step) = (line.weight[j] as f32, line.flow as f32, self.step as f32);
                let late = (self.since[k + 1] - line.due[j]) as f32;
                let aside = flow * self.since[k + 1] as f32 - self.price[j];
                let samples = row[SAMPLES..2 * SAMPLES].iter_mut().zip(&self.ahead[v]);
                for (x, (before, after)) in (0i16..).zip(samples) {
                    let minutes = step * f32::from(x);
                    let late = late + minutes;
                    let late = if late > 0.0 { late } else { 0.0 };
                    *before = weight * late + flow * minutes + aside + after;
                }
                // Who is there sooner pays no more.
                let first = row[SAMPLES];
                row[..SAMPLES].fill(first);
            }
            for v in layer {
                let mut least = [NEVER; SAMPLES];
                for arc in &self.arcs[self.arcs_of[v]..self.arcs_of[v + 1]] {
                    let row: &[f32; SAMPLES + 1] =
                        self.before[arc.at as usize..].first_chunk().unwrap_or(&[NEVER; SAMPLES + 1]);
                    for x in 0..SAMPLES {
                        let cost = row[x] + (row[x + 1] - row[x]) * arc.part + arc.cost;
                        least[x] = if cost < least[x] { cost } else { least[x] };
                    }
                }
                self.ahead[v] = least;
            }
        }
    }

    /// What is still to be paid after a node of a layer that ends at a minute.
    fn still(&self, layer: usize, node: u32, end: i64) -> f32 {
        let row = &self.ahead[node as usize];
        let after = (end - self.since[layer]).max(0) as f32 / self.step as f32;
        let x = after as usize;
        if x + 1 >= SAMPLES {
            return NEVER;
        }
        row[x] + (row[x + 1] - row[x]) * (after - x as f32)
    }

    fn arcs(&self, node: u32) -> &[Arc] {
        &self.arcs[self.arcs_of[node as usize]..self.arcs_of[node as usize + 1]]
    }

    /// Count the visits of the cheapest walk. Returns whether there is one.
    fn walk(&self, visits: &mut [i16]) -> bool {
        let (mut node, mut walked) = (0, self.line.start());
        for k in 1..=self.line.n {
            let mut best = (NEVER / 2.0, 0, walked);
            for arc in self.arcs(node) {
                let job = self.jobs[arc.to as usize];
                let next = self.line.follow(walked, &[job]);
                let cost = (next.cost - walked.cost) as f32 - self.price[usize::from(job)]
                    + self.still(k, arc.to, next.at);
                if cost < best.0 {
                    best = (cost, arc.to, next);
                }
            }
            if best.1 == 0 {
                return false;
            }
            (node, walked) = (best.1, best.2);
            visits[usize::from(self.jobs[node as usize])] += 1;
        }
        true
    }

    /// Follow the most promising beginnings from position to position. Returns the cheapest order found, if that is
    /// about less than `below`.
    fn follow(&mut self, below: f32, stop: Stop<'_>) -> Option<Vec<u16>> {
        let n = self.line.n;
        self.look_ahead();
        let due = self.last_chances();
        let begun = Begun {
            walked: self.line.start(),
            earn: self.price.iter().sum(),
            node: 0,
            done: [0; WORDS],
            name: 0,
        };
        let (mut beam, mut next) = (vec![begun], Vec::with_capacity(BEAM));
        let mut ways: Vec<Way> = Vec::new();
        let mut came: Vec<Vec<(u32, u16)>> = Vec::with_capacity(n);
        let mut slots = vec![(0, 0, 0); SLOTS];
        for (k, due) in due.iter().enumerate().skip(1) {
            if stop() {
                return None;
            }
            ways.clear();
            for (from, begun) in (0..).zip(&beam) {
                // Jobs that can stand here or never; two of them are one too many.
                let mut last = None;
                let mut lost = false;
                for (w, (due, done)) in due.iter().zip(&begun.done).enumerate() {
                    let missing = due & !done;
                    if missing != 0 {
                        lost |= last.is_some() || missing & (missing - 1) != 0;
                        last = Some(w * 64 + missing.trailing_zeros() as usize);
                    }
                }
                if lost {
                    continue;
                }
                for arc in self.arcs(begun.node) {
                    let job = usize::from(self.jobs[arc.to as usize]);
                    if begun.done[job / 64] >> (job % 64) & 1 == 1 || last.is_some_and(|last| last != job) {
                        continue;
                    }
                    let walked = self.line.follow(begun.walked, &[job as u16]);
                    let earn = begun.earn - self.price[job];
                    let whole = walked.cost as f32 + self.still(k, arc.to, walked.at) + earn;
                    if whole < below {
                        ways.push(Way { whole, earn, walked, node: arc.to, from });
                    }
                }
            }
            let most = 2 * BEAM;
            if ways.len() > most {
                ways.select_nth_unstable_by(most, |a, b| a.whole.total_cmp(&b.whole));
                ways.truncate(most);
            }
            ways.sort_unstable_by(|a, b| a.whole.total_cmp(&b.whole));
            slots.fill((0, 0, 0));
            next.clear();
            let mut came_here = Vec::with_capacity(BEAM);
            for way in &ways {
                let from: &Begun = &beam[way.from as usize];
                let job = usize::from(self.jobs[way.node as usize]);
                let [among, last] = self.names[job];
                let name = from.name ^ among;
                // The same jobs with the same one last, no later and no dearer.
                let key = name ^ last;
                let slot = &mut slots[key as usize % SLOTS];
                if slot.0 == key && slot.1 <= way.walked.at && slot.2 <= way.walked.cost {
                    continue;
                }
                *slot = (key, way.walked.at, way.walked.cost);
                let mut done = from.done;
                done[job / 64] |= 1 << (job % 64);
                next.push(Begun { walked: way.walked, earn: way.earn, node: way.node, done, name });
                came_here.push((way.from, job as u16));
                if next.len() == BEAM {
                    break;
                }
            }
            came.push(came_here);
            std::mem::swap(&mut beam, &mut next);
        }
        let (mut at, _) = (0..).zip(&beam).min_by_key(|(_, begun)| begun.walked.cost)?;
        let mut order = vec![0; n];
        for (job, came) in order.iter_mut().zip(&came).rev() {
            (at, *job) = came[at as usize];
        }
        Some(order)
    }

    /// The jobs that can stand at each position but at none after it, or have had to stand before.
    fn last_chances(&self) -> Vec<Jobs> {
        let n = self.line.n;
        let mut latest = vec![0; n];
        for k in 1..=n {
            for &j in &self.jobs[self.layers[k]..self.layers[k + 1]] {
                latest[usize::from(j)] = k;
            }
        }
        let mut due = vec![[0; WORDS]; n + 1];
        for (job, &latest) in latest.iter().enumerate() {
            for jobs in &mut due[latest..] {
                jobs[job / 64] |= 1 << (job % 64);
            }
        }
        due
    }
}

//! The net of jobs by position, its prices and what they say is still to be paid.

use std::ops::Range;

use super::super::Stop;
use super::super::problem::{Line, Walked};

/// Samples of the minutes at which a job may end at one position.
const SAMPLES: usize = 32;
/// A row of samples with room on either side, so that a shifted row can be read without asking where it ends.
const PADDED: usize = 3 * SAMPLES + 2;
/// A job may also stand so many positions before and after one where it has stood.
const NEAR: usize = 2;
/// Out of reach.
const NEVER: f32 = 1e30;

/// The step shrinks by this factor after so many passes without a better bound.
const SHRINK: f32 = 0.7;
const PATIENCE: usize = 5;
/// So much of the last direction goes into the next.
const MOMENTUM: f32 = 0.5;

/// Room for nets of one line, and the prices found so far.
#[derive(Clone, Debug)]
pub(super) struct Net<'a> {
    pub(super) line: &'a Line,
    /// What a visit to each job earns; empty before the first net.
    price: Vec<f32>,
    /// The job of each node, layer by layer; the first is the node the line starts from.
    jobs: Vec<u16>,
    /// Where each layer begins; one more at the end.
    layers: Vec<usize>,
    arcs: Vec<Arc>,
    /// Where the arcs of each node begin; one more at the end.
    arcs_of: Vec<usize>,
    /// Whether a job may follow another, by row of the one before.
    follows: Vec<bool>,
    /// The first sample of each layer, in minutes.
    since: Vec<i64>,
    /// Minutes between samples.
    step: i64,
    /// What is still to be paid after each node, sampled, prices taken off.
    ahead: Vec<[f32; SAMPLES]>,
    /// The same before the jobs of one layer are done.
    before: Vec<f32>,
    /// How many arcs were looked at, to tell how long it took.
    pub(super) looked: usize,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Arc {
    pub(super) to: u32,
    /// What the changeover costs.
    cost: f32,
    /// Where the row of the other end is read, and by which part of a step after a sample.
    at: u32,
    part: f32,
}

/// How far a walk through the net has come.
#[derive(Clone, Copy, Debug)]
pub(super) struct Way {
    pub(super) walked: Walked,
    /// Prices of the visits to come.
    pub(super) earn: f64,
    /// What the cheapest whole walk costs that begins so.
    pub(super) whole: f64,
    pub(super) node: u32,
}

impl Way {
    /// Whether any walk through the net begins so.
    pub(super) fn is_there(&self) -> bool {
        self.whole < f64::from(NEVER) / 2.0
    }
}

impl<'a> Net<'a> {
    pub(super) fn new(line: &'a Line) -> Self {
        Self {
            line,
            price: Vec::new(),
            jobs: Vec::new(),
            layers: Vec::new(),
            arcs: Vec::new(),
            arcs_of: Vec::new(),
            follows: Vec::new(),
            since: Vec::new(),
            step: 1,
            ahead: Vec::new(),
            before: Vec::new(),
            looked: 0,
        }
    }

    /// Whether nothing is known about the prices.
    pub(super) fn is_new(&self) -> bool {
        self.price.is_empty()
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

    /// Build the net of some orders, the best of them first, with pairs of neighbours from outside.
    pub(super) fn lay_out<'o>(
        &mut self,
        orders: impl Iterator<Item = &'o [u16]> + Clone,
        outside: &[(u16, u16)],
    ) {
        let line = self.line;
        let (n, m) = (line.n, line.n + 1);
        if let (true, Some(first)) = (self.is_new(), orders.clone().next()) {
            self.first_prices(first);
        }
        let mut after = vec![Vec::new(); m];
        self.follows.clear();
        self.follows.resize(m * m, false);
        for &(from, to) in outside {
            self.follows[usize::from(from) * m + usize::from(to)] = true;
            after[usize::from(from)].push(to);
        }
        let mut stands = vec![false; m * m];
        self.since.clear();
        self.since.resize(m, i64::MAX);
        let mut until = vec![i64::MIN; m];
        for order in orders {
            let (mut from, mut end) = (n, line.begin);
            for (k, &j) in (1..).zip(order) {
                let to = usize::from(j);
                if !self.follows[from * m + to] {
                    self.follows[from * m + to] = true;
                    after[from].push(j);
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
                for &j in after[from].iter().filter(|&&j| stands[k * m + usize::from(j)]) {
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
    /// then costs at least, or `below` or more as soon as it is that much. What is still to be paid is known at these prices then.
    pub(super) fn find_prices(&mut self, below: f64, passes: usize, stop: Stop<'_>) -> f64 {
        let n = self.line.n;
        let (mut bound, mut best) = (f64::NEG_INFINITY, self.price.clone());
        let mut towards = vec![0.0; n];
        let mut visits = vec![0i16; n];
        let (mut length, mut in_vain) = (1.0, 0);
        for _ in 0..passes {
            if stop() {
                break;
            }
            self.look_ahead();
            let found = self.start().whole;
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
            let by = length * ((below - found) as f32).max(1.0) / square.max(1.0);
            for (price, t) in self.price.iter_mut().zip(&towards) {
                *price += by * t;
            }
        }
        self.price = best;
        self.look_ahead();
        bound
    }

    /// What is still to be paid after each node, at the present prices.
    fn look_ahead(&mut self) {
        let (line, n) = (self.line, self.line.n);
        self.looked += self.arcs.len();
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
    pub(super) fn still(&self, layer: usize, node: u32, end: i64) -> f32 {
        let row = &self.ahead[node as usize];
        let after = (end - self.since[layer]).max(0) as f32 / self.step as f32;
        let x = after as usize;
        if x + 1 >= SAMPLES {
            return NEVER;
        }
        row[x] + (row[x + 1] - row[x]) * (after - x as f32)
    }

    /// Before the first position.
    pub(super) fn start(&self) -> Way {
        let earn = self.price.iter().copied().map(f64::from).sum();
        Way { walked: self.line.start(), earn, whole: f64::from(self.ahead[0][0]) + earn, node: 0 }
    }

    /// On to a node of a layer.
    #[inline]
    pub(super) fn go(&self, layer: usize, way: &Way, node: u32) -> Way {
        let job = self.job(node);
        let walked = self.line.follow(way.walked, &[job]);
        let earn = way.earn - f64::from(self.price[usize::from(job)]);
        let whole = walked.cost as f64 + f64::from(self.still(layer, node, walked.at)) + earn;
        Way { walked, earn, whole, node }
    }

    /// Whether an arc leads from a job to another, wherever they stand.
    pub(super) fn follows(&self, from: u16, to: u16) -> bool {
        self.follows[usize::from(from) * (self.line.n + 1) + usize::from(to)]
    }

    /// The jobs of a layer.
    pub(super) fn layer(&self, layer: usize) -> &[u16] {
        &self.jobs[self.layers[layer]..self.layers[layer + 1]]
    }

    /// The nodes of a layer.
    pub(super) fn nodes(&self, layer: usize) -> Range<u32> {
        self.layers[layer] as u32..self.layers[layer + 1] as u32
    }

    /// Which part of the minutes of a layer, in so many equal ones, a minute is in.
    pub(super) fn part(&self, layer: usize, end: i64, parts: usize) -> usize {
        let sample = (end - self.since[layer]).max(0) / self.step;
        (sample as usize * parts / SAMPLES).min(parts - 1)
    }

    pub(super) fn job(&self, node: u32) -> u16 {
        self.jobs[node as usize]
    }

    pub(super) fn arcs(&self, node: u32) -> &[Arc] {
        &self.arcs[self.arcs_of[node as usize]..self.arcs_of[node as usize + 1]]
    }

    /// Count the visits of the cheapest walk. Returns whether there is one.
    fn walk(&self, visits: &mut [i16]) -> bool {
        let mut way = self.start();
        for layer in 1..=self.line.n {
            let ways = self.arcs(way.node).iter().map(|arc| self.go(layer, &way, arc.to));
            match ways.min_by(|a, b| a.whole.total_cmp(&b.whole)) {
                Some(next) if next.is_there() => way = next,
                _ => return false,
            }
            visits[usize::from(self.job(way.node))] += 1;
        }
        true
    }
}

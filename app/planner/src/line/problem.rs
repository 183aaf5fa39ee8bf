//! The line as numbers, and recognising it inside a shop.

use crate::model::Shop;

/// Jobs `0..n` in any order, starting from the node `n`, which stands for what is mounted at the beginning.
#[derive(Clone, Debug)]
pub(crate) struct Line {
    pub(crate) n: usize,
    /// Minute at which the first changeover may begin.
    pub(crate) begin: i64,
    /// `span[from * (n + 1) + to]`: changeover from one job to the next plus the minutes of the next.
    pub(crate) span: Vec<i64>,
    /// The same without the minutes of the next.
    pub(crate) out: Vec<i32>,
    /// `out` with rows and columns exchanged.
    pub(crate) back: Vec<i32>,
    pub(crate) minutes: Vec<i64>,
    pub(crate) due: Vec<i64>,
    /// Cost of a minute late, in units of 1/`scale`.
    pub(crate) weight: Vec<i64>,
    /// Cost of a minute between release and completion, of every job alike.
    pub(crate) flow: i64,
    /// Cost of a minute of changeover.
    pub(crate) changeover: i64,
    /// No order costs less, so a search that gets there is done.
    pub(crate) enough: i64,
}

/// Larger lines are left to the general search: the look-up tables grow with the square of the jobs.
const LARGEST: usize = 300;

/// Costs are kept as whole multiples of 2⁻²⁰ at the finest.
const FINEST: f64 = 1_048_576.0;

/// The line in a shop, if it is nothing but one: a single station in use, always open, one operation a job and no
/// choice, everything there from the beginning, somebody always able to attend, nothing pinned, dressed or compared
/// with a standing plan.
pub(crate) fn recognise(shop: &Shop) -> Option<Line> {
    let n = shop.ops.len();
    if n < 2 || n != shop.jobs.len() || n > LARGEST || !shop.fixed.is_empty() || shop.alts.len() != n {
        return None;
    }
    let station = shop.alts[0].station;
    let model = &shop.stations[usize::from(station)];
    let dressed = model.table.as_ref().is_some_and(|t| t.dress.iter().any(|&(every, _)| every > 0));
    if model.basin > 1 || !model.hours.always() || dressed {
        return None;
    }
    let moved = shop.weights.moved > 0.0;
    for op in 0..n as u32 {
        let alt = shop.alts_of(op)[0];
        let job = &shop.jobs[shop.ops[op as usize].job as usize];
        let attended =
            || (0..shop.people.len()).any(|p| shop.people[p].hours.always() && shop.may(p, alt.skill));
        if alt.station != station
            || job.release > shop.now
            || (moved && shop.ops[op as usize].standing.is_some())
            || (shop.staffed && (alt.attended > alt.minutes || !attended()))
        {
            return None;
        }
    }
    let w = shop.weights;
    let costs = || shop.jobs.iter().map(|j| w.tardiness * j.weight).chain([w.flow, w.changeover]);
    let mut scale = 1.0;
    while scale < FINEST && costs().any(|c| (c * scale).fract() != 0.0) {
        scale *= 2.0;
    }
    let whole = |c: f64| (c * scale).round() as i64;
    let setup = |op: usize| shop.alts[op].setup;
    let m = n + 1;
    let mut line = Line {
        n,
        begin: shop.now,
        span: vec![0; m * m],
        out: vec![0; m * m],
        back: vec![0; m * m],
        minutes: shop.alts.iter().map(|a| a.minutes).collect(),
        due: shop.jobs.iter().map(|j| j.due).collect(),
        weight: shop.jobs.iter().map(|j| whole(w.tardiness * j.weight)).collect(),
        flow: whole(w.flow),
        changeover: whole(w.changeover),
        enough: 0,
    };
    for from in 0..m {
        let mounted = if from == n { model.mounted } else { setup(from) };
        for to in 0..n {
            // Without dressing the count does not matter.
            let c = model.change(mounted, 0, setup(to)).0;
            line.out[from * m + to] = c as i32;
            line.back[to * m + from] = c as i32;
            line.span[from * m + to] = c + line.minutes[to];
        }
    }
    let longest: i64 = (0..n).map(|to| (0..m).map(|from| line.span[from * m + to]).max().unwrap_or(0)).sum();
    let furthest = line.due.iter().map(|d| d.abs()).max().unwrap_or(0) + line.begin.abs() + longest;
    let dearest: i64 =
        line.weight.iter().map(|&w| w.max(1)).sum::<i64>() + line.flow * n as i64 + line.changeover;
    // Sums must stay exact.
    (dearest.checked_mul(furthest)? < i64::MAX / 4).then_some(line)
}

impl Line {
    /// What a whole order costs, from scratch.
    pub(crate) fn cost(&self, order: &[u16]) -> i64 {
        let m = self.n + 1;
        let (mut at, mut from, mut cost) = (self.begin, self.n, 0);
        for &job in order {
            let job = usize::from(job);
            cost += self.changeover * i64::from(self.out[from * m + job]);
            at += self.span[from * m + job];
            cost += self.weight[job] * (at - self.due[job]).max(0) + self.flow * at;
            from = job;
        }
        cost
    }
}

//! The line as numbers, and recognising it inside a shop.

use super::breed::TRY_ALL;
use super::rounds::{MOST, NEVER, Rounds};
use super::sequence::LONGEST;
use crate::hours::Hours;
use crate::model::{Alt, OpModel, Shop};

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
    /// Set where an order must be timed job by job.
    pub(crate) rounds: Option<Rounds>,
}

/// Larger lines are left to the general search: the look-up tables grow with the square of the jobs.
pub(crate) const LARGEST: usize = 300;

/// Costs are kept as whole multiples of 2⁻²⁰ at the finest.
const FINEST: f64 = 1_048_576.0;

/// The same where every order is timed job by job.
const LARGEST_ROUNDS: usize = 100;

/// The line in a shop, if it is nothing but one: one operation a job, without a choice, nothing pinned or compared with a
/// standing plan, and either a single station in use or a single person who does everything and stands by all the time.
pub(crate) fn recognise(shop: &Shop) -> Option<Line> {
    let n = shop.ops.len();
    if n < 2 || n != shop.jobs.len() || n > LARGEST || !shop.fixed.is_empty() || shop.alts.len() != n {
        return None;
    }
    let moved = shop.weights.moved > 0.0;
    let compared = |op: &OpModel| moved && op.standing.is_some();
    let shared = |alt: &Alt| shop.stations[usize::from(alt.station)].basin > 1;
    if shop.ops.iter().any(compared) || shop.alts.iter().any(shared) {
        return None;
    }
    let hands = one_pair_of_hands(shop)?;
    let w = shop.weights;
    let costs = || shop.jobs.iter().map(|j| w.tardiness * j.weight).chain([w.flow, w.changeover]);
    let mut scale = 1.0;
    while scale < FINEST && costs().any(|c| (c * scale).fract() != 0.0) {
        scale *= 2.0;
    }
    let whole = |c: f64| (c * scale).round() as i64;
    let m = n + 1;
    let mut line = Line {
        n,
        begin: shop.now,
        span: vec![0; m * m],
        out: vec![0; m * m],
        minutes: shop.alts.iter().map(|a| a.minutes).collect(),
        due: shop.jobs.iter().map(|j| j.due).collect(),
        weight: shop.jobs.iter().map(|j| whole(w.tardiness * j.weight)).collect(),
        flow: whole(w.flow),
        changeover: whole(w.changeover),
        enough: 0,
        rounds: None,
    };
    for to in 0..n {
        let into = changes_into(shop, to);
        for (from, &c) in into.iter().enumerate() {
            line.out[from * m + to] = c as i32;
            line.span[from * m + to] = c + line.minutes[to];
        }
    }
    let dearest = line.longest();
    line.rounds = rounds(shop, hands, line.begin + dearest);
    if line.rounds.is_some() && n > LARGEST_ROUNDS {
        return None;
    }
    if n > TRY_ALL && line.out.iter().any(|&c| i64::from(c) > LONGEST) {
        return None;
    }
    let closing = |h: &Hours| h.windows().last().map_or(0, |w| w.1).min(FURTHEST);
    let last = line.rounds.iter().flat_map(|r| r.hours.iter().flatten()).map(closing).max().unwrap_or(0);
    let furthest = line.due.iter().map(|d| d.abs()).max().unwrap_or(0) + line.begin.abs() + dearest + last;
    let dearest: i64 =
        line.weight.iter().map(|&w| w.max(1)).sum::<i64>() + line.flow * n as i64 + line.changeover;
    // Sums must stay exact, and below what is never paid.
    (dearest.checked_mul(furthest)? < NEVER).then_some(line)
}

/// No window an instance names ends later.
const FURTHEST: i64 = 1_000_000_000;

/// The hours in which everything must be done, beside those of the stations, if it is done one after the other.
fn one_pair_of_hands(shop: &Shop) -> Option<Hours> {
    let always = Some(Hours::new(None));
    let single = shop.alts.iter().all(|a| a.station == shop.alts[0].station);
    if single && !shop.staffed {
        return always;
    }
    let able = |alt: &Alt| (0..shop.people.len()).filter(|&p| shop.may(p, alt.skill)).collect::<Vec<_>>();
    let there = |alt: &Alt| able(alt).iter().any(|&p| shop.people[p].hours.always());
    if single && shop.alts.iter().all(|a| a.attended <= a.minutes && there(a)) {
        return always;
    }
    let [person] = able(&shop.alts[0])[..] else {
        return None;
    };
    let only = |alt: &Alt| able(alt) == [person] && alt.attended == alt.minutes;
    shop.alts.iter().all(only).then(|| shop.people[person].hours.clone())
}

/// Changeover into an operation after each of the others, and from what is mounted at the beginning. What is done at
/// another station changes nothing here; the mean stands for it where only neighbours are looked at.
fn changes_into(shop: &Shop, to: usize) -> Vec<i64> {
    let (n, alt) = (shop.ops.len(), shop.alts[to]);
    let model = &shop.stations[usize::from(alt.station)];
    let here = |from: &usize| shop.alts[*from].station == alt.station;
    // Without dressing the count does not matter.
    let mut into: Vec<i64> = (0..n).map(|from| model.change(shop.alts[from].setup, 0, alt.setup).0).collect();
    into.push(model.change(model.mounted, 0, alt.setup).0);
    let known = || (0..n).filter(here).filter(|&from| from != to).chain([n]);
    let mean = known().map(|from| into[from]).sum::<i64>() / known().count() as i64;
    for from in (0..n).filter(|from| !here(from)) {
        into[from] = mean;
    }
    into
}

/// What is needed to time orders job by job; `None` if who comes before whom tells everything. Nothing ends after `end`.
fn rounds(shop: &Shop, hands: Hours, end: i64) -> Option<Rounds> {
    let n = shop.ops.len();
    let mut stations: Vec<u16> = shop.alts.iter().map(|a| a.station).collect();
    stations.sort_unstable();
    stations.dedup();
    let number = |station: u16| stations.partition_point(|&s| s < station);
    let covers = |h: &Hours| h.windows().iter().any(|&(from, to)| from <= shop.now && end <= to);
    let hours: Vec<Hours> =
        stations.iter().map(|&s| shop.stations[usize::from(s)].hours.together(&hands)).collect();
    let release: Vec<i64> = shop.jobs.iter().map(|j| j.release).collect();
    let clock = !hours.iter().all(covers) || release.iter().any(|&r| r > shop.now);
    let loads = |alt: &Alt| {
        shop.alts.iter().filter(|a| (a.station, a.setup) == (alt.station, alt.setup)).count() as u32
    };
    let dress = |alt: &Alt| {
        let table = shop.stations[usize::from(alt.station)].table.as_ref();
        let (every, minutes) = table.map_or((0, 0), |t| t.dress[usize::from(alt.setup)]);
        // So few are never dressed for.
        if every >= loads(alt) { (0, 0) } else { (every as u16, minutes) }
    };
    let dress: Vec<(u16, i64)> = shop.alts.iter().map(dress).collect();
    let constant = |to: usize| {
        let (model, alt) = (&shop.stations[usize::from(shop.alts[to].station)], shop.alts[to]);
        let fresh = model.change(model.mounted, 0, alt.setup).0;
        (0..n)
            .filter(|&from| from != to && shop.alts[from].station == alt.station)
            .all(|from| model.change(shop.alts[from].setup, 0, alt.setup).0 == fresh)
    };
    let remembers = stations.len() > 1 && !(0..n).all(constant);
    let dressed = dress.iter().any(|&(every, _)| every > 0);
    if !(clock || remembers || dressed) || stations.len() > MOST {
        return None;
    }
    Some(Rounds {
        station: shop.alts.iter().map(|a| number(a.station) as u8).collect(),
        setup: shop.alts.iter().map(|a| a.setup).collect(),
        dress,
        release,
        hours: clock.then_some(hours),
    })
}

impl Line {
    /// The line of some of its jobs, numbered as they stand there.
    pub(crate) fn only(&self, jobs: &[u16]) -> Self {
        let nodes: Vec<usize> = jobs.iter().map(|&j| usize::from(j)).chain([self.n]).collect();
        let pairs = || nodes.iter().flat_map(|&from| nodes.iter().map(move |&to| from * (self.n + 1) + to));
        let of = |all: &[i64]| jobs.iter().map(|&j| all[usize::from(j)]).collect();
        Self {
            n: jobs.len(),
            span: pairs().map(|k| self.span[k]).collect(),
            out: pairs().map(|k| self.out[k]).collect(),
            minutes: of(&self.minutes),
            due: of(&self.due),
            weight: of(&self.weight),
            rounds: None,
            ..*self
        }
    }

    /// No order takes more minutes, each job after its longest changeover; none waits for hours, dressing or pieces that come late.
    fn longest(&self) -> i64 {
        let m = self.n + 1;
        (0..self.n).map(|to| (0..m).map(|from| self.span[from * m + to]).max().unwrap_or(0)).sum()
    }

    /// Which jobs of a plain line cost nothing wherever they stand.
    pub(crate) fn costless(&self) -> Vec<bool> {
        let end = self.begin + self.longest();
        let nothing = self.flow == 0 && self.changeover == 0;
        (0..self.n).map(|j| nothing && (self.weight[j] == 0 || end <= self.due[j])).collect()
    }

    /// Whether it is quicker anywhere from one job to another by way of this one, its own minutes counted.
    pub(crate) fn shortens(&self, job: u16) -> bool {
        let (m, via) = (self.n + 1, usize::from(job));
        let others = || (0..m).filter(|&node| node != via);
        let shorter = |from: usize, to: usize| {
            from != to
                && self.span[from * m + via] + i64::from(self.out[via * m + to])
                    < i64::from(self.out[from * m + to])
        };
        others().any(|from| others().any(|to| to < self.n && shorter(from, to)))
    }

    /// Whether any move is told by look-ups, or there are so few jobs that every order is tried.
    pub(crate) fn quick(&self) -> bool {
        self.rounds.is_none() || self.n <= TRY_ALL
    }

    /// What a whole order costs, from scratch.
    pub(crate) fn cost(&self, order: &[u16]) -> i64 {
        if let Some(rounds) = &self.rounds {
            return rounds.cost(self, order);
        }
        self.follow(self.start(), order).cost
    }

    /// Before the first job of a plain line.
    pub(crate) fn start(&self) -> Walked {
        Walked { at: self.begin, cost: 0, last: self.n as u16 }
    }

    /// What comes of a plain line when these jobs follow.
    #[inline]
    pub(crate) fn follow(&self, walked: Walked, jobs: &[u16]) -> Walked {
        let m = self.n + 1;
        let Walked { mut at, mut cost, mut last } = walked;
        for &job in jobs {
            let (from, j) = (usize::from(last), usize::from(job));
            cost += self.changeover * i64::from(self.out[from * m + j]);
            at += self.span[from * m + j];
            cost += self.weight[j] * (at - self.due[j]).max(0) + self.flow * at;
            last = job;
        }
        Walked { at, cost, last }
    }
}

/// How far a plain line has come.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Walked {
    /// The last job ends here.
    pub(crate) at: i64,
    /// What the jobs so far cost.
    pub(crate) cost: i64,
    /// The last job, or the node from which the line starts.
    last: u16,
}

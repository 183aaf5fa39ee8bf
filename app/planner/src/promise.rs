//! When a new job would be ready: by insertion into the plan that stands, with the odds of keeping that promise.

use crate::hours::FAR;
use crate::model::{NIL, NONE};
use crate::rng::Rng;
use crate::standing::Standing;
use crate::{Complaint, Instance, Job, Minute, Placed, Plan};

/// How far real durations scatter around planned ones, as learned from finished work.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scatter {
    /// Standard deviation of the natural logarithm of actual over planned minutes; 0 is clockwork, 0.25 an ordinary bench.
    pub spread: f64,
    /// How many times the plan is played through; 64 gives the 90th percentile to a few per cent.
    pub runs: usize,
    /// Where the dice begin.
    pub seed: u64,
}

impl Default for Scatter {
    fn default() -> Self {
        Self { spread: 0.25, runs: 64, seed: 1 }
    }
}

/// When a job would be ready.
#[derive(Clone, Debug, PartialEq)]
pub struct Promise {
    /// When its last operation ends if everything takes as long as planned.
    pub completion: Minute,
    /// Ready by then in 50, 80, 90 and 95 of 100 plays of the plan, never before `completion` except by luck.
    pub p50: Minute,
    /// See `p50`.
    pub p80: Minute,
    /// See `p50`: a fair promise.
    pub p90: Minute,
    /// See `p50`.
    pub p95: Minute,
    /// Where its operations would stand; nothing else moves.
    pub operations: Vec<Placed>,
}

/// The plan that stands, played through many times with scattered durations.
#[derive(Clone, Debug)]
pub struct Outlook {
    scatter: Scatter,
    /// `ends[run][station][load]`: when each load really ended; people's hands are free with it.
    ends: Vec<Vec<Vec<Minute>>>,
}

/// When a new job would be ready, all in one: opens the standing plan, plays it through, fits the job in.
/// Ask [`Standing`] and [`Outlook`] instead when many jobs are asked about one plan.
///
/// # Errors
/// The instance cannot be met, the plan is not one for it, or the job fits nowhere.
pub fn promise(
    instance: &Instance,
    standing: &Plan,
    job: &Job,
    scatter: Scatter,
) -> Result<Promise, Vec<Complaint>> {
    let standing = Standing::open(instance, standing)?;
    let outlook = standing.outlook(scatter);
    standing.promise(job, &outlook).map_err(|c| vec![c])
}

impl Standing {
    /// Play the plan through with scattered durations. Costs about a millisecond a run for 10,000 operations.
    pub fn outlook(&self, scatter: Scatter) -> Outlook {
        let mut rng = Rng::new(scatter.seed);
        let runs = if scatter.spread > 0.0 { scatter.runs.max(1) } else { 1 };
        let mut order: Vec<(Minute, usize, usize)> = Vec::new();
        for (station, loads) in self.loads.iter().enumerate() {
            order.extend(loads.iter().enumerate().map(|(k, l)| (l.start, station, k)));
        }
        order.sort_unstable();
        let ends = (0..runs).map(|_| self.play(&order, scatter.spread, &mut rng)).collect();
        Outlook { scatter, ends }
    }

    /// One play: every load keeps its place in the queue and starts when station, person and pieces are there.
    fn play(&self, order: &[(Minute, usize, usize)], spread: f64, rng: &mut Rng) -> Vec<Vec<Minute>> {
        let shop = &self.shop;
        let mut ends: Vec<Vec<Minute>> = self.loads.iter().map(|l| vec![0; l.len()]).collect();
        let mut done = vec![0; shop.ops.len()];
        let mut person_free = vec![-FAR; shop.people.len()];
        for &(_, station, k) in order {
            let load = &self.loads[station][k];
            let c = load.start - load.changeover_start;
            let mut ready = shop.now + c;
            if k > 0 {
                ready = ready.max(ends[station][k - 1] + c);
            }
            if load.person != NONE {
                ready = ready.max(person_free[usize::from(load.person)] + c);
            }
            for &op in &load.ops {
                let before = shop.before(op);
                ready = ready.max(if before == NIL {
                    shop.jobs[shop.ops[op as usize].job as usize].release
                } else {
                    done[before as usize] + shop.ops[before as usize].lag
                });
            }
            let minutes = scattered(load.end - load.start, spread, rng);
            let begun = load.pinned && load.start <= shop.now;
            let start = if begun {
                load.start
            } else {
                shop.stations[station].hours.fit(ready, c, minutes, &mut 0).unwrap_or(ready)
            };
            let end = if begun { (load.start + minutes).max(shop.now) } else { start + minutes };
            ends[station][k] = end;
            if load.person != NONE {
                person_free[usize::from(load.person)] =
                    end.min(start + load.attended.max(minutes.min(load.attended)));
            }
            for &op in &load.ops {
                done[op as usize] = end;
            }
        }
        ends
    }

    /// When a new job would be ready if nothing that stands moves.
    ///
    /// # Errors
    /// It names something this shop does not have, or fits nowhere.
    pub fn promise(&self, job: &Job, outlook: &Outlook) -> Result<Promise, Complaint> {
        let steps = self.steps(job)?;
        let fits = self.fit(job.release, &steps).map_err(|k| {
            Complaint::of_job(
                &job.id,
                format!("operations[{k}]"),
                format!("no window is long enough for operation {k} of \"{}\"", job.id),
            )
        })?;
        let completion = fits.last().map_or(job.release, |f| f.end);
        let mut rng = Rng::new(outlook.scatter.seed ^ 0xA5A5);
        let mut ready: Vec<Minute> = outlook
            .ends
            .iter()
            .map(|ends| {
                let mut at = job.release.max(self.shop.now);
                for (f, step) in fits.iter().zip(&steps) {
                    let station = usize::from(f.station);
                    let c = f.start - f.changeover_start;
                    if f.joins {
                        at = at.max(ends[station][f.place]) + step.lag;
                        continue;
                    }
                    let before = f.place.checked_sub(1).map_or(-FAR, |p| ends[station][p]);
                    let minutes = scattered(f.end - f.start, outlook.scatter.spread, &mut rng);
                    let from = at.max(before + c);
                    let start =
                        self.shop.stations[station].hours.fit(from, c, minutes, &mut 0).unwrap_or(from);
                    // People plan their day: a step is not begun before its planned minute.
                    at = start.max(f.start) + minutes + step.lag;
                }
                at - steps.last().map_or(0, |s| s.lag)
            })
            .collect();
        ready.sort_unstable();
        let share = |p: usize| ready[(ready.len() * p / 100).min(ready.len() - 1)];
        Ok(Promise {
            completion,
            p50: share(50),
            p80: share(80),
            p90: share(90),
            p95: share(95),
            operations: self.placed(job, &fits),
        })
    }
}

/// Planned minutes as they might turn out: log-normal around what was planned, at least one.
fn scattered(minutes: Minute, spread: f64, rng: &mut Rng) -> Minute {
    if spread <= 0.0 {
        return minutes;
    }
    ((minutes as f64 * (spread * rng.normal()).exp()).round() as Minute).max(1)
}

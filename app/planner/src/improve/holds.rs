//! Standing later than need be: where it pays to hold a load back.

use super::Improve;
use crate::Minute;
use crate::hours::FAR;
use crate::model::{NIL, NONE};

impl Improve<'_> {
    pub(super) fn set_hold(&mut self) -> Option<usize> {
        if self.trial.order.is_empty() {
            return None;
        }
        let at = self.some_position();
        let leader = self.trial.order[at];
        let members: Vec<u32> = self.trial.members(leader).collect();
        let op = members[self.rng.below(members.len())];
        let o = &self.shop.ops[op as usize];
        let alt = self.shop.alts[self.trial.alt[op as usize] as usize];
        let job = &self.shop.jobs[o.job as usize];
        let fixed = &self.shop.stations[usize::from(alt.station)].fixed;
        let late = self.as_late_as_may_be(at, false);
        let hold: Minute = match self.rng.below(8) {
            6 => self.times.start[op as usize] + self.some_shift(at),
            0 => -FAR,
            1 if o.index + 1 == job.len => job.due - alt.minutes,
            2 if !fixed.is_empty() => self.shop.fixed[fixed[self.rng.below(fixed.len())] as usize].end,
            3 => late,
            5 => self.as_late_as_may_be(at, true).min(o.standing.unwrap_or(FAR)),
            4 => late.min(o.standing.unwrap_or(late)),
            _ => o.standing.unwrap_or(-FAR),
        };
        let hold = match self.rng.below(3) {
            0 => self.within_hours(leader, hold).unwrap_or(hold),
            _ => hold,
        };
        if hold == self.trial.hold[op as usize] {
            return None;
        }
        self.trial.hold[op as usize] = hold;
        Some(self.times.place[op as usize] as usize)
    }

    /// By how much something from a position on would have to move to stand where it stood.
    fn some_shift(&mut self, at: usize) -> Minute {
        let n = self.trial.order.len();
        let leader = self.trial.order[at + self.rng.below(n - at)];
        let shift = |op: u32| self.shop.ops[op as usize].standing.map(|s| s - self.times.start[op as usize]);
        self.trial.members(leader).find_map(shift).unwrap_or(0)
    }

    /// Where what stands late or early by choice is best held, for the order and choices of the best draft: one load after
    /// the other is offered every start that would bring it, or something behind it, to where it stood, or to its due date.
    pub(super) fn settle(&mut self) {
        let best = self.best.clone();
        self.take_up(best);
        let mut improved = true;
        while improved && !self.done() {
            improved = false;
            for at in (0..self.known.order.len()).rev() {
                let leader = self.known.order[at];
                for hold in self.starts_worth_trying(at) {
                    self.trial.copy_from(&self.known);
                    let members: Vec<u32> = self.trial.members(leader).collect();
                    for op in members {
                        self.trial.hold[op as usize] = hold;
                    }
                    if self.trial_times.lay_out(self.shop, &self.trial).less(self.times.score) {
                        std::mem::swap(&mut self.known, &mut self.trial);
                        self.times.lay_out(self.shop, &self.known);
                        self.note();
                        improved = true;
                    }
                }
            }
        }
    }

    fn starts_worth_trying(&self, at: usize) -> Vec<Minute> {
        let leader = self.known.order[at];
        let start = self.times.start[leader as usize];
        let mut starts = vec![-FAR];
        for op in self.known.order[at..].iter().flat_map(|&l| self.known.members(l)) {
            let o = &self.shop.ops[op as usize];
            let job = &self.shop.jobs[o.job as usize];
            starts.extend(o.standing.map(|s| start + s - self.times.start[op as usize]));
            if o.index + 1 == job.len {
                starts.push(start + job.due - self.times.end[op as usize]);
            }
        }
        starts.push(self.as_late_as_may_be(at, false));
        starts.push(self.as_late_as_may_be(at, true));
        // Where that is after hours, the last moment before.
        for k in 1..starts.len() {
            starts.push(self.within_hours(leader, starts[k]).unwrap_or(-FAR));
        }
        starts.sort_unstable();
        starts.dedup();
        starts
    }

    /// The latest start of a load; unless it `pushes` what follows: before whatever follows at its station, in its routes and for
    /// who attends it, and before closing time.
    fn as_late_as_may_be(&self, at: usize, pushes: bool) -> Minute {
        let leader = self.known.order[at];
        let l = leader as usize;
        let alt = self.shop.alts[self.known.alt[l] as usize];
        let (start, end, person) = (self.times.start[l], self.times.end[l], self.times.person[l]);
        let attended = self.attended(leader);
        let mut latest = FAR / 1000;
        let (mut next_here, mut next_turn) = (pushes, pushes || person == NONE);
        for &other in &self.known.order[at + 1..] {
            let begin = self.times.changeover_start[other as usize];
            if !next_here && self.shop.alts[self.known.alt[other as usize] as usize].station == alt.station {
                latest = latest.min(begin - (end - start));
                next_here = true;
            }
            if !next_turn && self.times.person[other as usize] == person {
                latest = latest.min(begin - attended);
                next_turn = true;
            }
            if next_here && next_turn {
                break;
            }
        }
        for op in self.known.members(leader) {
            let before = self.shop.before(op);
            if before != NIL {
                latest = latest.min(self.times.end[before as usize] + self.shop.ops[before as usize].max_lag);
            }
            let after = self.shop.after(op);
            if after != NIL {
                latest = latest
                    .min(self.times.start[after as usize] - self.shop.ops[op as usize].lag - (end - start));
            }
        }
        self.within_hours(leader, latest).unwrap_or(start).max(start)
    }

    /// The latest start up to `latest` at which a load would lie within the hours of its station and of who attends it.
    fn within_hours(&self, leader: u32, latest: Minute) -> Option<Minute> {
        let l = leader as usize;
        let (start, person) = (self.times.start[l], self.times.person[l]);
        let c = start - self.times.changeover_start[l];
        let station = usize::from(self.shop.alts[self.known.alt[l] as usize].station);
        let fits = self.shop.stations[station].hours.fit_back(latest, c, self.times.end[l] - start)?;
        if person == NONE {
            return Some(fits);
        }
        self.shop.people[usize::from(person)].hours.fit_back(fits, c, self.attended(leader))
    }

    fn attended(&self, leader: u32) -> Minute {
        let attended = |op: u32| self.shop.alts[self.known.alt[op as usize] as usize].attended;
        self.known.members(leader).map(attended).max().unwrap_or(0)
    }
}

//! One pair of hands that goes round several stations, or a line that has to mind the clock.
//!
//! The work is still one order, but what a job costs depends on more than who comes before it: every station keeps what is
//! mounted while the hands are elsewhere, wheels are dressed after so many loads, stations close, pieces arrive late. Such
//! an order is timed job by job ([`Rounds::step`]).

use super::problem::Line;
use crate::hours::Hours;

/// Stations at most; their state is copied for every order that is timed.
pub(crate) const MOST: usize = 12;

/// What an order costs that runs out of opening hours, for every job that does. 300 of them still fit a sum.
pub(crate) const NEVER: i64 = 1 << 50;

/// What is needed to time an order job by job.
#[derive(Clone, Debug)]
pub(crate) struct Rounds {
    /// The station of each job, and its setup there.
    pub(crate) station: Vec<u8>,
    pub(crate) setup: Vec<u16>,
    /// After so many loads (0 is never) so many minutes of dressing, by job.
    pub(crate) dress: Vec<(u16, i64)>,
    pub(crate) release: Vec<i64>,
    /// When station and hands are both there, by station; `None` where neither closes and no piece arrives late.
    pub(crate) hours: Option<Vec<Hours>>,
}

/// Stations and hands between two jobs.
#[derive(Clone, Copy, Debug)]
pub(crate) struct State {
    /// The hands are free from here on.
    pub(crate) at: i64,
    /// What the jobs so far cost.
    pub(crate) cost: i64,
    /// The last job at each station, or the node from which the line starts.
    pub(crate) last: [u16; MOST],
    /// Loads of its setup since it was mounted or dressed.
    since: [u16; MOST],
    /// Where the last window was found.
    hint: u32,
}

impl State {
    /// Whether from here on everything goes as from another, only earlier or later.
    pub(crate) fn goes_as(&self, other: &Self) -> bool {
        self.last == other.last && self.since == other.since
    }

    pub(crate) fn begin(line: &Line) -> Self {
        Self { at: line.begin, cost: 0, last: [line.n as u16; MOST], since: [0; MOST], hint: 0 }
    }
}

impl Rounds {
    /// Whether all jobs are done at one station.
    pub(crate) fn one_station(&self) -> bool {
        self.station.iter().all(|&s| s == self.station[0])
    }

    /// Do one job next. Returns its changeover.
    #[inline]
    pub(crate) fn step(&self, line: &Line, state: &mut State, job: u16) -> i64 {
        let j = usize::from(job);
        let s = usize::from(self.station[j]) % MOST;
        let from = usize::from(state.last[s]);
        let mut c = i64::from(line.out[from * (line.n + 1) + j]);
        let (every, minutes) = self.dress[j];
        if every > 0 {
            let same = from < line.n && self.setup[from] == self.setup[j];
            if !same {
                state.since[s] = 0;
            } else if state.since[s] >= every {
                state.since[s] = 0;
                c += minutes;
            }
            state.since[s] += 1;
        }
        state.last[s] = job;
        let (end, cost) = self.take(line, j, state.at, c, &mut state.hint);
        state.at = end;
        state.cost += cost;
        c
    }

    /// When a job with that changeover ends if the hands are free at a minute, and what it then costs.
    #[inline]
    pub(crate) fn take(&self, line: &Line, job: usize, at: i64, c: i64, hint: &mut u32) -> (i64, i64) {
        let minutes = line.minutes[job];
        let end = match &self.hours {
            None => Some(at + c + minutes),
            Some(hours) => {
                let ready = self.release[job].max(at + c);
                hours[usize::from(self.station[job])].fit(ready, c, minutes, hint).map(|s| s + minutes)
            }
        };
        let never = if end.is_none() { NEVER } else { 0 };
        let end = end.unwrap_or(at);
        let late = line.weight[job] * (end - line.due[job]).max(0);
        (end, never + line.changeover * c + late + line.flow * end)
    }

    /// What a whole order costs.
    pub(crate) fn cost(&self, line: &Line, order: &[u16]) -> i64 {
        let mut state = State::begin(line);
        for &job in order {
            self.step(line, &mut state, job);
        }
        state.cost
    }
}

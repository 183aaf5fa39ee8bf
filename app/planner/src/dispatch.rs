//! A first plan: always start next what is most pressing, counting what its changeover costs.
//!
//! The index is apparent tardiness cost with setups (Lee, Bhaskaran and Pinedo 1997), with the remaining work of the
//! route taken off the due date as Vepsalainen and Morton (1987) do for job shops. The two scale factors are arguments;
//! the search tries a few, since how tight an instance is decides which serve it.

use crate::Minute;
use crate::bench::{Bench, Need, Spot};
use crate::draft::Draft;
use crate::hours::FAR;
use crate::model::{Alt, NIL, NONE, Shop};

/// How the index looks ahead.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sight {
    /// Look-ahead in mean operation lengths; larger makes due dates count earlier.
    pub(crate) due: f64,
    /// Look-ahead in mean changeover lengths; smaller makes runs longer.
    pub(crate) setup: f64,
    /// Expected wait before each later operation, in multiples of its own length.
    pub(crate) wait: f64,
    /// A changeover is put off until so many pieces wait for its setup or one of them has no more than `slack` minutes
    /// left; 0 never waits.
    pub(crate) run: u32,
    /// See `run`.
    pub(crate) slack: f64,
}

impl Sight {
    /// What suits an instance at first sight. The look-ahead of three operation lengths is in the middle of what the
    /// literature recommends; where due dates spread over weeks, a fiftieth of their spread keeps the index from
    /// calling everything equally far away.
    pub(crate) fn plain(shop: &Shop) -> Self {
        let due = |f: fn(Minute, Minute) -> Minute| shop.jobs.iter().map(|j| j.due).reduce(f).unwrap_or(0);
        let spread = (due(Minute::max) - due(Minute::min)) as f64;
        Self { due: (spread / 50.0 / mean_minutes(shop)).max(3.0), setup: 0.5, wait: 2.0, run: 0, slack: 0.0 }
    }
}

/// The mean length of an operation.
fn mean_minutes(shop: &Shop) -> f64 {
    let minutes: f64 = shop.alts.iter().map(|a| a.minutes as f64).sum();
    (minutes / shop.alts.len().max(1) as f64).max(1.0)
}

/// At most so many of the most urgent candidates of a station are weighed at once. Past it the urgent end of the queue
/// decides; far fewer lose runs, more only cost time.
const QUEUE: usize = 32;

struct Dispatch<'a> {
    shop: &'a Shop,
    sight: Sight,
    bench: Bench,
    begin: Vec<Minute>,
    end: Vec<Minute>,
    /// Minutes to keep free before a longest wait ends.
    room: Minute,
    hold: Vec<Minute>,
    /// Operations waiting at each station, by latest sensible start.
    queues: Vec<Vec<Waiting>>,
    /// How many pieces wait for each setup of each station.
    crowd: Vec<Vec<u32>>,
    mean_minutes: f64,
    mean_change: f64,
}

#[derive(Clone, Copy)]
struct Waiting {
    op: u32,
    alt: u32,
    ready: Minute,
    /// The due date less all work after this operation.
    due: f64,
    /// It must start by then.
    by: Minute,
}

/// Lay out everything by the index; the order in which loads were started is the draft.
///
/// Pieces that waited too long for their next operation are held back and everything is laid out again, each time with
/// more room before the longest wait ends; the layout with the fewest such pieces is the answer.
pub(crate) fn dispatch(shop: &Shop, sight: Sight) -> Draft {
    let mut hold = vec![-FAR; shop.ops.len()];
    let mut draft = Draft::new(shop);
    let mut best: Option<(usize, Draft)> = None;
    for room in ROOM {
        let waited = lay_out(shop, sight, room, &mut hold, &mut draft);
        if best.as_ref().is_none_or(|(least, _)| waited < *least) {
            best = Some((waited, draft.clone()));
        }
        if waited == 0 {
            break;
        }
    }
    best.map_or(draft, |(_, draft)| draft)
}

/// Minutes kept free before a longest wait ends, in each layout: about what a few changeovers and loads of others can
/// take. Much more makes pieces wait for the next day without need.
const ROOM: [Minute; 2] = [60, 120];

/// One layout; returns how many pieces waited too long, and notes in `hold` by how much each should have started later.
fn lay_out(shop: &Shop, sight: Sight, room: Minute, hold: &mut Vec<Minute>, draft: &mut Draft) -> usize {
    let n = shop.ops.len();
    let (mut change, mut changes) = (0.0, 0.0);
    for table in shop.stations.iter().filter_map(|s| s.table.as_ref()) {
        change += table.minutes.iter().map(|&m| m as f64).sum::<f64>();
        changes += (table.size * table.size - table.size).max(1) as f64;
    }
    let mut run = Dispatch {
        shop,
        sight,
        bench: Bench::new(shop),
        begin: vec![0; n],
        end: vec![0; n],
        hold: std::mem::take(hold),
        room,
        queues: vec![Vec::new(); shop.stations.len()],
        crowd: shop.stations.iter().map(|s| vec![0; s.setups.len()]).collect(),
        mean_minutes: mean_minutes(shop),
        mean_change: (change / f64::max(changes, 1.0)).max(0.5),
    };
    *draft = Draft::new(shop);
    let mut left = vec![false; n];
    for (op, o) in (0u32..).zip(&shop.ops) {
        if o.fixed != NIL {
            run.end[op as usize] = shop.fixed[o.fixed as usize].end;
        }
    }
    for job in &shop.jobs {
        run.enqueue_from(job.first);
    }
    while let Some((station, at)) = run.next_choice() {
        run.start(draft, station, at, &mut left);
    }
    draft.hold.clone_from(&run.hold);
    let mut waited = 0;
    for op in 0..n as u32 {
        let before = shop.before(op);
        if before == NIL || shop.ops[before as usize].fixed != NIL {
            continue;
        }
        let fixed = shop.ops[op as usize].fixed;
        let start = if fixed == NIL { run.begin[op as usize] } else { shop.fixed[fixed as usize].start };
        let too_long = start - run.end[before as usize] - shop.ops[before as usize].max_lag;
        if too_long > 0 {
            waited += 1;
            run.hold[before as usize] = run.begin[before as usize] + too_long;
        }
    }
    *hold = run.hold;
    waited
}

impl Dispatch<'_> {
    /// Put the first operation from `op` on that is not fixed into the queues of the stations it can be done on.
    fn enqueue_from(&mut self, mut op: u32) {
        while self.shop.ops[op as usize].fixed != NIL {
            op = self.shop.after(op);
            if op == NIL {
                return;
            }
        }
        let o = &self.shop.ops[op as usize];
        let job = &self.shop.jobs[o.job as usize];
        let (ready, by) = if o.index == 0 {
            (job.release, FAR)
        } else {
            let before = &self.shop.ops[op as usize - 1];
            (self.end[op as usize - 1] + before.lag, self.end[op as usize - 1].saturating_add(before.max_lag))
        };
        let ready = ready.max(self.hold[op as usize]);
        let mut rest = 0.0;
        let mut later = self.shop.after(op);
        while later != NIL {
            let minutes = self.shop.alts_of(later).iter().map(|a| a.minutes).min().unwrap_or(0) as f64;
            rest += minutes * (1.0 + self.sight.wait) + self.shop.ops[later as usize - 1].lag as f64;
            later = self.shop.after(later);
        }
        for alt in o.from..o.to {
            let a = &self.shop.alts[alt as usize];
            let by = if by < FAR {
                // The last moment is within opening hours.
                let station = &self.shop.stations[usize::from(a.station)];
                station.hours.fit_back(by, station.least_into(a.setup), a.minutes).unwrap_or(by)
            } else {
                by
            };
            let waiting = Waiting { op, alt, ready, due: job.due as f64 - rest - a.minutes as f64, by };
            self.crowd[usize::from(a.station)][usize::from(a.setup)] += 1;
            let queue = &mut self.queues[usize::from(a.station)];
            let place = queue.partition_point(|w| w.due <= waiting.due);
            queue.insert(place, waiting);
        }
    }

    /// The station and the waiting operation to start next: of all that can start soonest, the most pressing.
    fn next_choice(&mut self) -> Option<(usize, usize)> {
        let someone = self.bench.people.iter().map(|p| p.free).min().unwrap_or(-FAR).max(self.shop.now);
        // First the soonest minute anything can start, then what presses most within that minute.
        let mut soonest = FAR;
        for (station, queue) in self.queues.iter().enumerate() {
            let free = self.bench.stations[station].free.max(someone);
            if free >= soonest {
                continue;
            }
            let mut ready = FAR;
            for w in queue {
                ready = ready.min(self.ready(station, w));
                if ready <= free {
                    break;
                }
            }
            if !queue.is_empty() {
                soonest = soonest.min(free.max(ready));
            }
        }
        let mut best: Option<(Minute, f64, usize, usize)> = None;
        for station in 0..self.queues.len() {
            let free = self.bench.stations[station].free.max(someone);
            if free > soonest && best.is_some() {
                continue;
            }
            let mut weighed = 0;
            for k in 0..self.queues[station].len() {
                let w = self.queues[station][k];
                let ready = self.ready(station, &w);
                if ready.max(free) > soonest && best.is_some_and(|(start, ..)| ready.max(free) > start) {
                    continue;
                }
                weighed += 1;
                if weighed > QUEUE {
                    break;
                }
                let Some(spot) = self.try_spot(&w, w.ready) else {
                    continue;
                };
                let index = self.pressing(&w, &spot);
                // Within the reach of one changeover a more pressing piece is worth waiting for.
                let better = best.is_none_or(|(start, value, ..)| {
                    spot.changeover_start < start || (spot.changeover_start == start && index > value)
                });
                if better {
                    best = Some((spot.changeover_start, index, station, k));
                }
            }
        }
        let fallback = || self.queues.iter().position(|q| !q.is_empty()).map(|station| (station, 0));
        best.map(|(_, _, station, k)| (station, k)).or_else(fallback)
    }

    /// When a waiting operation may start: a changeover that can wait is put off.
    #[inline]
    fn ready(&self, station: usize, w: &Waiting) -> Minute {
        if self.sight.run == 0 || w.by < FAR {
            return w.ready;
        }
        let setup = self.shop.alts[w.alt as usize].setup;
        if self.bench.stations[station].mounted == setup
            || self.crowd[station][usize::from(setup)] >= self.sight.run
        {
            return w.ready;
        }
        w.ready.max((w.due - self.sight.slack) as Minute)
    }

    fn need(&self, w: &Waiting, ready: Minute) -> (Need, Alt) {
        let a = self.shop.alts[w.alt as usize];
        (
            Need {
                station: a.station,
                setup: a.setup,
                minutes: a.minutes,
                attended: a.attended,
                ready,
                person: NONE,
            },
            a,
        )
    }

    /// Where the load would stand, leaving everything as it is.
    fn try_spot(&mut self, w: &Waiting, ready: Minute) -> Option<Spot> {
        let (need, alt) = self.need(w, ready);
        let shop = self.shop;
        let state = self.bench.stations[usize::from(need.station)];
        let (changeover, broken) = (self.bench.changeover, self.bench.broken);
        let spot = self.bench.find(shop, &need, &|p| shop.may(p, alt.skill));
        self.bench.stations[usize::from(need.station)] = state;
        (self.bench.changeover, self.bench.broken) = (changeover, broken);
        spot
    }

    /// The index; larger is more pressing.
    fn pressing(&self, w: &Waiting, spot: &Spot) -> f64 {
        let job = &self.shop.jobs[self.shop.ops[w.op as usize].job as usize];
        let minutes = (spot.end - spot.start) as f64;
        let slack = (w.due - spot.start as f64).max(0.0);
        let change = (spot.start - spot.changeover_start) as f64;
        let mut value = (job.weight + 1e-3) / minutes;
        value *= (-slack / (self.sight.due * self.mean_minutes)).exp().max(1e-12)
            * (-change / (self.sight.setup * self.mean_change)).exp();
        // What would spoil by waiting goes before everything else as its last moment nears.
        if w.by < FAR && (w.by - spot.start) as f64 <= 16.0 * self.mean_minutes {
            value += 1e6;
        }
        value
    }

    fn start(&mut self, draft: &mut Draft, station: usize, at: usize, done: &mut [bool]) {
        let w = self.queues[station][at];
        // A piece that may not wait long for its next operation starts late enough for that one to follow.
        let held = self.held_for_next(&w);
        if held > w.ready {
            let queue = &mut self.queues[station];
            queue[at].ready = held;
            self.hold[w.op as usize] = held;
            return;
        }
        let (mut need, alt) = self.need(&w, self.ready(station, &w));
        let shop = self.shop;
        let spot = self.bench.find(shop, &need, &|p| shop.may(p, alt.skill));
        let spot = spot
            .unwrap_or_else(|| Spot::at(self.bench.stations[station].free.max(w.ready), need.minutes, NONE));
        let mut load = vec![w];
        let room = shop.stations[station].basin;
        if room > 1 {
            // Fill the basin with what is there by then and takes no longer, the most pressing first.
            let mut more: Vec<Waiting> = self.queues[station]
                .iter()
                .filter(|o| {
                    let a = &shop.alts[o.alt as usize];
                    o.op != w.op
                        && a.setup == alt.setup
                        && o.ready <= spot.start
                        && a.minutes <= alt.minutes
                        && a.attended <= alt.attended
                })
                .filter(|o| {
                    spot.person == NONE || shop.may(usize::from(spot.person), shop.alts[o.alt as usize].skill)
                })
                .take(room - 1)
                .copied()
                .collect();
            load.append(&mut more);
        }
        need.person = spot.person;
        self.bench.put(&need, &spot);
        draft.order.push(w.op);
        for (k, o) in load.iter().enumerate() {
            draft.alt[o.op as usize] = o.alt;
            draft.next[o.op as usize] = load.get(k + 1).map_or(NIL, |n| n.op);
            self.begin[o.op as usize] = spot.start;
            self.end[o.op as usize] = spot.end;
            done[o.op as usize] = true;
            for a in shop.alts_of(o.op) {
                self.crowd[usize::from(a.station)][usize::from(a.setup)] -= 1;
            }
        }
        let single = load.iter().all(|o| shop.alts_of(o.op).len() == 1);
        if single && load.len() == 1 {
            self.queues[station].remove(at);
        } else if single {
            self.queues[station].retain(|o| !done[o.op as usize]);
        } else {
            for queue in &mut self.queues {
                queue.retain(|o| !done[o.op as usize]);
            }
        }
        for o in &load {
            let after = shop.after(o.op);
            if after != NIL {
                self.enqueue_from(after);
            }
        }
    }

    /// The least start for which the next operation could still follow in time, as far as can be seen now.
    fn held_for_next(&mut self, w: &Waiting) -> Minute {
        let shop = self.shop;
        let model = &shop.ops[w.op as usize];
        let after = shop.after(w.op);
        if model.max_lag >= FAR || after == NIL {
            return w.ready;
        }
        let Some(spot) = self.try_spot(w, w.ready) else {
            return w.ready;
        };
        // Not all of the longest wait is counted on: others want that station too.
        let room = self.room.min((model.max_lag - model.lag) / 2);
        let ready = spot.end + model.lag + room;
        let next = if shop.ops[after as usize].fixed == NIL {
            shop.alts_of(after)
                .iter()
                .filter_map(|a| {
                    crate::check::earliest(
                        shop,
                        a,
                        ready
                            .max(self.bench.stations[usize::from(a.station)].free.min(ready + model.max_lag)),
                    )
                })
                .min()
        } else {
            Some(shop.fixed[shop.ops[after as usize].fixed as usize].start)
        };
        match next {
            Some(start) if start - spot.end > model.max_lag => {
                spot.start + (start - spot.end - model.max_lag)
            }
            _ => w.ready,
        }
    }
}

//! What a resource that several operations need makes them cost at least.
//!
//! Every minute of the resource gets a price. An operation then stands where its own cost plus the prices of the minutes
//! it takes are least, whatever the others do; the sum of these, less the prices of all minutes there are, is below the
//! cost of every plan. Subgradient steps (Held, Wolfe and Crowder 1974) look for the prices that say most. This is the
//! Lagrangian relaxation of the time-indexed formulation (Dyer and Wolsey 1990), with one price for all minutes of a slot so
//! that long horizons stay small: the cost of an operation is linear between a few ends, and only those are looked at.

use crate::Minute;

/// Work the resource must do.
#[derive(Clone, Debug)]
pub(super) struct Item {
    /// Minutes it takes at least, in one stretch.
    pub(super) minutes: Minute,
    /// It ends no earlier.
    pub(super) earliest: Minute,
    pub(super) cost: Cost,
}

/// `per_minute` times what the end exceeds `from`, `base` up to there.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Rise {
    pub(super) from: Minute,
    pub(super) per_minute: f64,
}

/// What an item's end costs: a base and two rises.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Cost {
    pub(super) base: f64,
    pub(super) rises: [Rise; 2],
}

impl Cost {
    pub(super) fn at(&self, end: Minute) -> f64 {
        self.rises.iter().fold(self.base, |sum, r| sum + r.per_minute * (end - r.from).max(0) as f64)
    }
}

/// A stretch of time in which a number of items fit side by side. Stretches follow each other; those that touch may be
/// worked across.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stretch {
    pub(super) from: Minute,
    pub(super) to: Minute,
    pub(super) side_by_side: u32,
}

/// Slots over the whole horizon; with fewer the prices are too coarse.
const SLOTS: std::ops::RangeInclusive<usize> = 20..=200;
/// Steps; with fewer the prices say nothing yet.
const STEPS: std::ops::RangeInclusive<usize> = 60..=300;

/// One place an item may end at: what that costs, and where its stretch lies among the slots.
struct End {
    cost: f64,
    /// Slot and minutes into it, for the beginning and the end.
    begins: (u32, f64),
    ends: (u32, f64),
}

/// A cost the items cannot be below together; `None` if nothing better than each alone is known. `reached` is what a plan
/// costs: the steps aim at it. `looks` is how often an end of an item may be looked at, some nanoseconds each.
pub(super) fn priced(items: &[Item], stretches: &[Stretch], reached: f64, looks: usize) -> Option<f64> {
    // An item has up to four ends for each slot.
    let most = looks / (4 * STEPS.start() * items.len().max(1));
    if items.len() < 2 || most < *SLOTS.start() {
        return None;
    }
    let slots = slots(items, stretches, most.min(*SLOTS.end()).min(8 * items.len() + 8));
    if slots.is_empty() {
        return None;
    }
    let horizon = slots[slots.len() - 1].to;
    let ends: Vec<Vec<End>> = items.iter().map(|i| ends(i, stretches, &slots, horizon)).collect();
    let each: usize = ends.iter().map(Vec::len).sum();
    let steps = (looks / each.max(1)).min(*STEPS.end());
    if steps < *STEPS.start() || ends.iter().any(Vec::is_empty) {
        return None;
    }
    let first = first_prices(items, &slots);
    Some(ascend(&ends, &slots, &first, reached, steps))
}

/// Prices at which the items are indifferent between neighbouring places, were they in the order of cost per minute (Smith
/// 1956) and late from their due date on, on the average.
fn first_prices(items: &[Item], slots: &[Stretch]) -> Vec<f64> {
    let rate = |i: &Item| i.cost.rises.iter().map(|r| r.per_minute).sum::<f64>() / (i.minutes.max(1)) as f64;
    let mut by_rate: Vec<(f64, Minute)> = items.iter().map(|i| (rate(i), i.minutes)).collect();
    by_rate.sort_by(|a, b| a.0.total_cmp(&b.0));
    let rises = || items.iter().flat_map(|i| i.cost.rises);
    let whole: f64 = rises().map(|r| r.per_minute).sum();
    let late =
        |at: Minute| rises().filter(|r| r.from < at).map(|r| r.per_minute).sum::<f64>() / whole.max(1e-9);
    let mut waiting = by_rate.into_iter();
    let (mut rate, mut left) = (0.0, 0);
    let mut prices = vec![0.0; slots.len() + 1];
    for (k, slot) in slots.iter().enumerate().rev() {
        let minutes = slot.to - slot.from;
        left -= minutes * Minute::from(slot.side_by_side);
        while left < 0 {
            match waiting.next() {
                Some((next, minutes)) => {
                    rate = next;
                    left += minutes;
                }
                None => break,
            }
        }
        prices[k] = prices[k + 1] + rate * late(slot.to) * minutes as f64;
    }
    prices
}

/// Shares of the first prices to begin with: items that are not late yet pay less.
const SHARES: [f64; 8] = [0.0, 0.15, 0.3, 0.45, 0.6, 0.8, 1.0, 1.2];

fn ascend(ends: &[Vec<End>], slots: &[Stretch], first: &[f64], reached: f64, steps: usize) -> f64 {
    let n = slots.len();
    let minutes: Vec<f64> = slots.iter().map(|s| (s.to - s.from) as f64).collect();
    let room: Vec<f64> = slots.iter().zip(&minutes).map(|(s, m)| f64::from(s.side_by_side) * m).collect();
    // One more slot, free and without end, stands for everything after the horizon.
    let mut price = vec![0.0; n + 1];
    let mut paid = vec![0.0; n + 1];
    let (mut best, mut best_price) = (f64::NEG_INFINITY, price.clone());
    let mut heading = vec![0.0; n];
    let (mut pace, mut quiet) = (1.0, 0);
    for step in 0..steps {
        if let Some(share) = SHARES.get(step) {
            price.iter_mut().zip(first).for_each(|(price, first)| *price = share * first);
        } else if step == SHARES.len() {
            price.copy_from_slice(&best_price);
            (quiet, pace) = (0, 1.0);
            heading.fill(0.0);
        }
        for k in 0..n {
            paid[k + 1] = paid[k] + price[k] * minutes[k];
        }
        // How much more is taken of each slot than there is.
        let mut over: Vec<f64> = room.iter().map(|r| -r).collect();
        let mut sum: f64 = -price.iter().zip(&room).map(|(p, r)| p * r).sum::<f64>();
        for item in ends {
            let until = |(slot, into): (u32, f64)| paid[slot as usize] + price[slot as usize] * into;
            let (mut least, mut at) = (f64::INFINITY, &item[0]);
            for end in item {
                let cost = end.cost + until(end.ends) - until(end.begins);
                if cost < least {
                    (least, at) = (cost, end);
                }
            }
            sum += least;
            let ((a, into_a), (b, into_b)) = (at.begins, at.ends);
            let (a, b) = (a as usize, b as usize);
            for k in a..=b.min(n - 1) {
                over[k] += minutes[k];
            }
            if a < n {
                over[a] -= into_a;
            }
            if b < n {
                over[b] -= minutes[b] - into_b;
            }
        }
        if sum > best {
            if sum > best + 1e-4 * best.abs() {
                quiet = 0;
            }
            best = sum;
            best_price.copy_from_slice(&price);
        }
        quiet += 1;
        if quiet > 12 {
            quiet = 0;
            pace *= 0.6;
            price.copy_from_slice(&best_price);
            heading.fill(0.0);
        }
        // A little of the last heading damps the zigzag (Camerini, Fratta and Maffioli 1975).
        for k in 0..n {
            heading[k] = over[k] + 0.5 * heading[k];
        }
        let norm: f64 = heading.iter().zip(&minutes).map(|(h, m)| h * h / m).sum();
        if norm <= 1e-9 || sum >= reached {
            break;
        }
        let stride = pace * (reached - sum) / norm;
        for k in 0..n {
            price[k] = f64::max(0.0, price[k] + stride * heading[k] / minutes[k]);
        }
    }
    best
}

/// The stretches up to where all work could be done, cut into about `most` slots; none if there are too many stretches.
fn slots(items: &[Item], stretches: &[Stretch], most: usize) -> Vec<Stretch> {
    let Some(begin) = items.iter().map(|i| i.earliest - i.minutes).min() else {
        return Vec::new();
    };
    let last = items.iter().map(|i| i.earliest).max().unwrap_or(begin);
    let mut left: Minute = items.iter().map(|i| i.minutes).sum();
    let mut kept: Vec<Stretch> = Vec::new();
    for s in stretches {
        let from = s.from.max(begin);
        if from >= s.to {
            continue;
        }
        // Far enough for everything that is left, and at least up to where everything is there.
        let side = Minute::from(s.side_by_side.max(1));
        let to = s.to.min(from.max(last) + left.max(1) / side + 1);
        kept.push(Stretch { from, to, ..*s });
        left -= (to - from) * side;
        if left <= 0 && to >= last {
            break;
        }
    }
    let open: Minute = kept.iter().map(|s| s.to - s.from).sum();
    if kept.len() > most {
        return Vec::new();
    }
    let length = (open / most as i64).max(1);
    let mut slots = Vec::new();
    for s in kept {
        let parts = ((s.to - s.from) / length).max(1);
        let cut = |k: Minute| s.from + (s.to - s.from) * k / parts;
        slots.extend((0..parts).map(|k| Stretch { from: cut(k), to: cut(k + 1), ..s }));
    }
    slots
}

/// Every end at which an item's cost with any prices can be least.
fn ends(item: &Item, stretches: &[Stretch], slots: &[Stretch], horizon: Minute) -> Vec<End> {
    let q = item.minutes;
    let mut at: Vec<Minute> =
        slots.iter().flat_map(|s| [s.from, s.to]).flat_map(|edge| [edge, edge + q]).collect();
    at.push(item.earliest);
    at.extend(item.cost.rises.iter().map(|r| r.from));
    // After the horizon nothing is paid, so the first end there is the least.
    let beyond = stretches.iter().filter(|s| s.to > horizon).map(|s| s.from.max(horizon));
    at.extend(beyond.map(|from| from + q).find(|&end| in_one_run(stretches, end - q, end)));
    // Where a stretch ends soon after the horizon, work must end with it.
    at.extend(stretches.iter().map(|s| s.to).filter(|&to| to > horizon && to <= horizon + q));
    at.sort_unstable();
    at.dedup();
    let place = |minute: Minute| {
        let k = slots.partition_point(|s| s.to <= minute);
        (k as u32, slots.get(k).map_or(0.0, |s| (minute - s.from).max(0) as f64))
    };
    at.into_iter()
        .filter(|&end| end >= item.earliest && in_one_run(stretches, end - q, end))
        .map(|end| End { cost: item.cost.at(end), begins: place(end - q), ends: place(end) })
        .collect()
}

/// Whether work can go on from `from` to `to` without a break.
fn in_one_run(stretches: &[Stretch], from: Minute, to: Minute) -> bool {
    let mut k = stretches.partition_point(|s| s.to <= from);
    if from == to {
        return true;
    }
    let mut reached = from;
    while reached < to {
        match stretches.get(k) {
            Some(s) if s.from <= reached => reached = s.to,
            _ => return false,
        }
        k += 1;
    }
    true
}

//! Bringing a new row of teeth into phase with an old one.
//!
//! `cost(s) = max over the edge of e_old(x) - e_new(x - s)`: how far the new tip line must lie above the old one so that
//! the wheel cleans every gullet. The maximum sits at tips of the new or gullets of the old pattern, at the ends of the
//! edge, or (for unequal ridges) where both flanks are equally steep; all of these are found exactly, never on a grid.

use core::cmp::Ordering;
use std::collections::BinaryHeap;

use self::between::{Kinks, inner_maximum};
use crate::num::sort_short;
use crate::pattern::{Pattern, Tooth, ToothForm};

mod between;

/// A phase and what it costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Phase {
    /// First tip of the new pattern at or after the start of the stretch.
    pub(crate) s: f64,
    pub(crate) cost: f64,
}

/// Two patterns over one stretch of edge.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pair<'a> {
    old: &'a Pattern,
    new: &'a Pattern,
    from: f64,
    to: f64,
    /// False when no maximum can hide between the tips: both wheels have the same ridge at the same angle.
    between: bool,
}

impl<'a> Pair<'a> {
    pub(crate) fn new(old: &'a Pattern, new: &'a Pattern, from: f64, to: f64) -> Self {
        let between = match (old.teeth(), new.teeth()) {
            ([a], [b]) => !same_ridge(a, b),
            _ => true,
        };
        Self { old, new, from, to, between }
    }

    /// Cost with the new pattern's first tip at `from + s`.
    pub(crate) fn cost(&self, s: f64) -> f64 {
        self.worst(s).gap
    }

    /// The place that costs most in this phase.
    fn worst(&self, s: f64) -> Worst {
        let origin = self.from + s;
        let gap = |x: f64| self.old.e(x) - self.new.e(x - origin);
        let mut worst = Worst { gap: gap(self.from), x: self.from, tip: false };
        worst.offer(gap(self.to), self.to, false);
        let period = self.new.period();
        let first = libm::ceil((self.from - origin) / period) as i64 - 1;
        let last = libm::floor((self.to - origin) / period) as i64;
        for turn in first..=last {
            let base = origin + turn as f64 * period;
            for start in self.new.starts() {
                let tip = base + start;
                if tip > self.from && tip < self.to {
                    worst.offer(self.old.e(tip), tip, true);
                }
            }
        }
        if self.between {
            self.worst_between(origin, &mut worst);
        }
        worst
    }

    /// The greatest gap at gullets and between kinks; pieces that cannot beat the worst known are passed over.
    fn worst_between(&self, origin: f64, worst: &mut Worst) {
        let mut old = Kinks::new(self.old, 0.0, self.from);
        let mut new = Kinks::new(self.new, origin, self.from);
        let mut left = self.from;
        let (mut old_left, mut new_left) = (old.piece().e(left), new.piece().e(left));
        let mut hopeful = Vec::new();
        while left < self.to {
            let (old_piece, new_piece) = (old.piece(), new.piece());
            let right = old_piece.end.min(new_piece.end).min(self.to);
            let (old_right, new_right) = (old_piece.e(right), new_piece.e(right));
            worst.offer(old_right - new_right, right, false);
            // Each pattern is monotone between its kinks, so this bounds everything inside.
            let bound = old_left.max(old_right) - new_left.min(new_right);
            if right > left && bound > worst.gap {
                hopeful.push((bound, left, right, old_piece, new_piece));
            }
            (left, old_left, new_left) = (right, old_right, new_right);
            if old_piece.end <= right {
                old.advance();
            }
            if new_piece.end <= right {
                new.advance();
            }
        }
        // Only now, with every kink known, is it worth looking inside.
        for (bound, left, right, old, new) in hopeful {
            if bound > worst.gap {
                inner_maximum(left, right, &old, &new, worst);
            }
        }
    }

    /// How the cost changes with the phase, read at the place that costs most: a tip carries the old flank along, any other place sees the new
    /// flank pass by.
    fn slope(&self, worst: &Worst, s: f64) -> f64 {
        if worst.tip { self.old.slope(worst.x) } else { self.new.slope(worst.x - self.from - s) }
    }

    /// The phase that costs least.
    pub(crate) fn least(&self) -> Phase {
        let floor = self.gullet_floor();
        let mut best = Phase { s: 0.0, cost: self.cost(0.0) };
        if let ([old], [new]) = (self.old.teeth(), self.new.teeth()) {
            let mut tips = f64::INFINITY;
            for (s, least) in self.tip_optima(old, new) {
                tips = tips.min(least);
                let cost = self.cost(s);
                if cost < best.cost {
                    best = Phase { s, cost };
                }
            }
            // The tips alone cannot do better than their own optimum, nor the gullets better than their depths' difference.
            if best.cost <= tips.max(floor) + 1e-12 {
                return best;
            }
        }
        self.search(best, floor)
    }

    /// A floor under every phase: what two whole gullets differ in depth, and nothing at all once a new tip must fall on the stretch. On a
    /// shorter one a deeper row may leave room, and there is no floor.
    fn gullet_floor(&self) -> f64 {
        let width = self.to - self.from;
        let longest = |row: &Pattern| row.teeth().iter().map(|tooth| tooth.pitch).fold(0.0, f64::max);
        let gullets = if width >= self.old.period() + longest(self.old) {
            self.old.depth() - self.new.depth()
        } else {
            f64::NEG_INFINITY
        };
        if width >= longest(self.new) { gullets.max(0.0) } else { gullets }
    }

    /// Phases at which the greatest distance from a new tip to its nearest old tip is least, with what the tips cost there, one for
    /// each number of tips that fits. Distances mod the old pitch are points on a circle; the best phase centres the arc that is left when
    /// the widest gap between the points is cut out.
    fn tip_optima(&self, old: &Tooth, new: &Tooth) -> impl Iterator<Item = (f64, f64)> + use<> {
        let (p, q) = (old.pitch, new.pitch);
        let width = self.to - self.from;
        let whole = libm::floor(width / q);
        let rest = width - whole * q;
        let mut found = Vec::with_capacity(8);
        for (lo, hi, count) in [(0.0, rest.min(q), whole + 1.0), (rest.min(q), q, whole)] {
            let count = count as usize;
            if hi < lo {
                continue;
            }
            if count == 0 {
                // A stretch shorter than a tooth: in these phases no tip falls on it at all.
                if hi > lo {
                    found.push((0.5 * (lo + hi), f64::NEG_INFINITY));
                }
                continue;
            }
            let mut points: Vec<f64> = (0..count).map(|j| remainder(self.from + j as f64 * q, p)).collect();
            points.sort_unstable_by(f64::total_cmp);
            let gap_after = |i: usize| {
                if i + 1 < count { points[i + 1] - points[i] } else { points[0] + p - points[i] }
            };
            let farthest = |s: f64| points.iter().map(|point| circular(s + point, p)).fold(0.0_f64, f64::max);
            let mut best = (f64::INFINITY, lo);
            let offer = |best: &mut (f64, f64), s: f64| {
                let far = farthest(s);
                if far < best.0 - 1e-15 {
                    *best = (far, s);
                }
            };
            offer(&mut best, lo);
            offer(&mut best, hi);
            let mut gaps: Vec<(f64, usize)> = (0..count).map(|i| (gap_after(i), i)).collect();
            sort_short(&mut gaps, |a, b| b.0.total_cmp(&a.0));
            for (gap, i) in gaps {
                // However a gap is cut out, its tips reach at least this far from the old ones, and those of a narrower gap farther. All
                // have to be asked in turn: the widest may have their centres outside of [lo, hi].
                if 0.5 * (p - gap) >= best.0 {
                    break;
                }
                let start = points[(i + 1) % count];
                let centre = start + 0.5 * (p - gap);
                let mut s = remainder(-centre, p);
                s += libm::ceil((lo - s) / p) * p;
                while s <= hi {
                    offer(&mut best, s);
                    s += p;
                }
            }
            found.push((best.1, old.e(best.0)));
        }
        found.into_iter()
    }

    /// All phases, by branch and bound: none is left unread that could cost less than the one given back by more than [`SLACK`] of a
    /// tooth's depth, however narrow its valley.
    fn search(&self, mut best: Phase, floor: f64) -> Phase {
        let period = self.new.period();
        let slack = SLACK * self.old.depth().max(self.new.depth());
        let parts = 12 * self.new.teeth().len().max(self.old.teeth().len()).min(8);
        let width = period / parts as f64;
        // The kinks alone are quickly read, and what they say of a range of phases is true of the whole edge as well.
        let kinks = Self { between: false, ..*self };
        let mut open: BinaryHeap<Range> = (0..parts)
            .map(|i| {
                let (a, b) = (i as f64 * width, (i as f64 + 1.0) * width);
                let middle = 0.5 * (a + b);
                let worst = kinks.worst(middle);
                Range {
                    lower: self.at_least(&worst, middle, a, b),
                    a,
                    b,
                    middle,
                    worst,
                    whole: !self.between,
                }
            })
            .collect();
        let mut reach = width;
        while let Some(range) = open.pop() {
            if range.lower >= best.cost - slack || best.cost <= floor + slack {
                break;
            }
            let Range { lower, a, b, middle, worst, whole } = range;
            if !whole {
                // Promising enough to read the whole edge in its middle phase.
                let worst = self.worst(middle);
                let lower = lower.max(self.at_least(&worst, middle, a, b));
                open.push(Range { lower, worst, whole: true, ..range });
                continue;
            }
            if worst.gap < best.cost - 1e-12 {
                best = Phase { s: middle, cost: worst.gap };
                reach = b - a;
            }
            let third = (b - a) / 3.0;
            let (left, right) = (a + third, b - third);
            // The middle third keeps its middle, and what is known there.
            let lower_middle = lower.max(self.at_least(&worst, middle, left, right));
            if lower_middle < best.cost - slack {
                open.push(Range { lower: lower_middle, a: left, b: right, ..range });
            }
            for (a, b) in [(a, left), (right, b)] {
                let lower = lower.max(self.at_least(&worst, middle, a, b));
                if lower >= best.cost - slack {
                    continue;
                }
                let middle = 0.5 * (a + b);
                let worst = kinks.worst(middle);
                let lower = lower.max(self.at_least(&worst, middle, a, b));
                if lower < best.cost - slack {
                    open.push(Range { lower, a, b, middle, worst, whole: !self.between });
                }
            }
        }
        let bottom = self.descend(best.s - reach, best.s + reach);
        if bottom.cost < best.cost - 1e-13 {
            best = bottom;
        }
        best.s = remainder(best.s, period);
        best
    }

    /// What the place that costs most in phase `m` says of every phase in [a, b]: no less than this. The gap at a place that stays and the gap
    /// at a place that moves along with the new row both lie under the cost everywhere and touch it at `m`; as every tooth rises to
    /// its gullet and falls again, their least over a range is known exactly.
    fn at_least(&self, worst: &Worst, m: f64, a: f64, b: f64) -> f64 {
        let at = worst.x - self.from;
        let stays = self.old.e(worst.x) - self.new.greatest(at - b, at - a);
        let (left, right) = (worst.x + (a - m), worst.x + (b - m));
        if left < self.from || right > self.to {
            return stays;
        }
        stays.max(self.old.least(left, right) - self.new.e(at - m))
    }

    /// The bottom of one valley: the cost is the greatest of many smooth flanks, so the tangents at two phases on either side cross near
    /// its bottom. Where they do not help, the middle does.
    fn descend(&self, a: f64, b: f64) -> Phase {
        let at = |s: f64| {
            let worst = self.worst(s);
            (s, worst.gap, self.slope(&worst, s))
        };
        let (mut left, mut right) = (at(a), at(b));
        let mut best = if left.1 <= right.1 {
            Phase { s: left.0, cost: left.1 }
        } else {
            Phase { s: right.0, cost: right.1 }
        };
        for round in 0..60 {
            let width = right.0 - left.0;
            if width < 1e-11 {
                break;
            }
            let crossing = (right.1 - left.1 + left.2 * left.0 - right.2 * right.0) / (left.2 - right.2);
            let inside = left.2 < 0.0
                && right.2 > 0.0
                && crossing > left.0 + 1e-3 * width
                && crossing < right.0 - 1e-3 * width
                && round % 3 != 2;
            let here = at(if inside { crossing } else { 0.5 * (left.0 + right.0) });
            // Where the tangents promised this very height, it is the bottom.
            let promised = left.1 + left.2 * (crossing - left.0);
            if inside && (here.1 - promised).abs() < 1e-12 {
                return Phase { s: here.0, cost: here.1 };
            }
            if here.1 < best.cost {
                best = Phase { s: here.0, cost: here.1 };
            }
            if here.2 < 0.0 { left = here } else { right = here }
        }
        best
    }
}

/// How much less a phase that was not found may cost, as a share of a tooth's depth: a nanometre or two.
const SLACK: f64 = 1e-6;

/// A range of phases that may still hold the best one.
#[derive(Debug, Clone, Copy)]
struct Range {
    /// No phase in it costs less.
    lower: f64,
    a: f64,
    b: f64,
    middle: f64,
    /// The place that costs most in the middle phase.
    worst: Worst,
    /// The whole edge was read there, not only its kinks.
    whole: bool,
}

impl Ord for Range {
    /// The most promising first out of a heap that gives its greatest.
    fn cmp(&self, other: &Self) -> Ordering {
        other.lower.total_cmp(&self.lower).then(other.a.total_cmp(&self.a))
    }
}

impl PartialOrd for Range {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Range {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Range {}

/// The place on the edge where a phase costs most.
#[derive(Debug, Clone, Copy)]
struct Worst {
    gap: f64,
    x: f64,
    /// A tip of the new pattern, whose place moves with the phase.
    tip: bool,
}

impl Worst {
    fn offer(&mut self, gap: f64, x: f64, tip: bool) {
        if gap > self.gap {
            *self = Self { gap, x, tip };
        }
    }
}

/// True when both teeth are the same curve: then the difference of the two is monotone wherever neither has a tip.
fn same_ridge(a: &Tooth, b: &Tooth) -> bool {
    match (a.shape, b.shape) {
        (ToothForm::Arc { radius, sine, .. }, ToothForm::Arc { radius: other, sine: at, .. }) => {
            radius == other && sine == at
        }
        _ => false,
    }
}

fn remainder(x: f64, p: f64) -> f64 {
    let rest = x - libm::floor(x / p) * p;
    if rest >= p || rest < 0.0 { 0.0 } else { rest }
}

/// Distance of `x` from the nearest whole multiple of `p`.
fn circular(x: f64, p: f64) -> f64 {
    let rest = remainder(x, p);
    rest.min(p - rest)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::num::{rad, sin};
    use proptest::prelude::*;

    fn arc(pitch: f64, radius: f64) -> Pattern {
        Pattern::new(vec![Tooth::arc(pitch, radius, sin(rad(20.0))).unwrap()]).unwrap()
    }

    #[test]
    fn a_pitch_slightly_off_costs_what_the_drift_over_the_edge_costs() {
        let old = arc(5.0, 6.5);
        for (pitch, expected) in [(5.02, 0.4227), (5.05, 0.9137), (5.10, 1.3808), (5.20, 1.4597)] {
            let new = arc(pitch, 6.5);
            let found = Pair::new(&old, &new, 0.0, 200.0).least();
            assert!((found.cost - expected).abs() < 6e-5, "pitch {pitch}: {found:?}, expected {expected}");
        }
    }

    #[test]
    fn a_worn_ridge_costs_the_depth_it_no_longer_reaches() {
        let old = arc(5.0, 6.5);
        for (radius, expected) in [(7.0, 0.112), (7.5, 0.208)] {
            let new = arc(5.0, radius);
            let found = Pair::new(&old, &new, 0.0, 200.0).least();
            assert!((found.cost - expected).abs() < 6e-4, "ridge {radius}: {found:?}");
        }
    }

    #[test]
    fn a_last_plunge_shorter_than_a_tooth_may_cost_nothing() {
        // 1.4 mm are left of a row of 2.01 mm, and a deeper ridge can lie over them without a tip of its own there: tips of the old row at
        // 78.39 and 80.40 mm, so 0.31 and 0.30 mm beyond either end.
        let angle = sin(rad(30.08));
        let old = Pattern::new(vec![Tooth::arc(2.01, 3.41, angle).unwrap()]).unwrap();
        let new = Pattern::new(vec![Tooth::arc(2.018, 1.71, angle).unwrap()]).unwrap();
        let found = Pair::new(&old, &new, 78.702, 80.1).least();
        assert!(found.cost < -0.15, "{found:?}");
    }

    #[test]
    fn no_phase_of_a_fine_grid_beats_the_one_found() {
        let old = arc(5.0, 6.5);
        let others = [
            arc(5.0, 6.5),
            arc(5.03, 7.0),
            arc(4.7, 5.2),
            Pattern::new(vec![Tooth::wavy(6.0, 1.2)]).unwrap(),
            Pattern::new(vec![Tooth::pointed(5.1, 1.0)]).unwrap(),
            Pattern::new(vec![Tooth::pointed(3.0, 0.8), Tooth::wavy(7.0, 1.6)]).unwrap(),
        ];
        for (i, new) in others.iter().enumerate() {
            for pair in [Pair::new(&old, new, 0.0, 83.0), Pair::new(new, &old, 0.0, 83.0)] {
                let found = pair.least();
                let on_grid = (0..4000)
                    .map(|k| pair.cost(pair.new.period() * f64::from(k) / 4000.0))
                    .fold(f64::INFINITY, f64::min);
                assert!(found.cost <= on_grid + 1e-9, "pattern {i}: {found:?} against {on_grid}");
                // And the cost itself is what a brute maximum over the edge gives.
                let brute = (0..=83_000)
                    .map(|k| {
                        let x = f64::from(k) * 1e-3;
                        pair.old.e(x) - pair.new.e(x - found.s)
                    })
                    .fold(f64::NEG_INFINITY, f64::max);
                assert!(found.cost >= brute - 1e-12 && found.cost - brute < 2e-3, "{i}: {found:?} {brute}");
            }
        }
    }

    /// Any row of one to three teeth.
    fn any_row() -> impl Strategy<Value = Pattern> {
        let tooth = (0..3_u8, 0.6..12.0_f64, 0.501..2.5_f64, 0.03..0.5_f64).prop_map(
            |(form, pitch, ridge, depth)| match form {
                0 => Tooth::arc(pitch, pitch * ridge, sin(rad(20.0))).unwrap(),
                1 => Tooth::wavy(pitch, pitch * depth),
                _ => Tooth::pointed(pitch, pitch * depth),
            },
        );
        prop::collection::vec(tooth, 1..4).prop_map(|teeth| Pattern::new(teeth).unwrap())
    }

    #[test]
    fn the_widest_gaps_between_tips_may_lie_outside_of_the_phases_there_are() {
        let old = Pattern::new(vec![
            Tooth::arc(7.630_250_660_668_146, 3.822_755_580_994_741, sin(rad(20.0))).unwrap(),
        ]);
        let new = Pattern::new(vec![Tooth::arc(0.6, 0.3006, sin(rad(20.0))).unwrap()]);
        let (old, new) = (old.unwrap(), new.unwrap());
        let pair = Pair::new(&old, &new, 0.0, 27.242_770_979_701_437);
        let found = pair.least();
        assert!(found.cost <= pair.cost(0.390_752_001_953_125) + 1e-9, "{found:?}");
    }

    #[test]
    fn two_waves_along_each_other_hide_no_place_that_costs_more() {
        // Their slopes cross twice within a fifth of a tooth.
        let old = Pattern::new(vec![
            Tooth::pointed(0.6, 0.018),
            Tooth::wavy(4.389_515_570_382_76, 0.784_354_042_390_861),
        ]);
        let new = Pattern::new(vec![Tooth::wavy(11.079_764_516_010_092, 4.639_402_642_623_522)]);
        let (old, new) = (old.unwrap(), new.unwrap());
        let pair = Pair::new(&old, &new, 8.279_668_403_450_094, 17.118_927_258_211_855);
        let phase = 2.299_362_214_444_98;
        let place = 11.081_951_015_491_299;
        assert!(pair.cost(phase) >= old.e(place) - new.e(place - pair.from - phase), "{}", pair.cost(phase));
        assert!((pair.cost(phase) - 0.003_602_900_116).abs() < 1e-9, "{}", pair.cost(phase));
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn no_phase_costs_less_than_the_one_found(old in any_row(), new in any_row(), from in 0.0..30.0_f64, width in 3.0..90.0_f64) {
            let pair = Pair::new(&old, &new, from, from + width);
            let found = pair.least();
            let slack = SLACK * old.depth().max(new.depth()) + 1e-9;
            prop_assert!((pair.cost(found.s) - found.cost).abs() < 1e-9, "{:?} {}", found, pair.cost(found.s));
            // Every three-thousandth of a period, and ever closer around the best of them.
            let period = new.period();
            let mut best = (f64::INFINITY, 0.0);
            for k in 0..3000 {
                let s = period * f64::from(k) / 3000.0;
                best = if pair.cost(s) < best.0 { (pair.cost(s), s) } else { best };
            }
            for round in 1..5 {
                let step = period / 3000.0 / 8.0_f64.powi(round);
                let middle = best.1;
                for k in -10..=10 {
                    let s = middle + step * f64::from(k);
                    best = if pair.cost(s) < best.0 { (pair.cost(s), s) } else { best };
                }
            }
            prop_assert!(found.cost <= best.0 + slack, "{:?} against {:?}", found, best);
        }

        #[test]
        fn the_cost_of_a_phase_is_the_greatest_gap_on_the_edge(old in any_row(), new in any_row(), s in 0.0..40.0_f64, width in 3.0..60.0_f64) {
            let pair = Pair::new(&old, &new, 0.0, width);
            let gap = |x: f64| old.e(x) - new.e(x - s);
            let worst = pair.worst(s);
            // No place gaps more, and one gaps as much: the flanks of an arc stand upright at its tip, so no grid finds all of it.
            for k in 0..=20_000 {
                let x = width * f64::from(k) / 20_000.0;
                prop_assert!(gap(x) <= worst.gap + 1e-9, "{:?} under {} at {}", worst, gap(x), x);
            }
            prop_assert!((0.0..=width).contains(&worst.x));
            prop_assert!((gap(worst.x) - worst.gap).abs() < 1e-6, "{:?} against {}", worst, gap(worst.x));
        }

        #[test]
        fn what_one_place_says_of_a_range_of_phases_is_never_too_much(
            old in any_row(), new in any_row(), m in 0.0..20.0_f64, half in 1e-4..3.0_f64, width in 3.0..60.0_f64
        ) {
            let pair = Pair::new(&old, &new, 0.0, width);
            let worst = pair.worst(m);
            let lower = pair.at_least(&worst, m, m - half, m + half);
            prop_assert!(lower <= worst.gap + 1e-9);
            for k in 0..=200 {
                let s = m - half + half * f64::from(k) / 100.0;
                prop_assert!(pair.cost(s) >= lower - 1e-9, "phase {}: {} under {}", s, pair.cost(s), lower);
            }
        }
    }
}

//! What a shop's own ledger teaches about later services.
//!
//! The logarithm of a later recession is normal with unknown mean and spread. The prior is a normal-inverse-gamma; every measured
//! service updates it in closed form, counted less the more its measuring tool scatters (a caliper's ±0.1 mm says little about 0.15 mm).
//! What is then expected of the next service is a Student-t on the logarithm, and the life of a blade is a mixture over what is still not
//! known, drawn with a fixed seed: the same digits in a browser and a server.

use serde::{Deserialize, Serialize};

use crate::answer::ServicesLeft;
use crate::life::Bite;
use crate::num::{cos, exp, log, sin, sqrt};
use crate::request::EdgeKind;

/// What is known about the recession of one kind of edge, as a normal-inverse-gamma on its natural logarithm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Habit {
    /// Middle of ln(recession/mm).
    pub location: f64,
    /// How many services that middle is worth (κ).
    pub weight: f64,
    /// Half the services the spread is worth (a).
    pub shape: f64,
    /// Half their squared deviations (b).
    pub scale: f64,
}

/// One service read off the ledger.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Observed {
    /// Height it took.
    pub recession_mm: f64,
    /// Standard deviation of that reading: two caliper readings of ±0.1 mm (two sigma) make 0.07.
    pub reading_sd_mm: f64,
}

impl Habit {
    /// The prior of a kind of edge before this shop has measured anything: medians 0.25 (serrated), 0.18 (double), 0.20 mm (single), spread 0.5,
    /// worth four services (figures of the demo shop, invented).
    pub fn prior(kind: EdgeKind) -> Self {
        let median = match kind {
            EdgeKind::Serrated => 0.25,
            EdgeKind::Double => 0.18,
            EdgeKind::Single => 0.20,
        };
        Self::from_median(median, 0.5, 4.0)
    }

    /// A prior with this median and spread, worth `services` services.
    pub fn from_median(median_mm: f64, spread: f64, services: f64) -> Self {
        let shape = 0.5 * services;
        Self { location: log(median_mm), weight: services, shape, scale: shape * spread * spread }
    }

    /// The posterior after these services. Readings that are not positive and finite say nothing and are left out.
    ///
    /// Weighted conjugate update: an observation with reading variance v on the logarithm counts w = σ²/(σ² + v), σ² the spread expected
    /// before, so that a noisy tool neither moves the middle nor widens the spread as a good one would.
    pub fn learn(&self, observed: &[Observed]) -> Self {
        let expected = self.scale / self.shape;
        let (mut count, mut weight, mut sum, mut squares) = (0.0, 0.0, 0.0, 0.0);
        for one in observed {
            if !(one.recession_mm.is_finite() && one.recession_mm > 0.0 && one.reading_sd_mm.is_finite()) {
                continue;
            }
            let relative = one.reading_sd_mm / one.recession_mm;
            let w = expected / (expected + relative * relative);
            // A reading that scatters by more than numbers go says nothing either.
            if w < 1e-200 {
                continue;
            }
            let y = log(one.recession_mm);
            count += 1.0;
            weight += w;
            sum += w * y;
            squares += w * y * y;
        }
        if count == 0.0 {
            return *self;
        }
        let mean = sum / weight;
        let scatter = (squares - sum * mean).max(0.0);
        let drift = mean - self.location;
        Self {
            location: (self.weight * self.location + sum) / (self.weight + weight),
            weight: self.weight + weight,
            shape: self.shape + 0.5 * count,
            scale: self.scale
                + 0.5 * (scatter + self.weight * weight * drift * drift / (self.weight + weight)),
        }
    }

    /// Middle recession of a later service, mm.
    pub fn median_mm(&self) -> f64 {
        exp(self.location)
    }

    /// Spread of the next service as it is now expected: the scale of the predictive Student-t on the logarithm.
    pub fn spread(&self) -> f64 {
        sqrt(self.scale / self.shape * (1.0 + 1.0 / self.weight))
    }

    /// Degrees of freedom of that Student-t.
    pub fn freedom(&self) -> f64 {
        2.0 * self.shape
    }

    /// Height taken by so many services, over everything that is still not known about this habit: the 10th, 50th and 90th
    /// percentiles, mm.
    pub fn taken(&self, services: &[u32], seed: u64, draws: u32) -> Vec<[f64; 3]> {
        let mut dice = Dice::new(seed);
        let draws: Vec<(Bite, f64)> =
            (0..draws.max(1)).map(|i| self.draw(&mut dice, i, draws.max(1))).collect();
        services
            .iter()
            .map(|n| {
                let mut heights: Vec<f64> =
                    draws.iter().map(|(bite, luck)| bite.taken(f64::from(*n), deviate(*luck))).collect();
                heights.sort_unstable_by(f64::total_cmp);
                [0.1, 0.5, 0.9].map(|p| heights[place(p, heights.len())])
            })
            .collect()
    }

    /// One draw of its middle, its spread and the luck of one blade.
    fn draw(&self, dice: &mut Dice, i: u32, draws: u32) -> (Bite, f64) {
        let variance = self.scale / dice.gamma(self.shape);
        let middle = self.location + sqrt(variance / self.weight) * dice.normal();
        let bite = Bite::new(exp(middle.clamp(-20.0, 20.0)), sqrt(variance).clamp(1e-3, 3.0));
        (bite, (f64::from(i) + dice.uniform()) / f64::from(draws))
    }

    /// Services that fit into `room_mm`, over everything that is still not known about this habit: `draws` seeded draws of its middle, its
    /// spread and the luck of one blade. The luck is spread evenly over the draws and turned into a count by the closed form, so that few
    /// draws go far; 200 are usual.
    pub fn services(&self, room_mm: f64, seed: u64, draws: u32) -> ServicesLeft {
        if room_mm <= 0.0 || draws == 0 {
            return ServicesLeft { p10: 0, p50: 0, p90: 0 };
        }
        let mut dice = Dice::new(seed);
        let mut counts: Vec<u32> = (0..draws)
            .map(|i| {
                let (bite, luck) = self.draw(&mut dice, i, draws);
                // A rough deviate is only where the search starts.
                bite.quantile(room_mm, luck, deviate(luck))
            })
            .collect();
        percentiles(&mut counts)
    }
}

/// A grinding step that was done: what it took away, and how long it was at the station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ground {
    /// Steel it was to grind away, mm³.
    pub metal_mm3: f64,
    /// Minutes it took.
    pub minutes: f64,
    /// Minutes handling alone takes.
    pub handling: f64,
}

/// How many steps it takes before a removal rate learned from them is believed.
pub const BELIEVED_FROM: usize = 5;

/// What a station grinds away in a minute, as steps that were done teach it: the logarithm of the rate, mm³ a minute.
/// `None` with fewer than [`BELIEVED_FROM`] of them, or when none took longer than its handling.
///
/// A step takes its volume over the rate, never less than its handling. So a step that was over within its handling says
/// only that the rate is above volume over handling: left out, it would make every station look slow. It counts with the
/// mean and the variance of what lies above that bound (expectation and maximisation for a censored normal: Dempster,
/// Laird & Rubin 1977; the model is Tobin's, 1958). The prior is worth one step, spread 0.5, and lies where the steps do.
pub fn removal(done: &[Ground]) -> Option<Habit> {
    let sound = |step: &&Ground| {
        step.metal_mm3 > 0.0 && step.minutes > 0.0 && step.metal_mm3.is_finite() && step.minutes.is_finite()
    };
    let (mut seen, mut above) = (Vec::new(), Vec::new());
    for step in done.iter().filter(sound) {
        if step.minutes > step.handling {
            seen.push(log(step.metal_mm3 / step.minutes));
        } else {
            above.push(log(step.metal_mm3 / step.handling));
        }
    }
    let n = (seen.len() + above.len()) as f64;
    if seen.is_empty() || seen.len() + above.len() < BELIEVED_FROM {
        return None;
    }
    let centre = seen.iter().chain(&above).sum::<f64>() / n;
    let prior = Habit::from_median(exp(centre), 0.5, 1.0);
    let mut habit = prior;
    for _ in 0..ROUNDS {
        let (mean, spread) = (habit.location, sqrt(habit.scale / habit.shape));
        let (mut sum, mut squares) = (seen.iter().sum::<f64>(), seen.iter().map(|y| y * y).sum::<f64>());
        for bound in &above {
            let (expected, variance) = above_bound(mean, spread, *bound);
            sum += expected;
            squares += expected * expected + variance;
        }
        let drift = sum / n - prior.location;
        let next = Habit {
            location: (prior.weight * prior.location + sum) / (prior.weight + n),
            weight: prior.weight + n,
            shape: prior.shape + 0.5 * n,
            scale: prior.scale
                + 0.5
                    * ((squares - sum * sum / n).max(0.0)
                        + prior.weight * n * drift * drift / (prior.weight + n)),
        };
        let still = (next.location - habit.location).abs() < 1e-9;
        habit = next;
        if still {
            break;
        }
    }
    Some(habit)
}

/// Rounds of expectation and maximisation at most; each halves the distance or better unless nearly all steps are bounds.
const ROUNDS: usize = 200;

/// Mean and variance of a normal above a bound.
fn above_bound(mean: f64, spread: f64, bound: f64) -> (f64, f64) {
    // Further out the ratio below loses its digits, and what lies above a bound there lies at it.
    let z = ((bound - mean) / spread).min(8.0);
    let density = exp(-0.5 * z * z) / sqrt(core::f64::consts::TAU);
    let hazard = density / (0.5 * libm::erfc(z * core::f64::consts::FRAC_1_SQRT_2));
    (mean + spread * hazard, spread * spread * (1.0 + z * hazard - hazard * hazard).max(0.0))
}

/// Standard normal deviate of a probability, to about 0.005 between a thousandth and 0.999 (Tukey's lambda distribution, 0.14).
fn deviate(p: f64) -> f64 {
    (4.91 * (libm::pow(p, 0.14) - libm::pow(1.0 - p, 0.14))).clamp(-6.0, 6.0)
}

/// Where the quantile `p` of so many sorted values stands.
fn place(p: f64, len: usize) -> usize {
    (libm::ceil(p * len as f64) as usize).max(1) - 1
}

/// The 10th, 50th and 90th percentiles of some counts.
fn percentiles(counts: &mut [u32]) -> ServicesLeft {
    counts.sort_unstable();
    let at = |p: f64| counts.get(place(p, counts.len())).copied().unwrap_or(0);
    ServicesLeft { p10: at(0.1), p50: at(0.5), p90: at(0.9) }
}

/// Services that fit into `room_mm` by plain seeded draws, every later service thrown singly: the check on the closed form, and what
/// the bench measures.
pub fn services_by_draws(room_mm: f64, median_mm: f64, spread: f64, seed: u64, draws: u32) -> ServicesLeft {
    let mut dice = Dice::new(seed);
    let mut counts: Vec<u32> = (0..draws.max(1))
        .map(|_| {
            let (mut taken, mut n) = (0.0, 0_u32);
            loop {
                taken += median_mm * exp(spread * dice.normal());
                if taken > room_mm || n > 1_000_000 {
                    return n;
                }
                n += 1;
            }
        })
        .collect();
    percentiles(&mut counts)
}

/// Seeded dice: `SplitMix64` (Steele, Lea & Flood 2014), normals by Box & Muller, gammas by Marsaglia & Tsang (2000).
struct Dice {
    state: u64,
    spare: Option<f64>,
}

impl Dice {
    fn new(seed: u64) -> Self {
        Self { state: seed, spare: None }
    }

    fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Strictly between 0 and 1.
    fn uniform(&mut self) -> f64 {
        ((self.bits() >> 11) as f64 + 0.5) * (1.0 / 9_007_199_254_740_992.0)
    }

    fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        let radius = sqrt(-2.0 * log(self.uniform()));
        let turn = 2.0 * core::f64::consts::PI * self.uniform();
        self.spare = Some(radius * sin(turn));
        radius * cos(turn)
    }

    /// Gamma with unit rate.
    fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            let lift = libm::pow(self.uniform(), 1.0 / shape);
            return self.gamma(shape + 1.0) * lift;
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / sqrt(9.0 * d);
        loop {
            let x = self.normal();
            let v = 1.0 + c * x;
            if v <= 0.0 {
                continue;
            }
            let cubed = v * v * v;
            if log(self.uniform()) < 0.5 * x * x + d * (1.0 - cubed + log(cubed)) {
                return d * cubed;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::life;

    #[test]
    fn the_closed_form_of_a_life_agrees_with_forty_thousand_thrown_ones() {
        for (room, median, spread) in [(14.0, 0.15, 0.5), (3.0, 0.25, 0.8), (0.5, 0.2, 0.3), (1.0, 0.25, 1.2)]
        {
            let closed = life::services(room, median, spread);
            let thrown = services_by_draws(room, median, spread, 7, 40_000);
            for (a, b) in [(closed.p10, thrown.p10), (closed.p50, thrown.p50), (closed.p90, thrown.p90)] {
                assert!(
                    a.abs_diff(b) <= 1,
                    "room {room} median {median} spread {spread}: {closed:?} {thrown:?}"
                );
            }
        }
    }

    #[test]
    fn many_exact_readings_outvote_the_prior() {
        let prior = Habit::prior(EdgeKind::Double);
        let seen = vec![Observed { recession_mm: 0.3, reading_sd_mm: 0.001 }; 400];
        let after = prior.learn(&seen);
        assert!((after.median_mm() - 0.3).abs() < 0.005, "{}", after.median_mm());
        assert!(after.spread() < 0.1 && after.freedom() > 400.0);
    }

    #[test]
    fn a_coarse_tool_moves_the_middle_less_than_a_fine_one() {
        let prior = Habit::prior(EdgeKind::Double);
        let reading = |sd| vec![Observed { recession_mm: 0.36, reading_sd_mm: sd }; 5];
        let (coarse, fine) = (prior.learn(&reading(0.3)), prior.learn(&reading(0.005)));
        assert!(prior.median_mm() < coarse.median_mm() && coarse.median_mm() < fine.median_mm());
        assert_eq!(prior.learn(&[]), prior);
    }

    #[test]
    fn a_paper_update_with_two_readings_comes_out() {
        // κ 2, a 1, b 0.25, location 0; y = ln 1 = 0 and ln e = 1, exact readings: κ 4, location 1/4, a 2,
        // b 0.25 + (0.5 + 2·2·0.25/4)/2 = 0.25 + 0.375.
        let prior = Habit { location: 0.0, weight: 2.0, shape: 1.0, scale: 0.25 };
        let after = prior.learn(&[
            Observed { recession_mm: 1.0, reading_sd_mm: 0.0 },
            Observed { recession_mm: core::f64::consts::E, reading_sd_mm: 0.0 },
        ]);
        assert!((after.location - 0.25).abs() < 1e-12 && (after.weight - 4.0).abs() < 1e-12, "{after:?}");
        assert!((after.shape - 2.0).abs() < 1e-12 && (after.scale - 0.625).abs() < 1e-12, "{after:?}");
    }

    #[test]
    fn half_a_normal_has_the_mean_and_the_variance_of_the_books() {
        // Half-normal: mean √(2/π), variance 1 − 2/π (Johnson, Kotz & Balakrishnan, Continuous Univariate Distributions 1).
        let (mean, variance) = above_bound(0.0, 1.0, 0.0);
        assert!((mean - 0.797_884_560_802_865).abs() < 1e-12, "{mean}");
        assert!((variance - (1.0 - core::f64::consts::FRAC_2_PI)).abs() < 1e-12, "{variance}");
        // Shifted and stretched with it; far below the bound nothing is cut off, far above all of it lies at the bound.
        let (moved, wide) = above_bound(3.0, 2.0, 3.0);
        assert!((moved - 3.0 - 2.0 * mean).abs() < 1e-12 && (wide - 4.0 * variance).abs() < 1e-12);
        assert_eq!(above_bound(1.0, 0.1, -50.0), (1.0, 0.1 * 0.1));
        let (at, narrow) = above_bound(0.0, 1.0, 100.0);
        assert!((8.0..8.2).contains(&at) && narrow < 0.02, "{at} {narrow}");
    }

    #[test]
    fn steps_that_were_over_within_their_handling_do_not_make_a_station_look_slow() {
        // 3 mm³ a minute, spread 0.3, on volumes of which half are over within the 8 minutes handling takes.
        let mut dice = Dice::new(11);
        let (mut done, mut n_bounds) = (Vec::new(), 0);
        for i in 0..600 {
            let metal_mm3 = 12.0 + 24.0 * f64::from(i) / 600.0;
            let minutes = (metal_mm3 / (3.0 * exp(0.3 * dice.normal()))).max(8.0);
            n_bounds += usize::from(minutes <= 8.0);
            done.push(Ground { metal_mm3, minutes, handling: 8.0 });
        }
        assert!((200..400).contains(&n_bounds), "{n_bounds}");
        let learned = removal(&done).unwrap();
        assert!((learned.median_mm() / 3.0 - 1.0).abs() < 0.04, "{}", learned.median_mm());
        assert!((learned.spread() - 0.3).abs() < 0.04, "{}", learned.spread());
        let slow: Vec<Ground> = done.iter().filter(|step| step.minutes > 8.0).copied().collect();
        let without = removal(&slow).unwrap();
        assert!(without.median_mm() < 0.93 * learned.median_mm(), "{}", without.median_mm());
    }

    #[test]
    fn without_bounds_a_removal_rate_is_the_closed_form() {
        let done: Vec<Ground> = [20.0, 24.0, 30.0, 18.0, 26.0]
            .map(|minutes| Ground { metal_mm3: 50.0, minutes, handling: 6.0 })
            .to_vec();
        let learned = removal(&done).unwrap();
        let rate = |step: &Ground| step.metal_mm3 / step.minutes;
        let middle = exp(done.iter().map(|step| log(rate(step))).sum::<f64>() / 5.0);
        let exact: Vec<Observed> =
            done.iter().map(|step| Observed { recession_mm: rate(step), reading_sd_mm: 0.0 }).collect();
        let closed = Habit::from_median(middle, 0.5, 1.0).learn(&exact);
        assert!((learned.location - closed.location).abs() < 1e-12, "{learned:?} {closed:?}");
        assert!((learned.scale - closed.scale).abs() < 1e-9, "{learned:?} {closed:?}");
        // Too few, none longer than its handling, or figures that are none teach nothing.
        assert_eq!(removal(&done[..4]), None);
        assert_eq!(removal(&[Ground { metal_mm3: 5.0, minutes: 6.0, handling: 6.0 }; 9]), None);
        assert_eq!(removal(&[Ground { metal_mm3: f64::NAN, minutes: 9.0, handling: 6.0 }; 9]), None);
    }

    #[test]
    fn the_height_taken_and_the_services_left_are_two_sides_of_one_life() {
        let habit = Habit::from_median(0.2, 0.5, 6.0);
        let left = habit.services(6.0, 1, 400);
        // As many services as nine in ten last take, for nine in ten, no more than the room; and so on.
        let taken = habit.taken(&[left.p10, left.p50, left.p90 + 1], 1, 400);
        assert!(taken[0][2] <= 6.0 * 1.02, "{left:?} {taken:?}");
        assert!((taken[1][1] - 6.0).abs() < 0.3, "{left:?} {taken:?}");
        assert!(taken[2][0] >= 6.0 * 0.98, "{left:?} {taken:?}");
        // Known well, it is the closed form.
        let sure = Habit::from_median(0.2, 0.5, 1e6).taken(&[10], 1, 400)[0];
        let bite = Bite::new(0.2, 0.5);
        for (drawn, z) in sure.into_iter().zip([-life::Z90, 0.0, life::Z90]) {
            let closed = bite.taken(10.0, z);
            assert!((drawn / closed - 1.0).abs() < 0.02, "{drawn} {closed}");
        }
    }

    #[test]
    fn not_knowing_the_habit_widens_the_life() {
        let vague = Habit::from_median(0.2, 0.5, 4.0).services(6.0, 1, 400);
        let sure = Habit::from_median(0.2, 0.5, 4000.0).services(6.0, 1, 400);
        let known = life::services(6.0, 0.2, 0.5);
        assert!(vague.p90 - vague.p10 > sure.p90 - sure.p10, "{vague:?} {sure:?}");
        assert!(sure.p50.abs_diff(known.p50) <= 1 && sure.p10.abs_diff(known.p10) <= 1, "{sure:?} {known:?}");
        assert_eq!(vague, Habit::from_median(0.2, 0.5, 4.0).services(6.0, 1, 400), "a seed repeats");
    }
}

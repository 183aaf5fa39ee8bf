//! How many services a blade has left.
//!
//! Each later service takes a log-normal bite out of the height. The number that fit into the room left is a sum of
//! such bites, and a sum of log-normals is itself close to a shifted log-normal: matched in mean, variance and skewness it
//! is exact for one service and good to about a thousandth in probability for more (checked against seeded draws in the
//! tests), so the percentiles need no draws and are the same digits everywhere.

use crate::answer::ServicesLeft;
use crate::num::{erfc, exp, log, sqrt};

/// Whole services that fit into `room_mm` when each takes `median_mm`, spread by `spread` on the natural logarithm.
///
/// Spread 0: floor(room/median + 1e-9) three times. Otherwise p10 is the cautious figure: nine blades in ten last at
/// least that long. Never below 0; no room is 0 services.
pub fn services(room_mm: f64, median_mm: f64, spread: f64) -> ServicesLeft {
    if room_mm <= 0.0 {
        return ServicesLeft { p10: 0, p50: 0, p90: 0 };
    }
    if spread == 0.0 {
        let n = libm::floor(room_mm / median_mm + 1e-9).clamp(0.0, f64::from(u32::MAX)) as u32;
        return ServicesLeft { p10: n, p50: n, p90: n };
    }
    let bite = Bite::new(median_mm, spread);
    ServicesLeft {
        p10: bite.quantile(room_mm, 0.1, -Z90),
        p50: bite.quantile(room_mm, 0.5, 0.0),
        p90: bite.quantile(room_mm, 0.9, Z90),
    }
}

/// The middle of [`services`] alone.
pub(crate) fn middle_services(room_mm: f64, median_mm: f64, spread: f64) -> u32 {
    if spread == 0.0 || room_mm <= 0.0 {
        services(room_mm, median_mm, spread).p50
    } else {
        Bite::new(median_mm, spread).quantile(room_mm, 0.5, 0.0)
    }
}

/// Standard normal deviate of the 90th percentile.
pub(crate) const Z90: f64 = 1.281_551_565_544_6;

/// One service's log-normal bite, by its moments.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bite {
    mean: f64,
    variance: f64,
    skewness: f64,
}

impl Bite {
    pub(crate) fn new(median: f64, spread: f64) -> Self {
        let w = exp(spread * spread);
        let mean = median * sqrt(w);
        Self { mean, variance: mean * mean * (w - 1.0), skewness: (w + 2.0) * sqrt(w - 1.0) }
    }

    /// The shifted log-normal of a sum of `n`: (shift, log of the scale, shape).
    fn sum(&self, n: f64) -> (f64, f64, f64) {
        // Its shape solves x³ + 3x = skewness with x = √(ω - 1), whose root is 2 sinh(asinh(skewness/2)/3).
        let x = 2.0 * libm::sinh(libm::asinh(0.5 * self.skewness / sqrt(n)) / 3.0);
        let omega = 1.0 + x * x;
        let scale = sqrt(n * self.variance / omega) / x;
        (n * self.mean - scale * sqrt(omega), log(scale), sqrt(libm::log1p(x * x)))
    }

    /// Chance that `n` services together take no more than `room`.
    pub(crate) fn fits(&self, n: f64, room: f64) -> f64 {
        let (shift, log_scale, shape) = self.sum(n);
        if room <= shift {
            return 0.0;
        }
        normal_cdf((log(room - shift) - log_scale) / shape)
    }

    /// Height taken by `n` services at standard normal deviate `z`.
    pub(crate) fn taken(&self, n: f64, z: f64) -> f64 {
        if n <= 0.0 {
            return 0.0;
        }
        let (shift, log_scale, shape) = self.sum(n);
        (shift + exp(log_scale + shape * z)).max(0.0)
    }

    /// Smallest count whose chance of not being exceeded is at least `p`: least n with P(n + 1 fit) ≤ 1 - p. `z` is the standard normal
    /// deviate of `p`: with it the search starts within a step or two of the answer.
    pub(crate) fn quantile(&self, room: f64, p: f64, z: f64) -> u32 {
        let enough = |n: u32| self.fits(f64::from(n) + 1.0, room) <= 1.0 - p;
        let middle = room / self.mean;
        let guess = middle - 0.5 + z * sqrt((middle * self.variance).max(0.0)) / self.mean;
        let mut n = guess.clamp(0.0, 4e9) as u32;
        let mut step = 1_u32;
        if enough(n) {
            // Down until it no longer is enough, then close in from below.
            while n > 0 && enough(n.saturating_sub(step)) {
                n = n.saturating_sub(step);
                step = step.saturating_mul(2);
            }
            if n == 0 {
                return 0;
            }
            Self::between(n.saturating_sub(step), n, enough)
        } else {
            while !enough(n.saturating_add(step)) {
                n = n.saturating_add(step);
                step = step.saturating_mul(2);
                if n == u32::MAX {
                    return n;
                }
            }
            Self::between(n, n.saturating_add(step), enough)
        }
    }

    /// The first count that is enough, given one that is not and one that is.
    fn between(mut low: u32, mut high: u32, enough: impl Fn(u32) -> bool) -> u32 {
        while high - low > 1 {
            let mid = low + (high - low) / 2;
            if enough(mid) { high = mid } else { low = mid }
        }
        high
    }
}

/// Standard normal distribution function.
pub(crate) fn normal_cdf(z: f64) -> f64 {
    0.5 * erfc(-z * core::f64::consts::FRAC_1_SQRT_2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_spread_the_count_is_plain_division() {
        assert_eq!(services(14.18, 0.15, 0.0).p50, 94);
        assert_eq!(services(0.3, 0.1, 0.0).p10, 3, "0.3/0.1 falls a hair under 3 in binary");
        assert_eq!(services(-1.0, 0.1, 0.0).p90, 0);
    }

    #[test]
    fn one_service_fits_exactly_as_often_as_its_own_log_normal_says() {
        let bite = Bite::new(0.2, 0.5);
        assert!((bite.fits(1.0, 0.2) - 0.5).abs() < 1e-12);
        // P(X ≤ 0.2·e^0.5) = Φ(1).
        assert!((bite.fits(1.0, 0.2 * exp(0.5)) - 0.841_344_746).abs() < 1e-8);
    }
}

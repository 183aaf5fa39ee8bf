//! The few functions of a real variable this crate needs, from one pure-Rust library, so that a browser and a
//! server print the same digits (the platform's own `sin` and `exp` differ in the last place).

pub(crate) use libm::{acos, asin, atan, cos, erfc, exp, log, sin, sqrt, tan};

/// Degrees to radians.
pub(crate) fn rad(degrees: f64) -> f64 {
    degrees * (core::f64::consts::PI / 180.0)
}

/// Radians to degrees.
pub(crate) fn deg(radians: f64) -> f64 {
    radians * (180.0 / core::f64::consts::PI)
}

/// Cotangent; finite for every angle this crate accepts (they lie strictly between 0° and 90°).
pub(crate) fn cot(radians: f64) -> f64 {
    1.0 / tan(radians)
}

/// Nodes and weights of the eight-point Gauss-Legendre rule on [-1, 1] (Abramowitz & Stegun, Table 25.4), used
/// where no closed form is worth its cancellation: the cube of an arc, sections that change along a tooth.
const GAUSS_8: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_48),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_26),
];

/// Integral of `f` over [a, b] by one eight-point Gauss-Legendre panel: exact for polynomials up to degree 15.
pub(crate) fn gauss(a: f64, b: f64, mut f: impl FnMut(f64) -> f64) -> f64 {
    let (mid, half) = (0.5 * (a + b), 0.5 * (b - a));
    let mut sum = 0.0;
    for (node, weight) in GAUSS_8 {
        sum += weight * (f(mid - half * node) + f(mid + half * node));
    }
    sum * half
}

/// Integral of `f` over [a, b] in `panels` equal Gauss-Legendre panels.
pub(crate) fn gauss_panels(a: f64, b: f64, panels: u32, mut f: impl FnMut(f64) -> f64) -> f64 {
    let width = (b - a) / f64::from(panels);
    (0..panels)
        .map(|panel| {
            let start = a + width * f64::from(panel);
            gauss(start, start + width, &mut f)
        })
        .sum()
}

/// Sorts a short list; equal items keep their order. Straight insertion: a knife has a handful of chips, gaps or steps, and each
/// kind of list the standard sort is made for adds three kilobytes to the program of the booking page.
pub fn sort_short<T>(items: &mut [T], compare: impl Fn(&T, &T) -> core::cmp::Ordering) {
    for end in 1..items.len() {
        let mut at = end;
        while at > 0 && compare(&items[at - 1], &items[at]).is_gt() {
            items.swap(at - 1, at);
            at -= 1;
        }
    }
}

/// Rounds to ten significant digits: below any measurement, above the noise of the last binary places, so that
/// 0.8 + 0.02 reads 0.82. Zero, infinities and NaN come back unchanged.
pub(crate) fn tidy(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let exponent = libm::floor(libm::log10(value.abs())) as i32;
    let places = 9 - exponent;
    if places.unsigned_abs() > 200 {
        return value;
    }
    if places >= 0 {
        let scale = power_of_ten(places.unsigned_abs());
        libm::round(value * scale) / scale
    } else {
        let scale = power_of_ten(places.unsigned_abs());
        libm::round(value / scale) * scale
    }
}

fn power_of_ten(exponent: u32) -> f64 {
    const SMALL: [f64; 23] = [
        1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17,
        1e18, 1e19, 1e20, 1e21, 1e22,
    ];
    SMALL.get(exponent as usize).copied().unwrap_or_else(|| libm::pow(10.0, f64::from(exponent)))
}

/// Whole minutes, rounded up; a hair above a whole minute (1e-9) is that minute.
pub(crate) fn whole_minutes(minutes: f64) -> u32 {
    if minutes <= 0.0 { 0 } else { libm::ceil(minutes - 1e-9) as u32 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sum_of_tenths_reads_as_it_was_meant() {
        assert_eq!(tidy(0.8 + 0.02), 0.82);
        assert_eq!(tidy(46.0 - 0.82), 45.18);
        assert_eq!(tidy(0.0), 0.0);
        assert_eq!(tidy(123_456_789_012.0), 123_456_789_000.0);
    }

    #[test]
    fn the_gauss_rule_is_exact_for_a_polynomial_of_degree_fifteen() {
        let value = gauss(0.0, 2.0, |x| libm::pow(x, 15.0));
        assert!((value - 4096.0).abs() < 1e-9, "{value}");
    }

    #[test]
    fn minutes_round_up_but_not_for_a_hair() {
        assert_eq!(whole_minutes(11.25), 12);
        assert_eq!(whole_minutes(3.0 + 1e-12), 3);
        assert_eq!(whole_minutes(-1.0), 0);
    }
}

//! Hardness up the blade.

use crate::num::{asin, sin};
use crate::request::Hardness;

/// Hardness at a height above today's edge; `None` where the figures given do not say.
///
/// Below the line it is the edge's; above it falls by `edge - (edge - spine)(3u² - 2u³)`, u the share of the
/// transition, to the spine's. A transition of 0 is a step.
pub fn at(hardness: &Hardness, y_mm: f64) -> Option<f64> {
    let edge = hardness.edge_hrc?;
    let Some(line) = hardness.line_mm else {
        return Some(edge);
    };
    if y_mm <= line {
        return Some(edge);
    }
    let spine = hardness.spine_hrc?;
    let transition = hardness.transition_mm.unwrap_or(0.0);
    if y_mm >= line + transition {
        return Some(spine);
    }
    let u = (y_mm - line) / transition;
    Some(edge - (edge - spine) * u * u * (3.0 - 2.0 * u))
}

/// Largest height above today's edge that keeps the least hardness.
///
/// `None`: no limit, because the keys are not there or the blade is hard enough up to the spine. Negative
/// infinity: not even the edge is hard enough. When edge or spine hardness is unknown the line itself is the limit.
pub fn highest_hard(hardness: &Hardness) -> Option<f64> {
    let (line, least) = (hardness.line_mm?, hardness.least_hrc?);
    let (Some(edge), Some(spine)) = (hardness.edge_hrc, hardness.spine_hrc) else {
        return match hardness.edge_hrc {
            Some(edge) if edge < least => Some(f64::NEG_INFINITY),
            _ => Some(line),
        };
    };
    if edge < least {
        return Some(f64::NEG_INFINITY);
    }
    if spine >= least {
        return None;
    }
    // 3u² - 2u³ = q has the one root in [0, 1] u = 1/2 - sin(asin(1 - 2q)/3).
    let q = (edge - least) / (edge - spine);
    let u = 0.5 - sin(asin(1.0 - 2.0 * q) / 3.0);
    Some(line + u * hardness.transition_mm.unwrap_or(0.0))
}

/// Vickers hardness of non-austenitic steel for HRC 20 to 68 in whole points, ASTM E140 Table 1.
const VICKERS: [u16; 49] = [
    238, 243, 248, 254, 260, 266, 272, 279, 286, 294, 302, 310, 318, 327, 336, 345, 354, 363, 372, 382, 392,
    402, 412, 423, 434, 446, 458, 471, 484, 498, 513, 528, 544, 560, 577, 595, 613, 633, 653, 674, 697, 720,
    746, 772, 800, 832, 865, 900, 940,
];

/// Vickers hardness for a Rockwell C figure, straight between the table's whole points, rounded to a whole number as the standard asks:
/// converted values are approximate. `None` outside HRC 20 to 68, where the table ends; it is never extrapolated.
pub fn vickers(hrc: f64) -> Option<u16> {
    if !(20.0..=68.0).contains(&hrc) {
        return None;
    }
    let whole = libm::floor(hrc);
    let below = VICKERS.get(whole as usize - 20)?;
    let above = VICKERS.get(whole as usize - 19).unwrap_or(below);
    let between = f64::from(*below) + (hrc - whole) * f64::from(above - below);
    Some(libm::round(between) as u16)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_conversion_meets_published_pairs_that_did_not_make_it() {
        // A technical card of 100Cr6 prints HRC and HV side by side after tempering.
        for (hrc, hv) in [
            (65.0, 832),
            (64.0, 800),
            (63.0, 772),
            (62.0, 746),
            (59.0, 674),
            (57.0, 633),
            (54.0, 577),
            (51.0, 528),
            (47.0, 471),
            (44.0, 434),
        ] {
            assert_eq!(vickers(hrc), Some(hv), "{hrc}");
        }
        assert_eq!(vickers(60.0), Some(697));
        assert_eq!(vickers(19.9), None);
        assert_eq!(vickers(68.1), None);
        assert_eq!(vickers(f64::NAN), None);
    }

    fn blade() -> Hardness {
        Hardness {
            edge_hrc: Some(64.0),
            spine_hrc: Some(32.0),
            line_mm: Some(18.0),
            transition_mm: Some(4.0),
            least_hrc: Some(58.0),
        }
    }

    #[test]
    fn halfway_through_the_transition_it_is_halfway_to_the_spine() {
        assert_eq!(at(&blade(), 20.0), Some(48.0));
        assert_eq!(at(&blade(), 18.0), Some(64.0));
        assert_eq!(at(&blade(), 30.0), Some(32.0));
    }

    #[test]
    fn the_highest_hard_place_has_exactly_the_least_hardness() {
        for least in [63.9, 58.0, 48.0, 40.0, 32.1] {
            let hardness = Hardness { least_hrc: Some(least), ..blade() };
            let y = highest_hard(&hardness).unwrap();
            assert!((at(&hardness, y).unwrap() - least).abs() < 1e-9, "{least}: {y}");
        }
    }

    #[test]
    fn a_spine_that_is_hard_enough_is_no_limit_and_a_soft_edge_has_no_place_at_all() {
        assert_eq!(highest_hard(&Hardness { least_hrc: Some(30.0), ..blade() }), None);
        assert_eq!(highest_hard(&Hardness { least_hrc: Some(65.0), ..blade() }), Some(f64::NEG_INFINITY));
        assert_eq!(highest_hard(&Hardness { least_hrc: None, ..blade() }), None);
        let step = Hardness { transition_mm: None, ..blade() };
        assert_eq!(highest_hard(&step), Some(18.0));
    }
}

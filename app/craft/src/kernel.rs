//! Single figures without a whole request: what an island on a page recomputes while a finger drags a dial, and what the bench times.

use serde::{Deserialize, Serialize};

use crate::num::{cot, rad, sin, tan};
use crate::pattern::{Pattern, Tooth};
use crate::register::Pair;

/// A flat-ground double bevel, in figures.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlainSection {
    /// Today's worn edge to the spine.
    pub height_mm: f64,
    /// Thickness at the spine.
    pub spine_mm: f64,
    /// Thickness behind the edge.
    pub behind_edge_mm: f64,
    /// Angle of each side.
    pub half_angle_deg: f64,
    /// Width of the worn flat.
    pub land_mm: f64,
    /// Height that goes from today's edge.
    pub recession_mm: f64,
}

impl PlainSection {
    /// Metal the same bevel takes when it is reground this much higher, mm²: b·h/2 + (b + b')/2·(y - h) - b'(y - Δᵥ)/2 - ℓ²/(4 tan θ).
    /// `None` where the figures are no knife; [`crate::estimate`] says why.
    pub fn removed_mm2(&self) -> Option<f64> {
        let tangent = tan(rad(self.half_angle_deg));
        let b = self.behind_edge_mm;
        let lambda = 0.5 * self.land_mm / tangent;
        let shoulder = 0.5 * b / tangent;
        let primary = 0.5 * (self.spine_mm - b) / (self.height_mm + lambda - shoulder);
        // Written so that a figure that is no number is refused as well.
        if !(primary < tangent && tangent > 0.0) {
            return None;
        }
        let lift = lambda + self.recession_mm;
        let rise = lift * tangent / (tangent - primary);
        let after = b + 2.0 * primary * rise;
        let removed = 0.5 * b * shoulder + 0.5 * (b + after) * rise
            - 0.5 * after * (shoulder + rise - lift)
            - 0.25 * self.land_mm * self.land_mm / tangent;
        removed.is_finite().then_some(removed)
    }
}

/// A row of arc teeth.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    /// Tooth to tooth.
    pub pitch_mm: f64,
    /// The wheel's ridge radius, normal to the bevel.
    pub ridge_radius_mm: f64,
    /// Bevel from the flat back.
    pub angle_deg: f64,
}

impl Row {
    fn tooth(&self) -> Option<Tooth> {
        // The bounds of a request: what no wheel cuts is no row.
        let possible = (0.1..=3000.0).contains(&self.pitch_mm)
            && self.ridge_radius_mm <= 1e6
            && (0.5..=75.0).contains(&self.angle_deg);
        if !possible {
            return None;
        }
        Tooth::arc(self.pitch_mm, self.ridge_radius_mm, sin(rad(self.angle_deg)))
    }

    fn pattern(&self) -> Option<Pattern> {
        Pattern::new(vec![self.tooth()?])
    }

    /// Depth of the gullets on the blade, mm; `None` when the ridge is narrower than a tooth.
    pub fn depth_mm(&self) -> Option<f64> {
        self.tooth().map(|tooth| tooth.depth())
    }
}

/// A blade with such teeth, unworn.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Teeth {
    /// Length of the edge.
    pub edge_length_mm: f64,
    /// Tooth tips to the spine.
    pub height_mm: f64,
    /// Thickness at the spine.
    pub spine_mm: f64,
    /// Thickness at the tooth-tip line.
    pub behind_edge_mm: f64,
    /// The teeth.
    pub row: Row,
    /// Height that goes.
    pub recession_mm: f64,
}

impl Teeth {
    /// Metal the same wheel takes over the whole edge when the row climbs this much, mm³: ∫ δ·(n(e) + n(e + δ))/2 dx from a tooth tip at the heel, in
    /// closed form. `None` where the figures are no knife.
    pub fn removed_mm3(&self) -> Option<f64> {
        let tooth = self.row.tooth()?;
        let k = (self.spine_mm - self.behind_edge_mm) / self.height_mm;
        let delta = self.recession_mm;
        let risen = tooth.integral_over(self.edge_length_mm);
        let removed = delta * ((self.behind_edge_mm + 0.5 * k * delta) * self.edge_length_mm + k * risen)
            / (1.0 - k * cot(rad(self.row.angle_deg)));
        removed.is_finite().then_some(removed)
    }
}

/// Cost of every phase: `costs[i]` is the height a recut with `new` costs on `length_mm` of `old` with its first tip at i/n of a pitch. Zeros
/// where either row cannot be.
pub fn mismatch_curve(old: &Row, new: &Row, length_mm: f64, costs: &mut [f64]) {
    costs.fill(0.0);
    let (Some(old), Some(new)) = (old.pattern(), new.pattern()) else { return };
    let pair = Pair::new(&old, &new, 0.0, length_mm);
    let n = costs.len() as f64;
    for (i, cost) in costs.iter_mut().enumerate() {
        *cost = pair.cost(new.period() * i as f64 / n);
    }
}

/// The phase that costs least, and its cost, mm; `None` where either row cannot be.
pub fn least_mismatch(old: &Row, new: &Row, length_mm: f64) -> Option<(f64, f64)> {
    let (old, new) = (old.pattern()?, new.pattern()?);
    let phase = Pair::new(&old, &new, 0.0, length_mm).least();
    Some((phase.s, phase.cost))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_short_form_is_the_long_one() {
        let section = PlainSection {
            height_mm: 46.0,
            spine_mm: 2.4,
            behind_edge_mm: 0.35,
            half_angle_deg: 15.0,
            land_mm: 0.06,
            recession_mm: 0.82,
        };
        assert!((section.removed_mm2().unwrap() - 0.344_211).abs() < 6e-7);
        let unworn = PlainSection { land_mm: 0.0, recession_mm: 0.5, ..section };
        assert!((unworn.removed_mm2().unwrap() - 0.181_171).abs() < 6e-7);
    }

    #[test]
    fn teeth_too_small_to_see_leave_the_printed_section() {
        // e 0, δ 0.3, blade 46/2.4/0.35, 20°: 0.121936 in every section.
        let row = Row { pitch_mm: 0.1, ridge_radius_mm: 1e6, angle_deg: 20.0 };
        let teeth = Teeth {
            edge_length_mm: 100.0,
            height_mm: 46.0,
            spine_mm: 2.4,
            behind_edge_mm: 0.35,
            row,
            recession_mm: 0.3,
        };
        assert!((teeth.removed_mm3().unwrap() / 100.0 - 0.121_936).abs() < 6e-7);
    }

    #[test]
    fn the_mismatch_curve_has_the_least_mismatch_at_its_bottom() {
        let old = Row { pitch_mm: 5.0, ridge_radius_mm: 6.5, angle_deg: 20.0 };
        let new = Row { pitch_mm: 5.05, ..old };
        let mut costs = vec![0.0; 400];
        mismatch_curve(&old, &new, 200.0, &mut costs);
        let bottom = costs.iter().copied().fold(f64::INFINITY, f64::min);
        let (_, least) = least_mismatch(&old, &new, 200.0).unwrap();
        assert!(
            (least - 0.9137).abs() < 6e-5 && bottom >= least - 1e-12 && bottom - least < 0.02,
            "{bottom} {least}"
        );
    }
}

//! What the ideal figures leave out at a real bench, as figures with their tolerance.

use serde::{Deserialize, Serialize};

use crate::estimate::{WorkedOut, work_out};
use crate::figures::not_negative;
use crate::impossible::Impossible;
use crate::num::{acos, asin, atan, cos, cot, deg, rad, sin, sqrt, tan};
use crate::request::{EdgeKind, Request};
use crate::steels;

/// A figure to look at before the work is called good.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Check {
    /// Stable word for programs.
    pub code: &'static str,
    /// The figure; mm or degrees, as `unit` says.
    pub value: f64,
    /// `mm` or `°`.
    pub unit: &'static str,
    /// How far off it may honestly be.
    pub tolerance: f64,
    /// False when it calls for doing something.
    pub good: bool,
    /// One sentence for the bench.
    pub words: String,
}

/// What the bench knows beside the knife.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Bench {
    /// Width of the wheel, mm.
    pub wheel_width_mm: f64,
    /// Radius of the wheel, mm: a plunge leaves a hollow bevel on it.
    pub wheel_radius_mm: f64,
    /// How far the wheel's axis may be out of line with the edge, degrees.
    pub tilt_deg: f64,
    /// Nose radius of the grooves between the ridges, mm.
    pub groove_nose_mm: f64,
    /// Radius of the edge line where it curves most; straight when absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub edge_radius_mm: Option<f64>,
    /// How far the angle may be off, degrees (±0.5 by goniometer, ±1 by gauge).
    pub angle_gauge_deg: f64,
    /// Height of a bevel on the back, mm.
    pub back_bevel_mm: f64,
    /// Its angle, degrees.
    pub back_bevel_deg: f64,
}

impl Default for Bench {
    fn default() -> Self {
        Self {
            wheel_width_mm: 25.0,
            wheel_radius_mm: 100.0,
            tilt_deg: 0.1,
            groove_nose_mm: 0.25,
            edge_radius_mm: None,
            angle_gauge_deg: 1.0,
            back_bevel_mm: 0.0,
            back_bevel_deg: 0.0,
        }
    }
}

impl Bench {
    /// A bench that can be: lengths above 0, angles a bench may be out by.
    ///
    /// # Errors
    /// [`Impossible`] with the path of the figure, such as `bench.tilt_deg`.
    pub fn check(&self) -> Result<(), Impossible> {
        let length = |at: &str, value: f64, most: f64| {
            if (0.1..=most).contains(&value) {
                Ok(())
            } else {
                Err(Impossible::new(at, format!("{value} is not a length between 0.1 and {most} mm")))
            }
        };
        length("bench.wheel_width_mm", self.wheel_width_mm, 500.0)?;
        length("bench.wheel_radius_mm", self.wheel_radius_mm, 5000.0)?;
        not_negative("bench.tilt_deg", self.tilt_deg, 45.0)?;
        not_negative("bench.groove_nose_mm", self.groove_nose_mm, 50.0)?;
        not_negative("bench.angle_gauge_deg", self.angle_gauge_deg, 45.0)?;
        not_negative("bench.back_bevel_mm", self.back_bevel_mm, 100.0)?;
        not_negative("bench.back_bevel_deg", self.back_bevel_deg, 45.0)?;
        if let Some(radius) = self.edge_radius_mm {
            length("bench.edge_radius_mm", radius, 1e9)?;
        }
        Ok(())
    }
}

/// Step between neighbouring plunges of a wheel tilted by `tilt_deg`, in height: width·tan(tilt)/sin θ.
pub fn seam_step_mm(width_mm: f64, tilt_deg: f64, angle_deg: f64) -> f64 {
    width_mm * tan(rad(tilt_deg)) / sin(rad(angle_deg))
}

/// How far a flat of the wheel's width stands off an edge curved with `edge_radius_mm`: W²/(8R).
pub fn facet_mm(width_mm: f64, edge_radius_mm: f64) -> f64 {
    width_mm * width_mm / (8.0 * edge_radius_mm)
}

/// Widest wheel whose facets stay within `facet_mm` on that curve: √(8 R f).
pub fn widest_for_facet_mm(facet_mm: f64, edge_radius_mm: f64) -> f64 {
    sqrt(8.0 * edge_radius_mm * facet_mm)
}

/// Edge angle where the wheel's profile has slope c' against the edge: cos of it = cos θ/√(1 + c'²).
pub fn local_angle_deg(angle_deg: f64, profile_slope: f64) -> f64 {
    deg(acos(cos(rad(angle_deg)) / sqrt(1.0 + profile_slope * profile_slope)))
}

/// Width of the flat a groove nose of this radius leaves on a tooth tip whose flanks have slope c': 2 r sin(atan c').
pub fn tip_from_nose_mm(nose_mm: f64, profile_slope: f64) -> f64 {
    2.0 * nose_mm * sin(atan(profile_slope))
}

/// How much shallower the edge is than the bevel's chord when the bevel is hollow from a wheel of this radius: asin(face/(2R))
/// (Lee, The Complete Guide to Sharpening, 1995, p. 62, with face = T/sin φ and D = 2R).
pub fn hollow_loss_deg(face_mm: f64, wheel_radius_mm: f64) -> f64 {
    deg(asin((0.5 * face_mm / wheel_radius_mm).clamp(0.0, 1.0)))
}

/// Depth of that hollow: R - √(R² - face²/4).
pub fn hollow_depth_mm(face_mm: f64, wheel_radius_mm: f64) -> f64 {
    let half = 0.5 * face_mm.min(2.0 * wheel_radius_mm);
    half * half / (wheel_radius_mm + sqrt((wheel_radius_mm * wheel_radius_mm - half * half).max(0.0)))
}

/// Height gained on the edge by an infeed read on the dial: the dial's reading over sin θ.
pub fn lift_for_infeed_mm(infeed_mm: f64, angle_deg: f64) -> f64 {
    infeed_mm / sin(rad(angle_deg))
}

/// Everything worth checking on this knife at this bench.
///
/// # Errors
/// Whatever the estimate refuses.
pub fn checks(request: &Request, bench: &Bench) -> Result<Vec<Check>, Impossible> {
    let steel = steels::find(&request.steel, &[]).unwrap_or_else(|| steels::unknown_steel());
    let WorkedOut { knife, laid, delta, ground, .. } = work_out(request, steel)?;
    let angle_deg = deg(knife.theta_new);
    let mut found = Vec::new();
    let face = ground.bevel_face_mm;
    let loss = hollow_loss_deg(face, bench.wheel_radius_mm);
    found.push(Check {
        code: "hollow_bevel",
        value: hollow_depth_mm(face, bench.wheel_radius_mm),
        unit: "mm",
        tolerance: 0.1 * hollow_depth_mm(face, bench.wheel_radius_mm),
        good: loss <= bench.angle_gauge_deg,
        words: format!(
            "A wheel of radius {} mm leaves the bevel hollow; right at the edge it is {loss:.1}° shallower than {angle_deg:.1}°.",
            bench.wheel_radius_mm
        ),
    });
    if let Some(radius) = bench.edge_radius_mm {
        let facet = facet_mm(bench.wheel_width_mm, radius);
        found.push(Check {
            code: "facets",
            value: facet,
            unit: "mm",
            tolerance: 0.1 * facet,
            good: facet <= FACET_LIMIT_MM,
            words: if facet <= FACET_LIMIT_MM {
                format!("Facets of {facet:.2} mm on the curve: not seen.")
            } else {
                format!(
                    "Facets of {facet:.2} mm on the curve: use a wheel no wider than {:.0} mm there.",
                    libm::floor(widest_for_facet_mm(FACET_LIMIT_MM, radius))
                )
            },
        });
    }
    if knife.kind != EdgeKind::Double && bench.back_bevel_mm > 0.0 {
        let flat = bench.back_bevel_mm <= BACK_BEVEL_LIMIT_MM;
        found.push(Check {
            code: "back_bevel",
            value: bench.back_bevel_mm,
            unit: "mm",
            tolerance: 0.05,
            good: flat,
            words: format!(
                "The back carries a bevel of {} mm at {:.1}°: the edge is really {:.1}°.{}",
                bench.back_bevel_mm,
                bench.back_bevel_deg,
                angle_deg + bench.back_bevel_deg,
                if flat { "" } else { " Flatten the back, or say so." }
            ),
        });
    }
    let Some(old) = knife.teeth.as_ref() else { return Ok(found) };
    let cut = knife.new_teeth.as_ref().unwrap_or(old);
    let slope =
        cut.teeth().iter().map(|tooth| tooth.slope(0.0).abs()).fold(0.0, f64::max) * sin(knife.theta_new);
    let seam = seam_step_mm(bench.wheel_width_mm, bench.tilt_deg, angle_deg);
    found.push(Check {
        code: "seam_step",
        value: seam,
        unit: "mm",
        tolerance: 0.5 * seam,
        good: seam <= SEAM_LIMIT_MM,
        words: format!(
            "A wheel {} mm wide and {}° out of line leaves a step of {seam:.2} mm between plunges.",
            bench.wheel_width_mm, bench.tilt_deg
        ),
    });
    let at_tip = local_angle_deg(angle_deg, slope);
    found.push(Check {
        code: "angle_at_tip",
        value: at_tip,
        unit: "°",
        tolerance: bench.angle_gauge_deg,
        good: true,
        words: format!(
            "{angle_deg:.1}° in the gullet is {at_tip:.1}° at the tooth tip: measure it in the gullet."
        ),
    });
    let nose = tip_from_nose_mm(bench.groove_nose_mm, slope);
    found.push(Check {
        code: "tip_width",
        value: nose,
        unit: "mm",
        tolerance: 0.05,
        good: true,
        words: format!(
            "A groove nose of {} mm leaves tips {nose:.2} mm wide: no tip is a sharp point.",
            bench.groove_nose_mm
        ),
    });
    let depth = cut.depth();
    // d(depth)/dθ = -depth·cot θ for a profile that stands normal to the bevel.
    let per_gauge = depth * cot(knife.theta_new) * rad(bench.angle_gauge_deg);
    found.push(Check {
        code: "tooth_depth",
        value: depth,
        unit: "mm",
        tolerance: per_gauge,
        good: true,
        words: format!(
            "Teeth {depth:.1} mm deep; ±{}° of angle is ±{per_gauge:.2} mm of depth.",
            bench.angle_gauge_deg
        ),
    });
    let phase = laid.as_ref().and_then(|laid| laid.stretches.first()).map_or(0.0, |(_, _, s)| *s);
    let pitch = cut.period();
    let first_tip = phase - libm::floor(phase / pitch) * pitch;
    let first_gullet =
        if first_tip >= 0.5 * pitch { first_tip - 0.5 * pitch } else { first_tip + 0.5 * pitch };
    found.push(Check {
        code: "first_gullet",
        value: first_gullet,
        unit: "mm",
        tolerance: 0.2,
        good: true,
        words: format!("The first gullet stands {first_gullet:.1} mm from the heel, ±0.2 mm by rule."),
    });
    let teeth = (knife.length - first_tip) / pitch;
    let last = (teeth - libm::floor(teeth)) * pitch;
    found.push(Check {
        code: "last_tooth",
        value: last,
        unit: "mm",
        tolerance: 0.2,
        good: true,
        words: format!(
            "The last tooth is {last:.1} mm of {pitch} mm; as the row climbs {delta:.2} mm the end teeth may differ."
        ),
    });
    Ok(found)
}

/// A facet that can be felt (common practice).
const FACET_LIMIT_MM: f64 = 0.1;
/// A step between plunges that can be seen (common practice).
const SEAM_LIMIT_MM: f64 = 0.15;
/// Past this the back is flattened or the true angle told.
const BACK_BEVEL_LIMIT_MM: f64 = 0.3;

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn near(found: f64, expected: f64, tolerance: f64) {
        assert!((found - expected).abs() <= tolerance, "expected {expected}, found {found}");
    }

    #[test]
    fn the_figures_a_sharpener_can_redo_on_paper() {
        near(lift_for_infeed_mm(0.01, 20.0), 0.029, 5e-4);
        near(seam_step_mm(25.0, 0.1, 20.0), 0.13, 5e-3);
        near(facet_mm(25.0, 400.0), 0.20, 5e-3);
        // Arc p 5, ρ 6.5: c' at the tip is 2.5/6.
        near(local_angle_deg(20.0, 2.5 / 6.0), 29.8, 0.05);
        near(tip_from_nose_mm(0.25, 2.5 / 6.0), 0.19, 5e-3);
        near(facet_mm(widest_for_facet_mm(0.1, 400.0), 400.0), 0.1, 1e-12);
    }

    #[test]
    fn the_published_loss_of_angle_on_a_hollow_bevel() {
        // Lee 1995, p. 62: sin a = T/(D sin φ), T 2, D 200, φ 15°: a 2.214°, chord 7.727, hollow 0.0747.
        let chord = 2.0 / sin(rad(15.0));
        near(chord, 7.727, 5e-4);
        near(hollow_loss_deg(chord, 100.0), 2.214, 5e-4);
        near(hollow_depth_mm(chord, 100.0), 0.0747, 5e-5);
    }
}

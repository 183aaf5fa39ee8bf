//! A request whose figures can all be true at once.

use crate::figures::{angle, check_blade, check_keys, check_wear, not_negative, pair, positive};
use crate::impossible::Impossible;
use crate::num::{cot, sin, tan};
use crate::pattern::{Pattern, Tooth, ToothForm};
use crate::profile::{Arc, Piece, Profile, Shape};
use crate::request::{Edge, EdgeKind, Form, GrindKind, Mode, Request, ToothShape, Wear};
use crate::steels::Steel;

/// Micro teeth start at about 0.6 mm; a row far finer than any wheel's would only stall a stream.
const LEAST_PITCH_MM: f64 = 0.1;

/// What the edge has become under the virtual apex.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Worn {
    /// Nothing, or a flat across the edge.
    Land { width: f64 },
    /// A rounding of this radius.
    Round { radius: f64 },
    /// Flats on the tooth tips, seen from the side.
    TipFlats,
}

/// A knife ready to be computed. Angles in radians, lengths in mm, heights from the virtual apex.
#[derive(Debug, Clone)]
pub(crate) struct Knife<'a> {
    pub(crate) request: &'a Request,
    pub(crate) steel: &'a Steel,
    pub(crate) kind: EdgeKind,
    /// Today's angle and the wanted one (from the middle plane, or from the flat back).
    pub(crate) theta: f64,
    pub(crate) theta_new: f64,
    /// How far today's edge lies above the virtual apex (λ).
    pub(crate) lambda: f64,
    pub(crate) worn: Worn,
    /// Length of edge that is left once the tip is redrawn.
    pub(crate) length: f64,
    /// Serrated: today's teeth.
    pub(crate) teeth: Option<Pattern>,
    /// Serrated: what the target's wheel leaves; `None` for a plain edge or when it is today's pattern unchanged.
    pub(crate) new_teeth: Option<Pattern>,
    pub(crate) mode: Mode,
    pub(crate) ridges: u32,
}

impl<'a> Knife<'a> {
    pub(crate) fn check(request: &'a Request, steel: &'a Steel) -> Result<Self, Impossible> {
        let blade = &request.blade;
        check_blade(blade)?;
        let wear = &request.wear;
        let length = check_wear(wear, blade)?;
        let edge = &request.edge;
        check_keys(edge)?;
        let target = &request.target;
        not_negative("target.allowance_mm", target.allowance_mm, 100.0)?;
        if let Some(b) = target.behind_edge_mm {
            positive("target.behind_edge_mm", b, 20.0)?;
        }
        if let Some(to) = target.thin_to_mm {
            positive("target.thin_to_mm", to, 500.0)?;
        }
        let recession = request.typical_recession_mm;
        positive("typical_recession_mm.median", recession.median, 100.0)?;
        not_negative("typical_recession_mm.spread", recession.spread, 3.0)?;
        if let Some(habit) = &recession.learned {
            check_habit(habit)?;
        }
        if let Some(n) = request.services_per_year
            && !(n.is_finite() && n > 0.0 && n <= 366.0)
        {
            return Err(pair("services_per_year", &format!("{n} services a year is not between 0 and 366")));
        }

        let (theta_at, theta) = match edge.kind {
            EdgeKind::Double => {
                let at = "edge.half_angle_deg";
                let degrees =
                    edge.half_angle_deg.ok_or_else(|| pair(at, "a double edge needs half_angle_deg"))?;
                (at, angle(at, degrees)?)
            }
            EdgeKind::Single | EdgeKind::Serrated => {
                let at = "edge.angle_deg";
                let degrees = edge.angle_deg.ok_or_else(|| pair(at, "a flat-backed edge needs angle_deg"))?;
                (at, angle(at, degrees)?)
            }
        };
        let asked = match (target.half_angle_deg, target.angle_deg) {
            (Some(a), Some(b)) if a != b => {
                return Err(pair(
                    "target.angle_deg",
                    &format!("one edge cannot be ground to half_angle_deg {a} and angle_deg {b}"),
                ));
            }
            (Some(a), _) => Some(("target.half_angle_deg", a)),
            (None, b) => b.map(|b| ("target.angle_deg", b)),
        };
        let wheel = if edge.kind == EdgeKind::Serrated { target.wheel.as_ref() } else { None };
        if target.wheel.is_some() && wheel.is_none() {
            return Err(pair(
                "target.wheel",
                "a serrating wheel is of no use on an edge that is not serrated",
            ));
        }
        let theta_new = match (asked, wheel) {
            (Some((at, a)), Some(w)) if a != w.angle_deg => {
                return Err(pair(
                    at,
                    &format!("{a}° is asked for, yet target.wheel.angle_deg is set to {}°", w.angle_deg),
                ));
            }
            (_, Some(w)) => angle("target.wheel.angle_deg", w.angle_deg)?,
            (Some((at, a)), None) => angle(at, a)?,
            (None, None) => theta,
        };
        let mut knife = Knife {
            request,
            steel,
            kind: edge.kind,
            theta,
            theta_new,
            lambda: 0.0,
            worn: Worn::Land { width: 0.0 },
            length,
            teeth: None,
            new_teeth: None,
            mode: target.mode.unwrap_or_default(),
            ridges: 0,
        };
        if edge.kind == EdgeKind::Serrated {
            knife.take_teeth(edge)?;
        } else if target.mode.is_some() || target.ridges.is_some() {
            return Err(pair("target.mode", "a way to recut teeth is of no use on an edge that has none"));
        }
        knife.take_wear(wear)?;
        knife.check_angles(theta_at, asked.map_or("target.wheel.angle_deg", |(at, _)| at))?;
        Ok(knife)
    }

    /// 2 for a double bevel, whose figures are halved onto one side of the middle plane; 1 for a flat back.
    pub(crate) fn sides(&self) -> f64 {
        if self.kind == EdgeKind::Double { 2.0 } else { 1.0 }
    }

    /// Spine above the virtual apex.
    pub(crate) fn top(&self) -> f64 {
        self.request.blade.height_mm + self.lambda
    }

    /// Shoulder above the virtual apex.
    pub(crate) fn shoulder(&self) -> f64 {
        self.request.blade.behind_edge_mm / self.sides() / tan(self.theta)
    }

    /// Serrated: growth of the blade's thickness with height.
    pub(crate) fn growth(&self) -> f64 {
        (self.request.blade.spine_mm - self.request.blade.behind_edge_mm) / self.top()
    }

    fn take_teeth(&mut self, edge: &Edge) -> Result<(), Impossible> {
        let teeth = if edge.form == Some(Form::Mixed) {
            edge.teeth
                .iter()
                .enumerate()
                .map(|(i, shape)| tooth(&format!("edge.teeth[{i}]"), shape, self.theta))
                .collect::<Result<Vec<_>, _>>()?
        } else {
            let form = edge.form.ok_or_else(|| pair("edge.form", "a serrated edge needs a form"))?;
            let pitch_mm =
                edge.pitch_mm.ok_or_else(|| pair("edge.pitch_mm", "a serrated edge needs pitch_mm"))?;
            let shape =
                ToothShape { form, pitch_mm, ridge_radius_mm: edge.ridge_radius_mm, depth_mm: edge.depth_mm };
            vec![tooth("edge", &shape, self.theta)?]
        };
        let pattern = Pattern::new(teeth)
            .ok_or_else(|| pair("edge.teeth", "a mixed pattern needs at least one tooth"))?;
        let length = self.request.blade.edge_length_mm;
        if pattern.period() > length {
            return Err(pair(
                if edge.form == Some(Form::Mixed) { "edge.teeth" } else { "edge.pitch_mm" },
                &format!("a pitch of {} mm is longer than blade.edge_length_mm {length}", pattern.period()),
            ));
        }
        let height = self.request.blade.height_mm;
        if pattern.depth() >= height {
            return Err(pair(
                "edge",
                &format!("teeth {} mm deep on a blade only blade.height_mm {height} high", pattern.depth()),
            ));
        }
        let target = &self.request.target;
        self.new_teeth = match (&target.wheel, self.mode) {
            (_, Mode::Plain) => None,
            (Some(wheel), mode) => {
                let shape = ToothShape {
                    form: wheel.form,
                    pitch_mm: wheel.pitch_mm,
                    ridge_radius_mm: wheel.ridge_radius_mm,
                    depth_mm: wheel.depth_mm,
                };
                let cut = tooth("target.wheel", &shape, self.theta_new)?;
                if wheel.pitch_mm > length {
                    return Err(pair(
                        "target.wheel.pitch_mm",
                        &format!("{} mm is longer than blade.edge_length_mm {length}", wheel.pitch_mm),
                    ));
                }
                if mode == Mode::Tooth {
                    // A ridge too narrow to cut a whole tooth in one plunge follows the gullet instead: the tooth keeps its form.
                    let followed = |old: &Tooth| at_angle(old, self.theta, self.theta_new);
                    let single = pattern
                        .teeth()
                        .iter()
                        .map(|old| narrowed(&cut, old.pitch, self.theta_new).or_else(|| followed(old)));
                    let fitted = single.collect::<Option<Vec<_>>>().ok_or_else(|| {
                        pair("target.wheel.angle_deg", "the teeth of this edge cannot be cut at that angle")
                    })?;
                    Pattern::new(fitted)
                } else {
                    Pattern::new(vec![cut])
                }
            }
            (None, _) if self.theta_new != self.theta => {
                let recut = pattern.teeth().iter().map(|old| at_angle(old, self.theta, self.theta_new));
                recut.collect::<Option<Vec<_>>>().and_then(Pattern::new)
            }
            (None, _) => None,
        };
        self.ridges = match (self.mode, target.ridges) {
            (Mode::Indexed, Some(0)) => {
                return Err(pair("target.ridges", "an indexed plunge needs at least one ridge"));
            }
            (Mode::Indexed, Some(n)) => n,
            (Mode::Indexed, None) => {
                return Err(pair(
                    "target.ridges",
                    "the indexed mode needs the number of ridges that cut at once",
                ));
            }
            (_, Some(n)) => {
                return Err(pair(
                    "target.ridges",
                    &format!("{n} ridges a plunge belong to the indexed mode only"),
                ));
            }
            (_, None) => 0,
        };
        self.teeth = Some(pattern);
        Ok(())
    }

    fn take_wear(&mut self, wear: &Wear) -> Result<(), Impossible> {
        let flat_back = self.kind != EdgeKind::Double;
        let land = wear.land_mm / self.sides() / tan(self.theta);
        let round = if flat_back {
            wear.radius_mm * cot(0.5 * self.theta)
        } else {
            wear.radius_mm * (1.0 / sin(self.theta) - 1.0)
        };
        let blade = &self.request.blade;
        if wear.land_mm > blade.behind_edge_mm {
            return Err(pair(
                "wear.land_mm",
                &format!(
                    "a land of {} mm is wider than blade.behind_edge_mm {}: the bevel would be worn away",
                    wear.land_mm, blade.behind_edge_mm
                ),
            ));
        }
        if round > blade.height_mm {
            return Err(pair(
                "wear.radius_mm",
                &format!(
                    "a rounding of {} mm does not fit blade.height_mm {}",
                    wear.radius_mm, blade.height_mm
                ),
            ));
        }
        (self.lambda, self.worn) = if round > land {
            (round, Worn::Round { radius: wear.radius_mm })
        } else {
            (land, Worn::Land { width: wear.land_mm })
        };
        if wear.tip_flat_mm > 0.0 {
            let Some(teeth) = &self.teeth else {
                return Err(pair(
                    "wear.tip_flat_mm",
                    "an edge without teeth has no tooth tips to be worn flat",
                ));
            };
            let shortest = teeth.teeth().iter().map(|tooth| tooth.pitch).fold(f64::INFINITY, f64::min);
            if wear.tip_flat_mm > shortest {
                return Err(pair(
                    "wear.tip_flat_mm",
                    &format!("flats of {} mm are longer than a tooth of {shortest} mm", wear.tip_flat_mm),
                ));
            }
            let flat = teeth.e(0.5 * wear.tip_flat_mm);
            if flat > self.lambda {
                (self.lambda, self.worn) = (flat, Worn::TipFlats);
            }
        }
        if !wear.missing_teeth.is_empty() && self.teeth.is_none() {
            return Err(pair("wear.missing_teeth", "an edge without teeth has none to miss"));
        }
        Ok(())
    }

    /// The edge angles against the primary's, once λ is known.
    fn check_angles(&self, at: &str, new_at: &str) -> Result<(), Impossible> {
        let blade = &self.request.blade;
        if self.kind == EdgeKind::Serrated {
            let k = self.growth();
            for (at, theta) in [(at, self.theta), (new_at, self.theta_new)] {
                if tan(theta) <= k {
                    return Err(under_primary(at, theta, libm::atan(k)));
                }
            }
            return Ok(());
        }
        let shoulder = self.shoulder();
        let to = blade.grind.and_then(|grind| grind.to_mm).unwrap_or(blade.height_mm) + self.lambda;
        if shoulder >= to {
            return Err(pair(
                "blade.behind_edge_mm",
                &format!(
                    "a bevel from {} mm behind the edge would be {shoulder:.3} mm high, above the end of the grind at {to:.3} mm",
                    blade.behind_edge_mm
                ),
            ));
        }
        let profile = self.profile()?;
        // The primary is pieces()[1]; its steepest place must stay under both edge angles where they meet it.
        let primary = profile.pieces()[1];
        let slope = primary.slope(primary.y0);
        if slope >= tan(self.theta) {
            return Err(under_primary(at, self.theta, libm::atan(slope)));
        }
        if tan(self.theta_new) <= slope {
            return Err(under_primary(new_at, self.theta_new, libm::atan(slope)));
        }
        Ok(())
    }

    /// Double, single: one side of today's section as if nothing were worn.
    pub(crate) fn profile(&self) -> Result<Profile, Impossible> {
        let blade = &self.request.blade;
        let b = blade.behind_edge_mm / self.sides();
        let t = blade.spine_mm / self.sides();
        let (shoulder, top) = (self.shoulder(), self.top());
        let mut profile = Profile::new();
        profile.push(Piece::line(0.0, 0.0, shoulder, b));
        let grind = blade.grind;
        let to = grind.and_then(|grind| grind.to_mm).map_or(top, |to| (to + self.lambda).min(top));
        match grind.map_or(GrindKind::Flat, |grind| grind.kind) {
            GrindKind::Flat => profile.push(Piece::line(shoulder, b, to, t)),
            kind @ (GrindKind::Hollow | GrindKind::Convex) => {
                let at = "blade.grind.radius_mm";
                let radius = grind
                    .and_then(|grind| grind.radius_mm)
                    .ok_or_else(|| pair(at, "a hollow or convex grind needs radius_mm"))?;
                let turn = if kind == GrindKind::Hollow { -1.0 } else { 1.0 };
                let arc = Arc::through(b, shoulder, t, to, radius, turn).ok_or_else(|| {
                    pair(
                        at,
                        &format!(
                            "a circle of radius {radius} mm cannot pass through the shoulder and the end of the grind, {:.3} mm apart",
                            libm::hypot(t - b, to - shoulder)
                        ),
                    )
                })?;
                let piece = Piece { y0: shoulder, y1: to, shape: Shape::Arc(arc) };
                if piece.slope(shoulder) < -1e-12 {
                    return Err(pair(
                        at,
                        &format!(
                            "hollow ground on a radius of {radius} mm the blade would be thinner than blade.behind_edge_mm {} above the edge",
                            blade.behind_edge_mm
                        ),
                    ));
                }
                profile.push(piece);
            }
        }
        profile.push(Piece::line(to, t, top, t));
        Ok(profile)
    }
}

fn under_primary(at: &str, theta: f64, primary: f64) -> Impossible {
    pair(
        at,
        &format!(
            "an edge angle of {:.2}° is not steeper than the primary face's {:.2}° (from blade.spine_mm, behind_edge_mm and height_mm)",
            crate::num::deg(theta),
            crate::num::deg(primary)
        ),
    )
}

fn tooth(at: &str, shape: &ToothShape, theta: f64) -> Result<Tooth, Impossible> {
    let at_pitch = format!("{at}.pitch_mm");
    let pitch = positive(&at_pitch, shape.pitch_mm, 3000.0)?;
    if pitch < LEAST_PITCH_MM {
        return Err(pair(
            &at_pitch,
            &format!("teeth of {pitch} mm are finer than any wheel cuts ({LEAST_PITCH_MM} mm)"),
        ));
    }
    let depth = || {
        let at = format!("{at}.depth_mm");
        let depth = shape.depth_mm.ok_or_else(|| pair(&at, "wavy and pointed teeth need depth_mm"))?;
        positive(&at, depth, 100.0)
    };
    if shape.form != Form::Arc && shape.ridge_radius_mm.is_some() {
        return Err(pair(&format!("{at}.ridge_radius_mm"), "only arc teeth have a ridge radius"));
    }
    match shape.form {
        Form::Arc => {
            let at_radius = format!("{at}.ridge_radius_mm");
            if shape.depth_mm.is_some() {
                return Err(pair(
                    &format!("{at}.depth_mm"),
                    "the depth of arc teeth follows from ridge_radius_mm, pitch_mm and the angle",
                ));
            }
            let radius =
                shape.ridge_radius_mm.ok_or_else(|| pair(&at_radius, "arc teeth need ridge_radius_mm"))?;
            let radius = positive(&at_radius, radius, 1e6)?;
            Tooth::arc(pitch, radius, sin(theta)).ok_or_else(|| {
                pair(
                    &at_radius,
                    &format!("a ridge of radius {radius} mm is narrower than a tooth of pitch_mm {pitch}"),
                )
            })
        }
        Form::Wavy => Ok(Tooth::wavy(pitch, depth()?)),
        Form::Pointed => Ok(Tooth::pointed(pitch, depth()?)),
        Form::Mixed => Err(pair(&format!("{at}.form"), "a single tooth or wheel cannot be mixed")),
    }
}

/// The same wheel at another angle: its profile stands normal to the bevel, so depths go with 1/sin θ.
fn at_angle(old: &Tooth, theta: f64, theta_new: f64) -> Option<Tooth> {
    let ratio = sin(theta) / sin(theta_new);
    match old.shape {
        ToothForm::Arc { radius, .. } => Tooth::arc(old.pitch, radius, sin(theta_new)),
        ToothForm::Wavy { depth } => Some(Tooth::wavy(old.pitch, depth * ratio)),
        ToothForm::Pointed { depth } => Some(Tooth::pointed(old.pitch, depth * ratio)),
    }
}

/// The ridge of `cut` used on one tooth of another pitch: the same ridge, tips where the old ones stand.
fn narrowed(cut: &Tooth, pitch: f64, theta: f64) -> Option<Tooth> {
    match cut.shape {
        ToothForm::Arc { radius, .. } => Tooth::arc(pitch, radius, sin(theta)),
        // A wave or a point keeps its own slope: on another pitch its depth goes with the pitch.
        ToothForm::Wavy { depth } => Some(Tooth::wavy(pitch, depth * pitch / cut.pitch)),
        ToothForm::Pointed { depth } => Some(Tooth::pointed(pitch, depth * pitch / cut.pitch)),
    }
}

/// What a ledger taught has to be a distribution.
fn check_habit(habit: &crate::learn::Habit) -> Result<(), Impossible> {
    let at = "typical_recession_mm.learned";
    positive(&format!("{at}.weight"), habit.weight, 1e9)?;
    positive(&format!("{at}.shape"), habit.shape, 1e9)?;
    positive(&format!("{at}.scale"), habit.scale, 1e9)?;
    if habit.location.is_finite() && habit.location.abs() <= 20.0 {
        return Ok(());
    }
    Err(pair(
        &format!("{at}.location"),
        &format!("{} is not the logarithm of a height between 2e-9 mm and 5e8 mm", habit.location),
    ))
}

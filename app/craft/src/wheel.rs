//! Wheels: how fast their rim runs, how fast it may, and what wear does to both.
//!
//! A wheel is never set up above the speed its maker has marked on it. As it wears the rim slows down at the same spindle speed;
//! the spindle may then turn faster only while the rim stays at or below both the mark and the speed it had when new
//! (ANSI B7.1-2000, 7.1, explanatory text). Local rules and the maker's marking come first.

use serde::{Deserialize, Serialize};

use crate::impossible::Impossible;
use crate::request::{Form, WheelShape};

/// A wheel of the shop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wheel {
    /// The shop's name for it: what a setup is called.
    pub id: String,
    /// Diameter when new, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub new_diameter_mm: Option<f64>,
    /// Diameter as it is today, mm.
    pub diameter_mm: f64,
    /// Diameter at which it is taken off, mm.
    pub least_diameter_mm: f64,
    /// Width of its rim, mm.
    pub width_mm: f64,
    /// Spindle speed, turns a minute.
    pub spindle_rpm: f64,
    /// The maker's marked maximum surface speed, m/s. `None`: not marked, and so not run.
    pub marked_m_s: Option<f64>,
    /// True for vitrified bonds, which are ring-tested dry before mounting.
    #[serde(default)]
    pub vitrified: bool,
    /// Serrating wheels: the profile of each dressing, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub generations: Vec<Generation>,
}

/// One dressing of a serrating wheel's profile: a knife records which one cut it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Generation {
    /// The shop's name for it.
    pub id: String,
    /// What it cuts when freshly dressed.
    pub shape: WheelShape,
    /// Growth of an arc ridge's radius for each piece cut, mm: ridges wear round.
    #[serde(default)]
    pub wear_mm_per_piece: f64,
    /// Pieces cut since that dressing.
    #[serde(default)]
    pub pieces: u32,
}

impl Generation {
    /// What it cuts today: the ridges of an arc wheel have grown by their wear, other forms keep their drawing.
    pub fn today(&self) -> WheelShape {
        WheelShape {
            ridge_radius_mm: self
                .shape
                .ridge_radius_mm
                .map(|radius| radius + self.wear_mm_per_piece * f64::from(self.pieces)),
            ..self.shape
        }
    }
}

impl Wheel {
    /// Surface speed today, m/s.
    pub fn surface_m_s(&self) -> f64 {
        surface_m_s(self.diameter_mm, self.spindle_rpm)
    }

    /// The rim's speed in m/s, or why the wheel must not turn.
    ///
    /// # Errors
    /// Unmarked, over its marked maximum, or worn under its least diameter. A setup sheet is not printed then.
    pub fn allowed(&self) -> Result<f64, Impossible> {
        if !(self.diameter_mm.is_finite() && self.diameter_mm > 0.0) {
            return Err(Impossible::new("diameter_mm", format!("wheel {} has no diameter", self.id)));
        }
        if !(self.spindle_rpm.is_finite() && self.spindle_rpm > 0.0) {
            return Err(Impossible::new("spindle_rpm", format!("wheel {} has no spindle speed", self.id)));
        }
        if self.diameter_mm < self.least_diameter_mm {
            return Err(Impossible::new(
                "diameter_mm",
                format!(
                    "wheel {} is worn to {} mm, under its least_diameter_mm {}",
                    self.id, self.diameter_mm, self.least_diameter_mm
                ),
            ));
        }
        let speed = self.surface_m_s();
        match self.marked_m_s {
            None => Err(Impossible::new(
                "marked_m_s",
                format!(
                    "wheel {} carries no marked maximum speed: it is not run until its maker has said",
                    self.id
                ),
            )),
            Some(marked) if speed > marked => Err(Impossible::new(
                "spindle_rpm",
                format!(
                    "wheel {} at {} turns a minute would run at {speed:.1} m/s, above its marked maximum of {marked} m/s",
                    self.id, self.spindle_rpm
                ),
            )),
            Some(_) => Ok(speed),
        }
    }

    /// The fastest the spindle may turn with the wheel as worn as it is: the rim stays at or under the mark, and at or under the speed it had
    /// when new. `None` when it is not marked.
    pub fn fastest_rpm(&self) -> Option<f64> {
        let marked = self.marked_m_s?;
        let new = self.new_diameter_mm.unwrap_or(self.diameter_mm).max(self.diameter_mm);
        Some(rpm_for(self.diameter_mm, marked.min(surface_m_s(new, self.spindle_rpm))))
    }

    /// The demo shop's wheels (all invented).
    pub(crate) fn demo() -> Vec<Self> {
        let wheel = |id: &str, width_mm: f64, vitrified: bool, shape: Option<WheelShape>| Self {
            id: id.to_owned(),
            new_diameter_mm: Some(200.0),
            diameter_mm: 198.0,
            least_diameter_mm: 150.0,
            width_mm,
            spindle_rpm: 2200.0,
            marked_m_s: Some(35.0),
            vitrified,
            generations: shape
                .map(|shape| Generation {
                    id: format!("{id} I"),
                    shape,
                    wear_mm_per_piece: if vitrified { 0.01 } else { 0.0 },
                    pieces: 0,
                })
                .into_iter()
                .collect(),
        };
        let arc = |pitch_mm, ridge_radius_mm| WheelShape {
            form: Form::Arc,
            pitch_mm,
            angle_deg: 20.0,
            ridge_radius_mm: Some(ridge_radius_mm),
            depth_mm: None,
        };
        let other = |form, pitch_mm, depth_mm| WheelShape {
            form,
            pitch_mm,
            angle_deg: 20.0,
            ridge_radius_mm: None,
            depth_mm: Some(depth_mm),
        };
        vec![
            wheel("arc 5", 25.0, true, Some(arc(5.0, 6.5))),
            wheel("arc 8", 25.0, true, Some(arc(8.0, 10.0))),
            wheel("wavy 6", 25.0, true, Some(other(Form::Wavy, 6.0, 1.0))),
            wheel("pointed 4", 25.0, false, Some(other(Form::Pointed, 4.0, 1.1))),
            wheel("R3", 3.0, true, Some(arc(4.0, 3.0))),
            wheel("R5", 5.0, true, Some(arc(6.0, 5.0))),
            wheel("bevel wheel", 40.0, true, None),
        ]
    }
}

/// Surface speed in m/s of a wheel `diameter_mm` across at `rpm` turns a minute: π·D·n/60 000.
pub fn surface_m_s(diameter_mm: f64, rpm: f64) -> f64 {
    core::f64::consts::PI * diameter_mm * rpm / 60_000.0
}

/// Turns a minute that give `speed_m_s` at the rim of a wheel `diameter_mm` across.
pub fn rpm_for(diameter_mm: f64, speed_m_s: f64) -> f64 {
    60_000.0 * speed_m_s / (core::f64::consts::PI * diameter_mm)
}

#[cfg(test)]
mod tests {
    use super::*;

    const MM_PER_INCH: f64 = 25.4;
    const M_S_PER_SFPM: f64 = 0.3048 / 60.0;

    #[test]
    fn printed_wheel_speeds_come_out() {
        // A wheel-speed page: 6 in at 6500 surface feet a minute is 4138 turns.
        assert!((rpm_for(6.0 * MM_PER_INCH, 6500.0 * M_S_PER_SFPM) - 4138.0).abs() < 0.5);
        // Textbook example: 10 in at 4000 turns is 10 472 ft/min, 53.2 m/s.
        assert!((surface_m_s(10.0 * MM_PER_INCH, 4000.0) - 53.2).abs() < 0.05);
        // The coloured stripes on a 200 mm wheel: 50 m/s is 4775 turns, 63: 6016, 80: 7639.
        for (speed, rpm) in [(35.0, 3342.0), (50.0, 4775.0), (63.0, 6016.0), (80.0, 7639.0)] {
            assert!((rpm_for(200.0, speed) - rpm).abs() < 0.6, "{speed}");
        }
        // Posted exercise: 250 mm at 2600 turns.
        assert!((surface_m_s(250.0, 2600.0) - 34.03).abs() < 0.005);
    }

    fn wheel() -> Wheel {
        Wheel { new_diameter_mm: Some(200.0), diameter_mm: 200.0, ..Wheel::demo()[0].clone() }
    }

    #[test]
    fn above_the_mark_there_is_no_setup() {
        assert!(wheel().allowed().is_ok());
        assert_eq!(Wheel { spindle_rpm: 3400.0, ..wheel() }.allowed().unwrap_err().at, "spindle_rpm");
        assert_eq!(Wheel { marked_m_s: None, ..wheel() }.allowed().unwrap_err().at, "marked_m_s");
        assert_eq!(Wheel { diameter_mm: 149.0, ..wheel() }.allowed().unwrap_err().at, "diameter_mm");
    }

    #[test]
    fn a_worn_wheel_may_turn_faster_but_its_rim_may_not() {
        let new = wheel();
        let worn = Wheel { diameter_mm: 160.0, ..wheel() };
        let fastest = worn.fastest_rpm().unwrap();
        assert!(fastest > new.spindle_rpm);
        assert!((surface_m_s(160.0, fastest) - new.surface_m_s()).abs() < 1e-9);
        // Where the mark is the lower of the two, the mark rules.
        let marked = Wheel { marked_m_s: Some(20.0), ..worn };
        assert!((surface_m_s(160.0, marked.fastest_rpm().unwrap()) - 20.0).abs() < 1e-9);
    }

    #[test]
    fn a_ridge_wears_rounder_with_every_piece() {
        let generation = Generation { pieces: 50, wear_mm_per_piece: 0.01, ..wheel().generations[0].clone() };
        assert!((generation.today().ridge_radius_mm.unwrap() - 7.0).abs() < 1e-12);
    }
}

//! Wheels: how fast their rim runs, how fast it may, and what wear does to both.

use serde::{Deserialize, Serialize};

use crate::impossible::Impossible;

/// A wheel of the shop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wheel {
    /// The shop's name for it.
    pub id: String,
    /// Diameter as it is today.
    pub diameter_mm: f64,
    /// Diameter at which it is taken off.
    pub least_diameter_mm: f64,
    /// Width of its rim.
    pub width_mm: f64,
    /// Spindle speed, turns a minute.
    pub spindle_rpm: f64,
    /// The maker's marked maximum surface speed, m/s. `None`: not marked, and so not run.
    pub marked_m_s: Option<f64>,
    /// True for vitrified bonds, which are ring-tested.
    #[serde(default)]
    pub vitrified: bool,
    /// Serrating wheels: the profile of each dressing, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub generations: Vec<Generation>,
}

/// One dressing of a serrating wheel's profile.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Generation {
    /// The shop's name for it: a knife records which one cut it.
    pub id: String,
    /// What it cuts.
    pub shape: crate::request::WheelShape,
}

impl Wheel {
    pub(crate) fn demo() -> Vec<Self> {
        Vec::new()
    }

    /// Surface speed, m/s: π·D·n/60 000 with D in mm and n in turns a minute.
    pub fn surface_m_s(&self) -> f64 {
        surface_m_s(self.diameter_mm, self.spindle_rpm)
    }

    /// The speed it runs at, or why it must not run.
    pub fn allowed(&self) -> Result<f64, Impossible> {
        let speed = self.surface_m_s();
        match self.marked_m_s {
            None => Err(Impossible::new(
                "wheel.marked_m_s",
                format!(
                    "wheel {} carries no marked maximum speed: it is not run until its maker has said",
                    self.id
                ),
            )),
            Some(marked) if speed > marked => Err(Impossible::new(
                "wheel.spindle_rpm",
                format!(
                    "wheel {} would run at {speed:.1} m/s, above its marked maximum of {marked} m/s",
                    self.id
                ),
            )),
            Some(_) => Ok(speed),
        }
    }
}

/// Surface speed in m/s of a wheel `diameter_mm` across at `rpm` turns a minute.
pub fn surface_m_s(diameter_mm: f64, rpm: f64) -> f64 {
    core::f64::consts::PI * diameter_mm * rpm / 60_000.0
}

/// Turns a minute that give `speed_m_s` at the rim.
pub fn rpm_for(diameter_mm: f64, speed_m_s: f64) -> f64 {
    60_000.0 * speed_m_s / (core::f64::consts::PI * diameter_mm)
}

//! What is answered: metal, what the blade is afterwards, life, steps and the words that go with them.

use std::borrow::Cow;

use serde::{Deserialize, Serialize};

use crate::num::sqrt;
use crate::{Operation, Step};

/// The answer for one knife. Lengths in mm, areas mm², volumes mm³, masses g.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// Height lost from today's edge.
    pub recession_mm: f64,
    /// Height afterwards.
    pub height_after_mm: f64,
    /// Metal taken off.
    pub removed: Removed,
    /// The blade afterwards.
    pub after: After,
    /// Whole services left after this one; `None` when nothing limits.
    pub services_left: Option<ServicesLeft>,
    /// What ends the blade's life first.
    pub limited_by: Limit,
    /// Minutes at the bench, all steps.
    pub minutes: u32,
    /// What is done, in order.
    pub steps: Vec<Step>,
    /// What to know and to say.
    pub cautions: Vec<Note>,
    /// Why this should not be done, if so; every number is still there.
    pub refusal: Option<Note>,
    /// One line of honest advice: what a gentler choice would save.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub advice: Option<String>,
    /// Recut with another wheel: the phase and cost found.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub registration: Option<Registered>,
    /// Years left at the customer's habit, when it is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub years_left: Option<YearsLeft>,
}

impl Estimate {
    /// Minutes at the bench eight times in ten lie within: see [`together`].
    pub fn minutes_span(&self) -> (u32, u32) {
        together(self.steps.iter().map(|step| (step.minutes, step.span())))
    }
}

/// Minutes eight times in ten lie within for steps one after another, each given by its minutes and such a span of its own.
/// What one step takes says nothing of the next, so their distances add as squares.
pub fn together(steps: impl IntoIterator<Item = (u32, (u32, u32))>) -> (u32, u32) {
    let (mut sum, mut below, mut above) = (0.0, 0.0, 0.0);
    for (minutes, (low, high)) in steps {
        let square = |by: u32| f64::from(by) * f64::from(by);
        sum += f64::from(minutes);
        below += square(minutes.saturating_sub(low));
        above += square(high.saturating_sub(minutes));
    }
    // Minutes are whole, and no end may look surer than it is.
    let low = libm::floor((sum - sqrt(below)).max(0.0) + 1e-9);
    (low as u32, libm::ceil(sum + sqrt(above) - 1e-9) as u32)
}

/// Metal taken off.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Removed {
    /// Cross-section the new bevel takes where there is no chip; serrated: mean over the pattern.
    pub section_mm2: f64,
    /// That along the edge, less what chips have already taken.
    pub edge_mm3: f64,
    /// What thinning adds.
    pub thinning_mm3: f64,
    /// What redrawing the tip adds.
    pub tip_mm3: f64,
    /// All of it.
    pub total_mm3: f64,
    /// Its mass.
    pub mass_g: f64,
}

/// The blade afterwards.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct After {
    /// Thickness where the primary face begins (serrated: at the new tooth-tip line).
    pub behind_edge_mm: f64,
    /// Length of the newly ground face (serrated: at the tooth tip).
    pub bevel_face_mm: f64,
    /// Hardness of the new edge; `None` when unknown.
    pub edge_hrc: Option<f64>,
    /// Sideways stiffness against today's, percent.
    pub stiffness_pct: f64,
}

/// Whole services left: the cautious figure, the middle one and the hopeful one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct ServicesLeft {
    /// Nine knives in ten last at least this many services.
    pub p10: u32,
    /// Half of them do.
    pub p50: u32,
    /// One in ten does.
    pub p90: u32,
}

/// Years left at the customer's habit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct YearsLeft {
    /// Cautious.
    pub p10: f64,
    /// Middle.
    pub p50: f64,
    /// Hopeful.
    pub p90: f64,
}

/// What ends the blade's life first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Limit {
    /// The least height.
    Height,
    /// The least hardness.
    Hardness,
    /// Thinning no longer fits.
    Thickness,
    /// The laminated core's own line.
    Core,
    /// The bevel reaches a mark.
    Mark,
    /// Nothing that was asked about.
    None,
}

/// A caution or a refusal: a stable code and a sentence.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Note {
    /// Stable word for programs.
    pub code: Cow<'static, str>,
    /// One or two sentences for people.
    pub why: Cow<'static, str>,
    /// The operation it belongs to, when it belongs to one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<Operation>,
}

impl Note {
    pub(crate) fn new(code: &'static str, why: impl Into<Cow<'static, str>>) -> Self {
        Self { code: Cow::Borrowed(code), why: why.into(), step: None }
    }

    pub(crate) fn at(step: Operation, code: &'static str, why: impl Into<Cow<'static, str>>) -> Self {
        Self { code: Cow::Borrowed(code), why: why.into(), step: Some(step) }
    }
}

/// How a recut was brought into phase.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Registered {
    /// First tooth tip of the new pattern, from the heel (`full`; the first plunge for `indexed`).
    pub phase_mm: f64,
    /// Height the mismatch costs.
    pub cost_mm: f64,
    /// Plunges or touches it takes.
    pub plunges: u32,
}

//! What the planner answers: where and when every operation stands, and what that costs.

use serde::{Deserialize, Serialize, Serializer};

use crate::Minute;

/// A finished plan. [`crate::verify`] re-reads it against its instance.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// What it costs.
    pub objective: Objective,
    /// No plan can cost less than this; `None` when nothing is known.
    #[serde(default, serialize_with = "maybe_plain")]
    pub bound: Option<f64>,
    /// Every operation of every job, by start.
    pub operations: Vec<Placed>,
    /// How long planning took.
    #[serde(default)]
    pub elapsed_ms: u64,
    /// How many steps the search took.
    #[serde(default)]
    pub iterations: u64,
    /// After how many of them, counted in the thread that found it, this plan was there; 0 where that is not noted.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub found_at: u64,
}

/// The cost of a plan: `total` is weighted, the parts are plain sums.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Objective {
    /// The weighted sum of the parts.
    #[serde(serialize_with = "plain")]
    pub total: f64,
    /// Job weight times minutes late, summed.
    #[serde(serialize_with = "plain")]
    pub tardiness: f64,
    /// Minutes of changeover and dressing.
    pub changeover: Minute,
    /// Minutes from release to completion, summed.
    pub flow: Minute,
    /// Minutes by which standing starts moved, summed.
    pub moved: Minute,
}

/// One operation in the plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Placed {
    /// The job's name.
    pub job: String,
    /// Its place in the route, from 0.
    pub index: usize,
    /// Where it is done.
    pub station: String,
    /// In which setup.
    pub setup: String,
    /// Who attends; `None` when the instance lists no people.
    #[serde(default)]
    pub person: Option<String>,
    /// The changeover before it begins here; equal to `start` without one.
    pub changeover_start: Minute,
    /// The work starts here.
    pub start: Minute,
    /// And ends here.
    pub end: Minute,
}

impl Plan {
    /// How far from the best possible plan this one may be, in per cent of its total; `None` without a bound.
    pub fn at_most_pct_from_best(&self) -> Option<f64> {
        let total = self.objective.total;
        self.bound.map(|bound| if total <= bound { 0.0 } else { 100.0 * (total - bound) / total })
    }

    /// Where an operation stands.
    pub fn find(&self, job: &str, index: usize) -> Option<&Placed> {
        self.operations.iter().find(|o| o.index == index && o.job == job)
    }
}

/// Whole numbers are written without a fraction, as people write minutes.
#[expect(clippy::trivially_copy_pass_by_ref, reason = "the signature serde asks for")]
fn plain<S: Serializer>(value: &f64, to: S) -> Result<S::Ok, S::Error> {
    if value.fract() == 0.0 && value.abs() < 9e15 {
        to.serialize_i64(*value as i64)
    } else {
        to.serialize_f64(*value)
    }
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "the signature serde asks for")]
fn is_zero(n: &u64) -> bool {
    *n == 0
}

#[expect(clippy::ref_option, reason = "the signature serde asks for")]
fn maybe_plain<S: Serializer>(value: &Option<f64>, to: S) -> Result<S::Ok, S::Error> {
    match value {
        Some(v) => plain(v, to),
        None => to.serialize_none(),
    }
}

//! Why a request has no answer.

use serde::{Deserialize, Serialize};

/// Two figures that cannot both be true, or a record that cannot be read. Nothing is clamped to make it fit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, thiserror::Error)]
#[error("{at}: {error}")]
pub struct Impossible {
    /// One sentence naming the figures and their values.
    pub error: String,
    /// Path of the offending key, such as `blade.height_mm` or `wear.chips[0].depth_mm`.
    pub at: String,
}

impl Impossible {
    /// A refusal of the value at `at`.
    pub fn new(at: impl Into<String>, error: impl Into<String>) -> Self {
        Self { error: error.into(), at: at.into() }
    }
}

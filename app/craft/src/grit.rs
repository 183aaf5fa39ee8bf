//! Grain sizes on four scales that are never mixed, and the shop's stones and belts.

use serde::{Deserialize, Serialize};

/// A scale of grain sizes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Scale {
    /// FEPA F, ISO 8486: bonded abrasives.
    #[serde(rename = "FEPA F")]
    FepaF,
    /// FEPA P, ISO 6344: coated abrasives.
    #[serde(rename = "FEPA P")]
    FepaP,
    /// JIS R 6001.
    #[serde(rename = "JIS")]
    Jis,
}

/// A stone or belt of the shop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Abrasive {
    /// The shop's name for it.
    pub id: String,
    /// Scale its number is on.
    pub scale: Scale,
    /// The number.
    pub number: u32,
}

impl Abrasive {
    pub(crate) fn demo() -> Vec<Self> {
        Vec::new()
    }
}

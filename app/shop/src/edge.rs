//! What kind of edge a blade has, as a customer chooses it from small drawings.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// The edge of a blade.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EdgeKind {
    /// Bevelled on both faces.
    Double,
    /// Bevelled on one face, flat on the other.
    Single,
    /// Serrated with round hollows and pointed tips.
    Arc,
    /// Serrated in a smooth wave.
    Wavy,
    /// Serrated with straight-sided teeth.
    Pointed,
}

impl EdgeKind {
    /// All kinds in the order they are offered.
    pub const ALL: [Self; 5] = [Self::Double, Self::Single, Self::Arc, Self::Wavy, Self::Pointed];

    /// True for the toothed kinds.
    pub fn is_serrated(self) -> bool {
        matches!(self, Self::Arc | Self::Wavy | Self::Pointed)
    }

    /// The word used in forms, JSON and the store.
    pub fn code(self) -> &'static str {
        match self {
            Self::Double => "double",
            Self::Single => "single",
            Self::Arc => "arc",
            Self::Wavy => "wavy",
            Self::Pointed => "pointed",
        }
    }

    /// What people read.
    pub fn words(self) -> &'static str {
        match self {
            Self::Double => "plain, bevelled on both sides",
            Self::Single => "plain, bevelled on one side",
            Self::Arc => "serrated, round hollows",
            Self::Wavy => "serrated, wavy",
            Self::Pointed => "serrated, pointed teeth",
        }
    }
}

impl fmt::Display for EdgeKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

impl FromStr for EdgeKind {
    type Err = ();
    fn from_str(code: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|k| k.code() == code).ok_or(())
    }
}

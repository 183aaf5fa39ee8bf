//! A piece's route: the operations it needs, in the order the trade does them.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

macro_rules! kinds {
    ($($(#[$doc:meta])* $name:ident = $code:literal, $words:literal;)*) => {
        /// One kind of work on a blade. The order of the variants is the order of work (common practice).
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum OperationKind {
            $($(#[$doc])* $name,)*
        }

        impl OperationKind {
            /// All kinds in the order of work.
            pub const ALL: &'static [Self] = &[$(Self::$name,)*];

            /// The word used in JSON and the store.
            pub fn code(self) -> &'static str {
                match self { $(Self::$name => $code,)* }
            }

            /// What people read.
            pub fn words(self) -> &'static str {
                match self { $(Self::$name => $words,)* }
            }
        }
    };
}

kinds! {
    /// Look, measure, decide.
    Inspect = "inspect", "inspect and measure";
    /// Wash and disinfect.
    Clean = "clean", "clean";
    /// Tighten or glue the scales so that the knife can be held safely.
    Handle = "handle", "make the handle safe";
    /// Take out a bow or twist, soft zone only.
    Straighten = "straighten", "straighten";
    /// Dissolve or rub off rust.
    Derust = "derust", "remove rust";
    /// Grind out chips, redraw a tip, level a heel.
    Repair = "repair", "repair the edge line";
    /// Relieve the bolster.
    Bolster = "bolster", "relieve the bolster";
    /// Thin the blade behind the edge.
    Thin = "thin", "thin behind the edge";
    /// Grind a plain bevel.
    Bevel = "bevel", "grind the bevel";
    /// Cut teeth on a profiled wheel.
    Serrate = "serrate", "cut the teeth";
    /// Cut teeth one by one.
    Tooth = "tooth", "cut tooth by tooth";
    /// Flatten and hone the back.
    Hone = "hone", "hone";
    /// Strop, take off the burr.
    Strop = "strop", "strop";
    /// Test that it cuts.
    Prove = "prove", "prove";
    /// Darken bright carbon steel again.
    Redarken = "redarken", "re-darken";
    /// Oil the blade or the handle.
    Oil = "oil", "oil";
    /// Wrap and box.
    Pack = "pack", "pack";
}

impl OperationKind {
    /// True for the steps after proving: they make it look and keep well, and take no steel.
    pub fn is_refinish(self) -> bool {
        self > Self::Prove
    }

    /// True for the steps that take steel away.
    pub fn takes_steel(self) -> bool {
        matches!(self, Self::Repair | Self::Bolster | Self::Thin | Self::Bevel | Self::Serrate | Self::Tooth)
    }
}

impl fmt::Display for OperationKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

impl FromStr for OperationKind {
    type Err = ();
    fn from_str(code: &str) -> Result<Self, ()> {
        Self::ALL.iter().copied().find(|k| k.code() == code).ok_or(())
    }
}

/// The steel a step grinds away, and the time that takes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Cut {
    /// Steel to grind away, mm³.
    pub metal_mm3: f64,
    /// Handling: however little is ground away, it takes as many minutes.
    pub handling: u32,
    /// Minutes eight times in ten lie within; `None` until the ledger has taught what this takes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub span: Option<(u32, u32)>,
}

/// One step of a route, ready to be planned. Minutes are whole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RouteStep {
    /// What is done.
    pub kind: OperationKind,
    /// Where: a station's id.
    pub station: String,
    /// In which setup of the station.
    pub setup: String,
    /// How long the piece is there.
    pub minutes: u32,
    /// How long somebody has to stand by; `None`: all the time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub attended: Option<u32>,
    /// Rest after this step before the next may begin.
    #[serde(default)]
    pub lag: u32,
    /// Longest wait before the next step (wet carbon steel rusts).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_lag: Option<u32>,
    /// The skill it takes, if not everybody may do it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub skill: Option<String>,
    /// What its minutes rest on, where steel is ground away.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cut: Option<Cut>,
    /// Put off until then: its run was split. A wish; whoever takes it up earlier may.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub not_before: Option<DateTime<Utc>>,
    /// What to do and how much, in words for the bench: target angle, recession, passes, grit.
    #[serde(default)]
    pub targets: Vec<String>,
    /// Why it is on the route, one sentence.
    #[serde(default)]
    pub reason: String,
}

impl RouteStep {
    /// Minutes eight times in ten lie within; both the same where the ledger has taught nothing of them.
    pub fn span(&self) -> (u32, u32) {
        self.cut.and_then(|cut| cut.span).unwrap_or((self.minutes, self.minutes))
    }
}

/// `8 min`, `8 to 12 min`.
pub fn minutes_words((low, high): (u32, u32)) -> String {
    if low == high { format!("{high} min") } else { format!("{low} to {high} min") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_goes_from_repair_through_proving_to_oil() {
        use OperationKind::*;
        let mut route = [Oil, Prove, Bevel, Repair, Derust, Inspect, Pack, Hone];
        route.sort();
        assert_eq!(route, [Inspect, Derust, Repair, Bevel, Hone, Prove, Oil, Pack]);
        assert!(Redarken.is_refinish() && !Prove.is_refinish());
        assert_eq!("redarken".parse(), Ok(Redarken));
    }
}

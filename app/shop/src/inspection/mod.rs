//! The inspection sheet: as typed ([`RawInspection`]), and as [`check`] leaves it ([`Inspection`]).

mod check;
mod defects;

pub use check::check;
pub use defects::{DEFECTS, Defect};

use crate::edge::EdgeKind;
use serde::{Deserialize, Serialize};

/// The files of a hardness set, HRC (common practice: six of them, five points apart).
pub const FILES_HRC: [u8; 6] = [40, 45, 50, 55, 60, 65];

/// One chip as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct RawChip {
    /// Depth from today's edge.
    pub depth: String,
    /// Width along the edge.
    pub width: String,
    /// Distance from the heel.
    pub at: String,
    /// `all`, `part` or `leave`.
    pub choice: String,
    /// Depth taken when `part`.
    pub part: String,
}

/// The sheet as typed, in the order the hand measures.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct RawInspection {
    /// Version of the piece the sheet was opened with.
    pub version: String,
    /// Defects ticked, by code (see [`DEFECTS`]).
    pub defects: Vec<String>,
    /// Kind of edge.
    pub edge: String,
    /// Steel designation, or empty.
    pub steel: String,
    /// Bright carbon steel to be darkened again.
    pub redarken: bool,
    /// Edge length.
    pub length: String,
    /// Height 20 mm before the heel.
    pub height_heel: String,
    /// Height at the middle.
    pub height: String,
    /// Height 40 mm behind the tip.
    pub height_tip: String,
    /// Height when new, if known.
    pub original_height: String,
    /// Height at which it is worn out.
    pub least_height: String,
    /// Spine thickness.
    pub spine: String,
    /// Thickness behind the edge.
    pub behind_edge: String,
    /// Edge angle: half-angle (double) or from the back.
    pub angle: String,
    /// New angle, empty: today's.
    pub target_angle: String,
    /// Thin to this thickness behind the edge, empty: no thinning.
    pub target_behind_edge: String,
    /// Land.
    pub land: String,
    /// Edge hardness, HRC, by record.
    pub edge_hrc: String,
    /// The hardest file that skates on the edge, HRC; empty: none does, or none was tried.
    pub skates: String,
    /// The softest file that bites, HRC; empty: none does, or none was tried.
    pub bites: String,
    /// Spine hardness, HRC.
    pub spine_hrc: String,
    /// Hardness line above today's edge.
    pub line: String,
    /// Height over which hardness falls.
    pub transition: String,
    /// Least hardness, HRC.
    pub least_hrc: String,
    /// Chips.
    pub chips: Vec<RawChip>,
    /// Missing tip.
    pub tip: String,
    /// Tooth pitch: length over the counted teeth.
    pub teeth_over: String,
    /// How many teeth were counted over it.
    pub teeth_count: String,
    /// Depth of teeth (wavy, pointed).
    pub depth: String,
    /// Ridge radius (arc).
    pub ridge_radius: String,
    /// How teeth are brought back: `own`, `fitting`, `tooth`, `plain`.
    pub teeth_way: String,
    /// The setup the teeth are cut on.
    pub setup: String,
    /// Cut test before.
    pub cut_test: String,
    /// Extra steel taken for a clean edge.
    pub allowance: String,
    /// What the bench found, for colleagues and the customer.
    pub note: String,
}

/// One chip.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Chip {
    /// Depth from today's edge, millimetres.
    pub depth_mm: f64,
    /// Width along the edge, millimetres.
    pub width_mm: f64,
    /// Distance from the heel, millimetres.
    pub at_mm: f64,
    /// How deep of it is ground out, millimetres.
    pub take_mm: f64,
}

/// How teeth are brought back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TeethWay {
    /// On the wheel that cut them.
    Own,
    /// On another wheel of ours.
    Fitting,
    /// One by one.
    Tooth,
    /// Ground away to a plain edge.
    Plain,
}

impl TeethWay {
    fn parse(code: &str) -> Option<Self> {
        match code {
            "own" => Some(Self::Own),
            "fitting" => Some(Self::Fitting),
            "tooth" => Some(Self::Tooth),
            "plain" => Some(Self::Plain),
            _ => None,
        }
    }
}

/// Teeth as measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MeasuredTeeth {
    /// Tooth to tooth, millimetres, over the counted length.
    pub pitch_mm: f64,
    /// Depth on the blade, for wavy and pointed.
    pub depth_mm: Option<f64>,
    /// Ridge radius normal to the bevel, for arcs.
    pub ridge_radius_mm: Option<f64>,
    /// How they are brought back.
    pub way: TeethWay,
    /// The setup for it, if on a wheel.
    pub setup: Option<String>,
}

/// A checked sheet. Millimetres, degrees, HRC.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Inspection {
    /// Codes of the defects found.
    pub defects: Vec<String>,
    /// Kind of edge.
    pub edge: EdgeKind,
    /// Steel designation.
    pub steel: Option<String>,
    /// To be darkened again.
    pub redarken: bool,
    /// Edge length.
    pub length_mm: f64,
    /// Heights: heel +20, middle, tip −40; the middle one is always there.
    pub heights_mm: (Option<f64>, f64, Option<f64>),
    /// Height when new.
    pub original_height_mm: Option<f64>,
    /// Height at which it is worn out.
    pub least_height_mm: Option<f64>,
    /// Spine thickness.
    pub spine_mm: f64,
    /// Thickness behind the edge.
    pub behind_edge_mm: f64,
    /// Edge angle.
    pub angle_deg: f64,
    /// New angle.
    pub target_angle_deg: Option<f64>,
    /// Thin to this.
    pub target_behind_edge_mm: Option<f64>,
    /// Land.
    pub land_mm: Option<f64>,
    /// Edge hardness.
    pub edge_hrc: Option<f64>,
    /// Between which it lies by the files.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub edge_band_hrc: Option<(f64, f64)>,
    /// Spine hardness.
    pub spine_hrc: Option<f64>,
    /// Hardness line above today's edge.
    pub line_mm: Option<f64>,
    /// Transition.
    pub transition_mm: f64,
    /// Least hardness.
    pub least_hrc: Option<f64>,
    /// Chips.
    pub chips: Vec<Chip>,
    /// Missing tip.
    pub tip_mm: Option<f64>,
    /// Teeth, for serrated edges.
    pub teeth: Option<MeasuredTeeth>,
    /// Cut test before: newtons for plain edges, strokes for teeth.
    pub cut_test: Option<f64>,
    /// Allowance.
    pub allowance_mm: f64,
    /// What the bench found.
    pub note: String,
}

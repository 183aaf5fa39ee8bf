//! What is asked: one knife, its wear and what is wanted. Plain data with the names of the command line; every
//! figure is checked in `checked.rs` before it is used.

use serde::{Deserialize, Serialize};

use crate::Operation;
use crate::answer::ServicesLeft;
use crate::checks::Bench;
use crate::curve::Station;
use crate::learn::Habit;
use crate::life::{self, Bite, Z90};

/// One knife to estimate. Lengths in mm, angles in degrees.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Request {
    /// Open designation of the steel (EN, AISI/SAE or JIS), or `unknown`.
    pub steel: String,
    /// The blade as it lies on the bench.
    pub blade: Blade,
    /// The edge as it was cut.
    pub edge: Edge,
    /// What use and mishap have done to it; nothing when absent.
    #[serde(default, skip_serializing_if = "Wear::is_none")]
    pub wear: Wear,
    /// What is wanted.
    pub target: Target,
    /// What a later service is expected to take.
    pub typical_recession_mm: Recession,
    /// Work the inspection found beside the edge: straighten, derust, handle and so on.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub also: Vec<Operation>,
    /// Services a year at this customer's habit; gives the years a blade has left.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub services_per_year: Option<f64>,
    /// What else the line should answer beside the estimate.
    #[serde(default, skip_serializing_if = "More::is_none")]
    pub more: More,
}

/// What else can be asked with a knife; [`crate::line`] answers it under the same names.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct More {
    /// Measures along the blade, heel to tip: answered as `along`, the local section integrated over the edge.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stations: Vec<Station>,
    /// A few points of a curved edge line, heel to tip (mm from the heel, mm up from the heel's level): `along` then has its true length.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub edge_line: Vec<(f64, f64)>,
    /// The bench it is ground at: answered as `checks`, the figures to look at with their tolerance.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bench: Option<Bench>,
    /// Every way the shop's wheels could recut a serrated edge: answered as `choices`, best first.
    #[serde(default, skip_serializing_if = "is_false")]
    pub wheels: bool,
}

impl More {
    /// True when nothing more is asked.
    pub fn is_none(&self) -> bool {
        self.stations.is_empty() && self.edge_line.is_empty() && self.bench.is_none() && !self.wheels
    }
}

/// The blade's own measures, today.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Blade {
    /// Length of the edge, heel to tip.
    pub edge_length_mm: f64,
    /// Today's worn edge to the spine.
    pub height_mm: f64,
    /// Height when it was new.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub original_height_mm: Option<f64>,
    /// Least height at which the knife is still worth having; no limit when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least_height_mm: Option<f64>,
    /// Thickness at the spine.
    pub spine_mm: f64,
    /// Thickness where the primary face begins (serrated: at the tooth-tip line).
    pub behind_edge_mm: f64,
    /// Shape of the primary face; flat over the whole height when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grind: Option<Grind>,
    /// Hardness up the blade; unknown when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hardness: Option<Hardness>,
    /// Top of a laminated blade's hard core, up from today's edge: a limit of its own when given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub core_line_mm: Option<f64>,
    /// Lower end of a mark or etching the bevel must not reach, up from today's edge: a limit when given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mark_mm: Option<f64>,
}

/// Shape of the primary face.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Grind {
    /// Flat, hollow or convex.
    pub kind: GrindKind,
    /// Radius of a hollow or convex face.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub radius_mm: Option<f64>,
    /// Where the face ends, up from today's edge; the blade is parallel above. The whole height when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to_mm: Option<f64>,
}

/// Kinds of primary face.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum GrindKind {
    /// Straight from the shoulder to the end of the grind.
    Flat,
    /// Concave: the circle's centre lies outside the blade.
    Hollow,
    /// Convex: the circle's centre lies inside the blade.
    Convex,
}

/// Hardness up the blade. Heights are measured up from today's edge.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hardness {
    /// Hardness at the edge, HRC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub edge_hrc: Option<f64>,
    /// Hardness at the spine, HRC.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spine_hrc: Option<f64>,
    /// Where the hardness begins to fall; hard throughout when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line_mm: Option<f64>,
    /// Height over which it falls to the spine's; a step when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub transition_mm: Option<f64>,
    /// Least hardness an edge may have; no hardness limit when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least_hrc: Option<f64>,
}

/// The edge as it was cut. Which of the keys belong depends on `kind` and `form`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Edge {
    /// Double bevel, single bevel or serrated.
    pub kind: EdgeKind,
    /// Double: angle of each side from the middle plane.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half_angle_deg: Option<f64>,
    /// Single, serrated: angle of the bevel from the flat back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub angle_deg: Option<f64>,
    /// Serrated: form of the teeth.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub form: Option<Form>,
    /// Serrated: distance from tooth to tooth.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pitch_mm: Option<f64>,
    /// Arc teeth: the wheel's own ridge radius, normal to the bevel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ridge_radius_mm: Option<f64>,
    /// Wavy and pointed teeth: depth seen on the blade at this angle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth_mm: Option<f64>,
    /// Mixed patterns: the teeth that repeat, heel to tip; `pitch_mm` is then left out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub teeth: Vec<ToothShape>,
}

/// One tooth of a mixed pattern (a long scallop between short ones).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ToothShape {
    /// Form of this tooth; `mixed` is not allowed here.
    pub form: Form,
    /// Its own length along the edge.
    pub pitch_mm: f64,
    /// Arc: the wheel's ridge radius normal to the bevel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ridge_radius_mm: Option<f64>,
    /// Wavy and pointed: depth seen on the blade.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth_mm: Option<f64>,
}

/// Kinds of edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum EdgeKind {
    /// Bevelled alike from both sides.
    Double,
    /// Bevelled from one side; the back is flat.
    Single,
    /// Teeth cut from one side by a profiled wheel; the back is flat.
    Serrated,
}

/// Forms of teeth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Form {
    /// Round gullets meeting in points.
    Arc,
    /// A smooth wave.
    Wavy,
    /// Straight flanks, like a saw.
    Pointed,
    /// Several of these in a repeating row; see [`Edge::teeth`].
    Mixed,
}

/// What use and mishap have done. `land_mm`, `radius_mm` and `tip_flat_mm` describe one worn profile; the deepest
/// of them counts.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wear {
    /// Width of the worn flat across the edge.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub land_mm: f64,
    /// Radius to which the edge is rounded.
    #[serde(
        default,
        alias = "rounding_mm",
        alias = "edge_radius_mm",
        alias = "round_mm",
        skip_serializing_if = "is_zero"
    )]
    pub radius_mm: f64,
    /// Serrated: width of the worn flats on the tooth tips, seen from the side.
    #[serde(default, alias = "tip_flats_mm", skip_serializing_if = "is_zero")]
    pub tip_flat_mm: f64,
    /// Chips, each a triangle on today's edge.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub chips: Vec<Chip>,
    /// Length lost at the tip.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub tip_missing_mm: f64,
    /// Redraw a missing tip from the edge, so that the belly keeps its curve; from the spine otherwise.
    #[serde(default, skip_serializing_if = "is_false")]
    pub keep_belly: bool,
    /// Broken teeth of a serrated edge.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub missing_teeth: Vec<MissingTooth>,
}

impl Wear {
    /// True when nothing is worn or broken.
    pub fn is_none(&self) -> bool {
        *self == Self::default()
    }
}

/// A chip: a triangle with its base on today's edge.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Chip {
    /// Depth from today's edge.
    pub depth_mm: f64,
    /// Width at today's edge.
    pub width_mm: f64,
    /// Middle of the chip, from the heel. A chip without a place overlaps no other.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_mm: Option<f64>,
    /// Leave this chip in, or what is left of it: it then takes no part in the recession.
    #[serde(default, skip_serializing_if = "is_false")]
    pub leave: bool,
}

/// A broken tooth.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MissingTooth {
    /// Where it stood, from the heel.
    #[serde(default)]
    pub at_mm: f64,
    /// How deep it is broken, measured up from today's tooth-tip line.
    pub broken_to_mm: f64,
    /// Leave it broken: it then takes no part in the recession.
    #[serde(default, skip_serializing_if = "is_false")]
    pub leave: bool,
}

/// What is wanted.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Target {
    /// Angle of each side of a double bevel; today's when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half_angle_deg: Option<f64>,
    /// Angle from the flat back; today's when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub angle_deg: Option<f64>,
    /// Metal taken beyond what the damage needs, as height.
    pub allowance_mm: f64,
    /// Greatest thickness behind the new edge: thinned when it is exceeded.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub behind_edge_mm: Option<f64>,
    /// Where a thinned face runs out, up from the new apex; 12 mm when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thin_to_mm: Option<f64>,
    /// Serrated: the wheel to recut with; the one that cut it when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wheel: Option<WheelShape>,
    /// Serrated: how the wheel is used; `full` when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mode: Option<Mode>,
    /// Indexed: ridges that cut in one plunge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ridges: Option<u32>,
}

/// A serrating wheel by what it cuts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WheelShape {
    /// Form of its ridges.
    pub form: Form,
    /// Distance from ridge to ridge.
    pub pitch_mm: f64,
    /// Angle it is set to, from the flat back.
    pub angle_deg: f64,
    /// Arc: radius of a ridge, normal to the bevel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ridge_radius_mm: Option<f64>,
    /// Wavy, pointed: depth it leaves on the blade at this angle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth_mm: Option<f64>,
}

/// How a serrating wheel is used on an edge another wheel has cut.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Mode {
    /// The whole edge in one phase.
    #[default]
    Full,
    /// In plunges of a few ridges, each brought into phase anew.
    Indexed,
    /// One narrow ridge, tooth by tooth.
    Tooth,
    /// Ground away to a plain edge: costs the whole depth of the teeth.
    Plain,
}

/// What a later service takes from the height.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Recession {
    /// Median, mm.
    pub median: f64,
    /// Standard deviation of its natural logarithm; 0: each service takes exactly the median.
    #[serde(default)]
    pub spread: f64,
    /// What a ledger has taught about it. When it is there, life is drawn over everything it leaves open (Student-t), and median and
    /// spread say only what was thought before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub learned: Option<Habit>,
}

/// The draws of a life over what a ledger leaves open: a fixed seed, so that browser and server say the same.
const SEED: u64 = 1;
const DRAWS: u32 = 200;

impl Recession {
    /// Services that fit into `room_mm` of height.
    pub(crate) fn services(&self, room_mm: f64) -> ServicesLeft {
        match &self.learned {
            Some(habit) => habit.services(room_mm, SEED, DRAWS),
            None => life::services(room_mm, self.median, self.spread),
        }
    }

    /// The middle of them alone.
    pub(crate) fn middle_services(&self, room_mm: f64) -> u32 {
        match &self.learned {
            Some(_) => self.services(room_mm).p50,
            None => life::middle_services(room_mm, self.median, self.spread),
        }
    }

    /// Height taken by so many services: what one knife in ten stays under, the middle, what nine in ten stay under, mm.
    pub(crate) fn taken(&self, services: &[u32]) -> Vec<[f64; 3]> {
        match &self.learned {
            Some(habit) => habit.taken(services, SEED, DRAWS),
            None => {
                let bite = (self.spread > 0.0).then(|| Bite::new(self.median, self.spread));
                let at = |n: u32, z: f64| match &bite {
                    Some(bite) => bite.taken(f64::from(n), z),
                    None => self.median * f64::from(n),
                };
                services.iter().map(|n| [-Z90, 0.0, Z90].map(|z| at(*n, z))).collect()
            }
        }
    }
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde hands the field by reference")]
fn is_zero(value: &f64) -> bool {
    *value == 0.0
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde hands the field by reference")]
fn is_false(value: &bool) -> bool {
    !*value
}

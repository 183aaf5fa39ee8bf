//! Grain sizes on scales that are never mixed, and the fewest steps from a coarse grain to the wanted finish.
//!
//! "400" is 35.0 µm as FEPA P, 17.3 as FEPA F, 30.0 as JIS and 23 as a plain (CAMI) number: a number without its scale says
//! nothing, and none of these tables is ever interpolated.

use serde::{Deserialize, Serialize};

use crate::num::sort_short;
use crate::steps::Operation;

/// A scale of grain sizes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Scale {
    /// FEPA F, ISO 8486: bonded abrasives. Values from memory (high confidence) but F80, which was read.
    #[serde(rename = "FEPA F")]
    FepaF,
    /// FEPA P, ISO 6344: coated abrasives. Read from a comparison of abrasive systems (2008).
    #[serde(rename = "FEPA P")]
    FepaP,
    /// JIS R 6001:1987, precision grains by electrical resistance. Read from a page on that standard.
    #[serde(rename = "JIS")]
    Jis,
    /// The plain American number. Read from the same comparison as FEPA P.
    #[serde(rename = "CAMI")]
    Cami,
}

impl Scale {
    /// The number as it is written on this scale: `F220`, `P120`, `#1000`, `CAMI 400`.
    pub fn written(self, number: u32) -> String {
        match self {
            Self::FepaF => format!("F{number}"),
            Self::FepaP => format!("P{number}"),
            Self::Jis => format!("#{number}"),
            Self::Cami => format!("CAMI {number}"),
        }
    }

    fn table(self) -> &'static [(u32, f64)] {
        match self {
            Self::FepaF => &FEPA_F,
            Self::FepaP => &FEPA_P,
            Self::Jis => &JIS,
            Self::Cami => &CAMI,
        }
    }
}

const FEPA_F: [(u32, f64); 24] = [
    (36, 525.0),
    (46, 370.0),
    (54, 310.0),
    (60, 260.0),
    (70, 218.0),
    (80, 180.0),
    (90, 154.0),
    (100, 129.0),
    (120, 109.0),
    (150, 82.0),
    (180, 69.0),
    (230, 53.0),
    (240, 44.5),
    (280, 36.5),
    (320, 29.2),
    (360, 22.8),
    (400, 17.3),
    (500, 12.8),
    (600, 9.3),
    (800, 6.5),
    (1000, 4.5),
    (1200, 3.0),
    (1500, 2.0),
    (2000, 1.2),
];

const FEPA_P: [(u32, f64); 28] = [
    (12, 1815.0),
    (16, 1324.0),
    (20, 1000.0),
    (24, 764.0),
    (30, 642.0),
    (36, 538.0),
    (40, 425.0),
    (50, 336.0),
    (60, 269.0),
    (80, 201.0),
    (100, 162.0),
    (120, 125.0),
    (150, 100.0),
    (180, 82.0),
    (220, 68.0),
    (240, 58.5),
    (280, 52.2),
    (320, 46.2),
    (360, 40.5),
    (400, 35.0),
    (500, 30.2),
    (600, 25.8),
    (800, 21.8),
    (1000, 18.3),
    (1200, 15.3),
    (1500, 12.6),
    (2000, 10.3),
    (2500, 8.4),
];

const JIS: [(u32, f64); 18] = [
    (240, 57.0),
    (280, 48.0),
    (320, 40.0),
    (360, 35.0),
    (400, 30.0),
    (500, 25.0),
    (600, 20.0),
    (700, 17.0),
    (800, 14.0),
    (1000, 11.5),
    (1200, 9.5),
    (1500, 8.0),
    (2000, 6.7),
    (2500, 5.5),
    (3000, 4.0),
    (4000, 3.0),
    (6000, 2.0),
    (8000, 1.2),
];

const CAMI: [(u32, f64); 8] =
    [(240, 53.0), (320, 36.0), (360, 28.0), (400, 23.0), (500, 20.0), (600, 16.0), (800, 12.6), (1000, 10.3)];

/// Median grain size, µm. `None` for a number the scale does not have: sizes between are not made up.
pub fn grain_um(scale: Scale, number: u32) -> Option<f64> {
    scale.table().iter().find(|(known, _)| *known == number).map(|(_, size)| *size)
}

/// The scale and number of a marking: `FEPA F 150`, `P120`, `JIS 1000`, `#1000`, `CAMI 400`. `None` without a scale, or when the
/// scale has no such number.
pub fn read(mark: &str) -> Option<(Scale, u32)> {
    let mark = mark.trim().to_ascii_uppercase();
    let (scale, number) = [
        ("FEPA F", Scale::FepaF),
        ("FEPA P", Scale::FepaP),
        ("JIS", Scale::Jis),
        ("CAMI", Scale::Cami),
        ("F", Scale::FepaF),
        ("P", Scale::FepaP),
        ("#", Scale::Jis),
    ]
    .into_iter()
    .find_map(|(word, scale)| Some((scale, mark.strip_prefix(word)?)))?;
    let number = number.trim().trim_start_matches('#').parse().ok()?;
    grain_um(scale, number).map(|_| (scale, number))
}

/// Depth of the scratches a grain leaves, as a share of its size.
///
/// Printed roughness of ground stainless puts Rz at 2 % of the grain (one lexicon) to 8 % (a supplier's belts): use the order,
/// not the digit. Taken larger, steps overlap more and take longer; smaller, scratches of a coarse belt survive.
const SCRATCH_SHARE: f64 = 0.05;

/// Depth of the scratches a grain of this size leaves, mm.
pub fn scratch_mm(grain_um: f64) -> f64 {
    SCRATCH_SHARE * grain_um * 1e-3
}

/// The coarsest grain that may come before a finer one, as a ratio of sizes. Common practice skips two to three times; a factor of 4 still
/// lets a #800 lap follow a F230 wheel. Wider, and the finer step spends its life on the coarser one's scratches.
const WIDEST_STEP: f64 = 4.0;

/// A stone, belt or wheel of the shop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Abrasive {
    /// The shop's name for it: what a setup is called.
    pub id: String,
    /// Scale its number is on.
    pub scale: Scale,
    /// The number.
    pub number: u32,
    /// What it is used for.
    #[serde(default)]
    pub operations: Vec<Operation>,
    /// Learned removal, mm³ a minute on 1.3505; guessed from the grain when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mm3_per_min: Option<f64>,
    /// Standard deviation of its natural logarithm.
    #[serde(default)]
    pub spread: f64,
}

impl Abrasive {
    /// Median grain, µm; `None` when the scale has no such number.
    pub fn grain_um(&self) -> Option<f64> {
        grain_um(self.scale, self.number)
    }

    /// `P120`, `#1000` and so on.
    pub fn written(&self) -> String {
        self.scale.written(self.number)
    }

    /// Removal, mm³ a minute on 1.3505: learned, or 0.5 for each µm of grain (invented for the demo shop; a first guess).
    pub fn removal_mm3_min(&self) -> f64 {
        self.mm3_per_min.unwrap_or_else(|| 0.5 * self.grain_um().unwrap_or(10.0))
    }

    pub(crate) fn demo() -> Vec<Self> {
        use Operation::{Bevel, Hone, Repair, Serrate, Thin, Tooth};
        let tool = |id: &str, scale, number, operations: &[Operation]| Self {
            id: id.to_owned(),
            scale,
            number,
            operations: operations.to_vec(),
            mm3_per_min: None,
            spread: 0.35,
        };
        vec![
            tool("P60", Scale::FepaP, 60, &[Repair]),
            tool("P120", Scale::FepaP, 120, &[Repair, Thin]),
            tool("P240", Scale::FepaP, 240, &[Thin]),
            tool("bevel wheel", Scale::FepaF, 230, &[Bevel]),
            tool("serrating wheel", Scale::FepaF, 230, &[Serrate]),
            tool("spindle ridge", Scale::FepaF, 230, &[Tooth]),
            tool("lap", Scale::Jis, 800, &[Hone]),
            tool("fine stone", Scale::Jis, 3000, &[Hone]),
        ]
    }
}

/// One step of a grit plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GritStep {
    /// The shop's name of the stone or belt.
    pub id: String,
    /// Its number as written.
    pub grain: String,
    /// Its median grain, µm.
    pub grain_um: f64,
    /// Depth it takes off each face, mm: the shape for the first, the scratches before it for the rest.
    pub takes_mm: f64,
    /// Share of all depth taken.
    pub height_share: f64,
    /// Passes over the whole face.
    pub passes: u32,
    /// Minutes, and the range one standard deviation of the removal rate either way.
    pub minutes: (f64, f64, f64),
}

/// What a grit plan is for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Finish {
    /// Depth the shape needs, normal to the face, mm.
    pub depth_mm: f64,
    /// Area of the faces to be ground, mm².
    pub area_mm2: f64,
    /// Grain of the finish wanted, µm: the last step is at most this coarse.
    pub finest_um: f64,
    /// Grain that ground the face as it comes, µm: the first step may not be finer than it by more than a factor of 4 either.
    /// `None`: the first step takes a shape, whatever came before.
    pub after_um: Option<f64>,
    /// Grindability of the steel against 1.3505.
    pub grindability: f64,
}

/// The quickest chain of the shop's own abrasives that takes the depth and ends at the wanted finish; every further step costs its
/// change as well, so it is also the shortest worth having.
///
/// Grains are sorted coarse to fine on their sizes in µm, whatever scale they are written on; no step may be finer than its forerunner by
/// more than a factor of 4. The first step takes the shape, each later one the scratches of the one before. `None` when nothing the shop
/// has is fine enough, or the only way there would take hours.
pub fn plan(abrasives: &[Abrasive], finish: &Finish) -> Option<Vec<GritStep>> {
    let mut tools: Vec<(&Abrasive, f64)> =
        abrasives.iter().filter_map(|tool| tool.grain_um().map(|grain| (tool, grain))).collect();
    sort_short(&mut tools, |a, b| b.1.total_cmp(&a.1));
    let minutes = |tool: &Abrasive, depth: f64| {
        depth * finish.area_mm2 / (tool.removal_mm3_min() * finish.grindability.max(1e-3))
    };
    // Least cost of standing at each tool with its scratches as the surface, and the tool before it.
    let mut best: Vec<(f64, Option<usize>)> = Vec::with_capacity(tools.len());
    for (i, (tool, grain)) in tools.iter().enumerate() {
        let may_begin = finish.after_um.is_none_or(|before| before <= WIDEST_STEP * grain);
        let begun = if may_begin { CHANGE_MIN + minutes(tool, finish.depth_mm) } else { f64::INFINITY };
        let mut here = (begun, None);
        for (j, (_, coarser)) in tools[..i].iter().enumerate() {
            if *coarser > *grain && *coarser <= WIDEST_STEP * grain {
                let cost = best[j].0 + CHANGE_MIN + minutes(tool, scratch_mm(*coarser));
                if cost < here.0 {
                    here = (cost, Some(j));
                }
            }
        }
        best.push(here);
    }
    let last = (0..tools.len())
        .filter(|i| tools[*i].1 <= finish.finest_um)
        .min_by(|a, b| best[*a].0.total_cmp(&best[*b].0))?;
    if best[last].0 > ENDLESS_MIN {
        return None;
    }
    let mut chain = vec![last];
    while let Some(before) = best[chain[chain.len() - 1]].1 {
        chain.push(before);
    }
    chain.reverse();
    let takes: Vec<f64> = chain
        .iter()
        .enumerate()
        .map(|(n, _)| if n == 0 { finish.depth_mm } else { scratch_mm(tools[chain[n - 1]].1) })
        .collect();
    let all: f64 = takes.iter().sum();
    Some(
        chain
            .iter()
            .zip(&takes)
            .map(|(i, depth)| {
                let (tool, grain) = tools[*i];
                let middle = minutes(tool, *depth);
                let spread = crate::num::exp(tool.spread);
                GritStep {
                    id: tool.id.clone(),
                    grain: tool.written(),
                    grain_um: grain,
                    takes_mm: *depth,
                    height_share: if all > 0.0 { depth / all } else { 0.0 },
                    // A pass takes about a tenth of the grain.
                    passes: libm::ceil(depth / (1e-4 * grain)).clamp(1.0, 1e6) as u32,
                    minutes: (middle / spread, middle, middle * spread),
                }
            })
            .collect(),
    )
}

/// What it costs to change to another stone or belt, minutes: the demo shop's least changeover.
const CHANGE_MIN: f64 = 2.0;
/// Longer than this is no plan.
const ENDLESS_MIN: f64 = 240.0;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_scales_give_four_sizes_for_the_same_number() {
        let sizes: Vec<_> = [Scale::FepaP, Scale::FepaF, Scale::Cami, Scale::Jis]
            .map(|scale| grain_um(scale, 400).unwrap())
            .to_vec();
        assert_eq!(sizes, [35.0, 17.3, 23.0, 30.0]);
        assert_eq!(grain_um(Scale::Jis, 1000), Some(11.5), "retail charts say 14, which is #800");
        assert_eq!(grain_um(Scale::FepaP, 130), None);
    }

    #[test]
    fn every_scale_runs_from_coarse_to_fine() {
        for scale in [Scale::FepaP, Scale::FepaF, Scale::Cami, Scale::Jis] {
            for pair in scale.table().windows(2) {
                assert!(pair[0].0 < pair[1].0 && pair[0].1 > pair[1].1, "{scale:?} {pair:?}");
            }
        }
    }

    #[test]
    fn a_fepa_f_reference_window_that_made_no_row_is_met() {
        // A reference page prints a median window of 50 to 56 µm for the grain between F180 (69) and F240 (44.5).
        let size = grain_um(Scale::FepaF, 230).unwrap();
        assert!((50.0..=56.0).contains(&size));
    }

    #[test]
    fn a_deep_shape_starts_coarse_and_a_touch_up_does_not() {
        let shop = Abrasive::demo();
        let finish =
            Finish { depth_mm: 0.2, area_mm2: 320.0, finest_um: 4.0, after_um: None, grindability: 1.0 };
        let deep = plan(&shop, &finish).unwrap();
        assert!(deep[0].grain_um > 40.0 && deep.last().unwrap().grain_um <= 4.0, "{deep:?}");
        for pair in deep.windows(2) {
            assert!(pair[0].grain_um > pair[1].grain_um);
            assert!((pair[1].takes_mm - scratch_mm(pair[0].grain_um)).abs() < 1e-12);
        }
        let shares: f64 = deep.iter().map(|step| step.height_share).sum();
        assert!((shares - 1.0).abs() < 1e-12);
        let touch = plan(&shop, &Finish { depth_mm: 0.002, ..finish }).unwrap();
        assert!(touch.len() < deep.len(), "{touch:?}");
    }

    #[test]
    fn a_finish_the_shop_cannot_reach_is_no_plan() {
        let shop = Abrasive::demo();
        let finish =
            Finish { depth_mm: 0.1, area_mm2: 300.0, finest_um: 0.5, after_um: None, grindability: 1.0 };
        assert_eq!(plan(&shop, &finish), None);
    }

    #[test]
    fn a_fine_stone_does_not_follow_a_coarse_wheel_at_once() {
        let tool = |number| Abrasive { number, ..Abrasive::demo()[7].clone() };
        let stones = [tool(800), tool(1000), tool(3000)];
        let after = |grain: f64| {
            let finish = Finish {
                depth_mm: scratch_mm(grain),
                area_mm2: 160.0,
                finest_um: 4.0,
                after_um: Some(grain),
                grindability: 1.0,
            };
            let chain = plan(&stones, &finish)?;
            Some(chain.into_iter().map(|step| step.grain).collect::<Vec<_>>())
        };
        assert_eq!(after(53.0).unwrap(), ["#800", "#3000"], "#1000 is too fine for a F230 wheel's scratches");
        assert_eq!(after(14.0).unwrap(), ["#3000"]);
        assert_eq!(after(82.0), None, "nothing here may follow a F150 wheel");
    }

    #[test]
    fn a_marking_is_read_with_its_scale_or_not_at_all() {
        for (mark, read_as) in [
            ("FEPA F 150", Some((Scale::FepaF, 150))),
            (" fepa p120", Some((Scale::FepaP, 120))),
            ("P240", Some((Scale::FepaP, 240))),
            ("F 80", Some((Scale::FepaF, 80))),
            ("JIS 1000", Some((Scale::Jis, 1000))),
            ("JIS #3000", Some((Scale::Jis, 3000))),
            ("#800", Some((Scale::Jis, 800))),
            ("CAMI 400", Some((Scale::Cami, 400))),
            ("400", None),
            ("P 130", None),
            ("fine", None),
            ("", None),
        ] {
            assert_eq!(read(mark), read_as, "{mark}");
        }
    }
}

//! Steels by open designation (EN number and name, AISI/SAE, JIS), each figure with its source.
//!
//! Sources are short: "card" is a maker-neutral technical card to the standard named, "table" a printed property
//! table, "from memory" means just that. Nothing here was checked against the bought standards.

use std::borrow::Cow;

use serde::{Deserialize, Serialize};

/// A figure and where it comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figure {
    /// The value, in the unit its field names.
    #[serde(deserialize_with = "crate::figures::above_zero")]
    pub value: f64,
    /// Least and greatest published; equal to the value when only one was found.
    pub range: (f64, f64),
    /// Where it was printed.
    pub source: Cow<'static, str>,
}

/// How a steel stands up to water.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Corrosion {
    /// Plain and low-alloy carbon steel: rusts within the hour when wet.
    Rusts,
    /// Enough chromium in solution to rust slowly (D2 and the like).
    Slow,
    /// Stainless in a kitchen.
    Stainless,
    /// Not known: treated as if it rusts.
    Unknown,
}

/// A steel.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Steel {
    /// The name we print.
    pub name: Cow<'static, str>,
    /// Every designation it is found by.
    pub designations: Cow<'static, [Cow<'static, str>]>,
    /// Density, kg/m³.
    pub density_kg_m3: Figure,
    /// Thermal conductivity, W/mK.
    pub conductivity_w_mk: Figure,
    /// Heat capacity, J/kgK.
    pub heat_capacity_j_kgk: Figure,
    /// Hardness after tempering: (°C, HRC), rising temperature.
    pub tempering: Cow<'static, [(f64, f64)]>,
    /// Where the tempering row was printed.
    pub tempering_source: Cow<'static, str>,
    /// Usual hardness of a knife edge in it, HRC.
    pub hardness_hrc: (f64, f64),
    /// How fast it grinds against 1.3505 (= 1): common practice, good to a factor of 1.5.
    pub grindability: f64,
    /// How it stands up to water.
    pub corrosion: Corrosion,
}

impl Steel {
    /// Grinding leaves a bright band on a darkened blade of this steel: true for the steels that are sold dark.
    pub fn needs_redarkening(&self) -> bool {
        self.corrosion == Corrosion::Rusts
    }

    /// Oiled before it is packed.
    pub fn needs_oil(&self) -> bool {
        self.corrosion != Corrosion::Stainless
    }

    /// Grams in a cubic millimetre.
    pub fn density_g_mm3(&self) -> f64 {
        self.density_kg_m3.value * 1e-6
    }

    /// Thermal diffusivity, m²/s.
    pub fn diffusivity_m2_s(&self) -> f64 {
        self.conductivity_w_mk.value / (self.density_kg_m3.value * self.heat_capacity_j_kgk.value)
    }

    /// True for the stand-in used when the steel is not known.
    pub fn is_unknown(&self) -> bool {
        self.name == UNKNOWN_NAME
    }
}

const UNKNOWN_NAME: &str = "unknown";

const fn figure(value: f64, range: (f64, f64), source: &'static str) -> Figure {
    Figure { value, range, source: Cow::Borrowed(source) }
}

const fn one(value: f64, source: &'static str) -> Figure {
    figure(value, (value, value), source)
}

macro_rules! names {
    ($($name:literal),+ $(,)?) => {{
        const NAMES: &[Cow<'static, str>] = &[$(Cow::Borrowed($name)),+];
        Cow::Borrowed(NAMES)
    }};
}

macro_rules! row {
    ($($pair:expr),* $(,)?) => {{
        const ROW: &[(f64, f64)] = &[$($pair),*];
        Cow::Borrowed(ROW)
    }};
}

const FROM_52100: &str = "as 1.3505, the nearest row (from memory)";
const EN_10088: &str = "table, EN 10088 class values for 13 % Cr (1.4109, 1.4006)";

static STEELS: &[Steel] = &[
    Steel {
        name: Cow::Borrowed("1.3505"),
        designations: names!["1.3505", "100Cr6", "52100", "E52100", "SUJ2", "G52986"],
        density_kg_m3: one(7810.0, "table, 52100 against E52100"),
        conductivity_w_mk: one(46.6, "from memory, medium confidence"),
        heat_capacity_j_kgk: one(475.0, "from memory, medium confidence"),
        tempering: row![
            (100.0, 64.0),
            (150.0, 63.0),
            (200.0, 62.0),
            (250.0, 59.0),
            (300.0, 57.0),
            (350.0, 54.0),
            (400.0, 51.0),
            (450.0, 47.0),
            (500.0, 44.0)
        ],
        tempering_source: Cow::Borrowed(
            "card 100Cr6, EN ISO 683-17:1999, 10 mm, oil from 840 °C; 65 HRC as quenched",
        ),
        hardness_hrc: (60.0, 64.0),
        grindability: 1.0,
        corrosion: Corrosion::Rusts,
    },
    Steel {
        name: Cow::Borrowed("1.2067"),
        designations: names!["1.2067", "102Cr6", "L3"],
        density_kg_m3: one(7810.0, FROM_52100),
        conductivity_w_mk: one(46.6, FROM_52100),
        heat_capacity_j_kgk: one(475.0, FROM_52100),
        tempering: row![
            (50.0, 65.0),
            (100.0, 64.0),
            (150.0, 63.0),
            (200.0, 62.0),
            (250.0, 60.0),
            (300.0, 57.0),
            (350.0, 54.0),
            (400.0, 51.0),
            (450.0, 47.0),
            (500.0, 44.0),
            (550.0, 40.0),
            (600.0, 36.0),
            (650.0, 32.0),
            (700.0, 23.0)
        ],
        tempering_source: Cow::Borrowed("card 102Cr6, EN ISO 4957:2002, 10 mm, oil from 850 °C"),
        hardness_hrc: (60.0, 64.0),
        grindability: 1.0,
        corrosion: Corrosion::Rusts,
    },
    Steel {
        name: Cow::Borrowed("1.2842"),
        designations: names!["1.2842", "90MnCrV8", "O2"],
        density_kg_m3: figure(7850.0, (7660.0, 7850.0), "two property pages"),
        conductivity_w_mk: one(30.0, "property page, O2 tool steel"),
        heat_capacity_j_kgk: one(460.0, "property page, O2 tool steel"),
        tempering: row![
            (100.0, 63.5),
            (150.0, 62.5),
            (200.0, 61.5),
            (250.0, 59.5),
            (300.0, 57.5),
            (400.0, 50.5)
        ],
        tempering_source: Cow::Borrowed(
            "data page 1.2842, oil from 790 to 820 °C; middle of each printed pair",
        ),
        hardness_hrc: (58.0, 62.0),
        grindability: 0.95,
        corrosion: Corrosion::Rusts,
    },
    Steel {
        name: Cow::Borrowed("1.1274"),
        designations: names!["1.1274", "C100S", "1095", "SK95", "SK4"],
        density_kg_m3: one(7850.0, "from memory, medium confidence"),
        conductivity_w_mk: one(49.8, "from memory, medium confidence"),
        heat_capacity_j_kgk: one(461.0, "from memory, medium confidence"),
        tempering: row![
            (150.0, 65.0),
            (180.0, 63.5),
            (200.0, 60.5),
            (230.0, 57.5),
            (260.0, 55.5),
            (290.0, 53.5),
            (320.0, 52.5),
            (340.0, 50.0)
        ],
        tempering_source: Cow::Borrowed("trade page for small makers, 1095 from 800 °C, 2 × 40 min"),
        hardness_hrc: (57.0, 64.0),
        grindability: 1.1,
        corrosion: Corrosion::Rusts,
    },
    Steel {
        name: Cow::Borrowed("1.2379"),
        designations: names!["1.2379", "X153CrMoV12", "X155CrVMo12-1", "D2", "T30402", "SKD11"],
        density_kg_m3: figure(7700.0, (7695.0, 7700.0), "D2 data pages, UNS T30402"),
        conductivity_w_mk: one(21.0, "D2 data page, at 100 °C"),
        heat_capacity_j_kgk: figure(460.0, (460.0, 580.0), "from memory; 580 printed for a near match"),
        tempering: row![
            (150.0, 61.5),
            (200.0, 60.5),
            (250.0, 59.5),
            (300.0, 56.5),
            (350.0, 55.5),
            (400.0, 55.5)
        ],
        tempering_source: Cow::Borrowed(
            "data page D2 (BS 4659 BD2), from 1000 to 1030 °C; middle of each pair",
        ),
        hardness_hrc: (58.0, 62.0),
        grindability: 0.5,
        corrosion: Corrosion::Slow,
    },
    Steel {
        name: Cow::Borrowed("1.4125"),
        designations: names!["1.4125", "X105CrMo17", "440C", "SUS440C", "S44004"],
        density_kg_m3: figure(7650.0, (7620.0, 7650.0), "two 440C sheets"),
        conductivity_w_mk: figure(24.2, (22.8, 24.2), "two 440C sheets, 100 °C and 21 °C"),
        heat_capacity_j_kgk: one(460.0, "440C sheet"),
        tempering: row![
            (149.0, 60.0),
            (204.0, 59.0),
            (260.0, 57.0),
            (316.0, 56.0),
            (371.0, 56.0),
            (427.0, 56.0)
        ],
        tempering_source: Cow::Borrowed("data sheet 440C, oil from 1038 °C, 1 h; avoid 425 to 565 °C"),
        hardness_hrc: (56.0, 60.0),
        grindability: 0.6,
        corrosion: Corrosion::Stainless,
    },
    Steel {
        name: Cow::Borrowed("1.4112"),
        designations: names!["1.4112", "X90CrMoV18", "440B", "SUS440B", "S44003"],
        density_kg_m3: one(7700.0, EN_10088),
        conductivity_w_mk: one(30.0, EN_10088),
        heat_capacity_j_kgk: one(460.0, EN_10088),
        tempering: row![(150.0, 58.0), (200.0, 56.0), (250.0, 54.0), (300.0, 53.0), (350.0, 54.0)],
        tempering_source: Cow::Borrowed("data page 440B"),
        hardness_hrc: (55.0, 58.0),
        grindability: 0.7,
        corrosion: Corrosion::Stainless,
    },
    Steel {
        name: Cow::Borrowed("1.4109"),
        designations: names!["1.4109", "X70CrMo15", "440A", "SUS440A", "S44002"],
        density_kg_m3: one(7700.0, EN_10088),
        conductivity_w_mk: one(30.0, EN_10088),
        heat_capacity_j_kgk: one(460.0, EN_10088),
        tempering: row![(204.0, 54.0), (288.0, 50.0)],
        tempering_source: Cow::Borrowed("data sheet martensitic types 410, 420, 440A, 2 h temper"),
        hardness_hrc: (54.0, 58.0),
        grindability: 0.8,
        corrosion: Corrosion::Stainless,
    },
    Steel {
        name: Cow::Borrowed("1.4116"),
        designations: names!["1.4116", "X50CrMoV15"],
        density_kg_m3: one(7700.0, EN_10088),
        conductivity_w_mk: one(30.0, EN_10088),
        heat_capacity_j_kgk: one(460.0, EN_10088),
        tempering: row![(204.0, 53.0), (288.0, 50.0)],
        tempering_source: Cow::Borrowed(
            "nearest printed row: 0.50 to 0.55 C, 13 to 14 Cr, 1 Mo type; no table for 1.4116 itself was found",
        ),
        hardness_hrc: (54.0, 58.0),
        grindability: 0.85,
        corrosion: Corrosion::Stainless,
    },
    Steel {
        name: Cow::Borrowed("1.4110"),
        designations: names!["1.4110", "X55CrMo14"],
        density_kg_m3: one(7700.0, EN_10088),
        conductivity_w_mk: one(30.0, EN_10088),
        heat_capacity_j_kgk: one(460.0, EN_10088),
        tempering: row![(204.0, 53.0), (288.0, 50.0)],
        tempering_source: Cow::Borrowed("data sheet, 0.50 to 0.55 C, 13 to 14 Cr, 1 Mo type, 2 h temper"),
        hardness_hrc: (54.0, 58.0),
        grindability: 0.85,
        corrosion: Corrosion::Stainless,
    },
    Steel {
        name: Cow::Borrowed("1.4034"),
        designations: names!["1.4034", "X46Cr13"],
        density_kg_m3: one(7700.0, "table, hardened 420"),
        conductivity_w_mk: one(30.0, EN_10088),
        heat_capacity_j_kgk: one(460.0, EN_10088),
        tempering: row![(204.0, 53.0), (288.0, 50.0)],
        tempering_source: Cow::Borrowed("nearest printed row, 13 to 14 Cr type; low confidence"),
        hardness_hrc: (52.0, 56.0),
        grindability: 0.9,
        corrosion: Corrosion::Stainless,
    },
    Steel {
        name: Cow::Borrowed("420"),
        designations: names!["420", "1.4021", "X20Cr13", "SUS420J1", "S42000"],
        density_kg_m3: one(7700.0, "table, hardened 420"),
        conductivity_w_mk: one(27.0, "table, hardened 420"),
        heat_capacity_j_kgk: one(480.0, "table, hardened 420"),
        tempering: row![(204.0, 48.0), (288.0, 44.0)],
        tempering_source: Cow::Borrowed("data sheet martensitic types 410, 420, 440A, 2 h temper"),
        hardness_hrc: (48.0, 54.0),
        grindability: 0.9,
        corrosion: Corrosion::Stainless,
    },
    Steel {
        name: Cow::Borrowed("1.3343"),
        designations: names!["1.3343", "HS6-5-2C", "M2", "SKH51", "T11302"],
        density_kg_m3: figure(8150.0, (8138.0, 8160.0), "page M2 1.3343"),
        conductivity_w_mk: figure(
            22.0,
            (19.0, 25.0),
            "from memory, medium; the 41.5 in circulation looks like a unit mix-up",
        ),
        heat_capacity_j_kgk: figure(440.0, (420.0, 460.0), "from memory"),
        tempering: row![
            (427.0, 61.5),
            (454.0, 62.0),
            (482.0, 63.0),
            (510.0, 64.0),
            (538.0, 65.0),
            (552.0, 65.0),
            (566.0, 64.5),
            (593.0, 62.5),
            (621.0, 59.0),
            (649.0, 54.0)
        ],
        tempering_source: Cow::Borrowed("analysis of M2 heat treatment, double temper after 1204 °C"),
        hardness_hrc: (61.0, 65.0),
        grindability: 0.4,
        corrosion: Corrosion::Rusts,
    },
];

static UNKNOWN: Steel = Steel {
    name: Cow::Borrowed(UNKNOWN_NAME),
    designations: names!["unknown"],
    density_kg_m3: figure(7890.0, (7620.0, 8160.0), "middle of all printed figures in this table"),
    conductivity_w_mk: figure(34.4, (19.0, 49.8), "middle of all figures in this table"),
    heat_capacity_j_kgk: figure(461.0, (420.0, 502.0), "middle of all figures in this table"),
    tempering: row![],
    tempering_source: Cow::Borrowed(
        "not known: treated as tempered near 150 °C, the least hot in this table",
    ),
    hardness_hrc: (48.0, 65.0),
    grindability: 0.7,
    corrosion: Corrosion::Unknown,
};

/// Every steel this crate knows.
pub fn steels() -> &'static [Steel] {
    STEELS
}

/// The stand-in for a steel nobody can name: every figure in the middle of the table's range.
pub fn unknown_steel() -> &'static Steel {
    &UNKNOWN
}

/// Looks a steel up by any of its designations, case, spaces and hyphens aside, with or without "AISI", "SAE", "EN",
/// "JIS" or "UNS" before it. `unknown` gives [`unknown_steel`]. `None` when it is not in the table.
pub fn steel(designation: &str) -> Option<&'static Steel> {
    find(designation, &[])
}

/// As [`steel`], the shop's own steels first.
pub(crate) fn find<'a>(designation: &str, own: &'a [Steel]) -> Option<&'a Steel>
where
    'static: 'a,
{
    let asked = designation.trim();
    let known =
        |steel: &&Steel| steel.designations.iter().any(|name| same(name, asked)) || same(&steel.name, asked);
    own.iter()
        .find(known)
        .or_else(|| STEELS.iter().find(known))
        .or_else(|| known(&&UNKNOWN).then_some(&UNKNOWN))
}

/// Equal but for case, blanks, hyphens and the name of the standard in front.
pub(crate) fn same(name: &str, asked: &str) -> bool {
    const PREFIXES: [&str; 6] = ["AISI", "SAE", "EN", "JIS", "UNS", "W.NR."];
    let mut asked = asked;
    for prefix in PREFIXES {
        if let Some((head, rest)) = asked.split_at_checked(prefix.len())
            && head.eq_ignore_ascii_case(prefix)
            && rest.starts_with([' ', '-', '.'])
        {
            asked = rest;
        }
    }
    let mut left = name.chars().filter(|c| !matches!(c, ' ' | '-')).map(|c| c.to_ascii_uppercase());
    let mut right = asked.chars().filter(|c| !matches!(c, ' ' | '-')).map(|c| c.to_ascii_uppercase());
    loop {
        match (left.next(), right.next()) {
            (None, None) => return true,
            (a, b) if a == b => {}
            _ => return false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_designations_are_one_steel() {
        for name in ["1.3505", "52100", "100Cr6", "100cr6", "AISI 52100", "SAE 52100", "SUJ2"] {
            let found = steel(name).unwrap_or_else(|| panic!("{name}"));
            assert_eq!(found.name, "1.3505");
            assert!((found.density_g_mm3() - 7.81e-3).abs() < 1e-12);
        }
        assert!(steel("unobtainium").is_none());
        assert!(steel("unknown").unwrap().is_unknown());
    }

    #[test]
    fn no_designation_belongs_to_two_steels() {
        let mut seen = std::collections::BTreeMap::new();
        for steel in steels() {
            for name in steel.designations.iter() {
                let before = seen.insert(name.to_uppercase(), &steel.name);
                assert!(before.is_none(), "{name} is both {before:?} and {}", steel.name);
            }
        }
    }

    #[test]
    fn the_diffusivity_printed_for_hardened_420_comes_out() {
        // Property table of hardened 420: 27 W/mK, 480 J/kgK, 7700 kg/m³ and, printed beside them, 7.3 mm²/s.
        assert!((steel("420").unwrap().diffusivity_m2_s() * 1e6 - 7.3).abs() < 0.05);
    }

    #[test]
    fn the_tempering_row_of_100cr6_is_not_one_column_off() {
        let row = &steel("100Cr6").unwrap().tempering;
        assert!(row.contains(&(100.0, 64.0)) && row.contains(&(200.0, 62.0)) && row.contains(&(500.0, 44.0)));
    }

    #[test]
    fn the_unknown_steel_spans_every_figure_in_the_table() {
        let unknown = unknown_steel();
        for steel in steels() {
            assert!(steel.density_kg_m3.range.0 >= unknown.density_kg_m3.range.0);
            assert!(steel.density_kg_m3.range.1 <= unknown.density_kg_m3.range.1);
            assert!(steel.conductivity_w_mk.range.0 >= unknown.conductivity_w_mk.range.0);
            assert!(steel.conductivity_w_mk.range.1 <= unknown.conductivity_w_mk.range.1);
        }
        let (low, high) = unknown.density_kg_m3.range;
        assert_eq!(unknown.density_kg_m3.value, 0.5 * (low + high));
    }
}

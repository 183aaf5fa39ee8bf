//! The shop's own figures: minutes per operation, removal rates, stones and wheels. This is the content of the
//! shop file; prices stand in the same file and belong to another crate.

use serde::{Deserialize, Serialize};

use crate::grit::Abrasive;
use crate::heat::Process;
use crate::num::exp;
use crate::steels::Steel;
use crate::wheel::Wheel;

/// Minutes, removal rates and tools of a shop. Absent keys keep the built-in demo figures (all invented).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Rates {
    /// Inspecting a plain edge, minutes.
    pub inspect_plain: f64,
    /// Inspecting a serrated edge, minutes.
    pub inspect_serrated: f64,
    /// More for each kind of damage, minutes.
    pub inspect_per_damage: f64,
    /// Cleaning and disinfecting, minutes.
    pub clean: f64,
    /// Making a handle safe: tightening and glueing, minutes at the bench.
    pub handle: f64,
    /// Straightening, minutes.
    pub straighten: f64,
    /// Taking rust off, minutes.
    pub derust: f64,
    /// First half millimetre of a chip, minutes.
    pub chip_base: f64,
    /// Each further half millimetre begun, minutes.
    pub chip_per_half_mm: f64,
    /// Redrawing a tip, minutes.
    pub tip: f64,
    /// Thinning, minutes.
    pub thin: f64,
    /// Plain bevel: handling minutes.
    pub bevel_base: f64,
    /// Plain bevel: minutes for each mm of edge.
    pub bevel_per_mm: f64,
    /// Serrating wheel: handling minutes.
    pub serrate_base: f64,
    /// Serrating wheel: minutes for each mm of edge.
    pub serrate_per_mm: f64,
    /// Tooth by tooth: handling minutes.
    pub tooth_base: f64,
    /// Tooth by tooth: minutes for each tooth.
    pub tooth_per_tooth: f64,
    /// Each plunge after the first of an indexed recut, minutes.
    pub per_plunge: f64,
    /// Honing a plain edge, minutes.
    pub hone_plain: f64,
    /// Honing a flat back, minutes.
    pub hone_back: f64,
    /// Stropping, minutes.
    pub strop: f64,
    /// Proving a plain edge, minutes.
    pub prove_plain: f64,
    /// Proving a serrated edge, minutes.
    pub prove_serrated: f64,
    /// Re-darkening, minutes.
    pub redarken: f64,
    /// Oiling, minutes.
    pub oil: f64,
    /// Packing, minutes.
    pub pack: f64,
    /// What the coarse steps take away in a minute, learned per setup and steel.
    pub removal: Vec<RemovalRate>,
    /// How the stations grind, as far as heat goes.
    pub heat: Process,
    /// Steels of the shop's own, found before the table's.
    pub steels: Vec<Steel>,
    /// Stones and belts.
    pub abrasives: Vec<Abrasive>,
    /// Wheels.
    pub wheels: Vec<Wheel>,
    /// Prices stand in the same file; they are read elsewhere.
    #[serde(skip_serializing)]
    pub prices: Ignored,
}

impl Rates {
    /// A steel by any of its designations, the shop's own before the table's. `None` when neither has it.
    pub fn steel(&self, designation: &str) -> Option<&Steel> {
        crate::steels::find(designation, &self.steels)
    }

    /// All steels there are figures for, the shop's own before the table's.
    pub fn all_steels(&self) -> impl Iterator<Item = &Steel> {
        self.steels.iter().chain(crate::steels())
    }
}

/// A value this crate accepts and does not read.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Ignored;

impl<'de> Deserialize<'de> for Ignored {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        serde::de::IgnoredAny::deserialize(deserializer).map(|_| Self)
    }
}

/// A learned removal rate: see [`crate::learn::removal`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RemovalRate {
    /// The operation.
    pub operation: crate::Operation,
    /// Designation of the steel it was learned on; any when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub steel: Option<String>,
    /// Median, mm³ a minute.
    pub mm3_per_min: f64,
    /// Standard deviation of its natural logarithm for the next piece.
    #[serde(default)]
    pub spread: f64,
}

impl RemovalRate {
    /// Rates eight times in ten lie within, mm³ a minute: the quick and the slow end.
    pub fn eight_tenths(&self) -> (f64, f64) {
        let off = exp(EIGHT_TENTHS * self.spread);
        (self.mm3_per_min * off, self.mm3_per_min / off)
    }
}

/// The middle eight tenths of a normal lie within so many standard deviations: Φ⁻¹(0.9).
const EIGHT_TENTHS: f64 = 1.281_551_565_544_8;

impl Default for Rates {
    fn default() -> Self {
        Self {
            inspect_plain: 8.0,
            inspect_serrated: 12.0,
            inspect_per_damage: 3.0,
            clean: 4.0,
            handle: 15.0,
            straighten: 12.0,
            derust: 40.0,
            chip_base: 8.0,
            chip_per_half_mm: 6.0,
            tip: 12.0,
            thin: 22.0,
            bevel_base: 6.0,
            bevel_per_mm: 0.025,
            serrate_base: 4.0,
            serrate_per_mm: 0.055,
            tooth_base: 5.0,
            tooth_per_tooth: 0.7,
            per_plunge: 0.5,
            hone_plain: 7.0,
            hone_back: 5.0,
            strop: 3.0,
            prove_plain: 6.0,
            prove_serrated: 8.0,
            redarken: 25.0,
            oil: 5.0,
            pack: 4.0,
            removal: Vec::new(),
            heat: Process::default(),
            steels: Vec::new(),
            abrasives: Abrasive::demo(),
            wheels: Wheel::demo(),
            prices: Ignored,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shop_adds_its_own_steel_and_one_without_weight_is_refused() {
        let mut steel = serde_json::to_value(crate::steel("440C").unwrap()).unwrap();
        steel["name"] = "house steel".into();
        steel["designations"] = serde_json::json!(["house steel"]);
        steel["density_kg_m3"]["value"] = 7000.0.into();
        let rates: Rates = serde_json::from_value(serde_json::json!({"steels": [steel.clone()]})).unwrap();
        assert!((rates.steel("House Steel").unwrap().density_g_mm3() - 7e-3).abs() < 1e-12);
        assert_eq!(rates.steel("440C").unwrap().name, "1.4125", "the table stays");
        steel["density_kg_m3"]["value"] = 0.0.into();
        assert!(serde_json::from_value::<Rates>(serde_json::json!({"steels": [steel]})).is_err());
        assert!(serde_json::from_value::<Rates>(serde_json::json!({"heat": {"feed_m_s": 0}})).is_err());
        assert!(serde_json::from_value::<Rates>(serde_json::json!({"heat": {"feed_m_s": 0.2}})).is_ok());
    }
}

//! The drawings that go with a verdict: inline SVG, to scale, with title and description.
//!
//! They are in the units of a language, their words in English; [`shop::phrasebook::Phrasebook::say_drawing`] says those again.

use craft::Impossible;
use craft::drawing::{self, Units};
use shop::booking::BookedKnife;
use shop::inspection::Inspection;
use shop::lang::Lang;

use crate::{Knowledge, booking, measured};

/// The units a language is shown lengths in.
fn units(lang: Lang) -> Units {
    match lang {
        Lang::EnUs => Units::Inches,
        Lang::En | Lang::De => Units::Millimetres,
    }
}

/// The section of a booked knife, before over after, for the knife in the middle of what was told.
pub fn section_booked(knows: &Knowledge, knife: &BookedKnife, lang: Lang) -> Result<String, Impossible> {
    drawing::section(&booking::outlook(knows, knife)?.middle, units(lang))
}

/// The section of a measured piece, before over after.
pub fn section(knows: &Knowledge, sheet: &Inspection, lang: Lang) -> Result<String, Impossible> {
    drawing::section(&measured::request(knows, sheet), units(lang))
}

/// The teeth of a measured piece, before over after, with the wheel's phase. `None` for plain edges.
pub fn serration(knows: &Knowledge, sheet: &Inspection, lang: Lang) -> Option<Result<String, Impossible>> {
    sheet.edge.is_serrated().then(|| drawing::serration(&measured::request(knows, sheet), units(lang)))
}

/// The side view of a measured piece: chips, hardness line, least height.
pub fn blade_side(knows: &Knowledge, sheet: &Inspection, lang: Lang) -> Result<String, Impossible> {
    drawing::blade_side(&measured::request(knows, sheet), units(lang))
}

/// The heights so far (`history`, oldest first, millimetres) and the band of what is left.
pub fn life_fan(
    knows: &Knowledge,
    sheet: &Inspection,
    history: &[f64],
    lang: Lang,
) -> Result<String, Impossible> {
    drawing::life_fan(&measured::request(knows, sheet), history, units(lang))
}

//! The drawings that go with a verdict: inline SVG, to scale, with title and description.

use craft::Impossible;
use craft::drawing;
use shop::booking::BookedKnife;
use shop::inspection::Inspection;

use crate::{Knowledge, booking, measured};

/// The section of a booked knife, before over after, for the knife in the middle of what was told.
pub fn section_booked(knows: &Knowledge, knife: &BookedKnife) -> Result<String, Impossible> {
    drawing::section(&booking::outlook(knows, knife)?.middle)
}

/// The section of a measured piece, before over after.
pub fn section(knows: &Knowledge, sheet: &Inspection) -> Result<String, Impossible> {
    drawing::section(&measured::request(knows, sheet))
}

/// The teeth of a measured piece, before over after, with the wheel's phase. `None` for plain edges.
pub fn serration(knows: &Knowledge, sheet: &Inspection) -> Option<Result<String, Impossible>> {
    sheet.edge.is_serrated().then(|| drawing::serration(&measured::request(knows, sheet)))
}

/// The side view of a measured piece: chips, hardness line, least height.
pub fn blade_side(knows: &Knowledge, sheet: &Inspection) -> Result<String, Impossible> {
    drawing::blade_side(&measured::request(knows, sheet))
}

/// The heights so far (`history`, oldest first, millimetres) and the band of what is left.
pub fn life_fan(knows: &Knowledge, sheet: &Inspection, history: &[f64]) -> Result<String, Impossible> {
    drawing::life_fan(&measured::request(knows, sheet), history)
}

//! What of the work costs money.

use shop::booking::{BookedKnife, Trouble};
use shop::edge::EdgeKind;
use shop::inspection::{Inspection, TeethWay};
use shop::price::{EdgeWork, Work};

/// The work an inspected piece needs. `ours`: a model of ours.
pub(crate) fn of_inspection(sheet: &Inspection, thins: bool, rush: bool, free: bool) -> Work {
    let has = |code: &str| sheet.defects.iter().any(|d| d == code);
    let edge = match (&sheet.teeth, sheet.edge) {
        (Some(teeth), _) => match teeth.way {
            TeethWay::Own => EdgeWork::OwnSerrated,
            TeethWay::Fitting => EdgeWork::ForeignFitting,
            TeethWay::Tooth => EdgeWork::ForeignTooth,
            TeethWay::Plain => EdgeWork::ForeignToPlain,
        },
        (None, EdgeKind::Single) => EdgeWork::Single,
        (None, _) => EdgeWork::Double,
    };
    Work {
        edge,
        length_mm: sheet.length_mm,
        n_teeth: sheet.teeth.as_ref().map_or(0, |t| n_teeth(sheet.length_mm, t.pitch_mm)),
        chip_mm: sheet.chips.iter().map(|c| c.take_mm).fold(0.0, f64::max),
        tip_mm: sheet.tip_mm.unwrap_or(0.0),
        back: has("back_bevel") || has("pits_back"),
        heel: has("recurve") || has("heel"),
        bolster: has("bolster"),
        thin: thins,
        straighten: has("bow") || has("twist"),
        derust_sides: if has("rust_both") { 2 } else { u8::from(has("rust_one")) },
        redarken: sheet.redarken,
        handle_tighten: has("loose_scale") || has("swollen"),
        handle_oil: has("dry_handle"),
        rush,
        free,
    }
}

/// The least and the most work a booked knife may need. Depths that are not known are taken as a hand's experience
/// (common practice): a chip nobody measured is 0.3 to 1.5 mm deep, a missing tip 2 to 6 mm long.
pub(crate) fn of_booking(knife: &BookedKnife, ours: bool, rush: bool) -> (Work, Work) {
    let Trouble { chips, tip, .. } = knife.trouble;
    let chip = match chips {
        None => (0.0, 0.0),
        Some(None) => (0.3, 1.5),
        // Measured against a ruler by somebody who does not do it every day.
        Some(Some(d)) => (d * 0.8, d * 1.2),
    };
    let tip = match tip {
        None => (0.0, 0.0),
        Some(None) => (2.0, 6.0),
        Some(Some(l)) => (l * 0.9, l * 1.2),
    };
    let serrated = knife.edge.is_serrated();
    let (least_edge, most_edge) = match (serrated, ours, knife.edge) {
        (true, true, _) => (EdgeWork::OwnSerrated, EdgeWork::OwnSerrated),
        (true, false, _) if knife.to_plain => (EdgeWork::ForeignToPlain, EdgeWork::ForeignToPlain),
        // Whether a wheel of ours fits shows only when the pitch is measured.
        (true, false, _) => (EdgeWork::ForeignFitting, EdgeWork::ForeignTooth),
        (false, _, EdgeKind::Single) => (EdgeWork::Single, EdgeWork::Single),
        (false, ..) => (EdgeWork::Double, EdgeWork::Double),
    };
    let least = Work {
        edge: least_edge,
        length_mm: knife.length_mm,
        n_teeth: n_teeth(knife.length_mm, 8.0),
        chip_mm: chip.0,
        tip_mm: tip.0,
        straighten: knife.trouble.bent,
        derust_sides: u8::from(knife.trouble.rust),
        redarken: knife.darkened,
        handle_oil: knife.trouble.handle,
        rush,
        ..Work::default()
    };
    let most = Work {
        edge: most_edge,
        n_teeth: n_teeth(knife.length_mm, 5.0),
        chip_mm: chip.1,
        tip_mm: tip.1,
        derust_sides: 2 * u8::from(knife.trouble.rust),
        handle_tighten: knife.trouble.handle,
        ..least.clone()
    };
    (least, most)
}

/// Teeth along an edge; a partial one counts.
pub(crate) fn n_teeth(length_mm: f64, pitch_mm: f64) -> u32 {
    (length_mm / pitch_mm).ceil().clamp(1.0, 2000.0) as u32
}

//! The whole blade from the side.

use core::fmt::Write as _;

use super::Units;
use super::svg::{Anchor, Pen, Svg};
use crate::estimate::{WorkedOut, work_out};
use crate::impossible::Impossible;
use crate::request::Request;
use crate::steels;

const WIDTH: f64 = 640.0;
const MARGIN: f64 = 24.0;

/// The blade from the side to scale: today's edge with its chips, the new edge, the hardness line, the least height and what
/// is missing at the tip. The point's own curve is not known; it is drawn falling at 45°.
pub fn blade_side(request: &Request, units: Units) -> Result<String, Impossible> {
    let steel = steels::find(&request.steel, &[]).unwrap_or_else(|| steels::unknown_steel());
    let WorkedOut { delta, .. } = work_out(request, steel)?;
    let blade = &request.blade;
    let (length, height) = (blade.edge_length_mm, blade.height_mm);
    let original = blade.original_height_mm.unwrap_or(height).max(height);
    let room_for_words = 110.0;
    let scale = ((WIDTH - 2.0 * MARGIN - room_for_words) / length).min(260.0 / original);
    let page = 2.0 * MARGIN + original * scale + 40.0;
    // Spine at the top; heights are measured up from today's edge, so it lies at `height` below the spine.
    let place = |x: f64, y: f64| (MARGIN + x * scale, MARGIN + (height - y) * scale);
    let lost = request.wear.tip_missing_mm;

    let mut description = format!(
        "Drawn to scale, {} long and {} high today; {} high afterwards.",
        units.length(length),
        units.height(height),
        units.height(height - delta)
    );
    if !request.wear.chips.is_empty() {
        let _ = write!(description, " Chips: {}.", request.wear.chips.len());
    }
    if let Some(least) = blade.least_height_mm {
        let _ = write!(description, " Least height {}.", units.height(least));
    }
    let mut svg = Svg::new("dw-blade", WIDTH, page, "The blade from the side", &description);

    let drop = height.min(0.5 * length);
    // A higher edge meets the same falling back a little nearer to the heel.
    let outline = |edge: f64, short: f64| {
        let tip = length - short;
        let edge = edge.min(height);
        vec![
            place(0.0, height),
            place((tip - drop).max(0.0), height),
            place((tip - edge * drop / height).max(0.0), edge),
            place(0.0, edge),
        ]
    };
    let today = outline(0.0, 0.0);
    let after = outline(delta, lost);
    if original > height {
        let new = [
            place(0.0, 0.0),
            place(0.0, height - original),
            place(length, height - original),
            place(length, 0.0),
        ];
        svg.path(&new, false, Pen::line("dw-original", 0.8).dashed("1 3"));
    }
    svg.difference(&today, &after, Pen::fill("dw-removed", 0.5));
    svg.path(&after, true, Pen::fill("dw-after-metal", 0.12));
    svg.path(&today, true, Pen::line("dw-before", 1.0).dashed("4 3"));
    svg.path(&after, true, Pen::line("dw-after", 1.6));
    for chip in &request.wear.chips {
        let Some(at) = chip.at_mm else { continue };
        let half = 0.5 * chip.width_mm;
        let triangle = [place(at - half, 0.0), place(at, chip.depth_mm), place(at + half, 0.0)];
        svg.path(&triangle, true, Pen { stroke: 1.0, ..Pen::fill("dw-chip", 0.8) });
        // Most chips are smaller than a line of the drawing: a mark under the edge says where to look.
        let (x, y) = place(at, 0.0);
        svg.path(
            &[(x - 3.0, y + 9.0), (x, y + 3.0), (x + 3.0, y + 9.0)],
            true,
            Pen::fill("dw-chip-mark", 0.8),
        );
    }
    for broken in &request.wear.missing_teeth {
        let mark = [place(broken.at_mm, 0.0), place(broken.at_mm, broken.broken_to_mm)];
        svg.path(&mark, false, Pen::line("dw-chip", 2.0));
    }
    // Levels with their words at the right, kept a line of print apart.
    let mut levels = Vec::new();
    if let Some(line) = blade.hardness.and_then(|hardness| hardness.line_mm) {
        levels.push((line, "dw-hardness", "8 3 2 3", "hard below"));
    }
    if let Some(least) = blade.least_height_mm
        && least < height
    {
        levels.push((height - least, "dw-least", "2 3", "least height"));
    }
    levels.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut lowest_word = f64::NEG_INFINITY;
    for (y, class, dash, words) in levels {
        let (right, at) = place(length, y);
        svg.line(place(0.0, y), (right, at), Pen::line(class, 1.0).dashed(dash));
        let baseline = (at + 4.0).max(lowest_word + 14.0);
        svg.text((right + 6.0, baseline), Anchor::Start, words);
        lowest_word = baseline;
    }
    let (heel, edge) = place(0.0, 0.0);
    svg.text((heel, edge + 20.0), Anchor::Start, "heel");
    if request.wear.chips.iter().any(|chip| chip.at_mm.is_some()) {
        svg.path(
            &[(heel + 40.0, edge + 20.0), (heel + 43.0, edge + 14.0), (heel + 46.0, edge + 20.0)],
            true,
            Pen::fill("dw-chip-mark", 0.8),
        );
        svg.text((heel + 51.0, edge + 20.0), Anchor::Start, "chips");
    }
    svg.scale_bar(scale, units);
    Ok(svg.finish())
}

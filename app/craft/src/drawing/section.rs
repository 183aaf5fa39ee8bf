//! The section near the edge, before and after.

use super::Units;
use super::svg::{Anchor, Pen, Svg, degrees};
use crate::estimate::{WorkedOut, work_out};
use crate::impossible::Impossible;
use crate::num::deg;
use crate::profile::{Profile, Shape};
use crate::request::{EdgeKind, Request};
use crate::steels;

const WIDTH: f64 = 300.0;
const HEIGHT: f64 = 320.0;
const MARGIN: f64 = 28.0;

/// Cross-section at the edge to scale: what is there today, what goes, what stays. Edge down, as on the bench.
///
/// Serrated edges are cut at a tooth tip.
pub fn section(request: &Request, units: Units) -> Result<String, Impossible> {
    let steel = steels::find(&request.steel, &[]).unwrap_or_else(|| steels::unknown_steel());
    let WorkedOut { knife, delta, ground, .. } = work_out(request, steel)?;
    let bottom = knife.lambda;
    let sides = knife.sides();
    let top_after = ground.after.pieces().iter().take(2).map(|piece| piece.y1).next().unwrap_or(bottom);
    let thinned = ground.thinning_mm2 > 0.0;
    let span = if thinned {
        request.target.thin_to_mm.unwrap_or(crate::plain::THIN_TO_MM) + delta
    } else {
        (2.2 * (top_after - bottom)).max(1.5)
    };
    let upper = (bottom + span).min(ground.before.top());
    let span = upper - bottom;
    let thickness = sides * ground.before.x(upper);
    let scale = ((HEIGHT - 2.0 * MARGIN - 20.0) / span).min((WIDTH - 200.0) / thickness);

    // Middle plane (or the flat back) at x = 0 of the blade.
    let x0 = if knife.kind == EdgeKind::Double { MARGIN + 0.5 * thickness * scale } else { MARGIN };
    let base = MARGIN + span * scale;
    let place = |x: f64, y: f64| (x0 + x * scale, base - (y - bottom) * scale);
    let title = "Cross-section at the edge, before and after";
    let description = format!(
        "Drawn to scale. {} goes from the height; the bevel is {} {} and {} thick behind the edge afterwards, from {} today.",
        units.length(delta),
        degrees(deg(knife.theta_new)),
        if knife.kind == EdgeKind::Double { "a side" } else { "from the flat back" },
        units.length(ground.behind_edge_mm),
        units.length(request.blade.behind_edge_mm),
    );
    let mut svg = Svg::new("dw-section", WIDTH, HEIGHT, title, &description);
    let before = outline(&ground.before, bottom, upper, sides);
    let after = outline(&ground.after, bottom.max(ground.after.bottom()), upper, sides);
    let on_page = |points: &[(f64, f64)]| points.iter().map(|(x, y)| place(*x, *y)).collect::<Vec<_>>();
    svg.difference(&on_page(&before), &on_page(&after), Pen::fill("dw-removed", 0.4));
    svg.path(&on_page(&after), true, Pen::fill("dw-after-metal", 0.12));
    svg.path(&on_page(&before), true, Pen::line("dw-before", 1.0).dashed("4 3"));
    svg.path(&on_page(&after), true, Pen::line("dw-after", 1.6));
    // Words stand clear of the blade's widest place: half a double bevel's thickness from the middle, all of a flat back's.
    let edge = x0 + thickness / sides * scale + 14.0;
    let (_, new_edge) = place(0.0, knife.lambda + delta);
    if (base - new_edge).abs() > 0.5 {
        svg.height_mark(edge, base, new_edge, &format!("{} goes", units.length(delta)));
    }
    let sign = if knife.kind == EdgeKind::Double { " a side" } else { "" };
    svg.text((edge + 8.0, MARGIN + 12.0), Anchor::Start, &format!("{}{sign}", degrees(deg(knife.theta_new))));
    svg.text(
        (edge + 8.0, MARGIN + 28.0),
        Anchor::Start,
        &format!("{} behind the edge", units.length(ground.behind_edge_mm)),
    );
    svg.scale_bar(scale, units);
    Ok(svg.finish())
}

/// The closed outline of a section between two heights: up the face, down the other side.
fn outline(profile: &Profile, from: f64, to: f64, sides: f64) -> Vec<(f64, f64)> {
    let mut face = vec![(profile.x(from), from)];
    for piece in profile.pieces() {
        let (a, b) = (from.max(piece.y0), to.min(piece.y1));
        if b <= a {
            continue;
        }
        // An arc of a blade is so flat that sixteen chords are finer than a printer's dot.
        let steps = if matches!(piece.shape, Shape::Arc(_)) { 16 } else { 1 };
        for i in 1..=steps {
            let y = a + (b - a) * f64::from(i) / f64::from(steps);
            face.push((piece.x(y), y));
        }
    }
    let other: Vec<(f64, f64)> =
        face.iter().rev().map(|(x, y)| (if sides > 1.5 { -x } else { 0.0 }, *y)).collect();
    face.extend(other);
    face
}

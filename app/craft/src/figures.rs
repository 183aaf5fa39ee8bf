//! Each figure of a request on its own and against its nearest neighbours: what no blade can be.

use crate::impossible::Impossible;
use crate::num::rad;
use crate::request::{Blade, Edge, EdgeKind, Form, GrindKind, Wear};

/// Most chips one record may carry; far above any knife, low enough that a hostile record cannot stall a stream.
const MOST_CHIPS: usize = 100;

/// A length above 0 and within reason.
pub(crate) fn positive(at: &str, value: f64, most: f64) -> Result<f64, Impossible> {
    if value.is_finite() && value > 0.0 && value <= most {
        Ok(value)
    } else {
        Err(Impossible::new(at, format!("{value} is not a length between 0 and {most} mm")))
    }
}

/// A figure of a shop's own file that is divided by somewhere: above 0, and within what anything on earth has.
pub(crate) fn above_zero<'de, D: serde::Deserializer<'de>>(deserializer: D) -> Result<f64, D::Error> {
    let value = <f64 as serde::Deserialize>::deserialize(deserializer)?;
    if (1e-9..=1e9).contains(&value) {
        Ok(value)
    } else {
        Err(serde::de::Error::custom(format!("{value} is not a figure above 0")))
    }
}

/// A figure of 0 or more and within reason.
pub(crate) fn not_negative(at: &str, value: f64, most: f64) -> Result<f64, Impossible> {
    if value.is_finite() && (0.0..=most).contains(&value) {
        Ok(value)
    } else {
        Err(Impossible::new(at, format!("{value} is not between 0 and {most}")))
    }
}

/// An edge angle in radians.
pub(crate) fn angle(at: &str, degrees: f64) -> Result<f64, Impossible> {
    if degrees.is_finite() && (0.5..=75.0).contains(&degrees) {
        Ok(rad(degrees))
    } else {
        Err(Impossible::new(at, format!("{degrees}° is not an edge angle between 0.5° and 75°")))
    }
}

/// Figures that cannot both be true, in words.
pub(crate) fn pair(at: &str, what: &str) -> Impossible {
    Impossible::new(at, what)
}

/// Checks the blade's own figures.
pub(crate) fn check_blade(blade: &Blade) -> Result<(), Impossible> {
    positive("blade.edge_length_mm", blade.edge_length_mm, 3000.0)?;
    let height = positive("blade.height_mm", blade.height_mm, 500.0)?;
    positive("blade.spine_mm", blade.spine_mm, 30.0)?;
    positive("blade.behind_edge_mm", blade.behind_edge_mm, 20.0)?;
    if blade.spine_mm < blade.behind_edge_mm {
        return Err(pair(
            "blade.spine_mm",
            &format!(
                "a spine of {} mm is thinner than blade.behind_edge_mm {}",
                blade.spine_mm, blade.behind_edge_mm
            ),
        ));
    }
    if let Some(original) = blade.original_height_mm {
        positive("blade.original_height_mm", original, 500.0)?;
        // A caliper reads to ±0.1 mm; beyond twice that no blade has grown.
        if original + 0.2 < height {
            return Err(pair(
                "blade.original_height_mm",
                &format!(
                    "a blade that was {original} mm when new cannot have blade.height_mm {height} today"
                ),
            ));
        }
    }
    if let Some(least) = blade.least_height_mm {
        not_negative("blade.least_height_mm", least, 500.0)?;
        if let Some(original) = blade.original_height_mm
            && least > original
        {
            return Err(pair(
                "blade.least_height_mm",
                &format!("a least height of {least} mm is above blade.original_height_mm {original}"),
            ));
        }
    }
    if let Some(grind) = blade.grind {
        if let Some(radius) = grind.radius_mm {
            positive("blade.grind.radius_mm", radius, 1e6)?;
            if grind.kind == GrindKind::Flat {
                return Err(pair("blade.grind.radius_mm", "a flat grind has no radius"));
            }
        } else if grind.kind != GrindKind::Flat {
            return Err(pair("blade.grind.radius_mm", "a hollow or convex grind needs radius_mm"));
        }
        if let Some(to) = grind.to_mm {
            positive("blade.grind.to_mm", to, 500.0)?;
            if to > height {
                return Err(pair(
                    "blade.grind.to_mm",
                    &format!("a grind up to {to} mm ends above the spine at blade.height_mm {height}"),
                ));
            }
        }
    }
    for (at, line) in [("blade.core_line_mm", blade.core_line_mm), ("blade.mark_mm", blade.mark_mm)] {
        if let Some(line) = line {
            not_negative(at, line, 500.0)?;
            if line > height {
                return Err(pair(at, &format!("{line} mm lies above the spine at blade.height_mm {height}")));
            }
        }
    }
    let Some(hardness) = blade.hardness else {
        return Ok(());
    };
    for (at, value) in [
        ("blade.hardness.edge_hrc", hardness.edge_hrc),
        ("blade.hardness.spine_hrc", hardness.spine_hrc),
        ("blade.hardness.least_hrc", hardness.least_hrc),
    ] {
        if let Some(hrc) = value {
            not_negative(at, hrc, 72.0)?;
        }
    }
    if let (Some(edge), Some(spine)) = (hardness.edge_hrc, hardness.spine_hrc)
        && spine > edge
    {
        return Err(pair(
            "blade.hardness.spine_hrc",
            &format!("a spine of {spine} HRC cannot be what an edge of edge_hrc {edge} falls to"),
        ));
    }
    if let Some(line) = hardness.line_mm {
        not_negative("blade.hardness.line_mm", line, 500.0)?;
        if line > height {
            return Err(pair(
                "blade.hardness.line_mm",
                &format!("a hardness line at {line} mm lies above the spine at blade.height_mm {height}"),
            ));
        }
    }
    if let Some(transition) = hardness.transition_mm {
        not_negative("blade.hardness.transition_mm", transition, 500.0)?;
    }
    Ok(())
}

/// Checks the wear and gives the length of edge that is left.
pub(crate) fn check_wear(wear: &Wear, blade: &Blade) -> Result<f64, Impossible> {
    let (length, height) = (blade.edge_length_mm, blade.height_mm);
    not_negative("wear.land_mm", wear.land_mm, 20.0)?;
    not_negative("wear.radius_mm", wear.radius_mm, 20.0)?;
    not_negative("wear.tip_flat_mm", wear.tip_flat_mm, 100.0)?;
    not_negative("wear.tip_missing_mm", wear.tip_missing_mm, 3000.0)?;
    if wear.tip_missing_mm >= length {
        return Err(pair(
            "wear.tip_missing_mm",
            &format!(
                "{} mm lost at the tip leaves nothing of blade.edge_length_mm {length}",
                wear.tip_missing_mm
            ),
        ));
    }
    if wear.chips.len() > MOST_CHIPS {
        return Err(pair(
            "wear.chips",
            &format!("{} chips; at most {MOST_CHIPS} are taken", wear.chips.len()),
        ));
    }
    for (i, chip) in wear.chips.iter().enumerate() {
        let key = |name: &str| format!("wear.chips[{i}].{name}");
        not_negative(&key("depth_mm"), chip.depth_mm, 500.0)?;
        if chip.depth_mm >= height {
            return Err(pair(
                &key("depth_mm"),
                &format!("a chip {} mm deep in a blade only blade.height_mm {height} high", chip.depth_mm),
            ));
        }
        not_negative(&key("width_mm"), chip.width_mm, 3000.0)?;
        if chip.width_mm > length {
            return Err(pair(
                &key("width_mm"),
                &format!("a chip {} mm wide on an edge of blade.edge_length_mm {length}", chip.width_mm),
            ));
        }
        if let Some(at) = chip.at_mm
            && !(0.0..=length).contains(&at)
        {
            return Err(pair(
                &key("at_mm"),
                &format!("a chip at {at} mm on an edge of blade.edge_length_mm {length}"),
            ));
        }
    }
    if wear.missing_teeth.len() > 2000 {
        return Err(pair("wear.missing_teeth", "more teeth are missing than any blade has"));
    }
    for (i, broken) in wear.missing_teeth.iter().enumerate() {
        let key = |name: &str| format!("wear.missing_teeth[{i}].{name}");
        if !(0.0..=length).contains(&broken.at_mm) {
            return Err(pair(
                &key("at_mm"),
                &format!("a tooth at {} mm on an edge of blade.edge_length_mm {length}", broken.at_mm),
            ));
        }
        not_negative(&key("broken_to_mm"), broken.broken_to_mm, 500.0)?;
        if broken.broken_to_mm >= height {
            return Err(pair(
                &key("broken_to_mm"),
                &format!(
                    "a tooth broken {} mm deep on a blade only blade.height_mm {height} high",
                    broken.broken_to_mm
                ),
            ));
        }
    }
    Ok(length - wear.tip_missing_mm)
}

/// Keys that do not belong to the kind of edge.
pub(crate) fn check_keys(edge: &Edge) -> Result<(), Impossible> {
    let toothed = edge.form.is_some()
        || edge.pitch_mm.is_some()
        || edge.ridge_radius_mm.is_some()
        || edge.depth_mm.is_some()
        || !edge.teeth.is_empty();
    if edge.kind != EdgeKind::Serrated && toothed {
        return Err(pair(
            "edge.kind",
            "form, pitch_mm, ridge_radius_mm, depth_mm and teeth belong to a serrated edge",
        ));
    }
    if edge.kind == EdgeKind::Double && edge.angle_deg.is_some() {
        return Err(pair("edge.angle_deg", "a double edge has a half_angle_deg, the same on both sides"));
    }
    if edge.kind != EdgeKind::Double && edge.half_angle_deg.is_some() {
        return Err(pair(
            "edge.half_angle_deg",
            "a flat-backed edge has an angle_deg, measured from the back",
        ));
    }
    if edge.form == Some(Form::Mixed) && edge.pitch_mm.is_some() {
        return Err(pair("edge.pitch_mm", "each tooth of a mixed pattern has its own pitch"));
    }
    if edge.form.is_some_and(|form| form != Form::Mixed) && !edge.teeth.is_empty() {
        return Err(pair("edge.teeth", "a list of teeth belongs to the form mixed"));
    }
    Ok(())
}

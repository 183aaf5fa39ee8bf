//! What an inspection sheet says before anybody has measured: from the drawing, the last visit and the booking.
//!
//! Only what does not change by use is filled in. Height, thickness behind the edge and land are always measured anew.

use crate::bench::Model;
use crate::booking::BookedKnife;
use crate::edge::EdgeKind;
use crate::inspection::{FILES_HRC, Inspection, RawChip, RawInspection, TeethWay};
use crate::units::{self, short};

/// Teeth a pitch is counted over at least, so that a slip of the caliper is shared by many (common practice).
const COUNTED: f64 = 20.0;

fn mm(value: f64) -> String {
    short(value, 3)
}

fn some(value: Option<f64>) -> String {
    value.map(mm).unwrap_or_default()
}

/// A fresh sheet for a booked knife. `last`: the latest measures of the same knife, from an earlier visit.
pub fn prefill(booked: &BookedKnife, model: Option<&Model>, last: Option<&Inspection>) -> RawInspection {
    let mut raw = RawInspection {
        edge: booked.edge.code().to_owned(),
        steel: booked.steel.clone().unwrap_or_default(),
        redarken: booked.darkened,
        length: mm(booked.length_mm),
        ..RawInspection::default()
    };
    if let Some(last) = last {
        from_last(&mut raw, last);
    }
    if let Some(model) = model {
        from_drawing(&mut raw, model);
    }
    if let Some(Some(depth)) = booked.trouble.chips {
        raw.chips.push(RawChip { depth: mm(depth), choice: "all".into(), ..RawChip::default() });
    }
    if let Some(Some(tip)) = booked.trouble.tip {
        raw.tip = mm(tip);
    }
    if raw.edge != EdgeKind::Double.code() && raw.edge != EdgeKind::Single.code() && model.is_none() {
        raw.teeth_way = if booked.to_plain { "plain" } else { "fitting" }.into();
    }
    raw
}

fn from_last(raw: &mut RawInspection, last: &Inspection) {
    raw.edge = last.edge.code().to_owned();
    raw.length = mm(last.length_mm);
    raw.original_height = some(last.original_height_mm);
    raw.least_height = some(last.least_height_mm);
    raw.spine = mm(last.spine_mm);
    raw.angle = mm(last.target_angle_deg.unwrap_or(last.angle_deg));
    raw.edge_hrc = some(last.edge_hrc);
    if let Some(band) = last.edge_band_hrc {
        // The ends of the scale are no files.
        let file = |hrc: f64| FILES_HRC.into_iter().find(|file| f64::from(*file) == hrc);
        raw.skates = file(band.0).map(|hrc| hrc.to_string()).unwrap_or_default();
        raw.bites = file(band.1).map(|hrc| hrc.to_string()).unwrap_or_default();
    }
    raw.spine_hrc = some(last.spine_hrc);
    raw.least_hrc = some(last.least_hrc);
    if last.transition_mm > 0.0 {
        raw.transition = mm(last.transition_mm);
    }
    if let Some(steel) = &last.steel {
        raw.steel.clone_from(steel);
    }
    if let Some(teeth) = &last.teeth {
        raw.teeth_over = mm(teeth.pitch_mm * COUNTED);
        raw.teeth_count = short(COUNTED, 0);
        raw.depth = some(teeth.depth_mm);
        raw.ridge_radius = some(teeth.ridge_radius_mm);
        raw.setup = teeth.setup.clone().unwrap_or_default();
        raw.teeth_way = way_code(teeth.way).to_owned();
    }
}

fn from_drawing(raw: &mut RawInspection, model: &Model) {
    let d = &model.drawing;
    raw.edge = d.edge.code().to_owned();
    raw.steel.clone_from(&d.steel);
    raw.redarken = d.darkened;
    raw.original_height = mm(d.height_mm);
    raw.least_height = mm(d.least_height_mm);
    raw.spine = mm(d.spine_mm);
    raw.angle = mm(d.angle_deg);
    raw.edge_hrc = mm(d.edge_hrc);
    raw.spine_hrc = mm(d.spine_hrc);
    raw.least_hrc = mm(d.least_hrc);
    if d.transition_mm > 0.0 {
        raw.transition = mm(d.transition_mm);
    }
    if let Some(teeth) = &d.teeth {
        raw.teeth_over = mm(teeth.pitch_mm * COUNTED);
        raw.teeth_count = short(COUNTED, 0);
        raw.depth = some(teeth.depth_mm);
        raw.ridge_radius = some(teeth.ridge_radius_mm);
        raw.setup = d.setup.clone().unwrap_or_default();
        raw.teeth_way = "own".into();
    }
}

/// Fills in what follows from the drawing and the height typed, where the sheet was left empty: where the hardness line
/// lies now (the drawing has it above the new edge; what was ground off since has brought it nearer), and the thickness
/// behind the edge (the drawing's face runs straight from there to the spine).
pub fn complete(raw: &mut RawInspection, model: Option<&Model>) {
    let (Some(model), Some(height)) = (model, units::length(&raw.height)) else { return };
    let d = &model.drawing;
    let gone = (d.height_mm - height.mm).max(0.0);
    if let Some(line) = d.line_mm.filter(|_| raw.line.trim().is_empty()) {
        raw.line = mm((line - gone).max(0.0));
    }
    if raw.behind_edge.trim().is_empty() && d.height_mm > 0.0 {
        let thicker = (d.spine_mm - d.behind_edge_mm) * gone / d.height_mm;
        raw.behind_edge = mm(d.behind_edge_mm + thicker);
    }
}

/// A saved sheet as it was typed, so that it can be corrected.
pub fn typed(sheet: &Inspection) -> RawInspection {
    let mut raw = RawInspection::default();
    from_last(&mut raw, sheet);
    raw.defects.clone_from(&sheet.defects);
    raw.redarken = sheet.redarken;
    raw.height_heel = some(sheet.heights_mm.0);
    raw.height = mm(sheet.heights_mm.1);
    raw.height_tip = some(sheet.heights_mm.2);
    raw.behind_edge = mm(sheet.behind_edge_mm);
    raw.angle = mm(sheet.angle_deg);
    raw.target_angle = some(sheet.target_angle_deg);
    raw.target_behind_edge = some(sheet.target_behind_edge_mm);
    raw.land = some(sheet.land_mm);
    raw.line = some(sheet.line_mm);
    raw.tip = some(sheet.tip_mm);
    raw.cut_test = some(sheet.cut_test);
    raw.allowance = mm(sheet.allowance_mm);
    raw.note.clone_from(&sheet.note);
    raw.chips = sheet
        .chips
        .iter()
        .map(|c| {
            let (choice, part) = if c.take_mm <= 0.0 {
                ("leave", String::new())
            } else if c.take_mm < c.depth_mm {
                ("part", mm(c.take_mm))
            } else {
                ("all", String::new())
            };
            RawChip {
                depth: mm(c.depth_mm),
                width: mm(c.width_mm),
                at: mm(c.at_mm),
                choice: choice.into(),
                part,
            }
        })
        .collect();
    raw
}

fn way_code(way: TeethWay) -> &'static str {
    match way {
        TeethWay::Own => "own",
        TeethWay::Fitting => "fitting",
        TeethWay::Tooth => "tooth",
        TeethWay::Plain => "plain",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inspection::check;

    fn sheet() -> RawInspection {
        RawInspection {
            edge: "arc".into(),
            length: "240".into(),
            height_heel: "38.5".into(),
            height: "37.4".into(),
            original_height: "38".into(),
            spine: "2.2".into(),
            behind_edge: "0.41".into(),
            angle: "20".into(),
            land: "0.03".into(),
            teeth_over: "100".into(),
            teeth_count: "20".into(),
            ridge_radius: "6".into(),
            teeth_way: "own".into(),
            setup: "arc-5".into(),
            defects: vec!["rust_one".into()],
            chips: vec![
                RawChip { depth: "0.8".into(), choice: "leave".into(), ..RawChip::default() },
                RawChip {
                    depth: "0.6".into(),
                    choice: "part".into(),
                    part: "0.3".into(),
                    ..RawChip::default()
                },
            ],
            note: "two lines\nof words".into(),
            ..RawInspection::default()
        }
    }

    #[test]
    fn a_saved_sheet_comes_back_as_it_was_typed() {
        let setups = ["arc-5".to_owned()];
        let saved = check(&sheet(), &setups).unwrap();
        assert_eq!(check(&typed(&saved), &setups).unwrap(), saved);
    }

    #[test]
    fn what_is_left_empty_follows_from_the_drawing_and_the_height() {
        let drawing = serde_json::json!({
            "edge": "double", "length_mm": 210.0, "height_mm": 40.0, "least_height_mm": 28.0, "spine_mm": 2.4,
            "behind_edge_mm": 0.4, "angle_deg": 15.0, "steel": "1.2842", "edge_hrc": 61.0, "spine_hrc": 61.0,
            "line_mm": 18.0, "least_hrc": 58.0,
        });
        let model = Model {
            id: crate::ids::ModelId(uuid::Uuid::nil()),
            mark: "X".into(),
            name: "X".into(),
            current: true,
            drawing: serde_json::from_value(drawing).unwrap(),
        };
        // 4 mm of 40 gone: the line is 4 mm nearer, and a tenth of the 2 mm between edge and spine is thicker.
        let mut raw = RawInspection { height: "36".into(), ..RawInspection::default() };
        complete(&mut raw, Some(&model));
        assert_eq!((raw.line.as_str(), raw.behind_edge.as_str()), ("14", "0.6"));
        let mut measured = RawInspection { behind_edge: "0.45".into(), line: "15".into(), ..raw.clone() };
        complete(&mut measured, Some(&model));
        assert_eq!((measured.line.as_str(), measured.behind_edge.as_str()), ("15", "0.45"));
        let mut nothing = RawInspection::default();
        complete(&mut nothing, Some(&model));
        assert_eq!(nothing, RawInspection::default());
    }

    #[test]
    fn nothing_that_wears_is_filled_in() {
        let saved = check(&sheet(), &["arc-5".to_owned()]).unwrap();
        let booked = BookedKnife {
            model: None,
            tag: None,
            name: "Bread knife".into(),
            edge: EdgeKind::Arc,
            length_mm: 240.0,
            steel: None,
            darkened: false,
            trouble: crate::booking::Trouble { chips: Some(Some(0.5)), ..Default::default() },
            to_plain: false,
            note: String::new(),
        };
        let raw = prefill(&booked, None, Some(&saved));
        assert_eq!((raw.height.as_str(), raw.behind_edge.as_str(), raw.land.as_str()), ("", "", ""));
        assert_eq!((raw.spine.as_str(), raw.original_height.as_str()), ("2.2", "38"));
        assert_eq!(raw.chips[0].depth, "0.5");
    }
}

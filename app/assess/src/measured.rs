//! What is said of a piece once it is measured.

use craft::booked::{CountSpan, Outlook};
use craft::{Blade, Edge, Hardness, Mode, Operation, Request, Target, Wear, WheelShape};
use shop::bench::{Model, Wheel};
use shop::edge::EdgeKind;
use shop::inspection::{DEFECTS, Inspection, TeethWay};
use shop::ledger::Measures;
use shop::money::MoneyRange;
use shop::read::Verdict;
use shop::units::short;

use crate::{Knowledge, abrasives, life, route, work};

/// Measures that cannot all be true, said beside the field to look at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unsound {
    /// The field of the inspection sheet.
    pub field: String,
    /// What cannot be.
    pub message: String,
}

/// The sheet as a craft question.
pub fn request(knows: &Knowledge, sheet: &Inspection) -> Request {
    let edge = edge(sheet);
    let single_sided = sheet.edge != EdgeKind::Double;
    let taken_whole =
        sheet.chips.iter().filter(|c| c.take_mm >= c.depth_mm).map(|c| c.depth_mm).fold(0.0, f64::max);
    let taken_part =
        sheet.chips.iter().filter(|c| c.take_mm < c.depth_mm).map(|c| c.take_mm).fold(0.0, f64::max);
    // A chip taken in part stays a chip; the edge still has to climb as far as was decided.
    let allowance_mm = sheet.allowance_mm + (taken_part - taken_whole).max(0.0);
    let hardness = Hardness {
        edge_hrc: sheet.edge_hrc.or(sheet.edge_band_hrc.map(|(least, most)| least.midpoint(most))),
        spine_hrc: sheet.spine_hrc,
        line_mm: sheet.line_mm,
        transition_mm: (sheet.transition_mm > 0.0).then_some(sheet.transition_mm),
        least_hrc: sheet.least_hrc,
    };
    let (wheel, mode) = match &sheet.teeth {
        None => (None, None),
        Some(teeth) => match teeth.way {
            TeethWay::Own => (None, None),
            TeethWay::Fitting => {
                (teeth.setup.as_deref().and_then(|id| wheel_shape(&knows.wheels, id)), Some(Mode::Full))
            }
            TeethWay::Tooth => (None, Some(Mode::Tooth)),
            TeethWay::Plain => (None, Some(Mode::Plain)),
        },
    };
    Request {
        steel: sheet.steel.clone().unwrap_or_else(|| "unknown".to_owned()),
        blade: Blade {
            edge_length_mm: sheet.length_mm,
            height_mm: sheet.heights_mm.1,
            original_height_mm: sheet.original_height_mm,
            least_height_mm: sheet.least_height_mm,
            spine_mm: sheet.spine_mm,
            behind_edge_mm: sheet.behind_edge_mm,
            hardness: (hardness != Hardness::default()).then_some(hardness),
            ..Blade::default()
        },
        edge,
        wear: Wear {
            land_mm: sheet.land_mm.unwrap_or(0.0),
            chips: sheet
                .chips
                .iter()
                .map(|c| craft::Chip {
                    depth_mm: c.depth_mm,
                    width_mm: c.width_mm,
                    at_mm: Some(c.at_mm),
                    leave: c.take_mm < c.depth_mm,
                })
                .collect(),
            tip_missing_mm: sheet.tip_mm.unwrap_or(0.0),
            ..Wear::default()
        },
        target: Target {
            half_angle_deg: sheet.target_angle_deg.filter(|_| !single_sided),
            angle_deg: sheet.target_angle_deg.filter(|_| single_sided),
            allowance_mm,
            behind_edge_mm: sheet.target_behind_edge_mm,
            wheel,
            mode,
            ..Target::default()
        },
        typical_recession_mm: knows.typical.later(sheet.edge),
        also: also(sheet),
        services_per_year: knows.per_year,
        more: craft::More::default(),
    }
}

pub(crate) fn edge_of(kind: EdgeKind, angle_deg: f64) -> Edge {
    let (craft_kind, form) = match kind {
        EdgeKind::Double => (craft::EdgeKind::Double, None),
        EdgeKind::Single => (craft::EdgeKind::Single, None),
        EdgeKind::Arc => (craft::EdgeKind::Serrated, Some(craft::Form::Arc)),
        EdgeKind::Wavy => (craft::EdgeKind::Serrated, Some(craft::Form::Wavy)),
        EdgeKind::Pointed => (craft::EdgeKind::Serrated, Some(craft::Form::Pointed)),
    };
    let double = kind == EdgeKind::Double;
    Edge {
        kind: craft_kind,
        half_angle_deg: double.then_some(angle_deg),
        angle_deg: (!double).then_some(angle_deg),
        form,
        pitch_mm: None,
        ridge_radius_mm: None,
        depth_mm: None,
        teeth: Vec::new(),
    }
}

fn edge(sheet: &Inspection) -> Edge {
    let mut edge = edge_of(sheet.edge, sheet.angle_deg);
    if let Some(teeth) = &sheet.teeth {
        edge.pitch_mm = Some(teeth.pitch_mm);
        edge.ridge_radius_mm = teeth.ridge_radius_mm;
        edge.depth_mm = teeth.depth_mm;
    }
    edge
}

fn wheel_shape(wheels: &[Wheel], setup: &str) -> Option<WheelShape> {
    let teeth = wheels.iter().filter(|w| w.setup == setup).find_map(|w| w.teeth)?;
    Some(WheelShape {
        form: edge_of(teeth.form, teeth.angle_deg).form?,
        pitch_mm: teeth.pitch_mm,
        angle_deg: teeth.angle_deg,
        ridge_radius_mm: teeth.ridge_radius_mm,
        depth_mm: teeth.depth_mm,
    })
}

fn also(sheet: &Inspection) -> Vec<Operation> {
    let has = |code: &str| sheet.defects.iter().any(|d| d == code);
    let mut also = Vec::new();
    if has("loose_scale") || has("swollen") {
        also.push(Operation::Handle);
    }
    if has("bow") || has("twist") {
        also.push(Operation::Straighten);
    }
    if has("rust_one") || has("rust_both") {
        also.push(Operation::Derust);
    }
    if sheet.redarken {
        also.push(Operation::Redarken);
    }
    if has("dry_handle") {
        also.push(Operation::Oil);
    }
    also
}

/// What we say of a measured piece. `model`: our drawing, if it is ours; `free`: our own rework or a complaint.
pub fn inspected(
    knows: &Knowledge,
    sheet: &Inspection,
    model: Option<&Model>,
    rush: bool,
    free: bool,
) -> Result<Verdict, Unsound> {
    let question = request(knows, sheet);
    let steel = sheet.steel.as_deref().and_then(|name| knows.rates.steel(name));
    let rusts = sheet.redarken
        || model.is_some_and(|m| m.drawing.darkened)
        || steel.is_some_and(craft::Steel::needs_oil);
    let has = |code: &str| sheet.defects.iter().any(|d| d == code);
    let mut needs = route::Needs {
        edge: Some(sheet.edge),
        angle_deg: Some(sheet.target_angle_deg.unwrap_or(sheet.angle_deg)),
        teeth_setup: sheet.teeth.as_ref().and_then(|t| t.setup.as_deref()),
        rusts,
        recession_mm: 0.0,
        bolster: has("bolster"),
        level: has("recurve") || has("heel"),
        glued: has("loose_scale"),
    };
    let answer =
        craft::estimate(&question, &abrasives::rates(knows, needs)).map_err(|e| unsound(&e.at, e.error))?;
    needs.recession_mm = answer.recession_mm;
    // What the tools leave open.
    let mut outlook =
        craft::booked::measured(&question, &knows.rates).map_err(|e| unsound(&e.at, e.error))?;
    let by_files = sheet.edge_band_hrc.filter(|_| sheet.edge_hrc.is_none());
    if let Some((least, most)) = by_files {
        widen(&mut outlook, &question, [least, most], knows);
    }
    let after = outlook.services_after.map(|s| (s.low, s.high));
    let work = work::of_inspection(sheet, answer.removed.thinning_mm3 > 0.0, rush, free);
    let quote = knows.prices.quote(&work);
    let stop = DEFECTS.iter().find(|d| d.stops && has(d.code));
    let mut refusal = stop
        .map(|d| (d.code.to_owned(), format!("We found this: {}. {}", d.words, d.effect)))
        .or_else(|| answer.refusal.as_ref().map(|r| (r.code.to_string(), r.why.to_string())));
    let route = route::lay(&answer.steps, &knows.bench, needs).unwrap_or_else(|kind| {
        let why = format!("No station of ours can {kind} at the moment.");
        refusal.get_or_insert(("no_station".to_owned(), why));
        Vec::new()
    });
    let mut cautions = life::cautions(&answer);
    cautions.extend(by_files.map(|(least, most)| {
        format!(
            "By the files its edge has {} to {} HRC; the life counts both ends.",
            short(least, 0),
            short(most, 0)
        )
    }));
    cautions.extend(
        DEFECTS
            .iter()
            .filter(|d| !d.stops && has(d.code))
            .map(|d| format!("{}: {}", sentence(d.words), d.effect)),
    );
    Ok(Verdict {
        recession_mm: (outlook.recession_mm.low, outlook.recession_mm.high),
        likely_recession_mm: Some(answer.recession_mm),
        services_before: outlook.services_before.map(|s| (s.low, s.high)),
        services_after: after,
        years_after: after.zip(knows.per_year).map(|(services, per_year)| life::years(services, per_year)),
        limited_by: life::limit_words(answer.limited_by).to_owned(),
        minutes: craft::together(route.iter().map(|step| (step.minutes, step.span()))),
        price: MoneyRange { low: quote.total, high: quote.total },
        quote,
        cautions,
        refusal,
        advice: answer.advice.unwrap_or_default(),
        route,
    })
}

/// Lets the services left reach from those of the softest edge the files allow to those of the hardest. An edge is never taken
/// to be softer than its back.
fn widen(outlook: &mut Outlook, question: &Request, ends_hrc: [f64; 2], knows: &Knowledge) {
    for hrc in ends_hrc {
        let mut end = question.clone();
        if let Some(hardness) = &mut end.blade.hardness {
            hardness.edge_hrc = Some(hardness.spine_hrc.map_or(hrc, |spine| hrc.max(spine)));
        }
        let Ok(there) = craft::booked::measured(&end, &knows.rates) else { continue };
        for (span, other) in [
            (&mut outlook.services_before, there.services_before),
            (&mut outlook.services_after, there.services_after),
        ] {
            *span = match (*span, other) {
                (Some(a), Some(b)) => Some(CountSpan { low: a.low.min(b.low), high: a.high.max(b.high) }),
                (known, other) => known.or(other),
            };
        }
    }
}

fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

/// Which field of the sheet a place in a craft question is typed into.
fn unsound(at: &str, message: String) -> Unsound {
    let field = match at {
        "steel" => "steel",
        "blade.edge_length_mm" => "length",
        "blade.original_height_mm" => "original_height",
        "blade.least_height_mm" => "least_height",
        "blade.spine_mm" => "spine",
        "blade.behind_edge_mm" => "behind_edge",
        "blade.hardness.edge_hrc" => "edge_hrc",
        "blade.hardness.spine_hrc" => "spine_hrc",
        "blade.hardness.line_mm" => "line",
        "blade.hardness.transition_mm" => "transition",
        "blade.hardness.least_hrc" => "least_hrc",
        "edge.half_angle_deg" | "edge.angle_deg" => "angle",
        "edge.pitch_mm" => "teeth_over",
        "edge.ridge_radius_mm" => "ridge_radius",
        "edge.depth_mm" => "depth",
        "wear.land_mm" => "land",
        "wear.tip_missing_mm" => "tip",
        "target.half_angle_deg" | "target.angle_deg" => "target_angle",
        "target.allowance_mm" => "allowance",
        "target.behind_edge_mm" => "target_behind_edge",
        other if other.starts_with("wear.chips") => "chips[0][depth]",
        other if other.starts_with("target.wheel") => "setup",
        _ => "height",
    };
    Unsound { field: field.to_owned(), message }
}

/// The sheet's figures for the ledger.
pub fn measures(sheet: &Inspection) -> Measures {
    Measures {
        length_mm: Some(sheet.length_mm),
        height_heel_mm: sheet.heights_mm.0,
        height_mm: Some(sheet.heights_mm.1),
        height_tip_mm: sheet.heights_mm.2,
        spine_mm: Some(sheet.spine_mm),
        behind_edge_mm: Some(sheet.behind_edge_mm),
        angle_deg: Some(sheet.angle_deg),
        land_mm: sheet.land_mm,
        chip_mm: sheet.chips.iter().map(|c| c.depth_mm).reduce(f64::max),
        pitch_mm: sheet.teeth.as_ref().map(|t| t.pitch_mm),
        bow_mm: None,
        cut_test: sheet.cut_test,
    }
}

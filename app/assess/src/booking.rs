//! What can be said of a knife nobody has measured yet: wide ranges, honest ones.

use craft::{Blade, Hardness, Recession, Request, Target};
use shop::bench::Drawing;
use shop::booking::BookedKnife;
use shop::edge::EdgeKind;
use shop::inspection::{Inspection, MeasuredTeeth, TeethWay};
use shop::read::Verdict;

use crate::{Knowledge, life, measured, route, work};

/// How far the middle eight of ten services lie from the median, in standard deviations of a normal distribution.
const EIGHT_OF_TEN: f64 = 1.2816;

/// A blade as we suppose it to be: at its best or at its worst.
#[derive(Debug, Clone)]
struct Supposed {
    drawing: Drawing,
    /// Height today.
    height_mm: f64,
}

/// What we say of a booked knife.
pub fn booked(knows: &Knowledge, knife: &BookedKnife, rush: bool) -> Verdict {
    let model = knife.model.and_then(|id| knows.model(id));
    let (best, worst) = match model {
        Some(m) => ours(&m.drawing, knife.length_mm),
        None => other_make(knife),
    };
    let (low, high) = recession(knows, knife, model.is_some(), &worst.drawing);
    let gentle = craft::estimate(&request(knows, knife, &best, low), &knows.rates);
    let harsh = craft::estimate(&request(knows, knife, &worst, high), &knows.rates);
    let untouched = |s: &Supposed| craft::estimate(&request(knows, knife, s, 0.0), &knows.rates).ok();
    let (least, most) = work::of_booking(knife, model.is_some(), rush);
    let price = knows.prices.range(&least, &most);
    let quote = knows.prices.quote(&most);

    let span = |from: Option<(u32, u32)>, to: Option<(u32, u32)>| Some((from?.0, to?.1));
    let after = span(
        harsh.as_ref().ok().and_then(|e| life::span(e.services_left)),
        gentle.as_ref().ok().and_then(|e| life::span(e.services_left)),
    );
    let before = span(
        untouched(&worst).and_then(|e| life::span(e.services_left)),
        untouched(&best).and_then(|e| life::span(e.services_left)),
    );
    let mut cautions = harsh.as_ref().map(life::cautions).unwrap_or_default();
    if model.is_none() {
        cautions.push("We have not seen this make: its height, thickness and hardness are supposed until we measure it.".into());
    }
    let mut refusal = no_to(knife);
    // Only what is refused even at its best is refused before we have seen it.
    if refusal.is_none()
        && let Ok(answer) = &gentle
        && let Some(note) = &answer.refusal
    {
        refusal = Some((note.code.to_string(), note.why.to_string()));
    }
    let steps = |answer: &Result<craft::Estimate, craft::Impossible>| {
        answer.as_ref().map_or(Vec::new(), |e| e.steps.clone())
    };
    let needs = route::Needs {
        edge: Some(if knife.to_plain { EdgeKind::Double } else { knife.edge }),
        angle_deg: Some(best.drawing.angle_deg),
        teeth_setup: best.drawing.setup.as_deref(),
        rusts: knife.darkened,
        recession_mm: high,
        bolster: false,
        level: false,
        glued: knife.trouble.handle,
    };
    let lay = |answer| route::lay(&steps(answer), &knows.bench, needs).unwrap_or_default();
    let (quick, long) = (lay(&gentle), lay(&harsh));
    let total = |route: &[shop::route::RouteStep]| route.iter().map(|s| s.minutes).sum::<u32>();
    let minutes = (total(&quick).min(total(&long)), total(&quick).max(total(&long)));
    Verdict {
        recession_mm: (low, high),
        services_before: before,
        services_after: after,
        limited_by: harsh.as_ref().map(|e| life::limit_words(e.limited_by)).unwrap_or_default().to_owned(),
        minutes,
        price,
        quote,
        cautions,
        refusal,
        advice: harsh.ok().and_then(|e| e.advice).unwrap_or_default(),
        // The plan keeps room for the longer of the two.
        route: long,
    }
}

/// What we never do, whatever else is true.
fn no_to(knife: &BookedKnife) -> Option<(String, String)> {
    if knife.trouble.crack {
        let why = "A cracked blade can break under the wheel, so we do not grind it. It is safest not to use it any more.";
        return Some(("crack".into(), why.into()));
    }
    if knife.trouble.ceramic {
        let why = "Ceramic blades need other wheels and other dust protection than we have, so we cannot do this one.";
        return Some(("ceramic".into(), why.into()));
    }
    None
}

/// Our own model: the drawing is known; how much earlier services and home stones have taken is not. At worst half of what
/// it can lose is gone already.
fn ours(drawing: &Drawing, length_mm: f64) -> (Supposed, Supposed) {
    let drawing = Drawing { length_mm, ..drawing.clone() };
    let half_gone = f64::midpoint(drawing.height_mm, drawing.least_height_mm);
    (
        Supposed { height_mm: drawing.height_mm, drawing: drawing.clone() },
        Supposed { height_mm: half_gone, drawing },
    )
}

/// Another make: proportions of common kitchen knives (common practice), from a slim to a stout one; worn out at seven
/// tenths of its height, which is this shop's own rule of thumb.
fn other_make(knife: &BookedKnife) -> (Supposed, Supposed) {
    let length = knife.length_mm;
    let (height, angle, behind, spine) = match knife.edge {
        EdgeKind::Double => ((0.14 * length + 8.0, 0.2 * length + 10.0), 16.0, (0.2, 0.5), (1.5, 2.8)),
        EdgeKind::Single => ((0.1 * length + 8.0, 0.15 * length + 10.0), 13.0, (0.3, 0.6), (2.0, 4.0)),
        _ => ((0.1 * length + 8.0, 0.13 * length + 12.0), 20.0, (0.3, 0.6), (1.5, 2.5)),
    };
    let build = |height_mm: f64, behind_edge_mm: f64, spine_mm: f64| {
        let height_mm = height_mm.clamp(12.0, 60.0);
        Supposed {
            height_mm,
            drawing: Drawing {
                edge: knife.edge,
                length_mm: length,
                height_mm,
                least_height_mm: 0.7 * height_mm,
                spine_mm,
                behind_edge_mm,
                angle_deg: angle,
                steel: knife.steel.clone().unwrap_or_else(|| "unknown".into()),
                edge_hrc: 57.0,
                spine_hrc: 57.0,
                line_mm: None,
                transition_mm: 0.0,
                least_hrc: 52.0,
                teeth: None,
                setup: None,
                darkened: knife.darkened,
                handle: String::new(),
            },
        }
    };
    (build(height.1, behind.0, spine.0), build(height.0, behind.1, spine.1))
}

/// The height one service takes: what is usual, or the deepest damage if that is more.
fn recession(knows: &Knowledge, knife: &BookedKnife, is_ours: bool, worst: &Drawing) -> (f64, f64) {
    let median = knows.typical.median_mm(knife.edge);
    let factor = (EIGHT_OF_TEN * knows.typical.spread).exp();
    let (mut low, mut high) = (median / factor, median * factor);
    let mut at_least = |a: f64, b: f64| {
        low = low.max(a);
        high = high.max(b);
    };
    match knife.trouble.chips {
        None => {}
        Some(None) => at_least(0.3, 1.5),
        Some(Some(depth)) => at_least(0.8 * depth, 1.2 * depth + 0.05),
    }
    let tooth_depth = tooth_depth_mm(worst);
    if knife.trouble.teeth {
        at_least(0.2, tooth_depth);
    }
    if knife.edge.is_serrated() && !is_ours {
        // To plain: all of the teeth; on a wheel of ours or tooth by tooth: next to nothing up to a whole new depth.
        if knife.to_plain {
            at_least(0.7 * tooth_depth, 1.3 * tooth_depth)
        } else {
            at_least(0.0, tooth_depth)
        }
    }
    (low, high)
}

/// How deep the teeth of a drawing are on the blade; 1.5 mm where nothing is drawn (bread and fruit knives: common practice).
fn tooth_depth_mm(drawing: &Drawing) -> f64 {
    let Some(teeth) = drawing.teeth else { return 1.5 };
    match (teeth.ridge_radius_mm, teeth.depth_mm) {
        (_, Some(depth)) => depth,
        (Some(r), None) => {
            let half = teeth.pitch_mm / 2.0;
            (r - (r * r - half * half).max(0.0).sqrt()) / teeth.angle_deg.to_radians().sin()
        }
        (None, None) => 1.5,
    }
}

fn request(knows: &Knowledge, knife: &BookedKnife, supposed: &Supposed, recession_mm: f64) -> Request {
    let d = &supposed.drawing;
    let ground_away = d.height_mm - supposed.height_mm;
    let sheet = Inspection {
        defects: defects(knife),
        edge: knife.edge,
        steel: Some(d.steel.clone()),
        redarken: knife.darkened,
        length_mm: d.length_mm,
        heights_mm: (None, supposed.height_mm, None),
        original_height_mm: Some(d.height_mm),
        least_height_mm: Some(d.least_height_mm.min(supposed.height_mm)),
        spine_mm: d.spine_mm,
        behind_edge_mm: d.behind_edge_mm,
        angle_deg: d.angle_deg,
        target_angle_deg: None,
        target_behind_edge_mm: None,
        land_mm: None,
        edge_hrc: None,
        spine_hrc: None,
        line_mm: None,
        transition_mm: 0.0,
        least_hrc: None,
        chips: Vec::new(),
        tip_mm: knife.trouble.tip.map(|t| t.unwrap_or(4.0)),
        teeth: knife.edge.is_serrated().then(|| teeth(knife, d)),
        cut_test: None,
        allowance_mm: 0.0,
        note: String::new(),
    };
    let base = measured::request(knows, &sheet);
    let hardness = d.line_mm.map(|line| Hardness {
        edge_hrc: Some(d.edge_hrc),
        spine_hrc: Some(d.spine_hrc),
        // The line is drawn from the new edge; the edge has climbed since.
        line_mm: Some((line - ground_away).max(0.0)),
        transition_mm: Some(d.transition_mm),
        least_hrc: Some(d.least_hrc),
    });
    Request {
        blade: Blade { hardness, ..base.blade },
        // The whole recession as allowance: what is worn is not known, what it takes is.
        target: Target { allowance_mm: recession_mm.min(3.0), ..base.target },
        typical_recession_mm: Recession {
            median: knows.typical.median_mm(knife.edge),
            spread: knows.typical.spread,
        },
        ..base
    }
}

/// The teeth as drawn, or as bread and fruit knives commonly have them. What recutting foreign teeth costs is in the
/// recession already, so here they are taken as if their own wheel were at hand.
fn teeth(knife: &BookedKnife, d: &Drawing) -> MeasuredTeeth {
    let arc = knife.edge == EdgeKind::Arc;
    MeasuredTeeth {
        pitch_mm: d.teeth.map_or(6.0, |t| t.pitch_mm),
        depth_mm: d.teeth.map_or((!arc).then_some(1.5), |t| t.depth_mm),
        ridge_radius_mm: d.teeth.map_or(arc.then_some(8.0), |t| t.ridge_radius_mm),
        way: TeethWay::Own,
        setup: d.setup.clone(),
    }
}

/// What the owner sees, in the words of the inspection.
fn defects(knife: &BookedKnife) -> Vec<String> {
    let t = &knife.trouble;
    [(t.bent, "bow"), (t.rust, "rust_both"), (t.handle, "loose_scale")]
        .into_iter()
        .filter(|(seen, _)| *seen)
        .map(|(_, code)| code.to_owned())
        .collect()
}

//! What can be said of a knife nobody has measured yet: wide ranges, honest ones.

use craft::booked::{CountSpan, EdgeShape, Outlook, Told, Trouble};
use craft::{Blade, Hardness};
use shop::bench::{Drawing, Model};
use shop::booking::BookedKnife;
use shop::edge::EdgeKind;
use shop::read::Verdict;

use crate::{Knowledge, life, measured, route, work};

/// Depth of chips nobody measured and length of a tip nobody measured, millimetres (common practice; the range around them is
/// craft's).
const SUPPOSED_CHIP_MM: f64 = 0.8;
const SUPPOSED_TIP_MM: f64 = 4.0;

/// What we say of a booked knife.
pub fn booked(knows: &Knowledge, knife: &BookedKnife, rush: bool) -> Verdict {
    let model = knife.model.and_then(|id| knows.model(id));
    let (least, most) = work::of_booking(knife, model.is_some(), rush);
    let price = knows.prices.range(&least, &most);
    let quote = knows.prices.quote(&most);
    let outlook = match outlook(knows, knife) {
        Ok(outlook) => outlook,
        // What was told cannot be true of one blade; the price stands, the rest waits for the bench.
        Err(impossible) => {
            return Verdict {
                recession_mm: (0.0, 0.0),
                services_before: None,
                services_after: None,
                likely_recession_mm: None,
                years_after: None,
                limited_by: String::new(),
                minutes: (0, 0),
                price,
                quote,
                cautions: vec![format!("We have to measure this one first: {}.", impossible.error)],
                refusal: no_to(knife),
                advice: String::new(),
                route: Vec::new(),
            };
        }
    };
    let mut cautions: Vec<_> = outlook.cautions.iter().map(|note| note.why.to_string()).collect();
    if model.is_none() {
        let supposed = "We have not seen this make: its height, thickness and hardness are supposed until we measure it.";
        cautions.push(supposed.to_owned());
    }
    let refusal =
        no_to(knife).or_else(|| outlook.refusal.as_ref().map(|n| (n.code.to_string(), n.why.to_string())));
    let needs = route::Needs {
        edge: Some(if knife.to_plain { EdgeKind::Double } else { knife.edge }),
        angle_deg: model.map(|m| m.drawing.angle_deg),
        teeth_setup: model.and_then(|m| m.drawing.setup.as_deref()),
        rusts: knife.darkened,
        recession_mm: outlook.recession_mm.high,
        bolster: false,
        level: false,
        glued: knife.trouble.handle,
    };
    let harsh = craft::estimate(&outlook.unkindest, &knows.rates).ok();
    let lay = |steps: &[craft::Step]| route::lay(steps, &knows.bench, needs).unwrap_or_default();
    let span = |s: Option<CountSpan>| s.map(|s| (s.low, s.high));
    Verdict {
        recession_mm: (outlook.recession_mm.low, outlook.recession_mm.high),
        services_before: span(outlook.services_before),
        services_after: span(outlook.services_after),
        likely_recession_mm: None,
        years_after: span(outlook.services_after).zip(knows.per_year).map(|(s, n)| life::years(s, n)),
        limited_by: harsh.as_ref().map_or("", |e| life::limit_words(e.limited_by)).to_owned(),
        minutes: (outlook.minutes.low, outlook.minutes.high),
        price,
        quote,
        cautions,
        refusal,
        advice: harsh.as_ref().and_then(|e| e.advice.clone()).unwrap_or_default(),
        // The plan keeps room for the longest of them.
        route: harsh.map(|e| lay(&e.steps)).unwrap_or_default(),
    }
}

/// The range craft gives for what was told; its `middle` is the knife to draw.
pub fn outlook(knows: &Knowledge, knife: &BookedKnife) -> Result<Outlook, craft::Impossible> {
    let model = knife.model.and_then(|id| knows.model(id));
    let told = Told {
        edge: match knife.edge {
            EdgeKind::Double => EdgeShape::Double,
            EdgeKind::Single => EdgeShape::Single,
            EdgeKind::Arc => EdgeShape::Arc,
            EdgeKind::Wavy => EdgeShape::Wavy,
            EdgeKind::Pointed => EdgeShape::Pointed,
        },
        length_mm: knife.length_mm,
        steel: knife.steel.clone().filter(|name| knows.rates.steel(name).is_some()),
        height_mm: None,
        wrong: wrong(knife),
        model: model.map(drawn),
    };
    craft::booked::outlook(&told, knows.typical.later(knife.edge), &knows.rates)
}

/// What is wrong, in craft's words.
fn wrong(knife: &BookedKnife) -> Vec<Trouble> {
    let t = &knife.trouble;
    let mut wrong = Vec::new();
    let mut add = |there: bool, trouble| {
        if there {
            wrong.push(trouble);
        }
    };
    add(t.dull, Trouble::Dull);
    add(t.teeth, Trouble::TeethWorn);
    add(t.bent, Trouble::Bent);
    add(t.rust, Trouble::Rust);
    add(t.handle, Trouble::Handle);
    add(t.crack, Trouble::Cracked);
    if let Some(depth) = t.chips {
        add(true, Trouble::Chips { deepest_mm: depth.unwrap_or(SUPPOSED_CHIP_MM), count: 1 });
    }
    if let Some(length) = t.tip {
        add(true, Trouble::TipMissing { length_mm: length.unwrap_or(SUPPOSED_TIP_MM) });
    }
    wrong
}

/// Our model's drawing as craft reads it: as new.
fn drawn(model: &Model) -> craft::booked::Model {
    let d: &Drawing = &model.drawing;
    let mut edge = measured::edge_of(d.edge, d.angle_deg);
    if let Some(teeth) = &d.teeth {
        edge.pitch_mm = Some(teeth.pitch_mm);
        edge.ridge_radius_mm = teeth.ridge_radius_mm;
        edge.depth_mm = teeth.depth_mm;
    }
    craft::booked::Model {
        steel: d.steel.clone(),
        blade: Blade {
            edge_length_mm: d.length_mm,
            height_mm: d.height_mm,
            original_height_mm: Some(d.height_mm),
            least_height_mm: Some(d.least_height_mm),
            spine_mm: d.spine_mm,
            behind_edge_mm: d.behind_edge_mm,
            hardness: Some(Hardness {
                edge_hrc: Some(d.edge_hrc),
                spine_hrc: Some(d.spine_hrc),
                line_mm: d.line_mm,
                transition_mm: d.line_mm.map(|_| d.transition_mm),
                least_hrc: d.line_mm.map(|_| d.least_hrc),
            }),
            ..Blade::default()
        },
        edge,
    }
}

/// What we never do, whatever else is true.
fn no_to(knife: &BookedKnife) -> Option<(String, String)> {
    let (code, why) = if knife.trouble.crack {
        (
            "crack",
            "A cracked blade can break under the wheel, so we do not grind it. It is safest not to use it any more.",
        )
    } else if knife.trouble.ceramic {
        (
            "ceramic",
            "Ceramic blades need other wheels and other dust protection than we have, so we cannot do this one.",
        )
    } else {
        return None;
    };
    Some((code.to_owned(), why.to_owned()))
}

//! What can be said before the knife is on the bench, and how it narrows once it is measured.
//!
//! A customer knows the kind of edge, a length, perhaps the steel, and what is wrong. Everything else is a range of common
//! practice (or the model's own drawing), and the answer is the span between the kindest and the unkindest knife that
//! fits what was told. Measured, the span is what the tools leave open. Spans are rounded outward, never finer than their inputs.

use serde::{Deserialize, Serialize};

use crate::answer::{Note, ServicesLeft};
use crate::estimate::estimate;
use crate::impossible::Impossible;
use crate::num::sort_short;
use crate::rates::Rates;
use crate::request::{
    Blade, Chip, Edge, EdgeKind, Form, MissingTooth, Mode, More, Recession, Request, Target, Wear,
};
use crate::steps::Operation;

/// The edge as a customer can pick it from small drawings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum EdgeShape {
    /// Bevelled from both sides.
    Double,
    /// Bevelled from one side.
    Single,
    /// Serrated, round gullets.
    Arc,
    /// Serrated, a smooth wave.
    Wavy,
    /// Serrated, straight flanks.
    Pointed,
}

impl EdgeShape {
    /// Double, single or serrated.
    pub fn kind(self) -> EdgeKind {
        match self {
            Self::Double => EdgeKind::Double,
            Self::Single => EdgeKind::Single,
            Self::Arc | Self::Wavy | Self::Pointed => EdgeKind::Serrated,
        }
    }
}

/// What a customer says is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "is", deny_unknown_fields)]
pub enum Trouble {
    /// It does not cut any more.
    Dull,
    /// Pieces are out of the edge.
    Chips {
        /// Depth of the deepest.
        deepest_mm: f64,
        /// How many.
        count: u32,
    },
    /// The tip is gone.
    TipMissing {
        /// Length lost.
        length_mm: f64,
    },
    /// Teeth are worn.
    TeethWorn,
    /// Teeth are broken off.
    TeethMissing {
        /// How many.
        count: u32,
    },
    /// The blade is bent.
    Bent,
    /// There is rust.
    Rust,
    /// The handle is loose or split.
    Handle,
    /// The blade has a crack.
    Cracked,
}

/// A design the shop makes: its drawing values.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Model {
    /// Designation of its steel.
    pub steel: String,
    /// The blade when new; `height_mm` is the drawing's.
    pub blade: Blade,
    /// The edge as the shop cuts it.
    pub edge: Edge,
}

/// What was told on the phone or typed into the form.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Told {
    /// Kind of edge.
    pub edge: EdgeShape,
    /// Length of the edge.
    pub length_mm: f64,
    /// Designation of the steel, when the customer knows it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub steel: Option<String>,
    /// Height of the blade at the heel, when the customer has measured it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_mm: Option<f64>,
    /// What is wrong.
    #[serde(default)]
    pub wrong: Vec<Trouble>,
    /// The shop's own model, when it is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub model: Option<Model>,
}

/// From the least to the most.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Span {
    /// Least.
    pub low: f64,
    /// Most.
    pub high: f64,
}

/// From the least to the most, whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct CountSpan {
    /// Least.
    pub low: u32,
    /// Most.
    pub high: u32,
}

/// What is expected before the work, as ranges.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Outlook {
    /// Height that goes, mm.
    pub recession_mm: Span,
    /// Metal that goes, mm³.
    pub removed_mm3: Span,
    /// Services left if nothing were done now; `None` when nothing limits or nothing is known.
    pub services_before: Option<CountSpan>,
    /// Services left after this one.
    pub services_after: Option<CountSpan>,
    /// Minutes at the bench.
    pub minutes: CountSpan,
    /// Why not, if so.
    pub refusal: Option<Note>,
    /// What to know.
    pub cautions: Vec<Note>,
    /// The kindest knife that fits what was told.
    pub kindest: Request,
    /// The unkindest.
    pub unkindest: Request,
    /// One in the middle, for drawings.
    pub middle: Request,
}

/// The wide range: from what a customer can tell, and what the shop has learned a later service of this kind of edge takes.
///
/// # Errors
/// [`Impossible`] when what was told cannot be true (a chip deeper than any such blade), by the path in [`Told`].
pub fn outlook(told: &Told, later: Recession, rates: &Rates) -> Result<Outlook, Impossible> {
    if !(told.length_mm.is_finite() && (20.0..=600.0).contains(&told.length_mm)) {
        return Err(Impossible::new(
            "length_mm",
            format!("{} mm is not an edge between 20 and 600 mm", told.length_mm),
        ));
    }
    if let Some(height) = told.height_mm
        && !(height.is_finite() && (8.0..=120.0).contains(&height))
    {
        return Err(Impossible::new(
            "height_mm",
            format!("{height} mm is not a blade height between 8 and 120 mm"),
        ));
    }
    for (i, trouble) in told.wrong.iter().enumerate() {
        check_trouble(i, trouble, told)?;
    }
    let [kindest, middle, unkindest] = [0.0, 0.5, 1.0].map(|harm| guess(told, later, harm));
    let mut found = between(kindest, middle, unkindest, rates, Fineness::Told)?;
    if told.wrong.contains(&Trouble::Cracked) {
        found.refusal = Some(Note::new(
            "cracked",
            "A cracked blade can break under the wheel or in the hand: we do not grind it.",
        ));
    }
    if told.steel.as_deref().is_some_and(|name| name.trim().eq_ignore_ascii_case("ceramic")) {
        found.refusal =
            Some(Note::new("ceramic", "Ceramic blades need other wheels than ours: we do not grind them."));
    }
    if told.edge.kind() == EdgeKind::Serrated && told.model.is_none() {
        found.cautions.push(Note::new(
            "foreign_teeth",
            "Another maker's teeth: cut tooth by tooth, on a wheel of ours that fits, or ground to a plain edge; \
             which one is decided once the pitch is measured.",
        ));
    }
    Ok(found)
}

/// The narrow range: from measures taken at the bench, within what the tools leave open (caliper ±0.1 mm, micrometer ±0.01 mm,
/// thickness behind the edge ±0.02 mm, land ±0.01 mm, chip depth ±0.05 mm).
///
/// # Errors
/// Whatever the estimate of the measured knife refuses.
pub fn measured(request: &Request, rates: &Rates) -> Result<Outlook, Impossible> {
    estimate(request, rates)?;
    // A tool's error can push a knife at the edge of the possible over it; then that end of the range is the measured knife itself.
    let possible =
        |shifted: Request| if estimate(&shifted, rates).is_ok() { shifted } else { request.clone() };
    let kindest = possible(shifted(request, -1.0));
    let unkindest = possible(shifted(request, 1.0));
    between(kindest, request.clone(), unkindest, rates, Fineness::Measured)
}

#[derive(Clone, Copy, PartialEq)]
enum Fineness {
    Told,
    Measured,
}

fn check_trouble(i: usize, trouble: &Trouble, told: &Told) -> Result<(), Impossible> {
    let (key, value, most, what) = match *trouble {
        Trouble::Chips { deepest_mm, .. } => {
            let height = told.height_mm.or(told.model.as_ref().map(|model| model.blade.height_mm));
            ("deepest_mm", deepest_mm, height.unwrap_or(120.0).min(60.0) * 0.5, "a chip")
        }
        Trouble::TipMissing { length_mm } => ("length_mm", length_mm, 0.8 * told.length_mm, "a missing tip"),
        _ => return Ok(()),
    };
    if value.is_finite() && value >= 0.0 && value <= most {
        return Ok(());
    }
    Err(Impossible::new(
        format!("wrong[{i}].{key}"),
        format!("{what} of {value} mm does not go with this blade (at most {most:.0} mm)"),
    ))
}

/// A knife that fits what was told; `harm` 0 is the kindest, 1 the unkindest.
fn guess(told: &Told, later: Recession, harm: f64) -> Request {
    let between = |kind: f64, unkind: f64| kind + (unkind - kind) * harm;
    let kind = told.edge.kind();
    let (blade, edge) = if let Some(model) = &told.model {
        let mut blade = model.blade.clone();
        let drawn = blade.original_height_mm.unwrap_or(blade.height_mm);
        blade.original_height_mm = Some(drawn);
        // Not measured yet: as drawn at best, a tenth of the height gone at worst.
        blade.height_mm = told.height_mm.unwrap_or(drawn * between(1.0, 0.9)).min(drawn);
        blade.edge_length_mm = told.length_mm;
        (blade, model.edge.clone())
    } else {
        // Kitchen blades: about a fifth as high as long, 25 mm at least (common practice).
        let height = told.height_mm.unwrap_or((0.21 * told.length_mm).clamp(25.0, 55.0));
        let blade = Blade {
            edge_length_mm: told.length_mm,
            height_mm: height,
            least_height_mm: Some(height * between(0.66, 0.85)),
            spine_mm: between(1.8, 2.6),
            behind_edge_mm: between(0.25, 0.5),
            ..Blade::default()
        };
        let edge = Edge {
            kind,
            half_angle_deg: (kind == EdgeKind::Double).then_some(between(20.0, 15.0)),
            angle_deg: (kind != EdgeKind::Double).then_some(between(22.0, 16.0)),
            form: match told.edge {
                EdgeShape::Arc => Some(Form::Arc),
                EdgeShape::Wavy => Some(Form::Wavy),
                EdgeShape::Pointed => Some(Form::Pointed),
                EdgeShape::Double | EdgeShape::Single => None,
            },
            pitch_mm: (kind == EdgeKind::Serrated).then_some(between(4.0, 7.0)),
            ridge_radius_mm: (told.edge == EdgeShape::Arc).then_some(between(6.0, 8.0)),
            depth_mm: matches!(told.edge, EdgeShape::Wavy | EdgeShape::Pointed).then_some(between(0.7, 1.3)),
            teeth: Vec::new(),
        };
        (blade, edge)
    };

    let mut wear = Wear::default();
    let mut also = Vec::new();
    // Dull or not, whoever sends a knife has worn it: a land between barely seen and plainly seen.
    if kind == EdgeKind::Serrated {
        let pitch = edge.pitch_mm.or_else(|| edge.teeth.first().map(|tooth| tooth.pitch_mm)).unwrap_or(1.0);
        wear.tip_flat_mm = between(0.05, 0.25).min(0.5 * pitch);
    } else {
        wear.land_mm = between(0.02, 0.1).min(0.5 * blade.behind_edge_mm);
    }
    for trouble in &told.wrong {
        match *trouble {
            Trouble::Dull | Trouble::Cracked => {}
            Trouble::Chips { deepest_mm, count } => {
                // People call a depth short or long by a quarter; half a millimetre of width for each tenth of depth at most.
                let depth = deepest_mm * between(0.8, 1.25);
                wear.chips.extend((0..count.clamp(1, 20)).map(|_| Chip {
                    depth_mm: depth,
                    width_mm: (2.0 * depth).clamp(0.2, told.length_mm),
                    at_mm: None,
                    leave: false,
                }));
            }
            Trouble::TipMissing { length_mm } => wear.tip_missing_mm = length_mm,
            Trouble::TeethWorn => {
                let pitch = edge.pitch_mm.unwrap_or(1.0);
                wear.tip_flat_mm = (pitch * between(0.08, 0.2)).max(wear.tip_flat_mm);
            }
            Trouble::TeethMissing { count } => {
                if kind == EdgeKind::Serrated {
                    let depth = edge.depth_mm.unwrap_or(1.2);
                    wear.missing_teeth.extend((0..count.clamp(1, 50)).map(|_| MissingTooth {
                        at_mm: 0.0,
                        broken_to_mm: depth * between(0.5, 1.0),
                        leave: false,
                    }));
                }
            }
            Trouble::Bent => also.push(Operation::Straighten),
            Trouble::Rust => also.push(Operation::Derust),
            Trouble::Handle => also.push(Operation::Handle),
        }
    }
    sort_short(&mut also, Operation::cmp);
    also.dedup();

    let mut target = Target { allowance_mm: between(0.03, 0.15), ..Target::default() };
    if kind == EdgeKind::Serrated && told.model.is_none() {
        // A foreign row: tooth by tooth at best; at worst a pitch that never falls in step, which costs a whole depth.
        if harm < 0.75 {
            target.mode = Some(Mode::Tooth);
        } else {
            target.mode = Some(Mode::Plain);
        }
    }
    Request {
        steel: told
            .steel
            .clone()
            .or_else(|| told.model.as_ref().map(|model| model.steel.clone()))
            .unwrap_or_else(|| "unknown".to_owned()),
        blade,
        edge,
        wear,
        target,
        typical_recession_mm: later,
        also,
        services_per_year: None,
        more: More::default(),
    }
}

/// The measured knife with every tool wrong toward more (+1) or less (-1) metal.
fn shifted(request: &Request, way: f64) -> Request {
    let mut knife = request.clone();
    knife.blade.height_mm -= 0.1 * way;
    knife.blade.spine_mm += 0.01 * way;
    knife.blade.behind_edge_mm = (knife.blade.behind_edge_mm + 0.02 * way).max(0.01);
    if knife.wear.land_mm > 0.0 {
        knife.wear.land_mm = (knife.wear.land_mm + 0.01 * way).max(0.0);
    }
    for chip in &mut knife.wear.chips {
        chip.depth_mm = (chip.depth_mm + 0.05 * way).max(0.0);
    }
    for tooth in &mut knife.wear.missing_teeth {
        tooth.broken_to_mm = (tooth.broken_to_mm + 0.05 * way).max(0.0);
    }
    // The bench takes the allowance to a hundredth or so, and sometimes a little more.
    if way > 0.0 {
        knife.target.allowance_mm += 0.02;
    }
    knife
}

fn between(
    kindest: Request,
    middle: Request,
    unkindest: Request,
    rates: &Rates,
    fineness: Fineness,
) -> Result<Outlook, Impossible> {
    let (kind, unkind) = (estimate(&kindest, rates)?, estimate(&unkindest, rates)?);
    let centre = estimate(&middle, rates)?;
    let step = if fineness == Fineness::Told { 0.1 } else { 0.01 };
    let outward = |values: [f64; 3], step: f64| {
        let low = values.into_iter().fold(f64::INFINITY, f64::min);
        let high = values.into_iter().fold(0.0, f64::max);
        Span {
            low: crate::num::tidy(libm::floor(low / step + 1e-6) * step),
            high: crate::num::tidy(libm::ceil(high / step - 1e-6) * step),
        }
    };
    let services = |left: [Option<ServicesLeft>; 3]| {
        let known: Vec<ServicesLeft> = left.into_iter().flatten().collect();
        let low = known.iter().map(|left| left.p10).min()?;
        let high = known.iter().map(|left| left.p90).max()?;
        Some(CountSpan { low, high })
    };
    let idle = |request: &Request| {
        let mut request = request.clone();
        request.wear = Wear::default();
        request.target = Target { allowance_mm: 0.0, ..Target::default() };
        estimate(&request, rates).ok().and_then(|untouched| untouched.services_left)
    };
    let minutes = [kind.minutes_span(), centre.minutes_span(), unkind.minutes_span()];
    // Refused only when even the kindest knife is; a caution when some of the range is.
    let refusal = kind.refusal.clone();
    let mut cautions = centre.cautions.clone();
    if refusal.is_none()
        && let Some(possible) = unkind.refusal.clone().or(centre.refusal.clone())
    {
        cautions.push(Note {
            why: format!("It may turn out at the bench that we have to say no: {}", possible.why).into(),
            ..possible
        });
    }
    Ok(Outlook {
        recession_mm: outward([kind.recession_mm, centre.recession_mm, unkind.recession_mm], step),
        removed_mm3: outward(
            [kind.removed.total_mm3, centre.removed.total_mm3, unkind.removed.total_mm3],
            if fineness == Fineness::Told { 10.0 } else { 1.0 },
        ),
        services_before: services([idle(&kindest), idle(&middle), idle(&unkindest)]),
        services_after: services([kind.services_left, centre.services_left, unkind.services_left]),
        minutes: CountSpan {
            low: minutes.into_iter().map(|(low, _)| low).min().unwrap_or(0),
            high: minutes.into_iter().map(|(_, high)| high).max().unwrap_or(0),
        },
        refusal,
        cautions,
        kindest,
        unkindest,
        middle,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const LATER: Recession = Recession { median: 0.2, spread: 0.5, learned: None };

    fn told(edge: EdgeShape, wrong: Vec<Trouble>) -> Told {
        Told { edge, length_mm: 210.0, steel: None, height_mm: None, wrong, model: None }
    }

    #[test]
    fn a_deeper_chip_moves_both_ends_of_the_range() {
        let rates = Rates::default();
        let dull = outlook(&told(EdgeShape::Double, vec![Trouble::Dull]), LATER, &rates).unwrap();
        let chipped = outlook(
            &told(EdgeShape::Double, vec![Trouble::Chips { deepest_mm: 1.0, count: 3 }]),
            LATER,
            &rates,
        )
        .unwrap();
        assert!(dull.recession_mm.high < chipped.recession_mm.low);
        assert!(
            chipped.recession_mm.low <= 0.9 && chipped.recession_mm.high >= 1.25,
            "{:?}",
            chipped.recession_mm
        );
        assert!(chipped.minutes.high > dull.minutes.high);
        assert!(chipped.services_after.unwrap().high <= dull.services_after.unwrap().high);
    }

    #[test]
    fn every_shape_of_edge_gets_a_range_and_no_digit_it_has_not_earned() {
        for edge in
            [EdgeShape::Double, EdgeShape::Single, EdgeShape::Arc, EdgeShape::Wavy, EdgeShape::Pointed]
        {
            for length_mm in [20.0, 80.0, 210.0, 600.0] {
                let found =
                    outlook(&Told { length_mm, ..told(edge, vec![Trouble::Dull]) }, LATER, &Rates::default())
                        .unwrap_or_else(|no| panic!("{edge:?} {length_mm}: {no}"));
                let span = found.recession_mm;
                assert!(span.low < span.high, "{edge:?} {span:?}");
                for end in [span.low, span.high] {
                    assert!((end * 10.0 - (end * 10.0).round()).abs() < 1e-9, "{end}");
                }
            }
        }
    }

    #[test]
    fn a_cracked_blade_is_refused_whatever_else_is_told() {
        let found =
            outlook(&told(EdgeShape::Double, vec![Trouble::Cracked]), LATER, &Rates::default()).unwrap();
        assert_eq!(found.refusal.unwrap().code, "cracked");
    }

    #[test]
    fn a_shop_that_has_learned_of_larger_bites_promises_fewer_services() {
        let rates = Rates::default();
        let asked = told(EdgeShape::Double, vec![Trouble::Dull]);
        let after = |median: f64| {
            outlook(&asked, Recession { median, spread: 0.5, learned: None }, &rates)
                .unwrap()
                .services_after
                .unwrap()
        };
        let (gentle, greedy) = (after(0.1), after(0.4));
        assert!(greedy.high < gentle.high && greedy.low < gentle.low, "{greedy:?} {gentle:?}");
    }

    #[test]
    fn measuring_narrows_the_range() {
        let rates = Rates::default();
        let booked = outlook(
            &told(EdgeShape::Double, vec![Trouble::Chips { deepest_mm: 0.8, count: 1 }]),
            LATER,
            &rates,
        )
        .unwrap();
        let bench = measured(&booked.middle, &rates).unwrap();
        let width = |span: Span| span.high - span.low;
        assert!(width(bench.recession_mm) < width(booked.recession_mm));
        assert!(width(bench.removed_mm3) < width(booked.removed_mm3));
    }
}

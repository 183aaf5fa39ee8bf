//! A serrated edge and the wheels of the shop: every honest way to recut it, best first.

use serde::Serialize;

use crate::answer::{Limit, ServicesLeft};
use crate::estimate::estimate;
use crate::impossible::Impossible;
use crate::rates::Rates;
use crate::request::{EdgeKind, Mode, Request};

/// One way to recut an edge.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Choice {
    /// Wheel and dressing; `None` for the conversion to a plain edge.
    pub wheel: Option<String>,
    /// The dressing of that wheel.
    pub generation: Option<String>,
    /// How it is used.
    pub mode: Mode,
    /// Ridges a plunge, for `indexed`.
    pub ridges: Option<u32>,
    /// Height that goes, mm.
    pub recession_mm: f64,
    /// Metal that goes, mm³.
    pub removed_mm3: f64,
    /// Services left afterwards.
    pub services_left: Option<ServicesLeft>,
    /// What ends it.
    pub limited_by: Limit,
    /// Minutes at the bench.
    pub minutes: u32,
    /// Why it must not be done although it could be computed: a wheel over its marked speed, too little blade.
    pub refused: Option<String>,
    /// The request it stands for; whoever asked in JSON has it already.
    #[serde(skip)]
    pub request: Request,
}

/// Every way the shop's wheels can recut this edge: whole width, in indexed plunges of what the wheel's width carries, tooth by tooth, and
/// ground to a plain edge. Allowed ones first, then by height kept, then by minutes. A wheel that cannot cut this edge at all is left out.
///
/// # Errors
/// [`Impossible`] when the knife itself cannot be, or has no teeth.
pub fn choices(request: &Request, rates: &Rates) -> Result<Vec<Choice>, Impossible> {
    if request.edge.kind != EdgeKind::Serrated {
        return Err(Impossible::new("edge.kind", "an edge without teeth cannot be recut"));
    }
    estimate(&with(request, |_| {}), rates)?;
    let mut found = Vec::new();
    for wheel in &rates.wheels {
        // A knife is recut with the wheel as it is dressed today.
        let Some(generation) = wheel.generations.last() else { continue };
        let shape = generation.today();
        let ridges = libm::floor(wheel.width_mm / shape.pitch_mm + 1e-9) as u32;
        let narrow = ridges <= 1;
        let mut ways = Vec::with_capacity(3);
        if !narrow {
            ways.push((Mode::Full, None));
            ways.push((Mode::Indexed, Some(ridges)));
        }
        ways.push((Mode::Tooth, None));
        for (mode, ridges) in ways {
            let asked = with(request, |target| {
                target.wheel = Some(shape);
                target.mode = Some(mode);
                target.ridges = ridges;
            });
            let speed = wheel.allowed().err().map(|no| no.error);
            let names = (Some(wheel.id.clone()), Some(generation.id.clone()));
            found.extend(choice(names, mode, ridges, asked, speed, rates));
        }
    }
    let plain = with(request, |target| target.mode = Some(Mode::Plain));
    found.extend(choice((None, None), Mode::Plain, None, plain, None, rates));
    found.sort_by(|a, b| {
        (a.refused.is_some(), a.mode == Mode::Plain)
            .cmp(&(b.refused.is_some(), b.mode == Mode::Plain))
            .then(a.recession_mm.total_cmp(&b.recession_mm))
            .then(a.minutes.cmp(&b.minutes))
    });
    Ok(found)
}

/// The request with today's target cleared of any wheel, then changed.
fn with(request: &Request, change: impl FnOnce(&mut crate::request::Target)) -> Request {
    let mut asked = request.clone();
    let target = &mut asked.target;
    (target.wheel, target.mode, target.ridges, target.angle_deg, target.half_angle_deg) =
        (None, None, None, None, None);
    change(target);
    asked
}

fn choice(
    (wheel, generation): (Option<String>, Option<String>),
    mode: Mode,
    ridges: Option<u32>,
    request: Request,
    speed: Option<String>,
    rates: &Rates,
) -> Option<Choice> {
    let answer = estimate(&request, rates).ok()?;
    Some(Choice {
        wheel,
        generation,
        mode,
        ridges,
        recession_mm: answer.recession_mm,
        removed_mm3: answer.removed.total_mm3,
        services_left: answer.services_left,
        limited_by: answer.limited_by,
        minutes: answer.minutes,
        refused: speed.or_else(|| answer.refusal.map(|no| no.why.into_owned())),
        request,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn knife() -> Request {
        serde_json::from_str(
            r#"{"steel": "1.4116",
                "blade": {"edge_length_mm": 200, "height_mm": 32, "spine_mm": 2.0, "behind_edge_mm": 0.4, "least_height_mm": 26},
                "edge": {"kind": "serrated", "form": "arc", "pitch_mm": 5.05, "ridge_radius_mm": 6.5, "angle_deg": 20},
                "target": {"allowance_mm": 0.05}, "typical_recession_mm": {"median": 0.25, "spread": 0.5}}"#,
        )
        .unwrap()
    }

    #[test]
    fn tooth_by_tooth_keeps_most_height_and_takes_longest() {
        let found = choices(&knife(), &Rates::default()).unwrap();
        let way = |mode: Mode| {
            found
                .iter()
                .find(|choice| choice.mode == mode && choice.wheel.as_deref().is_none_or(|id| id == "arc 5"))
                .unwrap_or_else(|| panic!("{mode:?}"))
        };
        let (tooth, indexed, full, plain) =
            (way(Mode::Tooth), way(Mode::Indexed), way(Mode::Full), way(Mode::Plain));
        assert!(tooth.recession_mm < indexed.recession_mm && indexed.recession_mm < full.recession_mm);
        assert!(tooth.minutes > full.minutes);
        // To plain costs the whole depth.
        assert!((plain.recession_mm - 0.05 - 1.46).abs() < 0.05, "{}", plain.recession_mm);
        assert_eq!(found.last().unwrap().mode, Mode::Plain);
    }

    #[test]
    fn a_wheel_over_its_mark_is_shown_as_refused_and_stands_last() {
        let mut rates = Rates::default();
        rates.wheels[0].spindle_rpm = 6000.0;
        let found = choices(&knife(), &rates).unwrap();
        let fast: Vec<_> = found.iter().filter(|choice| choice.wheel.as_deref() == Some("arc 5")).collect();
        assert!(!fast.is_empty() && fast.iter().all(|choice| choice.refused.is_some()));
        assert!(found.first().unwrap().refused.is_none());
    }
}

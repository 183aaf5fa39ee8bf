//! Height over the services to come.

use super::Units;
use super::svg::{Anchor, Pen, Svg, round_length};
use crate::estimate::{WorkedOut, room, work_out};
use crate::impossible::Impossible;
use crate::request::Request;
use crate::steels;

const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 280.0;
const LEFT: f64 = 52.0;
const RIGHT: f64 = 16.0;
const TOP: f64 = 20.0;
const BOTTOM: f64 = 44.0;

/// The height after each service to come: the middle line, the band in which eight blades of ten stay, and the height at which it
/// ends. `history` holds heights measured at earlier visits, oldest first; they are drawn before today's.
pub fn life_fan(request: &Request, history: &[f64], units: Units) -> Result<String, Impossible> {
    let steel = steels::find(&request.steel, &[]).unwrap_or_else(|| steels::unknown_steel());
    let WorkedOut { knife, delta, ground, .. } = work_out(request, steel)?;
    let later = request.typical_recession_mm;
    let height = request.blade.height_mm;
    let start = height - delta;
    let limit = room(&knife, &ground, delta);
    let left = limit.map(|(room, _)| later.services(room));
    let ahead = left.map_or(10, |left| left.p90.clamp(3, 400)) + 1;
    // A line through sixty places cannot be told from one through four hundred.
    let places: Vec<u32> = (1..=ahead).step_by(ahead.div_ceil(60) as usize).chain([ahead]).collect();
    let taken = later.taken(&places);
    let certain = taken.iter().all(|[low, _, high]| low == high);
    let floor = limit.map(|(room, _)| start - room.max(0.0));
    let most = taken.last().map_or(0.0, |[_, _, high]| *high);
    let lowest = floor.unwrap_or(start - most).min(start);
    let highest = history.iter().copied().filter(|h| h.is_finite()).fold(height, f64::max);
    let span = (highest - lowest).max(0.5) * 1.1;
    let past = history.len() as f64;
    let columns = past + 1.0 + f64::from(ahead);
    let x_of = |n: f64| LEFT + (n + past) / columns * (WIDTH - LEFT - RIGHT);
    let y_of = |h: f64| TOP + (highest - h.max(highest - span)) / span * (HEIGHT - TOP - BOTTOM);

    let words = match left {
        Some(left) if left.p10 == left.p90 => format!("About {} more at this habit.", left.p50),
        Some(left) => {
            format!("About {} to {} more at this habit, most likely near {}.", left.p10, left.p90, left.p50)
        }
        None => "Nothing that was measured limits it.".to_owned(),
    };
    let description =
        format!("Height {} today, {} after this service. {words}", units.height(height), units.height(start));
    let mut svg = Svg::new("dw-life", WIDTH, HEIGHT, "Height over the services to come", &description);

    let axis = Pen::line("dw-axis", 0.8);
    svg.path(&[(LEFT, TOP), (LEFT, HEIGHT - BOTTOM), (WIDTH - RIGHT, HEIGHT - BOTTOM)], false, axis);
    let each = units.mm_each();
    let step = round_length(span / each / 4.0).max(1e-3);
    let decimals = libm::ceil(-libm::log10(step)).clamp(0.0, 3.0) as usize;
    let mut h = libm::ceil((highest - span) / each / step) * step;
    while h <= highest / each + 1e-9 {
        let y = y_of(h * each);
        svg.line((LEFT - 4.0, y), (LEFT, y), axis);
        svg.text((LEFT - 7.0, y + 4.0), Anchor::End, &format!("{h:.decimals$}"));
        h += step;
    }
    svg.text((LEFT, TOP - 6.0), Anchor::Start, &format!("height, {}", units.sign()));
    let every = round_length(f64::from(ahead) / 4.0).max(1.0);
    let mut n = 0.0;
    while n < f64::from(ahead) {
        let x = x_of(n + 1.0);
        svg.line((x, HEIGHT - BOTTOM), (x, HEIGHT - BOTTOM + 4.0), axis);
        svg.text((x, HEIGHT - BOTTOM + 16.0), Anchor::Middle, &format!("{n}"));
        n += every;
    }
    svg.text((WIDTH - RIGHT, HEIGHT - 10.0), Anchor::End, "services after this one");

    let path = |which: usize| -> Vec<(f64, f64)> {
        let later = places.iter().zip(&taken).map(|(n, heights)| (*n, start - heights[which]));
        std::iter::once((0, start))
            .chain(later)
            .map(|(n, h)| (x_of(f64::from(n) + 1.0), y_of(floor.map_or(h, |floor| h.max(floor)))))
            .collect()
    };
    if !certain {
        let mut band = path(2);
        band.extend(path(0).into_iter().rev());
        svg.path(&band, true, Pen::fill("dw-band", 0.2));
    }
    svg.path(&path(1), false, Pen::line("dw-after", 1.6));
    let mut measured: Vec<(f64, f64)> = history
        .iter()
        .enumerate()
        .filter(|(_, h)| h.is_finite())
        .map(|(i, h)| (x_of(i as f64 - past), y_of(*h)))
        .collect();
    measured.push((x_of(0.0), y_of(height)));
    measured.push((x_of(1.0), y_of(start)));
    svg.path(&measured, false, Pen::line("dw-before", 1.2));
    if let Some(floor) = floor {
        let y = y_of(floor);
        svg.line((LEFT, y), (WIDTH - RIGHT, y), Pen::line("dw-least", 1.0).dashed("2 3"));
        svg.text((LEFT + 8.0, y - 5.0), Anchor::Start, &format!("ends at {}", units.height(floor)));
    }
    Ok(svg.finish())
}

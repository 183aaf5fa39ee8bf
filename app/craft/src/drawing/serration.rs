//! A few teeth from the heel, before and after, with the wheel's phase.

use super::Units;
use super::svg::{Anchor, Pen, Svg};
use crate::estimate::{WorkedOut, work_out};
use crate::impossible::Impossible;
use crate::pattern::Pattern;
use crate::request::{Mode, Request};
use crate::steels;

const WIDTH: f64 = 560.0;
const MARGIN: f64 = 28.0;

/// The row of teeth at the heel to scale: today's edge, the new edge over it, and ticks where the wheel's tooth tips fall.
///
/// # Errors
/// [`Impossible`] for an edge without teeth, and whatever the estimate refuses.
pub fn serration(request: &Request, units: Units) -> Result<String, Impossible> {
    let steel = steels::find(&request.steel, &[]).unwrap_or_else(|| steels::unknown_steel());
    let WorkedOut { knife, laid, delta, .. } = work_out(request, steel)?;
    let Some(old) = knife.teeth.as_ref() else {
        return Err(Impossible::new("edge.kind", "an edge that is not serrated has no teeth to draw"));
    };
    let apex = knife.lambda + delta;
    let window = (6.0 * old.period()).min(knife.length);
    let scale = (WIDTH - 2.0 * MARGIN) / window;
    let new = knife.new_teeth.as_ref();
    let deepest = old.depth().max(apex + new.map_or(old.depth(), Pattern::depth));
    let high = deepest + 0.35 * old.period();
    let page = MARGIN + high * scale + 52.0;
    let base = MARGIN + high * scale;
    let place = |x: f64, e: f64| (MARGIN + x * scale, base - e * scale);

    let stretches = laid.as_ref().map_or_else(Vec::new, |laid| laid.stretches.clone());
    let phase =
        |x: f64| stretches.iter().find(|(from, to, _)| x >= *from && x <= *to).map_or(0.0, |(_, _, s)| *s);
    let today = |x: f64| {
        let e = old.e(x);
        if knife.worn == crate::checked::Worn::TipFlats { e.max(knife.lambda) } else { e + knife.lambda }
    };
    let wanted = |x: f64| {
        apex + match (knife.mode, new) {
            (Mode::Plain, _) => 0.0,
            (_, Some(new)) => new.e(x - phase(x)),
            (_, None) => old.e(x),
        }
    };
    let samples = 480;
    let row = |f: &dyn Fn(f64) -> f64| -> Vec<(f64, f64)> {
        (0..=samples)
            .map(|i| {
                let x = window * f64::from(i) / f64::from(samples);
                place(x, f(x))
            })
            .collect()
    };
    let before = row(&today);
    let after = row(&wanted);
    let description = format!(
        "Drawn to scale, the first {} from the heel. Teeth {} deep today; the whole row sits {} higher afterwards.",
        units.length(window),
        units.length(old.depth()),
        units.length(delta)
    );
    let mut svg = Svg::new("dw-serration", WIDTH, page, "Row of teeth, before and after", &description);
    let mut blade = after.clone();
    blade.extend([place(window, high), place(0.0, high)]);
    svg.path(&blade, true, Pen::fill("dw-after-metal", 0.12));
    let mut gone = before.clone();
    gone.extend(after.iter().rev());
    svg.path(&gone, true, Pen::fill("dw-removed", 0.35));
    svg.path(&before, false, Pen::line("dw-before", 1.0).dashed("4 3"));
    svg.path(&after, false, Pen::line("dw-after", 1.6));
    // The wheel's phase: a tick under every tooth tip of the new row.
    let cut = new.unwrap_or(old);
    if knife.mode != Mode::Plain {
        for turn in 0..200 {
            let guess = f64::from(turn) * cut.period();
            if guess > window + cut.period() {
                break;
            }
            let s = phase(guess.min(window));
            let first = guess + s - libm::floor(s / cut.period()) * cut.period();
            for start in cut.starts() {
                let x = first + start;
                if x <= window {
                    let (px, py) = place(x, 0.0);
                    svg.line((px, py + 4.0), (px, py + 12.0), Pen::line("dw-phase", 1.0));
                }
            }
        }
        let label = laid.as_ref().filter(|_| request.target.wheel.is_some()).map_or_else(
            || "ticks: tooth tips".to_owned(),
            |laid| format!("ticks: tooth tips of the wheel; the mismatch costs {}", units.length(laid.cost)),
        );
        svg.text((svg.width() - 12.0, svg.height() - 10.0), Anchor::End, &label);
    }
    svg.scale_bar(scale, units);
    Ok(svg.finish())
}

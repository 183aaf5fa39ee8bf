//! The greatest gap between two rows where both are smooth: between their tips and gullets, for ridges that differ.

use super::Worst;
use crate::num::{cos, exp, log, sin};
use crate::pattern::{Pattern, Tooth, ToothForm};

/// One monotone half of a tooth, placed on the edge.
#[derive(Debug, Clone, Copy)]
pub(super) struct Half<'a> {
    tooth: &'a Tooth,
    tip: f64,
    pub(super) end: f64,
    /// The half that falls from the gullet to the next tip.
    second: bool,
}

impl Half<'_> {
    pub(super) fn e(&self, x: f64) -> f64 {
        self.tooth.e((x - self.tip).clamp(0.0, self.tooth.pitch))
    }

    fn slope(&self, x: f64) -> f64 {
        self.tooth.slope((x - self.tip).clamp(0.0, self.tooth.pitch))
    }

    fn curve(&self, x: f64) -> f64 {
        self.tooth.curve((x - self.tip).clamp(0.0, self.tooth.pitch))
    }
}

/// Walks the halves of a pattern's teeth from heel to tip.
pub(super) struct Kinks<'a> {
    pattern: &'a Pattern,
    origin: f64,
    turn: f64,
    tooth: usize,
    second: bool,
}

impl<'a> Kinks<'a> {
    pub(super) fn new(pattern: &'a Pattern, origin: f64, from: f64) -> Self {
        let turn = libm::floor((from - origin) / pattern.period());
        let mut kinks = Self { pattern, origin, turn, tooth: 0, second: false };
        let mut guard = 0;
        while kinks.piece().end <= from && guard < 4 * pattern.teeth().len() + 4 {
            kinks.advance();
            guard += 1;
        }
        kinks
    }

    pub(super) fn piece(&self) -> Half<'a> {
        let tooth = &self.pattern.teeth()[self.tooth];
        let tip = self.origin + self.turn * self.pattern.period() + self.pattern.starts()[self.tooth];
        let end = if self.second { tip + tooth.pitch } else { tip + 0.5 * tooth.pitch };
        Half { tooth, tip, end, second: self.second }
    }

    pub(super) fn advance(&mut self) {
        if !self.second {
            self.second = true;
            return;
        }
        self.second = false;
        self.tooth += 1;
        if self.tooth == self.pattern.teeth().len() {
            self.tooth = 0;
            self.turn += 1.0;
        }
    }
}

/// Greatest gap strictly inside a stretch where both patterns are smooth and monotone.
pub(super) fn inner_maximum(left: f64, right: f64, old: &Half<'_>, new: &Half<'_>, worst: &mut Worst) {
    // One rises and the other falls: the gap is greatest at an end, and the ends are known.
    if old.second != new.second {
        return;
    }
    // A hair inside the kinks, where the one-sided slopes hold.
    let hair = 1e-9 * (right - left);
    let (left, right) = (left + hair, right - hair);
    // The minima among them do no harm.
    for x in split(&|x| old.slope(x) - new.slope(x), &turns(left, right, old, new)) {
        worst.offer(old.e(x) - new.e(x), x, false);
    }
}

/// Cuts a stretch on which both halves rise, or both fall, so that the slope of the gap has one root at most from each cut to the next; both
/// ends are among the cuts. The roots are counted by Rolle's theorem: between two of a function lies one of its derivative.
fn turns(left: f64, right: f64, old: &Half<'_>, new: &Half<'_>) -> Vec<f64> {
    // What lies outside, or nowhere, cuts nothing off.
    let with = |place: f64| [left, place.max(left).min(right), right];
    let curve = |x: f64| old.curve(x) - new.curve(x);
    let (p, q) = (old.tooth.pitch, new.tooth.pitch);
    match (old.tooth.shape, new.tooth.shape) {
        // Two circles curve alike, ρ²/(ρ² - t²)^(3/2)/sin θ, at the roots of a quadratic, and that turns once.
        (ToothForm::Arc { radius, sine, .. }, ToothForm::Arc { radius: other, sine: at, .. }) => {
            let weight = |radius: f64, sine: f64| exp(log(radius * radius / sine) / 1.5);
            let (w, v) = (weight(radius, sine), weight(other, at));
            split(&curve, &with((v * (old.tip + 0.5 * p) - w * (new.tip + 0.5 * q)) / (v - w)))
        }
        // The slopes are A sin α and B sin β with α' = 2π/p and β' = 2π/q. Which is the greater, ln(A sin α) - ln(B sin β) says too. It turns
        // where q cot α = p cot β; the slope of that has its roots where p sin α = q sin β, and the slope of this where α = β.
        (ToothForm::Wavy { .. }, ToothForm::Wavy { .. }) => {
            let turn = 2.0 * core::f64::consts::PI;
            let angles = |x: f64| (turn * (x - old.tip) / p, turn * (x - new.tip) / q);
            let steepest = |x: f64| {
                let (alpha, beta) = angles(x);
                p * sin(alpha) - q * sin(beta)
            };
            let even = |x: f64| {
                let (alpha, beta) = angles(x);
                q * cos(alpha) * sin(beta) - p * cos(beta) * sin(alpha)
            };
            split(&even, &split(&steepest, &with((q * old.tip - p * new.tip) / (q - p))))
        }
        // Beside a straight flank, the wave turns once and the circle never. Where one is a circle and one a wave, the slope of the one is
        // convex and that of the other concave.
        _ => split(&curve, &[left, right]),
    }
}

/// The ends of a stretch and every root of `f` between two of its cuts next to each other. A root is found to eight digits of the way
/// between them: at a maximum the gap is flat, and half the digits of the place give all of its own.
fn split(f: &dyn Fn(f64) -> f64, cuts: &[f64]) -> Vec<f64> {
    let mut found = Vec::with_capacity(cuts.len() * 2);
    found.push(cuts[0]);
    for pair in cuts.windows(2) {
        let (mut left, mut right) = ((pair[0], f(pair[0])), (pair[1], f(pair[1])));
        if left.1 * right.1 >= 0.0 {
            continue;
        }
        let close = 1e-8 * (right.0 - left.0);
        for round in 0..60 {
            let width = right.0 - left.0;
            if width <= close {
                break;
            }
            // Regula falsi, a little beyond the root of the chord so that the other end may come near as well, with a halving wherever
            // that lags behind.
            let middle = 0.5 * (left.0 + right.0);
            let chord = left.0 - left.1 * width / (right.1 - left.1);
            let beyond = chord + if chord < middle { 0.4 * close } else { -0.4 * close };
            let x = if round % 3 == 2 { middle } else { beyond };
            let here = (x, f(x));
            if (here.1 > 0.0) == (left.1 > 0.0) { left = here } else { right = here }
        }
        found.push(0.5 * (left.0 + right.0));
    }
    found.push(cuts[cuts.len() - 1]);
    found
}

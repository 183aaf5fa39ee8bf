//! Rows of teeth: how far the edge of a serrated blade lies above its tooth-tip line.
//!
//! e(x) is measured up the blade from the line through the (unworn) tooth tips; x runs from a tooth tip at the
//! heel toward the point. The wheel's profile c(x) stands normal to the bevel, so e = c / sin θ.

use crate::num::{asin, cos, gauss_panels, sin, sqrt};

/// One tooth, tip to tip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Tooth {
    pub(crate) pitch: f64,
    pub(crate) shape: ToothForm,
}

/// Shape of the gullet between two tips, with everything the evaluation needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum ToothForm {
    /// A circle of the wheel's ridge radius, seen at the bevel's angle.
    Arc { radius: f64, base: f64, sine: f64 },
    /// depth/2·(1 - cos 2πu).
    Wavy { depth: f64 },
    /// depth·(1 - |2u - 1|).
    Pointed { depth: f64 },
}

impl Tooth {
    /// An arc tooth. `None` when the ridge is narrower than the pitch.
    pub(crate) fn arc(pitch: f64, radius: f64, sine: f64) -> Option<Self> {
        let base_squared = radius * radius - 0.25 * pitch * pitch;
        (base_squared >= 0.0)
            .then(|| Self { pitch, shape: ToothForm::Arc { radius, base: sqrt(base_squared), sine } })
    }

    pub(crate) fn wavy(pitch: f64, depth: f64) -> Self {
        Self { pitch, shape: ToothForm::Wavy { depth } }
    }

    pub(crate) fn pointed(pitch: f64, depth: f64) -> Self {
        Self { pitch, shape: ToothForm::Pointed { depth } }
    }

    /// Height of the edge above the tip line at `x` from the tooth's heel-side tip.
    pub(crate) fn e(&self, x: f64) -> f64 {
        match self.shape {
            ToothForm::Arc { radius, base, sine } => {
                // √(ρ² - t²) - √(ρ² - p²/4), written without the difference of two near numbers.
                let t = x - 0.5 * self.pitch;
                let rise = (0.25 * self.pitch * self.pitch - t * t).max(0.0);
                rise / (sqrt((radius * radius - t * t).max(0.0)) + base) / sine
            }
            ToothForm::Wavy { depth } => {
                let s = sin(core::f64::consts::PI * x / self.pitch);
                depth * s * s
            }
            ToothForm::Pointed { depth } => depth * (1.0 - (2.0 * x / self.pitch - 1.0).abs()),
        }
    }

    /// Slope de/dx.
    pub(crate) fn slope(&self, x: f64) -> f64 {
        match self.shape {
            ToothForm::Arc { radius, sine, .. } => {
                let t = x - 0.5 * self.pitch;
                -t / sqrt((radius * radius - t * t).max(1e-300)) / sine
            }
            ToothForm::Wavy { depth } => {
                let k = core::f64::consts::PI / self.pitch;
                depth * k * sin(2.0 * k * x)
            }
            ToothForm::Pointed { depth } => {
                let k = 2.0 * depth / self.pitch;
                if x < 0.5 * self.pitch { k } else { -k }
            }
        }
    }

    /// Curvature d²e/dx², anywhere but in the kinks.
    pub(crate) fn curve(&self, x: f64) -> f64 {
        match self.shape {
            ToothForm::Arc { radius, sine, .. } => {
                let t = x - 0.5 * self.pitch;
                let under = (radius * radius - t * t).max(1e-100);
                -radius * radius / (under * sqrt(under)) / sine
            }
            ToothForm::Wavy { depth } => {
                let k = core::f64::consts::PI / self.pitch;
                2.0 * depth * k * k * cos(2.0 * k * x)
            }
            ToothForm::Pointed { .. } => 0.0,
        }
    }

    /// Depth of the gullet.
    pub(crate) fn depth(&self) -> f64 {
        self.e(0.5 * self.pitch)
    }

    /// ∫ e dx over a row of this tooth, `length` from a tip.
    pub(crate) fn integral_over(&self, length: f64) -> f64 {
        let whole = libm::floor(length / self.pitch);
        whole * self.integrals(self.pitch).0 + self.integrals(length - whole * self.pitch).0
    }

    /// Distance from the nearer tip at which the edge has risen by `e`; half the pitch when it never does.
    pub(crate) fn x_at(&self, e: f64) -> f64 {
        if e >= self.depth() {
            return 0.5 * self.pitch;
        }
        let e = e.max(0.0);
        match self.shape {
            ToothForm::Arc { radius, base, sine } => {
                let c = e * sine + base;
                0.5 * self.pitch - sqrt((radius * radius - c * c).max(0.0))
            }
            ToothForm::Wavy { depth } => self.pitch / core::f64::consts::PI * asin(sqrt(e / depth)),
            ToothForm::Pointed { depth } => 0.5 * self.pitch * e / depth,
        }
    }

    /// ∫ e dx and ∫ e² dx from the heel-side tip to `x`.
    fn integrals(&self, x: f64) -> (f64, f64) {
        let p = self.pitch;
        match self.shape {
            ToothForm::Arc { radius, base, sine } => {
                let antiderivatives = |t: f64| {
                    let root = sqrt((radius * radius - t * t).max(0.0));
                    let under = 0.5 * (t * root + radius * radius * asin((t / radius).clamp(-1.0, 1.0)));
                    let first = under - base * t;
                    let second = (radius * radius + base * base) * t - t * t * t / 3.0 - 2.0 * base * under;
                    (first / sine, second / (sine * sine))
                };
                let (a1, a2) = antiderivatives(-0.5 * p);
                let (b1, b2) = antiderivatives(x - 0.5 * p);
                (b1 - a1, b2 - a2)
            }
            ToothForm::Wavy { depth } => {
                let k = 2.0 * core::f64::consts::PI / p;
                let (s, c) = (sin(k * x), cos(k * x));
                let first = 0.5 * depth * (x - s / k);
                // (1 - cos)² = 3/2 - 2 cos + cos(2·)/2.
                let second = 0.25 * depth * depth * (1.5 * x - 2.0 * s / k + 0.5 * s * c / k);
                (first, second)
            }
            ToothForm::Pointed { depth } => {
                let rise = |x: f64| {
                    let k = 2.0 * depth / p;
                    (0.5 * k * x * x, k * k * x * x * x / 3.0)
                };
                if x <= 0.5 * p {
                    rise(x)
                } else {
                    let (half1, half2) = rise(0.5 * p);
                    let (rest1, rest2) = rise(p - x);
                    (2.0 * half1 - rest1, 2.0 * half2 - rest2)
                }
            }
        }
    }
}

/// A repeating row of teeth.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Pattern {
    teeth: Vec<Tooth>,
    /// Start of each tooth in the period.
    starts: Vec<f64>,
    period: f64,
    /// ∫ e and ∫ e² over one period.
    whole: (f64, f64),
    depth: f64,
}

impl Pattern {
    /// A row of the given teeth, repeated. `None` when there are none.
    pub(crate) fn new(teeth: Vec<Tooth>) -> Option<Self> {
        if teeth.is_empty() {
            return None;
        }
        let mut starts = Vec::with_capacity(teeth.len());
        let (mut period, mut whole, mut depth) = (0.0, (0.0, 0.0), 0.0_f64);
        for tooth in &teeth {
            starts.push(period);
            period += tooth.pitch;
            let (first, second) = tooth.integrals(tooth.pitch);
            whole = (whole.0 + first, whole.1 + second);
            depth = depth.max(tooth.depth());
        }
        Some(Self { teeth, starts, period, whole, depth })
    }

    pub(crate) fn period(&self) -> f64 {
        self.period
    }

    pub(crate) fn teeth(&self) -> &[Tooth] {
        &self.teeth
    }

    pub(crate) fn starts(&self) -> &[f64] {
        &self.starts
    }

    /// Depth of the deepest gullet.
    pub(crate) fn depth(&self) -> f64 {
        self.depth
    }

    /// Whole periods below `x`, and the tooth and place in it where `x` falls.
    fn place(&self, x: f64) -> (f64, usize, f64) {
        let turns = libm::floor(x / self.period);
        let rest = (x - turns * self.period).clamp(0.0, self.period);
        let tooth = if self.teeth.len() == 1 {
            0
        } else {
            self.starts.partition_point(|start| *start <= rest).saturating_sub(1)
        };
        (turns, tooth, (rest - self.starts[tooth]).min(self.teeth[tooth].pitch))
    }

    /// Height of the edge above the tooth-tip line.
    pub(crate) fn e(&self, x: f64) -> f64 {
        let (_, tooth, at) = self.place(x);
        self.teeth[tooth].e(at)
    }

    /// Slope of the edge.
    pub(crate) fn slope(&self, x: f64) -> f64 {
        let (_, tooth, at) = self.place(x);
        self.teeth[tooth].slope(at)
    }

    /// Greatest height anywhere in [a, b]: at an end or in a gullet between.
    pub(crate) fn greatest(&self, a: f64, b: f64) -> f64 {
        if b - a >= self.period {
            return self.depth;
        }
        let turn = libm::floor(a / self.period);
        let mut most = self.e(a).max(self.e(b));
        for base in [turn * self.period, (turn + 1.0) * self.period] {
            for (tooth, start) in self.teeth.iter().zip(&self.starts) {
                let gullet = base + start + 0.5 * tooth.pitch;
                if gullet > a && gullet < b {
                    most = most.max(tooth.depth());
                }
            }
        }
        most
    }

    /// Least height anywhere in [a, b]: at an end, or 0 with a tip between.
    pub(crate) fn least(&self, a: f64, b: f64) -> f64 {
        let base = libm::floor(a / self.period) * self.period;
        let passes = |tip: f64| tip >= a && tip <= b;
        if passes(base + self.period) || self.starts.iter().any(|start| passes(base + start)) {
            return 0.0;
        }
        // Wider than a period it has passed a tip.
        self.e(a).min(self.e(b))
    }

    fn integrals_from_zero(&self, x: f64) -> (f64, f64) {
        let (turns, tooth, at) = self.place(x);
        let (mut first, mut second) = self.teeth[tooth].integrals(at);
        for before in &self.teeth[..tooth] {
            let (f, s) = before.integrals(before.pitch);
            first += f;
            second += s;
        }
        (first + turns * self.whole.0, second + turns * self.whole.1)
    }

    /// ∫ e dx and ∫ e² dx over [a, b].
    pub(crate) fn integrals(&self, a: f64, b: f64) -> (f64, f64) {
        let (a1, a2) = self.integrals_from_zero(a);
        let (b1, b2) = self.integrals_from_zero(b);
        (b1 - a1, b2 - a2)
    }

    /// Adds the tips and gullets strictly inside (from, to), the first tip of the row at `origin`.
    pub(crate) fn kinks(&self, origin: f64, from: f64, to: f64, onto: &mut Vec<f64>) {
        let first = libm::floor((from - origin) / self.period) as i64;
        let last = libm::ceil((to - origin) / self.period) as i64;
        for turn in first..=last {
            for (tooth, start) in self.teeth.iter().zip(&self.starts) {
                let tip = origin + turn as f64 * self.period + start;
                onto.extend([tip, tip + 0.5 * tooth.pitch].into_iter().filter(|x| *x > from && *x < to));
            }
        }
    }

    /// Means of e and e² over one period.
    pub(crate) fn means(&self) -> (f64, f64) {
        (self.whole.0 / self.period, self.whole.1 / self.period)
    }

    /// Mean over one period of `f(e)`; smooth `f`, every tooth half in Gauss panels.
    pub(crate) fn mean_of(&self, f: impl Fn(f64) -> f64) -> f64 {
        let mut sum = 0.0;
        for tooth in &self.teeth {
            sum += 2.0 * gauss_panels(0.0, 0.5 * tooth.pitch, 2, |x| f(tooth.e(x)));
        }
        sum / self.period
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::num::{gauss_panels, rad};

    #[test]
    fn an_arc_of_pitch_5_and_ridge_6_5_at_20_degrees_is_1_461902_deep() {
        let tooth = Tooth::arc(5.0, 6.5, sin(rad(20.0))).unwrap();
        assert!((tooth.depth() - 1.461_902).abs() < 5e-7);
        assert!((tooth.e(0.25) - 0.287).abs() < 5e-4, "tip flat of 0.5");
        assert!((tooth.e(0.5) - 0.540).abs() < 5e-4, "tip flat of 1.0");
    }

    #[test]
    fn the_integrals_agree_with_quadrature_for_every_form() {
        let mixed = Pattern::new(vec![
            Tooth::arc(9.0, 8.0, sin(rad(18.0))).unwrap(),
            Tooth::wavy(3.0, 0.7),
            Tooth::pointed(2.0, 0.9),
        ])
        .unwrap();
        let (first, second) = mixed.integrals(-7.3, 38.1);
        // Break at every tip and gullet, where the forms have kinks.
        let mut breaks = vec![-7.3, 38.1];
        for turn in -1..4 {
            for (tooth, start) in mixed.teeth().iter().zip(mixed.starts()) {
                let tip = f64::from(turn) * mixed.period() + start;
                breaks.extend([tip, tip + 0.5 * tooth.pitch]);
            }
        }
        breaks.retain(|x| (-7.3..=38.1).contains(x));
        breaks.sort_unstable_by(f64::total_cmp);
        let (mut q1, mut q2) = (0.0, 0.0);
        for pair in breaks.windows(2) {
            q1 += gauss_panels(pair[0], pair[1], 4, |x| mixed.e(x));
            q2 += gauss_panels(pair[0], pair[1], 4, |x| mixed.e(x) * mixed.e(x));
        }
        assert!((first - q1).abs() < 1e-10 * q1, "{first} {q1}");
        assert!((second - q2).abs() < 1e-10 * q2, "{second} {q2}");
    }
}

//! How hot a grinding pass makes an edge, and how deep it may therefore be.
//!
//! A pass is a band of heat moving over a half-space (Jaeger 1942; Carslaw & Jaeger, Conduction of Heat in Solids;
//! Malkin & Guo 2007). A thin edge is not a half-space: heat at the apex of a wedge has only the wedge to go to, which
//! multiplies the rise by π/β at most. These are upper estimates: they decide depth and coolant, not a thermometer reading.

use serde::{Deserialize, Serialize};

use crate::num::{exp, log, rad, sin, sqrt};
use crate::steels::Steel;

/// A moving band of heat. SI units.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Band {
    /// Heat into the steel, W/m².
    pub flux_w_m2: f64,
    /// Length of the band in the direction it moves, m.
    pub length_m: f64,
    /// Speed of the band over the steel, m/s.
    pub speed_m_s: f64,
    /// Conductivity of the steel, W/mK.
    pub conductivity_w_mk: f64,
    /// Diffusivity of the steel, m²/s.
    pub diffusivity_m2_s: f64,
}

impl Band {
    /// L = v·l/(4α): how far the heat is outrun by the band. Under about 5 the short form overstates.
    pub fn outrun(&self) -> f64 {
        self.speed_m_s * self.length_m / (4.0 * self.diffusivity_m2_s)
    }

    /// Greatest rise of the surface, K: Jaeger's integral, exact.
    ///
    /// rise = 2αq/(πkv)·T*, T* the greatest value of ∫ e⁻ᵘ K₀(|u|) du over a window 2L wide.
    pub fn rise(&self) -> f64 {
        2.0 * self.diffusivity_m2_s * self.flux_w_m2
            / (core::f64::consts::PI * self.conductivity_w_mk * self.speed_m_s)
            * jaeger(self.outrun())
    }

    /// The short form 1.13·q·√(αl/v)/k (1.13 as printed, for 2/√π = 1.128): 4 % too high at L = 5, 14 % at L = 1.
    pub fn rise_short(&self) -> f64 {
        1.13 * self.flux_w_m2 * sqrt(self.diffusivity_m2_s * self.length_m / self.speed_m_s)
            / self.conductivity_w_mk
    }
}

/// Greatest dimensionless temperature T* = πkvT/(2αq) under a uniform band, as a function of L = v·l/(4α).
///
/// Both halves of the integral have closed forms, ∫₀ˣ e^{±t} K₀(t) dt = x e^{±x}[K₀(x) ± K₁(x)] ∓ 1 (Abramowitz & Stegun
/// 11.3.16); the window lies best where the integrand is the same at both of its ends, which Newton finds.
pub fn jaeger(outrun: f64) -> f64 {
    // Below, the rise is smaller than any number the logarithms here can still carry.
    if !(outrun > 1e-150 && outrun.is_finite()) {
        return 0.0;
    }
    if outrun > 1e15 {
        // What the closed form below tends to; there its own terms would overflow.
        return sqrt(4.0 * core::f64::consts::PI) * sqrt(outrun);
    }
    let width = 2.0 * outrun;
    // Ahead of the centre by m, behind by p = 2L - m. Slow bands are symmetric, fast ones reach barely ahead.
    let mut m = if outrun < 0.05 { 0.5 * width } else { (0.25 * libm::log1p(6.0 * outrun)).min(0.5 * width) };
    let (mut low, mut high) = (0.0, 0.5 * width);
    for _ in 0..60 {
        let (ahead, behind) = (scaled_k(m), scaled_k(width - m));
        // ln of the integrand behind less ln of it ahead: falls to 0 at the best window.
        let gap = log(behind.0) - (log(ahead.0) - 2.0 * m);
        if gap > 0.0 {
            high = m;
        } else {
            low = m;
        }
        let slope = -(1.0 - behind.1 / behind.0) + 1.0 + ahead.1 / ahead.0;
        let newton = m - gap / slope;
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        let moved = (next - m).abs();
        m = next;
        // Newton doubles the digits of m with every step, and the integral is flat at its maximum: the step after four digits
        // has eight, and those give sixteen.
        if moved <= 1e-4 * m {
            break;
        }
    }
    let p = width - m;
    let (behind, ahead) = (scaled_k(p), scaled_k(m));
    let trailing = p * (behind.0 + behind.1) - 1.0;
    let leading = m * exp(-2.0 * m) * (ahead.0 - ahead.1) + 1.0;
    trailing + leading
}

/// eˣ·K₀(x) and eˣ·K₁(x), modified Bessel functions of the second kind, to about 1e-15.
///
/// Up to 2 by their power series, above by Steed's continued fraction (Temme 1975).
fn scaled_k(x: f64) -> (f64, f64) {
    if x <= 2.0 {
        const EULER: f64 = 0.577_215_664_901_532_9;
        let quarter = 0.25 * x * x;
        let logarithm = log(0.5 * x) + EULER;
        // I₀, its companion sum with harmonic numbers, and the derivatives of both: K₁ = -K₀'.
        let (mut term, mut harmonic) = (1.0, 0.0);
        let (mut i0, mut i1, mut sum0, mut sum1) = (1.0, 0.0, 0.0, 0.0);
        for n in 1..30 {
            let n = f64::from(n);
            term *= quarter / (n * n);
            harmonic += 1.0 / n;
            i0 += term;
            i1 += 2.0 * n * term;
            sum0 += harmonic * term;
            sum1 += 2.0 * n * harmonic * term;
            if term < 1e-18 {
                break;
            }
        }
        let k0 = -logarithm * i0 + sum0;
        let k1 = (i0 + logarithm * i1 - sum1) / x;
        let scale = exp(x);
        return (scale * k0, scale * k1);
    }
    let mut b = 2.0 * (1.0 + x);
    let mut d = 1.0 / b;
    let (mut h, mut step) = (d, d);
    let (mut q1, mut q2) = (0.0, 1.0);
    let mut c = 0.25;
    let mut q = c;
    let mut a = -0.25;
    let mut s = 1.0 + q * step;
    for i in 2..200 {
        let i = f64::from(i);
        a -= 2.0 * (i - 1.0);
        c = -a * c / i;
        let next = (q1 - b * q2) / a;
        (q1, q2) = (q2, next);
        q += c * next;
        b += 2.0;
        d = 1.0 / (b + a * d);
        step *= b * d - 1.0;
        h += step;
        let more = q * step;
        s += more;
        if (more / s).abs() < 1e-16 {
            break;
        }
    }
    let k0 = sqrt(core::f64::consts::FRAC_PI_2 / x) / s;
    (k0, k0 * (x + 0.5 - 0.25 * h) / x)
}

/// How much hotter the apex of a wedge of this included angle gets than a half-space, at most: π/β, β in radians (line
/// source at the apex, insulated faces). 6 at 30°, 1 at 180°.
pub fn wedge_factor(included_deg: f64) -> f64 {
    (core::f64::consts::PI / rad(included_deg)).max(1.0)
}

/// The temper a hardness tells of, °C: the steel's tempering row read backwards. Anything harder than the row was tempered below it: the
/// row's least temperature or 150 °C, whichever is less. `None` for a steel without a row.
pub fn temper_of(steel: &Steel, hrc: f64) -> Option<f64> {
    let row = &steel.tempering;
    let (first, rest) = row.split_first()?;
    if hrc > first.1 {
        return Some(first.0.min(UNKNOWN_TEMPER_C));
    }
    if hrc == first.1 {
        return Some(first.0);
    }
    // The first place, going up, where the hardness has fallen to this.
    let mut before = *first;
    for point in rest {
        if point.1 <= hrc && before.1 > hrc {
            let share = (before.1 - hrc) / (before.1 - point.1);
            return Some(before.0 + share * (point.0 - before.0));
        }
        before = *point;
    }
    Some(before.0)
}

/// Hollomon-Jaffe parameter T·(C + log₁₀ t): T in kelvin, t in hours, C about 20 (formula and constant from memory).
pub fn hollomon_jaffe(celsius: f64, hours: f64) -> f64 {
    (celsius + KELVIN) * (TEMPER_CONSTANT + libm::log10(hours))
}

/// Temperature at which `seconds` soften as much as `hours` at `celsius` do, °C.
pub fn same_softening(celsius: f64, hours: f64, seconds: f64) -> f64 {
    hollomon_jaffe(celsius, hours) / (TEMPER_CONSTANT + libm::log10(seconds / 3600.0)) - KELVIN
}

const KELVIN: f64 = 273.15;
const TEMPER_CONSTANT: f64 = 20.0;
/// A temper usually lasts two hours.
const TEMPER_HOURS: f64 = 2.0;
const ROOM_C: f64 = 20.0;
/// The least temper in the table of steels; taken when nothing is known.
const UNKNOWN_TEMPER_C: f64 = 150.0;
/// The finest dry pass worth advising (common practice: a wheel that takes less only rubs).
const LEAST_DRY_PASS_MM: f64 = 0.001;
/// Wet is the default for edges tempered below this.
const WET_BELOW_C: f64 = 200.0;

/// How a station grinds, as far as heat goes. Absent keys keep these figures.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Process {
    /// Energy to take one mm³ off, J. Ground tool steel 18 to 82 (textbook table), easy grinding 10.
    #[serde(deserialize_with = "crate::figures::above_zero")]
    pub energy_j_mm3: f64,
    /// Share of it that stays in the steel, dry: 0.6 to 0.85 (Malkin & Guo 2007, from memory).
    #[serde(deserialize_with = "crate::figures::above_zero")]
    pub share_dry: f64,
    /// The same on a slow wheel under a good flood: between the 3 to 5 % of creep feed and the 20 % of wet CBN (Malkin & Guo 2007, from memory);
    /// low confidence, and what makes a bevel's passes agree with its minutes.
    #[serde(deserialize_with = "crate::figures::above_zero")]
    pub share_wet: f64,
    /// How fast the edge is drawn over the wheel, m/s.
    #[serde(deserialize_with = "crate::figures::above_zero")]
    pub feed_m_s: f64,
    /// Wheel diameter, or twice the contact radius of a belt, mm.
    #[serde(deserialize_with = "crate::figures::above_zero")]
    pub diameter_mm: f64,
    /// The deepest pass the station takes whatever the heat, mm.
    #[serde(deserialize_with = "crate::figures::above_zero")]
    pub deepest_pass_mm: f64,
}

impl Default for Process {
    fn default() -> Self {
        Self {
            energy_j_mm3: 40.0,
            share_dry: 0.75,
            share_wet: 0.1,
            feed_m_s: 0.1,
            diameter_mm: 200.0,
            deepest_pass_mm: 0.02,
        }
    }
}

/// What keeps an edge from losing its temper.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Guard {
    /// The temper the edge was given, °C.
    pub temper_c: f64,
    /// The deepest pass that stays below it, mm.
    pub pass_mm: f64,
    /// Passes to take the depth asked for, without spark-out.
    pub passes: u32,
    /// Hottest the edge gets in such a pass, °C: an upper estimate.
    pub peak_c: f64,
    /// How long the edge may stand still under that heat, s.
    pub dwell_s: f64,
    /// What this flash could reach before it softens like the original temper did, °C (Hollomon-Jaffe).
    pub flash_c: f64,
    /// Under water or coolant.
    pub wet: bool,
    /// Let it cool between passes: heat that has not left adds to the next pass.
    pub cool_between: bool,
}

/// The guard for taking `depth_mm` (normal to the face) off an edge of `included_deg`, of hardness `hrc` where known.
pub fn guard(steel: &Steel, hrc: Option<f64>, included_deg: f64, depth_mm: f64, process: &Process) -> Guard {
    let temper_c = hrc.map_or_else(|| temper_of(steel, steel.hardness_hrc.1), |hrc| temper_of(steel, hrc));
    let temper_c = temper_c.unwrap_or(UNKNOWN_TEMPER_C);
    let dry = temper_c >= WET_BELOW_C && hrc.is_some();
    let guarded = |wet: bool| guarded(steel, temper_c, wet, included_deg, depth_mm, process);
    // A dry pass so fine that nobody would take it that often is no advice: then under water as well.
    let found = guarded(!dry);
    if dry && found.pass_mm < LEAST_DRY_PASS_MM.min(process.deepest_pass_mm) { guarded(true) } else { found }
}

/// The guard wet or dry, for an edge of this temper.
fn guarded(
    steel: &Steel,
    temper_c: f64,
    wet: bool,
    included_deg: f64,
    depth_mm: f64,
    process: &Process,
) -> Guard {
    let share = if wet { process.share_wet } else { process.share_dry };
    let factor = wedge_factor(included_deg);
    let room = (temper_c - ROOM_C).max(1.0);
    let band = |pass_mm: f64| {
        let contact_m = 1e-3 * contact_length_mm(pass_mm, process.diameter_mm);
        Band {
            // Energy per m³, times depth and feed, over the contact length.
            flux_w_m2: share * process.energy_j_mm3 * 1e9 * (pass_mm * 1e-3) * process.feed_m_s / contact_m,
            length_m: contact_m,
            speed_m_s: process.feed_m_s,
            conductivity_w_mk: steel.conductivity_w_mk.value,
            diffusivity_m2_s: steel.diffusivity_m2_s(),
        }
    };
    // The short form goes with depth to the 3/4: one step from any depth lands on its answer, a second one corrects by the exact rise.
    let trial = process.deepest_pass_mm.max(1e-6);
    let three_quarters = |ratio: f64| libm::pow(ratio, 4.0 / 3.0);
    let short = trial * three_quarters(room / (factor * band(trial).rise_short()));
    let short = short.min(trial);
    let share_of_room = factor * band(short).rise() / room;
    let exact = short * three_quarters(1.0 / share_of_room);
    let (pass_mm, peak_c) = if exact < trial {
        (exact, temper_c.max(ROOM_C + 1.0))
    } else {
        (trial, ROOM_C + (factor * band(trial).rise()).min(room))
    };
    let heat = band(pass_mm);
    // Standing still: 2q√(αt/π)/k on a half-space reaches the room after this long, less by the wedge.
    let reach = room * heat.conductivity_w_mk / (factor * heat.flux_w_m2);
    let dwell_s = 0.25 * core::f64::consts::PI * reach * reach / heat.diffusivity_m2_s;
    let touch_s = heat.length_m / heat.speed_m_s;
    Guard {
        temper_c,
        pass_mm,
        passes: passes(depth_mm, pass_mm),
        peak_c,
        dwell_s,
        flash_c: same_softening(temper_c, TEMPER_HOURS, touch_s.max(1e-6)),
        wet,
        cool_between: peak_c > ROOM_C + 0.5 * room,
    }
}

/// Passes of `pass_mm` that take `depth_mm`.
pub(crate) fn passes(depth_mm: f64, pass_mm: f64) -> u32 {
    if depth_mm > 0.0 { libm::ceil(depth_mm / pass_mm - 1e-9).clamp(1.0, 1e6) as u32 } else { 0 }
}

impl Guard {
    /// The guard in one line for the bench.
    pub fn words(&self) -> String {
        format!(
            "{}, passes no deeper than {:.1} µm, never still for longer than {}{}. The edge was tempered near {:.0} °C; faint straw colour \
             comes only near 200 °C, so no colour is no proof.",
            if self.wet { "Wet" } else { "Dry" },
            1000.0 * self.pass_mm,
            if self.dwell_s < 0.1 {
                "a blink".to_owned()
            } else {
                format!("{:.1} s", self.dwell_s.min(60.0))
            },
            if self.cool_between { ", cool between passes" } else { "" },
            self.temper_c,
        )
    }
}

/// Length of contact between a wheel and flat work, mm: √(a·D) for a depth a and a wheel diameter D.
pub fn contact_length_mm(depth_mm: f64, diameter_mm: f64) -> f64 {
    sqrt(depth_mm * diameter_mm)
}

/// Equivalent thickness of the chips, mm: depth times work speed over wheel speed.
pub fn equivalent_chip_mm(depth_mm: f64, work_m_s: f64, wheel_m_s: f64) -> f64 {
    depth_mm * work_m_s / wheel_m_s
}

/// Depth normal to the face when the height recedes by `recession_mm` at this angle: recession·sin θ.
pub fn normal_depth(recession_mm: f64, angle_deg: f64) -> f64 {
    recession_mm * sin(rad(angle_deg))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::steels::steel;

    fn band(speed: f64) -> Band {
        Band {
            flux_w_m2: 50e6,
            length_m: 1e-3,
            speed_m_s: speed,
            conductivity_w_mk: 46.6,
            diffusivity_m2_s: 1.27e-5,
        }
    }

    #[test]
    fn the_rise_under_a_band_matches_quadrature_by_others() {
        // Worked by numerical quadrature of Jaeger's integral outside this crate.
        for (speed, expected) in [(0.05, 535.6), (0.2, 290.7), (1.0, 134.6)] {
            let rise = band(speed).rise();
            assert!((rise - expected).abs() < 0.06, "{speed}: {rise}");
        }
        assert!((band(0.05).rise_short() - 611.1).abs() < 0.06);
    }

    #[test]
    fn the_dimensionless_maximum_matches_the_table() {
        for (outrun, expected) in [
            (0.2, 1.126),
            (0.5, 2.049),
            (1.0, 3.116),
            (2.0, 4.629),
            (5.0, 7.613),
            (10.0, 10.948),
            (20.0, 15.639),
        ] {
            let found = jaeger(outrun);
            assert!((found - expected).abs() < 1e-3, "{outrun}: {found}");
        }
    }

    #[test]
    fn bessel_functions_match_printed_values() {
        // Abramowitz & Stegun, Table 9.8: e^x K0(x) and e^x K1(x).
        for (x, k0, k1) in [
            (0.1, 2.682_326_102_3, 10.890_182_683_05),
            (1.0, 1.144_463_079_7, 1.636_153_486_3),
            (2.0, 0.841_568_215_1, 1.033_476_847_1),
            (5.0, 0.547_807_564_3, 0.600_273_858_8),
        ] {
            let (a, b) = scaled_k(x);
            assert!((a - k0).abs() < 2e-9 * k0 && (b - k1).abs() < 2e-9 * k1, "{x}: {a} {b}");
        }
    }

    #[test]
    fn series_and_fraction_meet() {
        let (below, above) = (scaled_k(2.0), scaled_k(2.0 + 1e-13));
        assert!(
            (below.0 - above.0).abs() < 1e-12 && (below.1 - above.1).abs() < 1e-12,
            "{below:?} {above:?}"
        );
    }

    #[test]
    fn a_wedge_of_thirty_degrees_gets_six_times_as_hot() {
        assert!((wedge_factor(30.0) - 6.0).abs() < 1e-12);
        assert!((wedge_factor(180.0) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn hardness_tells_the_temper() {
        let bearing = steel("100Cr6").unwrap();
        assert_eq!(temper_of(bearing, 64.0), Some(100.0));
        assert_eq!(temper_of(bearing, 63.0), Some(150.0));
        assert_eq!(temper_of(bearing, 60.5), Some(225.0));
        assert_eq!(temper_of(crate::steels::unknown_steel(), 60.0), None);
        // Harder than the row it was tempered lower than the row begins; colder than cold makes it no hotter.
        assert_eq!(temper_of(bearing, 66.0), Some(100.0));
        assert_eq!(temper_of(steel("1.4116").unwrap(), 56.0), Some(150.0));
        assert_eq!(temper_of(steel("1.4116").unwrap(), 53.0), Some(204.0));
    }

    #[test]
    fn a_softer_edge_stands_deeper_passes_and_a_thinner_one_shallower() {
        let bearing = steel("100Cr6").unwrap();
        let process = Process::default();
        let hard = guard(bearing, Some(64.0), 30.0, 0.2, &process);
        let soft = guard(bearing, Some(54.0), 30.0, 0.2, &process);
        let thin = guard(bearing, Some(64.0), 20.0, 0.2, &process);
        assert!(hard.wet && hard.peak_c <= hard.temper_c + 1.0, "{hard:?}");
        assert!(!soft.wet, "{soft:?}");
        // Dry it would stand passes of less than a thousandth only.
        let softer_and_thin = guard(bearing, Some(60.0), 20.0, 0.2, &process);
        assert!(softer_and_thin.temper_c > 200.0 && softer_and_thin.wet, "{softer_and_thin:?}");
        assert!(thin.pass_mm < hard.pass_mm && thin.passes > hard.passes);
        assert!(hard.flash_c > hard.temper_c, "a flash may be hotter than a two-hour temper: {hard:?}");
    }
}

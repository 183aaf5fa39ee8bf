//! Serrated edges: a flat back, a bevel at θ from it, teeth cut by a profiled wheel whose axis lies along the edge.
//!
//! At a place x the unworn section is the wedge between the back and the bevel line that starts e(x) above the
//! tooth-tip line, closed by the blade's own face b + k·y. Everything the bevel does to such a section is the function
//! `under` below: the area that lies between back and face but outside the bevel. Metal taken is its difference.

use crate::checked::{Knife, Worn};
use crate::chips::Above;
use crate::ground::Ground;
use crate::num::{gauss_panels, sin, tan};
use crate::pattern::Pattern;
use crate::plain::{THIN_TO_MM, already_gone};
use crate::profile::{Piece, Profile};
use crate::register::{Pair, Phase};
use crate::request::Mode;

/// How the new teeth lie on the old ones.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Laid {
    /// Stretches of edge (from, to) and the place of the first new tip in each.
    pub(crate) stretches: Vec<(f64, f64, f64)>,
    /// Height the mismatch costs.
    pub(crate) cost: f64,
}

/// Brings the target's wheel into phase. `None` when the same pattern is simply cut again.
pub(crate) fn lay(knife: &Knife<'_>) -> Option<Laid> {
    let old = knife.teeth.as_ref()?;
    if knife.mode == Mode::Plain {
        return Some(Laid { stretches: vec![(0.0, knife.length, 0.0)], cost: old.depth() });
    }
    let new = knife.new_teeth.as_ref()?;
    match knife.mode {
        Mode::Full | Mode::Plain => {
            let Phase { s, cost } = Pair::new(old, new, 0.0, knife.length).least();
            Some(Laid { stretches: vec![(0.0, knife.length, s)], cost: cost.max(0.0) })
        }
        Mode::Tooth => {
            // Tip on tip by construction: only depth the ridge does not reach can cost anything.
            let cost = old
                .teeth()
                .iter()
                .zip(new.teeth())
                .map(|(a, b)| {
                    let (a, b) = (Pattern::new(vec![*a]), Pattern::new(vec![*b]));
                    match (a, b) {
                        (Some(a), Some(b)) => Pair::new(&a, &b, 0.0, a.period()).cost(0.0),
                        _ => 0.0,
                    }
                })
                .fold(0.0, f64::max);
            Some(Laid { stretches: vec![(0.0, knife.length, 0.0)], cost })
        }
        Mode::Indexed => {
            let width = new.period() * f64::from(knife.ridges);
            let mut stretches = Vec::new();
            let mut cost = 0.0_f64;
            let mut from = 0.0;
            while from < knife.length - 1e-9 {
                let to = (from + width).min(knife.length);
                let phase = Pair::new(old, new, from, to).least();
                cost = cost.max(phase.cost);
                stretches.push((from, to, from + phase.s));
                from = to;
            }
            Some(Laid { stretches, cost })
        }
    }
}

/// The face of a blade, x = b + k·y, and the bevel that meets it.
#[derive(Debug, Clone, Copy)]
struct Wedge {
    b: f64,
    k: f64,
    tangent: f64,
}

impl Wedge {
    /// Thickness where a bevel from `e` meets the face: (b + k e)/(1 - k/tan θ).
    fn n(&self, e: f64) -> f64 {
        (self.b + self.k * e) / (1.0 - self.k / self.tangent)
    }

    /// Coefficients of 1, e, e² in the area outside the bevel: b e + k e²/2 + (b + k e)²/(2 tan θ (1 - k/tan θ)).
    fn under(&self) -> (f64, f64, f64) {
        let (b, k) = (self.b, self.k);
        let c = 0.5 / (self.tangent * (1.0 - k / self.tangent));
        (c * b * b, b + 2.0 * c * b * k, 0.5 * k + c * k * k)
    }

    /// Area of a section with its edge at `e` and the spine at `top`; a bevel that reaches the spine ends there.
    fn metal(&self, e: f64, top: f64) -> f64 {
        let n = self.n(e);
        let foot = e + n / self.tangent;
        if foot <= top {
            0.5 * n * (foot - e) + 0.5 * (n + self.b + self.k * top) * (top - foot)
        } else {
            let left = (top - e).max(0.0);
            0.5 * self.tangent * left * left
        }
    }

    /// ∫ t³ dy of a section with its edge at `e` and the spine at `top`.
    fn cubed(&self, e: f64, top: f64) -> f64 {
        let n = self.n(e);
        let foot = e + n / self.tangent;
        if foot > top {
            let left = (top - e).max(0.0);
            let thick = self.tangent * left;
            return 0.25 * thick * thick * thick * left;
        }
        let spine = self.b + self.k * top;
        let bevel = 0.25 * n * n * n * (foot - e);
        bevel + 0.25 * (top - foot) * (n * n * n + n * n * spine + n * spine * spine + spine * spine * spine)
    }
}

/// Grinds the teeth with the new tip line `delta` above today's.
pub(crate) fn grind(knife: &Knife<'_>, old: &Pattern, laid: Option<&Laid>, delta: f64) -> Ground {
    let blade = &knife.request.blade;
    let top = knife.top();
    let apex = knife.lambda + delta;
    let face = Wedge { b: blade.behind_edge_mm, k: knife.growth(), tangent: tan(knife.theta) };
    let cut = Wedge { tangent: tan(knife.theta_new), ..face };
    let plain = knife.mode == Mode::Plain;
    let new = if plain { None } else { knife.new_teeth.as_ref() };
    let ends_on_old_bevel = ends_on_old_bevel(knife, &face, &cut, old, new, apex);
    let deepest_new = new.map_or(if plain { 0.0 } else { old.depth() }, Pattern::depth);
    let highest = apex + deepest_new;
    let past_spine = highest + cut.n(highest) / cut.tangent > top;

    let taken = match laid {
        None if past_spine => old.mean_of(|e| face.metal(e, top) - cut.metal(apex + e, top)),
        None => {
            let (mean, _) = old.means();
            // E = e + apex at the same angle: under(E) - under(e), averaged.
            let (_, one, two) = face.under();
            apex * (one + two * (2.0 * mean + apex))
        }
        Some(laid) => {
            let over = |(from, to, s): (f64, f64, f64)| {
                if ends_on_old_bevel || past_spine {
                    by_quadrature(&face, &cut, old, new, apex, top, (from, to, s))
                } else {
                    in_closed_form(&face, &cut, old, new, apex, (from, to, s))
                }
            };
            // One pitch says it all when both rows repeat together; else the whole edge.
            let together = new.is_none_or(|new| new.period() == old.period());
            match laid.stretches.as_slice() {
                [(_, _, s)] if together => over((0.0, old.period(), *s)) / old.period(),
                stretches => stretches.iter().copied().map(over).sum::<f64>() / knife.length,
            }
        }
    };
    let gone = already_gone(knife) + gone_from_tips(knife, &face, old);

    let at_line = face.b + face.k * apex;
    let at_tip = tip_thickness(&face, &cut, apex).min(cut.tangent * (top - apex).max(0.0));
    let (mut behind_edge_mm, mut bevel_face_mm) = (at_line, at_tip / sin(knife.theta_new));
    let mut thinning_mm2 = 0.0;
    let mut thinning_fails = false;
    let mut thinned = None;
    if let Some(wanted) =
        knife.request.target.behind_edge_mm.filter(|wanted| at_line > wanted * (1.0 + 1e-12))
    {
        let rise = knife.request.target.thin_to_mm.unwrap_or(THIN_TO_MM);
        let slope = (at_line + face.k * rise - wanted) / rise;
        // Heights from the new tip line from here on.
        let wide = Wedge { b: at_line, k: face.k, tangent: cut.tangent };
        let thin = Wedge { b: wanted, k: slope, tangent: cut.tangent };
        let deepest = new.map_or(if plain { 0.0 } else { old.depth() }, Pattern::depth);
        let fits = apex + rise <= top * (1.0 + 1e-12)
            && slope < cut.tangent
            && deepest + thin.n(deepest) / thin.tangent <= rise;
        if fits {
            let (mean, mean_square) = match new {
                Some(new) => new.means(),
                None if plain => (0.0, 0.0),
                None => old.means(),
            };
            let outside = |wedge: &Wedge| {
                let (zero, one, two) = wedge.under();
                zero + one * mean + two * mean_square
            };
            thinning_mm2 = (0.5 * (at_line - wanted) * rise - (outside(&wide) - outside(&thin))).max(0.0);
            behind_edge_mm = wanted;
            bevel_face_mm = bevel_face_mm.min(thin.n(0.0) / sin(knife.theta_new));
            thinned = Some((thin, rise));
        } else {
            thinning_fails = true;
        }
    }

    let before_cubed = old.mean_of(|e| face.cubed(e, top));
    let after_cubed = |e: f64| match thinned {
        None => cut.cubed(apex + e, top),
        Some((thin, rise)) => {
            let (p, q) = (face.b + face.k * (apex + rise), face.b + face.k * top);
            thin.cubed(e, rise) + 0.25 * (top - apex - rise) * (p * p * p + p * p * q + p * q * q + q * q * q)
        }
    };
    let after_mean = match new {
        Some(new) => new.mean_of(after_cubed),
        None if plain => after_cubed(0.0),
        None => old.mean_of(after_cubed),
    };
    Ground {
        section_mm2: (taken - gone).max(0.0),
        thinning_mm2,
        behind_edge_mm,
        bevel_face_mm,
        stiffness_pct: 100.0 * after_mean / before_cubed,
        past_spine,
        thinning_fails,
        ends_on_old_bevel,
        before: outline(&face, 0.0, top),
        after: match thinned {
            None => outline(&cut, apex, top),
            Some((thin, rise)) => {
                let n = thin.n(0.0);
                let foot = apex + n / thin.tangent;
                let mut profile = Profile::new();
                profile.push(Piece::line(apex, 0.0, foot, n));
                let end = face.b + face.k * (apex + rise);
                profile.push(Piece::line(foot, n, apex + rise, end));
                profile.push(Piece::line(apex + rise, end, top, face.b + face.k * top));
                profile
            }
        },
    }
}

/// The section at a tooth tip at `e`.
fn outline(wedge: &Wedge, e: f64, top: f64) -> Profile {
    let n = wedge.n(e);
    let foot = e + n / wedge.tangent;
    let mut profile = Profile::new();
    if foot > top {
        profile.push(Piece::line(e, 0.0, top, wedge.tangent * (top - e)));
        return profile;
    }
    profile.push(Piece::line(e, 0.0, foot, n));
    profile.push(Piece::line(foot, n, top, wedge.b + wedge.k * top));
    profile
}

/// Thickness where the new bevel ends at a tooth tip that stood on an old tip.
fn tip_thickness(face: &Wedge, cut: &Wedge, apex: f64) -> f64 {
    let on_face = cut.n(apex);
    if cut.tangent > face.tangent {
        on_face.min(apex * face.tangent * cut.tangent / (cut.tangent - face.tangent))
    } else {
        on_face
    }
}

/// True when a steeper new bevel ends on the old one somewhere along the edge.
fn ends_on_old_bevel(
    knife: &Knife<'_>,
    face: &Wedge,
    cut: &Wedge,
    old: &Pattern,
    new: Option<&Pattern>,
    apex: f64,
) -> bool {
    if knife.theta_new <= knife.theta {
        return false;
    }
    // Least lift over the edge: e_new is 0 at its tips, so apex - depth bounds it from below wherever they fall.
    let least = if new.is_some() { (apex - old.depth()).max(0.0) } else { apex };
    let x = least * face.tangent * cut.tangent / (cut.tangent - face.tangent);
    x < face.n(old.depth())
}

fn in_closed_form(
    face: &Wedge,
    cut: &Wedge,
    old: &Pattern,
    new: Option<&Pattern>,
    apex: f64,
    (from, to, s): (f64, f64, f64),
) -> f64 {
    let width = to - from;
    let (old1, old2) = old.integrals(from, to);
    let (new1, new2) = new.map_or((0.0, 0.0), |new| new.integrals(from - s, to - s));
    let (a0, a1, a2) = face.under();
    let (b0, b1, b2) = cut.under();
    // ∫ E and ∫ E² with E = apex + e_new.
    let (lift1, lift2) = (apex * width + new1, apex * apex * width + 2.0 * apex * new1 + new2);
    (b0 - a0) * width + b1 * lift1 + b2 * lift2 - a1 * old1 - a2 * old2
}

/// As the closed form, where part of the new bevel ends on the old one (the triangle between them instead) or at the spine.
fn by_quadrature(
    face: &Wedge,
    cut: &Wedge,
    old: &Pattern,
    new: Option<&Pattern>,
    apex: f64,
    top: f64,
    (from, to, s): (f64, f64, f64),
) -> f64 {
    // Thickness at which the two bevels cross, less the thickness where the old one ends: negative where the new one ends on the old.
    let short = |x: f64| {
        let (e, lifted) = (old.e(x), apex + new.map_or(0.0, |new| new.e(x - s)));
        let lift = (lifted - e).max(0.0);
        let beyond = if cut.tangent > face.tangent {
            lift * face.tangent * cut.tangent / (cut.tangent - face.tangent) - face.n(e)
        } else {
            1.0
        };
        (e, lifted, lift, beyond)
    };
    let area = |x: f64| {
        let (e, lifted, lift, beyond) = short(x);
        let crossing = beyond + face.n(e);
        // Bevels that would cross above the spine do not cross on the blade.
        if beyond < 0.0 && e + crossing / face.tangent <= top {
            0.5 * lift * crossing
        } else {
            face.metal(e, top) - cut.metal(lifted, top)
        }
    };
    let mut breaks = vec![from, to];
    old.kinks(0.0, from, to, &mut breaks);
    if let Some(new) = new {
        new.kinks(s, from, to, &mut breaks);
    }
    breaks.sort_unstable_by(f64::total_cmp);
    let mut sum = 0.0;
    for pair in breaks.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let (at_a, at_b) = (short(a).3, short(b).3);
        let mut middle = 0.5 * (a + b);
        if (at_a < 0.0) != (at_b < 0.0) {
            let (mut lo, mut hi) = (a, b);
            for _ in 0..60 {
                middle = 0.5 * (lo + hi);
                if (short(middle).3 < 0.0) == (at_a < 0.0) { lo = middle } else { hi = middle }
            }
        }
        sum += gauss_panels(a, middle, 2, area) + gauss_panels(middle, b, 2, area);
    }
    sum
}

/// Mean area flats on the tips have already taken: below today's tip line, outside the back, under the bevel.
fn gone_from_tips(knife: &Knife<'_>, face: &Wedge, old: &Pattern) -> f64 {
    if knife.worn != Worn::TipFlats {
        return 0.0;
    }
    let line = knife.lambda;
    let missing = |e: f64| {
        let high = (line - e).max(0.0);
        let n = face.n(e);
        let foot = n / face.tangent;
        if high <= foot {
            0.5 * face.tangent * high * high
        } else {
            let (p, q) = (n, face.b + face.k * line);
            0.5 * n * foot + 0.5 * (p + q) * (high - foot)
        }
    };
    let mut sum = 0.0;
    for tooth in old.teeth() {
        let reach = tooth.x_at(line);
        // The law changes where the flat is as high as the bevel.
        let kink = tooth.x_at((line * (face.tangent - face.k) - face.b) / face.tangent).min(reach);
        sum += 2.0 * gauss_panels(0.0, kink, 2, |x| missing(tooth.e(x)));
        sum += 2.0 * gauss_panels(kink, reach, 2, |x| missing(tooth.e(x)));
    }
    sum / old.period()
}

/// The blade above today's local edge, for chips: there the edge lies `e` above the tooth-tip line.
pub(crate) struct AboveEdge {
    face: Wedge,
    e: f64,
    /// How far today's edge lies above the unworn one here.
    worn: f64,
    kinks: [f64; 1],
}

impl AboveEdge {
    pub(crate) fn new(knife: &Knife<'_>, e: f64) -> Self {
        let face =
            Wedge { b: knife.request.blade.behind_edge_mm, k: knife.growth(), tangent: tan(knife.theta) };
        let worn = if knife.worn == Worn::TipFlats { (knife.lambda - e).max(0.0) } else { knife.lambda };
        Self { face, e, worn, kinks: [face.n(e) / face.tangent - worn] }
    }
}

impl AboveEdge {
    /// Area of a column `depth` high standing on today's edge.
    pub(crate) fn column(&self, depth: f64) -> f64 {
        let face = &self.face;
        let bevel = self.kinks[0].clamp(0.0, depth);
        let base = face.b + face.k * (self.e + self.worn);
        face.tangent * bevel * (self.worn + 0.5 * bevel)
            + (depth - bevel) * (base + 0.5 * face.k * (depth + bevel))
    }
}

impl Above for AboveEdge {
    fn kinks(&self) -> &[f64] {
        &self.kinks
    }

    fn thickness(&self, y: f64) -> f64 {
        let height = self.worn + y;
        (self.face.tangent * height).min(self.face.b + self.face.k * (self.e + height))
    }
}

//! Double and single bevels: the new V clipped out of today's section.
//!
//! All figures of a double bevel are those of one side, doubled at the end. With the same angle this is the closed
//! form A = b·h/2 + (b + b')/2·(y - h) - b'(y - Δᵥ)/2 less what is already worn away; a new angle, a hollow or a
//! convex primary only change where the cut comes out.

use crate::checked::{Knife, Worn};
use crate::chips::Above;
use crate::ground::Ground;
use crate::impossible::Impossible;
use crate::num::{cos, cot, gauss_panels, tan};
use crate::profile::{Cut, Piece, Profile, Shape};
use crate::request::EdgeKind;

/// Grinds the new bevel with its apex `delta` above today's edge.
pub(crate) fn grind(knife: &Knife<'_>, delta: f64) -> Result<Ground, Impossible> {
    let before = knife.profile()?;
    let sides = knife.sides();
    let top = before.top();
    let apex = knife.lambda + delta;
    let bevel = before.pieces()[0];
    // The same angle is the same slope to the last bit, so that a flush cut is seen as flush.
    let slope = if knife.theta_new == knife.theta { bevel.slope(0.0) } else { tan(knife.theta_new) };
    let cut = Cut { apex, slope };
    let crossing = before.crossing(cut, apex);
    let out = crossing.unwrap_or(top);
    let x_out = cut.x(out);
    let taken = before.area(0.0, out) - 0.5 * x_out * (out - apex) - already_gone(knife) / sides;
    let ends_on_old_bevel = out < bevel.y1 * (1.0 - 1e-12) && crossing.is_some();
    let mut behind_edge_mm =
        if ends_on_old_bevel { knife.request.blade.behind_edge_mm } else { sides * x_out };
    let mut bevel_face_mm = (out - apex) / cos(knife.theta_new);

    let mut after = Profile::new();
    let mut thinning = 0.0;
    let mut thinning_fails = false;
    let wanted = knife.request.target.behind_edge_mm.filter(|wanted| behind_edge_mm > wanted * (1.0 + 1e-12));
    let thinned = wanted.and_then(|wanted| {
        let found = thin(knife, &before, cut, out, wanted / sides);
        thinning_fails = found.is_none();
        found
    });
    if let Some(thinned) = thinned {
        thinning = thinned.area;
        after = thinned.after;
        behind_edge_mm = wanted.unwrap_or(behind_edge_mm);
        bevel_face_mm = bevel_face_mm.min(thinned.bevel_top / cos(knife.theta_new));
    } else {
        after.push(Piece { y0: apex, y1: out, shape: Shape::Line { x0: 0.0, slope } });
        before.copy_range(out, top, &mut after);
    }
    let stiffness_pct = 100.0 * after.cube(apex, top) / before.cube(knife.lambda, top);
    Ok(Ground {
        section_mm2: (sides * taken).max(0.0),
        thinning_mm2: sides * thinning,
        behind_edge_mm,
        bevel_face_mm,
        stiffness_pct,
        past_spine: crossing.is_none(),
        thinning_fails,
        ends_on_old_bevel,
        before,
        after,
    })
}

/// Area of the whole section that wear has already taken from the tip of the virtual wedge.
pub(crate) fn already_gone(knife: &Knife<'_>) -> f64 {
    let half_turn = core::f64::consts::FRAC_PI_2;
    match (knife.worn, knife.kind) {
        (Worn::Land { width }, EdgeKind::Double) => 0.25 * width * width * cot(knife.theta),
        (Worn::Land { width }, _) => 0.5 * width * width * cot(knife.theta),
        (Worn::Round { radius }, EdgeKind::Double) => {
            radius * radius * (cot(knife.theta) - (half_turn - knife.theta))
        }
        (Worn::Round { radius }, _) => {
            let half = 0.5 * knife.theta;
            radius * radius * (cot(half) - (half_turn - half))
        }
        (Worn::TipFlats, _) => 0.0,
    }
}

struct Thinned {
    area: f64,
    after: Profile,
    /// Where the bevel now ends, above the new apex.
    bevel_top: f64,
}

/// Thins to half thickness `b` where the bevel ends, straight up to the old face. `None` when it no longer fits: the face
/// would end above the spine, or stand as steep as the bevel.
fn thin(knife: &Knife<'_>, before: &Profile, cut: Cut, out: f64, b: f64) -> Option<Thinned> {
    let rise = knife.request.target.thin_to_mm.unwrap_or(THIN_TO_MM);
    let foot = cut.apex + b / cut.slope;
    let end = cut.apex + rise;
    let top = before.top();
    if end > top * (1.0 + 1e-12) || foot >= end {
        return None;
    }
    let end = end.min(top);
    let x_end = before.x(end);
    let slope = (x_end - b) / (end - foot);
    if slope >= cut.slope || slope <= 0.0 {
        return None;
    }
    let face = Cut { apex: foot - b / slope, slope };
    // The face as the bevel leaves it.
    let mut bevelled = Profile::new();
    bevelled.push(Piece { y0: cut.apex, y1: out, shape: Shape::Line { x0: 0.0, slope: cut.slope } });
    before.copy_range(out, top, &mut bevelled);
    // Where the thinned face goes in (at its foot, unless a steeper bevel ended below it) and comes out.
    let start = if out >= foot { foot } else { entry(&bevelled, face, foot, end)? };
    let finish = bevelled.crossing_after(face, start, end);
    let under = 0.5 * (face.x(start) + face.x(finish)) * (finish - start);
    let area = (bevelled.area(start, finish) - under).max(0.0);
    let mut after = Profile::new();
    bevelled.copy_range(cut.apex, start, &mut after);
    after.push(Piece { y0: start, y1: finish, shape: Shape::Line { x0: face.x(start), slope } });
    before.copy_range(finish, top, &mut after);
    Some(Thinned { area, after, bevel_top: start.min(out) - cut.apex })
}

/// Where a face that starts outside the blade meets it, going up.
fn entry(profile: &Profile, face: Cut, from: f64, to: f64) -> Option<f64> {
    const RUNGS: u32 = 256;
    let gap = |y: f64| profile.x(y) - face.x(y);
    let (mut lo, mut hi) = (from, to);
    // The first place on a fine ladder where metal stands outside the face, then bisection.
    let step = (to - from) / f64::from(RUNGS);
    let rung = (1..RUNGS).map(|i| from + step * f64::from(i)).find(|y| gap(*y) > 0.0)?;
    lo = lo.max(rung - step);
    hi = hi.min(rung);
    for _ in 0..60 {
        let mid = 0.5 * (lo + hi);
        if gap(mid) > 0.0 { hi = mid } else { lo = mid }
    }
    Some(hi)
}

/// How far up a thinned face runs when nothing else is said, mm above the new apex.
pub(crate) const THIN_TO_MM: f64 = 12.0;

/// How far the apex may climb above today's edge before thinning no longer fits.
pub(crate) fn thinning_room(knife: &Knife<'_>, before: &Profile) -> f64 {
    let rise = knife.request.target.thin_to_mm.unwrap_or(THIN_TO_MM);
    let slope = tan(knife.theta_new);
    let room = before.top() - rise - knife.lambda;
    // The face must also stay flatter than the bevel: half thickness at its end under tan θ'·rise.
    let steep = |climb: f64| before.x((knife.lambda + climb + rise).min(before.top())) >= slope * rise;
    if room <= 0.0 || !steep(room) {
        return room;
    }
    let (mut lo, mut hi) = (-knife.lambda, room);
    if steep(lo) {
        return lo;
    }
    for _ in 0..60 {
        let mid = 0.5 * (lo + hi);
        if steep(mid) { hi = mid } else { lo = mid }
    }
    lo
}

/// The blade above today's worn edge, for chips.
pub(crate) struct AboveEdge<'a> {
    profile: &'a Profile,
    sides: f64,
    lambda: f64,
    /// A double bevel's rounding: its radius and how far up it reaches.
    round: Option<(f64, f64)>,
    kinks: [f64; 4],
}

impl<'a> AboveEdge<'a> {
    pub(crate) fn new(knife: &Knife<'_>, profile: &'a Profile) -> Self {
        let round = match (knife.worn, knife.kind) {
            (Worn::Round { radius }, EdgeKind::Double) => {
                Some((radius, radius * (1.0 - crate::num::sin(knife.theta))))
            }
            _ => None,
        };
        let mut kinks = [f64::INFINITY; 4];
        for (kink, piece) in kinks.iter_mut().zip(profile.pieces()) {
            *kink = piece.y1 - knife.lambda;
        }
        kinks[3] = round.map_or(f64::INFINITY, |(_, reach)| reach);
        kinks.sort_unstable_by(f64::total_cmp);
        Self { profile, sides: knife.sides(), lambda: knife.lambda, round, kinks }
    }
}

impl Above for AboveEdge<'_> {
    fn kinks(&self) -> &[f64] {
        &self.kinks
    }

    fn thickness(&self, y: f64) -> f64 {
        match self.round {
            Some((radius, reach)) if y < reach => 2.0 * crate::num::sqrt((y * (2.0 * radius - y)).max(0.0)),
            _ => self.sides * self.profile.x(self.lambda + y),
        }
    }
}

/// Metal redrawing a missing tip takes beside what the new bevel takes, mm³.
///
/// The point keeps its shape and moves back by the length lost `m`. From the spine, its back edge falls to the point at
/// 45°; so at height y above the edge a strip min(m, y) wide goes, of what the new bevel leaves. From the edge (keep the
/// belly), the same strip hangs from the spine instead. The 45° are a convention: the true line is drawn at the bench.
pub(crate) fn tip_volume(
    ground: &Ground,
    delta: f64,
    lambda: f64,
    sides: f64,
    lost: f64,
    keep_belly: bool,
) -> f64 {
    if lost <= 0.0 {
        return 0.0;
    }
    let (apex, top) = (lambda + delta, ground.after.top());
    if apex >= top {
        return 0.0;
    }
    let edge = lambda;
    let strip = |y: f64| {
        if keep_belly { lost.min(top - y) } else { lost.min(y - edge) }
    };
    let mut breaks = [apex, top, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];
    let mut n = 2;
    let kink = if keep_belly { top - lost } else { edge + lost };
    for y in ground.after.pieces().iter().map(|piece| piece.y1).chain([kink]) {
        if y > apex && y < top && n < breaks.len() {
            breaks[n] = y;
            n += 1;
        }
    }
    let breaks = &mut breaks[..n];
    breaks.sort_unstable_by(f64::total_cmp);
    sides
        * breaks
            .windows(2)
            .map(|pair| gauss_panels(pair[0], pair[1], 1, |y| strip(y) * ground.after.x(y)))
            .sum::<f64>()
}

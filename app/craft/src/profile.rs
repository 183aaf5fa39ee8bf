//! One side of a blade's cross-section: how far the face stands from the middle plane (double bevel) or from the
//! flat back, as a function of height, in straight pieces and one circular arc.
//!
//! Heights run up from the virtual apex, the point where today's bevels would meet if nothing were worn.

use crate::num::{asin, cos, gauss, sin, sqrt};

/// A piece of a face between two heights.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Piece {
    pub(crate) y0: f64,
    pub(crate) y1: f64,
    pub(crate) shape: Shape,
}

/// Straight, or an arc bulging out (convex) or in (hollow).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Shape {
    /// x = x0 + slope·(y - y0).
    Line {
        x0: f64,
        slope: f64,
    },
    Arc(Arc),
}

/// An arc as a function of height. `turn` is +1 when its centre lies inside the blade (convex), -1 outside (hollow).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Arc {
    centre_x: f64,
    centre_y: f64,
    radius: f64,
    turn: f64,
    /// One point on it: x is computed from here, so that a radius of metres does not eat the
    /// digits of a face of millimetres.
    x0: f64,
    angle0: f64,
}

/// A straight cut: x = slope·(y - apex).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Cut {
    pub(crate) apex: f64,
    pub(crate) slope: f64,
}

impl Cut {
    pub(crate) fn x(&self, y: f64) -> f64 {
        self.slope * (y - self.apex)
    }
}

impl Arc {
    /// The arc of `radius` from (x0, y0) up to (x1, y1). `None` when the radius is under the half chord.
    pub(crate) fn through(x0: f64, y0: f64, x1: f64, y1: f64, radius: f64, turn: f64) -> Option<Self> {
        let (dx, dy) = (x1 - x0, y1 - y0);
        let chord_squared = dx * dx + dy * dy;
        let chord = sqrt(chord_squared);
        let apothem_squared = radius * radius - 0.25 * chord_squared;
        if apothem_squared < 0.0 || chord == 0.0 {
            return None;
        }
        let apothem = sqrt(apothem_squared);
        // The chord's normal pointing into the blade is (-dy, dx)/chord.
        let centre_x = 0.5 * (x0 + x1) - turn * apothem * dy / chord;
        let centre_y = 0.5 * (y0 + y1) + turn * apothem * dx / chord;
        let angle0 = asin(((y0 - centre_y) / radius).clamp(-1.0, 1.0));
        Some(Self { centre_x, centre_y, radius, turn, x0, angle0 })
    }

    fn angle(&self, y: f64) -> f64 {
        asin(((y - self.centre_y) / self.radius).clamp(-1.0, 1.0))
    }

    fn x_at_angle(&self, angle: f64) -> f64 {
        self.x0
            - self.turn
                * 2.0
                * self.radius
                * sin(0.5 * (angle + self.angle0))
                * sin(0.5 * (angle - self.angle0))
    }

    fn x(&self, y: f64) -> f64 {
        self.x_at_angle(self.angle(y))
    }

    fn slope(&self, y: f64) -> f64 {
        let angle = self.angle(y);
        -self.turn * sin(angle) / cos(angle)
    }
}

impl Piece {
    pub(crate) fn line(y0: f64, x0: f64, y1: f64, x1: f64) -> Self {
        let slope = if y1 > y0 { (x1 - x0) / (y1 - y0) } else { 0.0 };
        Self { y0, y1, shape: Shape::Line { x0, slope } }
    }

    pub(crate) fn x(&self, y: f64) -> f64 {
        match self.shape {
            Shape::Line { x0, slope } => x0 + slope * (y - self.y0),
            Shape::Arc(arc) => arc.x(y),
        }
    }

    pub(crate) fn slope(&self, y: f64) -> f64 {
        match self.shape {
            Shape::Line { slope, .. } => slope,
            Shape::Arc(arc) => arc.slope(y),
        }
    }

    /// ∫ x dy over [a, b] inside the piece.
    fn area(&self, a: f64, b: f64) -> f64 {
        match self.shape {
            Shape::Line { .. } => 0.5 * (self.x(a) + self.x(b)) * (b - a),
            Shape::Arc(arc) => arc.integrate(a, b, |x| x),
        }
    }

    /// ∫ x³ dy over [a, b] inside the piece.
    fn cube(&self, a: f64, b: f64) -> f64 {
        match self.shape {
            Shape::Line { .. } => {
                let (p, q) = (self.x(a), self.x(b));
                0.25 * (b - a) * (p * p * p + p * p * q + p * q * q + q * q * q)
            }
            Shape::Arc(arc) => arc.integrate(a, b, |x| x * x * x),
        }
    }

    /// First height in [from, y1] where the face no longer lies outside the cut.
    fn crossing(&self, cut: Cut, from: f64) -> Option<f64> {
        let from = from.max(self.y0);
        if from > self.y1 {
            return None;
        }
        match self.shape {
            Shape::Line { x0, slope } => {
                let closing = cut.slope - slope;
                let gap = x0 + slope * (from - self.y0) - cut.x(from);
                // Flush with the face or starting on it and leading inward: it comes out higher up.
                if closing <= 0.0 {
                    return if gap < 0.0 { Some(from) } else { None };
                }
                if gap <= 0.0 {
                    return Some(from);
                }
                let y = from + gap / closing;
                (y <= self.y1).then_some(y)
            }
            Shape::Arc(arc) => arc.crossing(cut, from, self.y1),
        }
    }
}

impl Arc {
    fn integrate(&self, a: f64, b: f64, f: impl Fn(f64) -> f64) -> f64 {
        // In the angle the integrand is entire, so one Gauss panel holds for the flat arcs of a blade; two are free insurance.
        let (from, to) = (self.angle(a), self.angle(b));
        let mid = 0.5 * (from + to);
        let mut g = |angle: f64| f(self.x_at_angle(angle)) * self.radius * cos(angle);
        gauss(from, mid, &mut g) + gauss(mid, to, &mut g)
    }

    fn crossing(&self, cut: Cut, from: f64, to: f64) -> Option<f64> {
        let gap = |y: f64| self.x(y) - cut.x(y);
        if gap(from) <= 0.0 {
            return Some(from);
        }
        // Where the gap is least: for a convex face the gap is concave, so it can only end at `to`; for a hollow one it is
        // convex, least where the slopes agree, and may open again above.
        let mut upper = to;
        if self.turn < 0.0 {
            // slope = tan(angle) = cut.slope at:
            let y = self.centre_y + self.radius * cut.slope / sqrt(1.0 + cut.slope * cut.slope);
            upper = y.clamp(from, to);
        }
        if gap(upper) > 0.0 {
            return None;
        }
        // Newton from the upper end, guarded by bisection; the gap changes sign once in [from, upper].
        let (mut lo, mut hi) = (from, upper);
        let mut y = 0.5 * (lo + hi);
        for _ in 0..80 {
            let g = gap(y);
            if g > 0.0 {
                lo = y;
            } else {
                hi = y;
            }
            let slope = self.slope(y) - cut.slope;
            let newton = y - g / slope;
            let next = if newton > lo && newton < hi { newton } else { 0.5 * (lo + hi) };
            if (next - y).abs() <= 1e-15 * (1.0 + y.abs()) {
                return Some(next);
            }
            y = next;
        }
        Some(y)
    }
}

/// A whole side, heel of the wedge to spine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Profile {
    pieces: [Piece; Self::MOST],
    n: usize,
}

impl Profile {
    /// Bevel, thinned face, old bevel, primary, parallel part: never more than this.
    const MOST: usize = 6;

    pub(crate) fn new() -> Self {
        Self { pieces: [Piece::line(0.0, 0.0, 0.0, 0.0); Self::MOST], n: 0 }
    }

    /// Adds a piece on top; an empty one is left out.
    pub(crate) fn push(&mut self, piece: Piece) {
        if piece.y1 > piece.y0 && self.n < Self::MOST {
            self.pieces[self.n] = piece;
            self.n += 1;
        }
    }

    pub(crate) fn pieces(&self) -> &[Piece] {
        &self.pieces[..self.n]
    }

    pub(crate) fn top(&self) -> f64 {
        self.pieces().last().map_or(0.0, |piece| piece.y1)
    }

    pub(crate) fn bottom(&self) -> f64 {
        self.pieces().first().map_or(0.0, |piece| piece.y0)
    }

    /// Distance of the face at a height; 0 below, the last value above.
    pub(crate) fn x(&self, y: f64) -> f64 {
        for piece in self.pieces() {
            if y <= piece.y1 {
                return if y < piece.y0 { 0.0 } else { piece.x(y) };
            }
        }
        self.pieces().last().map_or(0.0, |piece| piece.x(piece.y1))
    }

    fn sum(&self, a: f64, b: f64, f: impl Fn(&Piece, f64, f64) -> f64) -> f64 {
        self.pieces()
            .iter()
            .map(|piece| {
                let (from, to) = (a.max(piece.y0), b.min(piece.y1));
                if to > from { f(piece, from, to) } else { 0.0 }
            })
            .sum()
    }

    /// ∫ x dy.
    pub(crate) fn area(&self, a: f64, b: f64) -> f64 {
        self.sum(a, b, Piece::area)
    }

    /// ∫ x³ dy.
    pub(crate) fn cube(&self, a: f64, b: f64) -> f64 {
        self.sum(a, b, Piece::cube)
    }

    /// First height from `from` upward where the cut comes out of the face; `None` when it stays inside up to the spine.
    pub(crate) fn crossing(&self, cut: Cut, from: f64) -> Option<f64> {
        self.pieces().iter().find_map(|piece| piece.crossing(cut, from))
    }

    /// First height above `start` where a flatter cut comes out of the face again, or `end`. `start` itself lies on the cut.
    pub(crate) fn crossing_after(&self, cut: Cut, start: f64, end: f64) -> f64 {
        let hair = 1e-9 * (end - start);
        self.crossing(cut, start + hair).map_or(end, |y| y.min(end))
    }

    /// Copies the pieces between two heights on top of `onto`.
    pub(crate) fn copy_range(&self, a: f64, b: f64, onto: &mut Self) {
        for piece in self.pieces() {
            let (from, to) = (a.max(piece.y0), b.min(piece.y1));
            if to > from {
                let shape = match piece.shape {
                    Shape::Line { slope, .. } => Shape::Line { x0: piece.x(from), slope },
                    arc @ Shape::Arc(_) => arc,
                };
                onto.push(Piece { y0: from, y1: to, shape });
            }
        }
    }
}

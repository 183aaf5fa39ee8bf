//! Edges that are not straight, and blades that change from heel to tip.

use serde::{Deserialize, Serialize};

use crate::estimate::estimate;
use crate::impossible::Impossible;
use crate::num::{gauss_panels, sqrt};
use crate::rates::Rates;
use crate::request::{More, Request};

/// A smooth curve through measured points: the natural cubic spline, y of x.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeLine {
    x: Vec<f64>,
    y: Vec<f64>,
    /// Second derivatives at the points.
    bend: Vec<f64>,
}

impl EdgeLine {
    /// Through these points (mm from the heel, mm up from the heel's level).
    ///
    /// # Errors
    /// Fewer than two points, points that are not finite, or that do not run from heel to tip.
    pub fn through(points: &[(f64, f64)]) -> Result<Self, Impossible> {
        rising(points, "edge_line")?;
        let n = points.len();
        let (x, y): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
        // Thomas' algorithm on the natural spline's tridiagonal equations.
        let mut bend = vec![0.0; n];
        let mut upper = vec![0.0; n];
        for i in 1..n - 1 {
            let (before, after) = (x[i] - x[i - 1], x[i + 1] - x[i]);
            let share = before / (before + after);
            let pivot = share * upper[i - 1] + 2.0;
            upper[i] = (share - 1.0) / pivot;
            let turn = (y[i + 1] - y[i]) / after - (y[i] - y[i - 1]) / before;
            bend[i] = (6.0 * turn / (before + after) - share * bend[i - 1]) / pivot;
        }
        for i in (1..n.saturating_sub(1)).rev() {
            bend[i] += upper[i] * bend[i + 1];
        }
        Ok(Self { x, y, bend })
    }

    fn piece(&self, x: f64) -> usize {
        self.x.partition_point(|known| *known <= x).clamp(1, self.x.len() - 1) - 1
    }

    /// Height of the edge at `x`.
    pub fn y(&self, x: f64) -> f64 {
        let i = self.piece(x);
        let width = self.x[i + 1] - self.x[i];
        let (a, b) = ((self.x[i + 1] - x) / width, (x - self.x[i]) / width);
        a * self.y[i]
            + b * self.y[i + 1]
            + ((a * a * a - a) * self.bend[i] + (b * b * b - b) * self.bend[i + 1]) * width * width / 6.0
    }

    /// Slope at `x`.
    pub fn slope(&self, x: f64) -> f64 {
        let i = self.piece(x);
        let width = self.x[i + 1] - self.x[i];
        let (a, b) = ((self.x[i + 1] - x) / width, (x - self.x[i]) / width);
        (self.y[i + 1] - self.y[i]) / width
            + (-(3.0 * a * a - 1.0) * self.bend[i] + (3.0 * b * b - 1.0) * self.bend[i + 1]) * width / 6.0
    }

    /// True length of the edge, mm: ∫ √(1 + y'²) dx, to about 1e-9 of itself.
    pub fn arc_length_mm(&self) -> f64 {
        self.length_to_mm(f64::INFINITY)
    }

    /// The same from the heel as far as `end` mm along.
    pub fn length_to_mm(&self, end: f64) -> f64 {
        self.x
            .windows(2)
            .filter(|pair| pair[0] < end)
            .map(|pair| {
                gauss_panels(pair[0], pair[1].min(end), 4, |x| {
                    let slope = self.slope(x);
                    sqrt(1.0 + slope * slope)
                })
            })
            .sum()
    }

    /// Least radius of curvature, mm, read at the points and between them; infinite for a straight edge.
    pub fn least_radius_mm(&self) -> f64 {
        let mut least = f64::INFINITY;
        for (i, pair) in self.x.windows(2).enumerate() {
            for k in 0..=8 {
                let share = f64::from(k) / 8.0;
                let x = pair[0] + share * (pair[1] - pair[0]);
                let bend = (1.0 - share) * self.bend[i] + share * self.bend[i + 1];
                let slope = self.slope(x);
                let stretched = 1.0 + slope * slope;
                least = least.min(stretched * sqrt(stretched) / bend.abs().max(1e-300));
            }
        }
        if least > 1e12 { f64::INFINITY } else { least }
    }
}

/// Two places closer together than this are one place to any rule.
const LEAST_STEP_MM: f64 = 0.01;

fn rising(points: &[(f64, f64)], at: &str) -> Result<(), Impossible> {
    if points.len() < 2 {
        return Err(Impossible::new(at, "a line needs at least two points"));
    }
    if points.iter().any(|(x, y)| !x.is_finite() || !y.is_finite() || x.abs() > 1e5 || y.abs() > 1e5) {
        return Err(Impossible::new(at, "every point needs two figures in mm"));
    }
    match points.windows(2).position(|pair| pair[1].0 < pair[0].0 + LEAST_STEP_MM) {
        Some(i) => Err(Impossible::new(
            format!("{at}[{}]", i + 1),
            format!(
                "{} mm does not come at least {LEAST_STEP_MM} mm after {} mm on the way from heel to tip",
                points[i + 1].0,
                points[i].0
            ),
        )),
        None => Ok(()),
    }
}

/// A figure measured at a few stations, monotone between them (Fritsch & Carlson 1980), constant beyond.
#[derive(Debug, Clone, PartialEq)]
pub struct Along {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

impl Along {
    /// Through these points (mm from the heel, the figure there).
    ///
    /// # Errors
    /// As [`EdgeLine::through`].
    pub fn through(points: &[(f64, f64)]) -> Result<Self, Impossible> {
        rising(points, "stations")?;
        let (x, y): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
        let n = x.len();
        let secant: Vec<f64> = (0..n - 1).map(|i| (y[i + 1] - y[i]) / (x[i + 1] - x[i])).collect();
        let mut slope: Vec<f64> = (0..n)
            .map(|i| match i {
                0 => secant[0],
                i if i == n - 1 => secant[n - 2],
                i if secant[i - 1] * secant[i] <= 0.0 => 0.0,
                i => 0.5 * (secant[i - 1] + secant[i]),
            })
            .collect();
        for i in 0..n - 1 {
            if secant[i] == 0.0 {
                (slope[i], slope[i + 1]) = (0.0, 0.0);
                continue;
            }
            let (a, b) = (slope[i] / secant[i], slope[i + 1] / secant[i]);
            let length = a * a + b * b;
            if length > 9.0 {
                let shrink = 3.0 / sqrt(length);
                slope[i] = shrink * a * secant[i];
                slope[i + 1] = shrink * b * secant[i];
            }
        }
        Ok(Self { x, y, slope })
    }

    /// The figure at `x`.
    pub fn at(&self, x: f64) -> f64 {
        let last = self.x.len() - 1;
        if x <= self.x[0] {
            return self.y[0];
        }
        if x >= self.x[last] {
            return self.y[last];
        }
        let i = self.x.partition_point(|known| *known <= x) - 1;
        let width = self.x[i + 1] - self.x[i];
        let t = (x - self.x[i]) / width;
        let (t2, t3) = (t * t, t * t * t);
        (2.0 * t3 - 3.0 * t2 + 1.0) * self.y[i]
            + (t3 - 2.0 * t2 + t) * width * self.slope[i]
            + (3.0 * t2 - 2.0 * t3) * self.y[i + 1]
            + (t3 - t2) * width * self.slope[i + 1]
    }

    /// Least figure at any station: what a waving hardness line allows.
    pub fn least(&self) -> f64 {
        self.y.iter().copied().fold(f64::INFINITY, f64::min)
    }
}

/// What was measured at one place along the blade.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Station {
    /// From the heel.
    pub at_mm: f64,
    /// Height there.
    pub height_mm: f64,
    /// Thickness behind the edge there.
    pub behind_edge_mm: f64,
    /// Spine thickness there.
    pub spine_mm: f64,
    /// Where the hardness begins to fall there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line_mm: Option<f64>,
}

/// The usual three places: heel + 20 mm, the middle, tip - 40 mm. Closer together on short blades.
pub fn usual_stations(length_mm: f64) -> [f64; 3] {
    if length_mm >= 90.0 {
        [20.0, 0.5 * length_mm, length_mm - 40.0]
    } else {
        [0.2 * length_mm, 0.5 * length_mm, 0.7 * length_mm]
    }
}

/// A blade integrated along its edge.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AlongTheBlade {
    /// True length of the edge.
    pub edge_length_mm: f64,
    /// Metal of the bevel, the local section integrated along the edge; chips not deducted.
    pub edge_mm3: f64,
    /// Mean section.
    pub section_mm2: f64,
    /// Least height left anywhere.
    pub least_height_after_mm: f64,
    /// Lowest hardness line, from the stations that have one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lowest_line_mm: Option<f64>,
    /// Least radius of the edge line; `None` when it is straight or was not measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub edge_radius_mm: Option<f64>,
}

/// Integrates the local section of `request` along the edge, its blade's figures replaced by what the stations say.
///
/// # Errors
/// [`Impossible`] for stations out of order or a section that cannot be at some place along the blade.
pub fn along(
    request: &Request,
    stations: &[Station],
    edge_line: Option<&EdgeLine>,
    rates: &Rates,
) -> Result<AlongTheBlade, Impossible> {
    // Without stations the blade is everywhere as the request says; one station alone says the same.
    let whole = &request.blade;
    let everywhere = Station {
        at_mm: 0.0,
        height_mm: whole.height_mm,
        behind_edge_mm: whole.behind_edge_mm,
        spine_mm: whole.spine_mm,
        line_mm: None,
    };
    let figure = |f: fn(&Station) -> f64| match stations {
        [] => Along::through(&[(0.0, f(&everywhere)), (1.0, f(&everywhere))]),
        [only] => Along::through(&[(0.0, f(only)), (1.0, f(only))]),
        stations => {
            Along::through(&stations.iter().map(|station| (station.at_mm, f(station))).collect::<Vec<_>>())
        }
    };
    let (height, behind, spine) =
        (figure(|s| s.height_mm)?, figure(|s| s.behind_edge_mm)?, figure(|s| s.spine_mm)?);
    let lowest_line_mm = stations.iter().filter_map(|station| station.line_mm).reduce(f64::min);
    // Of a missing tip's edge nothing is ground.
    let straight = request.blade.edge_length_mm - request.wear.tip_missing_mm;
    let length = edge_line.map_or(straight, |line| line.length_to_mm(straight));
    let mut local = request.clone();
    local.more = More::default();
    let mut problem = None;
    let mut least = f64::INFINITY;
    let mut section = |x: f64| {
        local.blade.height_mm = height.at(x);
        local.blade.behind_edge_mm = behind.at(x);
        local.blade.spine_mm = spine.at(x);
        local.blade.original_height_mm = None;
        match estimate(&local, rates) {
            Ok(found) => {
                least = least.min(found.height_after_mm);
                found.removed.section_mm2
            }
            Err(no) => {
                problem.get_or_insert(no);
                0.0
            }
        }
    };
    // Stations are places of a monotone cubic: a panel between each two is plenty.
    let mut marks: Vec<f64> =
        stations.iter().map(|station| station.at_mm).filter(|x| *x > 0.0 && *x < straight).collect();
    marks.extend([0.0, straight]);
    marks.sort_unstable_by(f64::total_cmp);
    let sum: f64 = marks.windows(2).map(|pair| gauss_panels(pair[0], pair[1], 1, &mut section)).sum();
    if let Some(no) = problem {
        return Err(no);
    }
    let section_mm2 = sum / straight;
    Ok(AlongTheBlade {
        edge_length_mm: length,
        edge_mm3: section_mm2 * length,
        section_mm2,
        least_height_after_mm: least,
        lowest_line_mm,
        edge_radius_mm: edge_line.map(EdgeLine::least_radius_mm).filter(|radius| radius.is_finite()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_circle_through_a_few_points_has_nearly_its_length_and_radius() {
        // Radius 400 mm over 160 mm, read every 20 mm: arc length 2·400·asin(80/400).
        let points: Vec<(f64, f64)> = (0..=8)
            .map(|i| {
                let x = 20.0 * f64::from(i) - 80.0;
                (x + 80.0, 400.0 - (400.0_f64 * 400.0 - x * x).sqrt())
            })
            .collect();
        let line = EdgeLine::through(&points).unwrap();
        let exact = 800.0 * (80.0_f64 / 400.0).asin();
        assert!((line.arc_length_mm() - exact).abs() < 2e-3, "{} {exact}", line.arc_length_mm());
        for (x, y) in points {
            assert!((line.y(x) - y).abs() < 1e-9);
        }
        assert!(
            line.least_radius_mm() > 300.0 && line.least_radius_mm() < 420.0,
            "{}",
            line.least_radius_mm()
        );
    }

    #[test]
    fn a_straight_edge_is_as_long_as_it_is() {
        let line = EdgeLine::through(&[(0.0, 0.0), (100.0, 0.0), (210.0, 0.0)]).unwrap();
        assert!((line.arc_length_mm() - 210.0).abs() < 1e-9);
        assert_eq!(line.least_radius_mm(), f64::INFINITY);
    }

    #[test]
    fn between_stations_nothing_overshoots() {
        let height = Along::through(&[(20.0, 46.0), (105.0, 45.9), (170.0, 30.0)]).unwrap();
        let mut before = height.at(0.0);
        for i in 1..=210 {
            let here = height.at(f64::from(i));
            assert!(here <= before + 1e-12 && (30.0..=46.0).contains(&here), "{i}: {here}");
            before = here;
        }
    }

    #[test]
    fn points_out_of_order_are_refused_by_name() {
        assert_eq!(
            EdgeLine::through(&[(0.0, 0.0), (50.0, 1.0), (40.0, 2.0)]).unwrap_err().at,
            "edge_line[2]"
        );
    }
}

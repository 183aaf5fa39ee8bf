//! Metal that chips have already taken: triangles on today's edge, their union where they overlap.

use crate::num::{gauss, sort_short};
use crate::request::Chip;

/// Volume missing in chips on teeth, where today's edge rises and falls along the blade: columns of the union, each as high as the
/// deepest chip there. `column(x, d)` is the area of a column d high at x; `kinks` adds the places where the teeth have theirs.
pub(crate) fn volume_on_teeth(
    chips: &[Chip],
    length: f64,
    column: impl Fn(f64, f64) -> f64,
    kinks: impl Fn(f64, f64, &mut Vec<f64>),
) -> f64 {
    let placed: Vec<(f64, Chip)> = chips
        .iter()
        .filter(|chip| chip.depth_mm > 0.0 && chip.width_mm > 0.0)
        .filter_map(|chip| chip.at_mm.map(|at| (at, *chip)))
        .collect();
    let start = placed.iter().map(|(at, chip)| at - 0.5 * chip.width_mm).fold(length, f64::min).max(0.0);
    let end = placed.iter().map(|(at, chip)| at + 0.5 * chip.width_mm).fold(0.0, f64::max).min(length);
    if end <= start {
        return 0.0;
    }
    let mut breaks = vec![start, end];
    // Flanks depth = rise·(x - foot): where they begin, peak, end and cross.
    let mut flanks = Vec::with_capacity(2 * placed.len());
    for (at, chip) in &placed {
        let half = 0.5 * chip.width_mm;
        let rise = chip.depth_mm / half;
        breaks.extend([at - half, *at, at + half]);
        flanks.extend([(at - half, rise), (at + half, -rise)]);
    }
    for (i, a) in flanks.iter().enumerate() {
        for b in &flanks[..i] {
            if a.1 != b.1 {
                breaks.push((a.1 * a.0 - b.1 * b.0) / (a.1 - b.1));
            }
        }
    }
    kinks(start, end, &mut breaks);
    breaks.retain(|x| (start..=end).contains(x));
    breaks.sort_unstable_by(f64::total_cmp);
    let deepest = |x: f64| {
        placed
            .iter()
            .map(|(at, chip)| chip.depth_mm * (1.0 - 2.0 * (x - at).abs() / chip.width_mm))
            .fold(0.0, f64::max)
    };
    breaks
        .windows(2)
        .filter(|pair| pair[1] - pair[0] > 1e-9)
        .map(|pair| crate::num::gauss_panels(pair[0], pair[1], 3, |x| column(x, deepest(x))))
        .sum()
}

/// The blade above today's edge at one place: where its thickness changes its law, and the thickness itself.
pub(crate) trait Above {
    /// Heights above today's edge where the law of the thickness changes, rising.
    fn kinks(&self) -> &[f64];
    /// Thickness `y` above today's edge.
    fn thickness(&self, y: f64) -> f64;
}

/// Volume missing in the chips on an edge of `length` mm, mm³. `above(x)` is the blade above today's edge at `x` from the heel; it is
/// asked once for each cluster of chips, at its deepest.
///
/// A chip of depth d and width w is w(1 - y/d) wide at height y. Where chips overlap the widths' union counts, and what
/// hangs over heel or tip does not. The width is linear between breakpoints, the thickness a line or a flat arc, so a
/// Gauss panel between them is exact.
pub(crate) fn volume<A: Above>(chips: &[Chip], length: f64, above: impl Fn(f64) -> A) -> f64 {
    let mut placed: Vec<(f64, Chip)> = Vec::with_capacity(chips.len());
    let mut total = 0.0;
    for chip in chips {
        if chip.depth_mm <= 0.0 || chip.width_mm <= 0.0 {
            continue;
        }
        match chip.at_mm {
            None => total += alone(chip, &above(0.0)),
            Some(at) if at - 0.5 * chip.width_mm < length => placed.push((at, *chip)),
            Some(_) => {}
        }
    }
    sort_short(&mut placed, |a, b| (a.0 - 0.5 * a.1.width_mm).total_cmp(&(b.0 - 0.5 * b.1.width_mm)));
    let mut rest = placed.as_slice();
    while let Some((first, _)) = rest.split_first() {
        // A cluster: chips whose bases touch.
        let mut end = first.0 + 0.5 * first.1.width_mm;
        let mut n = 1;
        while n < rest.len() && rest[n].0 - 0.5 * rest[n].1.width_mm < end {
            end = end.max(rest[n].0 + 0.5 * rest[n].1.width_mm);
            n += 1;
        }
        let (cluster, others) = rest.split_at(n);
        let inside = first.0 - 0.5 * first.1.width_mm >= 0.0 && end <= length;
        let deepest = cluster.iter().max_by(|a, b| a.1.depth_mm.total_cmp(&b.1.depth_mm)).unwrap_or(first);
        let here = above(deepest.0);
        total += if n == 1 && inside { alone(&first.1, &here) } else { together(cluster, length, &here) };
        rest = others;
    }
    total
}

fn alone(chip: &Chip, above: &impl Above) -> f64 {
    let (depth, width) = (chip.depth_mm, chip.width_mm);
    let f = |y: f64| width * (1.0 - y / depth) * above.thickness(y);
    let mut sum = 0.0;
    let mut from = 0.0;
    for kink in above.kinks().iter().copied().filter(|kink| *kink > 0.0 && *kink < depth).chain([depth]) {
        sum += panel(from, kink, f);
        from = kink;
    }
    sum
}

/// One Gauss panel; from the edge upward in the square root of the height, because a rounded edge begins like √y.
fn panel(a: f64, b: f64, f: impl Fn(f64) -> f64) -> f64 {
    if a > 0.0 { gauss(a, b, f) } else { gauss(0.0, 1.0, |u| 2.0 * b * u * f(b * u * u)) }
}

fn together(cluster: &[(f64, Chip)], length: f64, above: &impl Above) -> f64 {
    let deepest = cluster.iter().map(|(_, chip)| chip.depth_mm).fold(0.0, f64::max);
    let mut breaks = vec![0.0, deepest];
    breaks.extend(above.kinks().iter().copied());
    breaks.extend(cluster.iter().map(|(_, chip)| chip.depth_mm));
    // Flanks x = foot + lean·y, and the two ends of the edge.
    let mut flanks = vec![(0.0, 0.0), (length, 0.0)];
    for (at, chip) in cluster {
        let half = 0.5 * chip.width_mm;
        flanks.push((at - half, half / chip.depth_mm));
        flanks.push((at + half, -half / chip.depth_mm));
    }
    for (i, a) in flanks.iter().enumerate() {
        for b in &flanks[..i] {
            if a.1 != b.1 {
                breaks.push((b.0 - a.0) / (a.1 - b.1));
            }
        }
    }
    breaks.retain(|y| (0.0..=deepest).contains(y));
    breaks.sort_unstable_by(f64::total_cmp);
    breaks.dedup();
    let mut spans = Vec::with_capacity(cluster.len());
    let mut width_at = |y: f64| {
        spans.clear();
        for (at, chip) in cluster {
            let half = 0.5 * chip.width_mm * (1.0 - y / chip.depth_mm);
            let (from, to) = ((at - half).max(0.0), (at + half).min(length));
            if to > from {
                spans.push((from, to));
            }
        }
        sort_short(&mut spans, |a: &(f64, f64), b| a.0.total_cmp(&b.0));
        let (mut sum, mut reached) = (0.0, f64::NEG_INFINITY);
        for (from, to) in &spans {
            sum += (to - from.max(reached)).max(0.0);
            reached = reached.max(*to);
        }
        sum
    };
    let mut sum = 0.0;
    for pair in breaks.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        if b - a < 1e-12 {
            continue;
        }
        // Read the width a little inside, where it is linear, and extend it to the ends.
        let (p, q) = (a + 0.25 * (b - a), a + 0.75 * (b - a));
        let (at_p, at_q) = (width_at(p), width_at(q));
        let lean = (at_q - at_p) / (q - p);
        sum += panel(a, b, |y| (at_p + lean * (y - p)) * above.thickness(y));
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A blade whose thickness is a constant and a share of the height.
    struct Plate(f64, f64);

    impl Above for Plate {
        fn kinks(&self) -> &[f64] {
            &[]
        }

        fn thickness(&self, y: f64) -> f64 {
            self.0 + self.1 * y
        }
    }

    fn chip(at: f64, depth: f64, width: f64) -> Chip {
        Chip { depth_mm: depth, width_mm: width, at_mm: Some(at), leave: false }
    }

    #[test]
    fn one_triangle_in_a_plate_is_half_its_width_times_depth() {
        let got = volume(&[chip(50.0, 0.8, 1.5)], 210.0, |_| Plate(2.0, 0.0));
        assert!((got - 2.0 * 0.5 * 0.8 * 1.5).abs() < 1e-12);
    }

    #[test]
    fn the_same_chip_told_twice_is_one_chip() {
        let once = volume(&[chip(50.0, 0.8, 1.5)], 210.0, |_| Plate(0.0, 1.0));
        let twice = volume(&[chip(50.0, 0.8, 1.5), chip(50.0, 0.8, 1.5)], 210.0, |_| Plate(0.0, 1.0));
        assert!((once - twice).abs() < 1e-12);
    }

    #[test]
    fn two_triangles_that_overlap_by_half_count_their_union() {
        // Bases [0, 2] and [1, 3] on a plate, both 1 deep: union = 2·1 - the little triangle of base 1 and depth 1/2.
        let got = volume(&[chip(11.0, 1.0, 2.0), chip(12.0, 1.0, 2.0)], 210.0, |_| Plate(1.0, 0.0));
        assert!((got - (2.0 - 0.25)).abs() < 1e-12, "{got}");
    }

    #[test]
    fn a_chip_hanging_over_the_heel_counts_only_what_is_on_the_blade() {
        let got = volume(&[chip(0.0, 1.0, 2.0)], 210.0, |_| Plate(1.0, 0.0));
        assert!((got - 0.5).abs() < 1e-12, "{got}");
    }
}

//! Metal that chips have already taken: triangles on today's edge, their union where they overlap.

use crate::num::gauss;
use crate::request::Chip;

/// Volume missing in the chips on an edge of `length` mm, mm³. `thickness(y)` is the blade's thickness y above today's edge;
/// `kinks` are the heights where it changes its law.
///
/// A chip of depth d and width w is w(1 - y/d) wide at height y. Where chips overlap the widths' union counts, and what
/// hangs over heel or tip does not. The width is linear between breakpoints, the thickness a line or a flat arc, so a
/// Gauss panel between them is exact.
pub(crate) fn volume(chips: &[Chip], length: f64, kinks: &[f64], thickness: impl Fn(f64) -> f64) -> f64 {
    let mut placed: Vec<(f64, Chip)> = Vec::with_capacity(chips.len());
    let mut total = 0.0;
    for chip in chips {
        if chip.depth_mm <= 0.0 || chip.width_mm <= 0.0 {
            continue;
        }
        match chip.at_mm {
            None => total += alone(chip, kinks, &thickness),
            Some(at) if at - 0.5 * chip.width_mm < length => placed.push((at, *chip)),
            Some(_) => {}
        }
    }
    placed.sort_by(|a, b| (a.0 - 0.5 * a.1.width_mm).total_cmp(&(b.0 - 0.5 * b.1.width_mm)));
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
        total += if n == 1 && inside {
            alone(&first.1, kinks, &thickness)
        } else {
            together(cluster, length, kinks, &thickness)
        };
        rest = others;
    }
    total
}

fn alone(chip: &Chip, kinks: &[f64], thickness: &impl Fn(f64) -> f64) -> f64 {
    let (depth, width) = (chip.depth_mm, chip.width_mm);
    let f = |y: f64| width * (1.0 - y / depth) * thickness(y);
    let mut sum = 0.0;
    let mut from = 0.0;
    for kink in kinks.iter().copied().filter(|kink| *kink > 0.0 && *kink < depth).chain([depth]) {
        sum += gauss(from, kink, f);
        from = kink;
    }
    sum
}

fn together(cluster: &[(f64, Chip)], length: f64, kinks: &[f64], thickness: &impl Fn(f64) -> f64) -> f64 {
    let deepest = cluster.iter().map(|(_, chip)| chip.depth_mm).fold(0.0, f64::max);
    let mut breaks = vec![0.0, deepest];
    breaks.extend(kinks.iter().copied());
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
    breaks.sort_by(f64::total_cmp);
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
        spans.sort_by(|a: &(f64, f64), b| a.0.total_cmp(&b.0));
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
        sum += gauss(a, b, |y| (at_p + lean * (y - p)) * thickness(y));
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chip(at: f64, depth: f64, width: f64) -> Chip {
        Chip { depth_mm: depth, width_mm: width, at_mm: Some(at), leave: false }
    }

    #[test]
    fn one_triangle_in_a_plate_is_half_its_width_times_depth() {
        let got = volume(&[chip(50.0, 0.8, 1.5)], 210.0, &[], |_| 2.0);
        assert!((got - 2.0 * 0.5 * 0.8 * 1.5).abs() < 1e-12);
    }

    #[test]
    fn the_same_chip_told_twice_is_one_chip() {
        let once = volume(&[chip(50.0, 0.8, 1.5)], 210.0, &[], |y| y);
        let twice = volume(&[chip(50.0, 0.8, 1.5), chip(50.0, 0.8, 1.5)], 210.0, &[], |y| y);
        assert!((once - twice).abs() < 1e-12);
    }

    #[test]
    fn two_triangles_that_overlap_by_half_count_their_union() {
        // Bases [0, 2] and [1, 3] on a plate, both 1 deep: union = 2·1 - the little triangle of base 1 and depth 1/2.
        let got = volume(&[chip(11.0, 1.0, 2.0), chip(12.0, 1.0, 2.0)], 210.0, &[], |_| 1.0);
        assert!((got - (2.0 - 0.25)).abs() < 1e-12, "{got}");
    }

    #[test]
    fn a_chip_hanging_over_the_heel_counts_only_what_is_on_the_blade() {
        let got = volume(&[chip(0.0, 1.0, 2.0)], 210.0, &[], |_| 1.0);
        assert!((got - 0.5).abs() < 1e-12, "{got}");
    }
}

//! Opening hours: when something may happen, and the next time it fits.

use crate::Minute;

/// Further away than any minute an instance may name (those end at 10⁹), near enough to be added to.
pub(crate) const FAR: Minute = 1_000_000_000_000;

/// Windows in order, none inside another. Touching windows stay apart, as the contract asks.
#[derive(Clone, Debug)]
pub(crate) struct Hours {
    open: Vec<(Minute, Minute)>,
}

impl Hours {
    /// `None` is always open.
    pub(crate) fn new(windows: Option<&[[Minute; 2]]>) -> Self {
        let Some(windows) = windows else {
            return Self { open: vec![(-FAR, FAR)] };
        };
        let mut all: Vec<(Minute, Minute)> = windows.iter().map(|w| (w[0], w[1])).collect();
        // By beginning, the longer first: whatever ends no later than something before it lies inside that one.
        all.sort_by_key(|&(a, b)| (a, -b));
        let mut open: Vec<(Minute, Minute)> = Vec::with_capacity(all.len());
        for (a, b) in all {
            if open.last().is_none_or(|&(_, last)| b > last) {
                open.push((a, b));
            }
        }
        Self { open }
    }

    /// The same hours without what is taken; pieces of length zero stay, since work of no length fits there.
    pub(crate) fn without(&self, taken: &[(Minute, Minute)]) -> Self {
        let mut open = self.open.clone();
        for &(from, to) in taken {
            open = open
                .into_iter()
                .flat_map(|(a, b)| {
                    if to <= a || b <= from {
                        [Some((a, b)), None]
                    } else {
                        [(a <= from).then_some((a, from)), (to <= b).then_some((to, b))]
                    }
                })
                .flatten()
                .collect();
        }
        open.sort_unstable();
        Self { open }
    }

    /// When both are open: whatever lies in one window of either lies in one of these.
    pub(crate) fn together(&self, other: &Self) -> Self {
        let both = |&(a, b): &(Minute, Minute)| {
            other.open.iter().map(move |&(c, d)| [a.max(c), b.min(d)]).filter(|[from, to]| from <= to)
        };
        Self::new(Some(&self.open.iter().flat_map(both).collect::<Vec<_>>()))
    }

    /// Whether nothing ever closes.
    pub(crate) fn always(&self) -> bool {
        self.open == [(-FAR, FAR)]
    }

    /// The windows, in order.
    pub(crate) fn windows(&self) -> &[(Minute, Minute)] {
        &self.open
    }

    /// The greatest start ≤ `start` for which `[start − before, start + after]` lies in one window.
    pub(crate) fn fit_back(&self, start: Minute, before: Minute, after: Minute) -> Option<Minute> {
        let last = self.open.partition_point(|w| w.0 + before <= start);
        self.open[..last]
            .iter()
            .rev()
            .map(|&(a, b)| (a, start.min(b - after)))
            .find(|&(a, s)| a + before <= s)
            .map(|(_, s)| s)
    }

    /// The least start ≥ `start` for which `[start − before, start + after]` lies in one window. `hint` is where the
    /// last search ended and speeds up searches that go forward in time; any value is right.
    #[inline]
    pub(crate) fn fit(&self, start: Minute, before: Minute, after: Minute, hint: &mut u32) -> Option<Minute> {
        let end = start + after;
        let mut k = *hint as usize;
        if k >= self.open.len() || (k > 0 && self.open[k - 1].1 >= end) {
            // A few steps back, then by halves.
            k = k.min(self.open.len());
            let near = k.saturating_sub(8);
            while k > near && self.open[k - 1].1 >= end {
                k -= 1;
            }
            if k > 0 && self.open[k - 1].1 >= end {
                k = self.open[..k].partition_point(|w| w.1 < end);
            }
        } else {
            let mut steps = 0;
            while k < self.open.len() && self.open[k].1 < end {
                k += 1;
                steps += 1;
                if steps > 8 {
                    k += self.open[k..].partition_point(|w| w.1 < end);
                    break;
                }
            }
        }
        *hint = k as u32;
        while k < self.open.len() {
            let (a, b) = self.open[k];
            let s = start.max(a + before);
            if s + after <= b {
                return Some(s);
            }
            k += 1;
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_waits_for_a_window_that_holds_it_whole() {
        let hours = Hours::new(Some(&[[0, 10], [10, 20], [30, 60]]));
        let fit = |start, before, after| hours.fit(start, before, after, &mut 0);
        assert_eq!(fit(2, 2, 8), Some(2));
        assert_eq!(fit(3, 2, 8), Some(12), "touching windows do not merge");
        assert_eq!(fit(5, 5, 12), Some(35));
        assert_eq!(fit(0, 0, 31), None);
        assert_eq!(Hours::new(Some(&[])).fit(0, 0, 1, &mut 0), None);
    }

    #[test]
    fn what_is_taken_is_no_longer_open() {
        let hours = Hours::new(None).without(&[(5, 10), (20, 25)]);
        assert_eq!(hours.fit(3, 0, 3, &mut 0), Some(10));
        assert_eq!(hours.fit(12, 0, 9, &mut 0), Some(25));
    }
}

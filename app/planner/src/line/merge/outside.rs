//! What promises most outside the net.

use super::super::Stop;
use super::net::{Net, Way};

/// Ways to each node that are kept: the most promising one in each eighth of the minutes.
const WAYS: usize = 8;

/// A way to a node, and the job before that of the node.
type Kept = Option<(Way, Option<u16>)>;

impl Net<'_> {
    /// Pairs of neighbours that are not in the net, at most so many, over which a walk that else is in the net would cost less than
    /// `below`; the cheapest. No walk returns to the job it has just left. None if `stop` says so before all are known.
    pub(super) fn outside(&mut self, below: f64, most: usize, stop: Stop<'_>) -> Vec<(u16, u16)> {
        let n = self.line.n;
        let (mut ways, mut next_ways): (Vec<[Kept; WAYS]>, Vec<[Kept; WAYS]>) =
            (vec![[None; WAYS]], Vec::new());
        ways[0][0] = Some((self.start(), None));
        let mut whole = vec![f64::INFINITY; (n + 1) * n];
        let mut looked = 0;
        for k in 0..n {
            if stop() {
                return Vec::new();
            }
            let next_nodes = self.nodes(k + 1);
            next_ways.clear();
            next_ways.resize(next_nodes.len(), [None; WAYS]);
            for (node, ways) in self.nodes(k).zip(&ways) {
                let job = self.job(node);
                for (way, before) in ways.iter().flatten() {
                    looked += self.arcs(node).len() + next_nodes.len();
                    for arc in self.arcs(node) {
                        let next = self.go(k + 1, way, arc.to);
                        if *before == Some(self.job(arc.to)) || !next.is_there() {
                            continue;
                        }
                        let part = self.part(k + 1, next.walked.at, WAYS);
                        let kept = &mut next_ways[(arc.to - next_nodes.start) as usize][part];
                        if kept.is_none_or(|(kept, _)| next.whole < kept.whole) {
                            *kept = Some((next, Some(job)));
                        }
                    }
                    for to in next_nodes.clone() {
                        let next = self.job(to);
                        if next == job || *before == Some(next) || self.follows(job, next) {
                            continue;
                        }
                        let least = &mut whole[usize::from(job) * n + usize::from(next)];
                        *least = least.min(self.go(k + 1, way, to).whole);
                    }
                }
            }
            std::mem::swap(&mut ways, &mut next_ways);
        }
        self.looked += looked;
        let mut pairs: Vec<usize> = (0..whole.len()).filter(|&pair| whole[pair] < below).collect();
        if pairs.len() > most {
            pairs.select_nth_unstable_by(most, |&a, &b| whole[a].total_cmp(&whole[b]));
            pairs.truncate(most);
        }
        pairs.into_iter().map(|pair| ((pair / n) as u16, (pair % n) as u16)).collect()
    }
}

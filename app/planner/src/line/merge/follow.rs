//! A beam search for an order, led by what is still to be paid.

use super::super::Stop;
use super::super::problem::LARGEST;
use super::Merge;
use super::net::Way;

/// Beginnings of orders that are followed at each position.
const BEAM: usize = 150;
/// Slots to tell that two of them hold the same jobs.
const SLOTS: usize = 1024;

const WORDS: usize = LARGEST.div_ceil(64);
type Jobs = [u64; WORDS];

/// The beginning of an order.
#[derive(Clone, Copy, Debug)]
struct Begun {
    way: Way,
    done: Jobs,
    /// Names the jobs done.
    name: u64,
}

impl Merge<'_> {
    /// Follow the most promising beginnings from position to position. Returns the cheapest order found, if that is
    /// about less than `below`.
    pub(super) fn follow(&mut self, below: f64, stop: Stop<'_>) -> Option<Vec<u16>> {
        let due = self.last_chances();
        let net = &self.net;
        let n = net.line.n;
        let (mut beam, mut next) =
            (vec![Begun { way: net.start(), done: [0; WORDS], name: 0 }], Vec::with_capacity(BEAM));
        let mut ways: Vec<(Way, u32)> = Vec::new();
        let mut came: Vec<Vec<(u32, u16)>> = Vec::with_capacity(n);
        let mut slots = vec![(0, 0, 0); SLOTS];
        let mut looked = 0;
        for (k, due) in due.iter().enumerate().skip(1) {
            if stop() {
                return None;
            }
            ways.clear();
            for (from, begun) in (0..).zip(&beam) {
                // Jobs that can stand here or never; two of them are one too many.
                let mut last = None;
                let mut lost = false;
                for (w, (due, done)) in due.iter().zip(&begun.done).enumerate() {
                    let missing = due & !done;
                    if missing != 0 {
                        lost |= last.is_some() || missing & (missing - 1) != 0;
                        last = Some(w * 64 + missing.trailing_zeros() as usize);
                    }
                }
                if lost {
                    continue;
                }
                let arcs = net.arcs(begun.way.node);
                looked += arcs.len();
                for arc in arcs {
                    let job = usize::from(net.job(arc.to));
                    if begun.done[job / 64] >> (job % 64) & 1 == 1 || last.is_some_and(|last| last != job) {
                        continue;
                    }
                    let way = net.go(k, &begun.way, arc.to);
                    if way.whole < below {
                        ways.push((way, from));
                    }
                }
            }
            let most = 2 * BEAM;
            if ways.len() > most {
                ways.select_nth_unstable_by(most, |a, b| a.0.whole.total_cmp(&b.0.whole));
                ways.truncate(most);
            }
            ways.sort_unstable_by(|a, b| a.0.whole.total_cmp(&b.0.whole));
            slots.fill((0, 0, 0));
            next.clear();
            let mut came_here = Vec::with_capacity(BEAM);
            for &(way, parent) in &ways {
                let from: &Begun = &beam[parent as usize];
                let job = usize::from(net.job(way.node));
                let [among, last] = self.names[job];
                let name = from.name ^ among;
                // The same jobs with the same one last, no later and no dearer.
                let key = name ^ last;
                let slot = &mut slots[key as usize % SLOTS];
                if slot.0 == key && slot.1 <= way.walked.at && slot.2 <= way.walked.cost {
                    continue;
                }
                *slot = (key, way.walked.at, way.walked.cost);
                let mut done = from.done;
                done[job / 64] |= 1 << (job % 64);
                next.push(Begun { way, done, name });
                came_here.push((parent, job as u16));
                if next.len() == BEAM {
                    break;
                }
            }
            came.push(came_here);
            std::mem::swap(&mut beam, &mut next);
        }
        self.net.looked += looked;
        let (mut at, _) = (0..).zip(&beam).min_by_key(|(_, begun)| begun.way.walked.cost)?;
        let mut order = vec![0; n];
        for (job, came) in order.iter_mut().zip(&came).rev() {
            (at, *job) = came[at as usize];
        }
        Some(order)
    }

    /// The jobs that can stand at each position but at none after it, or have had to stand before.
    fn last_chances(&self) -> Vec<Jobs> {
        let net = &self.net;
        let n = net.line.n;
        let mut latest = vec![0; n];
        for k in 1..=n {
            for &j in net.layer(k) {
                latest[usize::from(j)] = k;
            }
        }
        let mut due = vec![[0; WORDS]; n + 1];
        for (job, &latest) in latest.iter().enumerate() {
            for jobs in &mut due[latest..] {
                jobs[job / 64] |= 1 << (job % 64);
            }
        }
        due
    }
}

//! A population of local optima, recombined.
//!
//! Children take a stretch of one parent where it stands and the rest in the order of the other (linear order crossover,
//! Falkenauer and Bouffouix 1991); each is polished by a short iterated local search, as Xu and others (2014) do for this
//! problem. When no child has been better for long, the population is bred anew.

use super::descent::{Awake, descend};
use super::problem::Line;
use super::sequence::{Move, Sequence};
use crate::rng::Rng;
use crate::search::Limit;

/// Orders kept. Fewer meet too soon, more take too long to meet.
const MEMBERS: usize = 12;
/// A descent ends after so many kicks in a row that gained nothing. With 3 the crossing does the work, with 100 one order
/// takes all the time; on the public instances 3 to 30 serve about equally.
const KICKS: usize = 10;
/// Children in a row without a new best after which all members are bred anew.
const STALE: usize = 200;
/// A kick exchanges two blocks of up to so many jobs: about as long as the blocks a descent moves, so that it is seldom
/// undone by one move.
const KICK_BLOCK: usize = 8;
/// And up to so many jobs lie between them.
const KICK_BETWEEN: usize = 20;

struct Breed<'a, 'b> {
    line: &'a Line,
    s: Sequence<'a>,
    awake: Awake,
    rng: &'b mut Rng,
    limit: &'b Limit<'b>,
    steps: u64,
    best: Vec<u16>,
    best_cost: i64,
    home: Vec<u16>,
}

#[derive(Clone)]
struct Member {
    cost: i64,
    order: Vec<u16>,
}

/// Search for the best order of a line. `at_once` is an order to begin with. Returns the order and the steps taken.
pub(crate) fn search(line: &Line, at_once: Vec<u16>, rng: &mut Rng, limit: &Limit<'_>) -> (Vec<u16>, u64) {
    let mut run = Breed {
        line,
        s: Sequence::new(line),
        awake: Awake::new(line),
        rng,
        limit,
        steps: 0,
        best_cost: line.cost(&at_once),
        best: at_once,
        home: Vec::new(),
    };
    run.run();
    (run.best, run.steps)
}

impl Breed<'_, '_> {
    fn run(&mut self) {
        let first = self.best.clone();
        let mut members: Vec<Member> = Vec::new();
        while !self.done() {
            members.clear();
            let mut quiet = 0;
            while members.len() < MEMBERS && !self.done() {
                if members.is_empty() && self.steps == 0 {
                    self.s.load(&first);
                } else {
                    let order = self.random();
                    self.s.load(&order);
                }
                self.wake_all();
                let m = self.polish();
                if members.iter().any(|o| o.cost == m.cost) {
                    quiet += 1;
                    if quiet > 50 {
                        break;
                    }
                } else {
                    members.push(m);
                }
            }
            if members.len() < 2 {
                continue;
            }
            let mut quiet = 0;
            while quiet < STALE && !self.done() {
                let (a, b) = (self.pick(&members), self.pick(&members));
                if a == b {
                    continue;
                }
                let child = self.cross(&members[a].order, &members[b].order);
                self.s.load(&child);
                self.wake_all();
                let m = self.polish();
                quiet += 1;
                if members.iter().any(|o| o.cost == m.cost) {
                    continue;
                }
                let worst = (0..members.len()).max_by_key(|&k| members[k].cost).unwrap_or(0);
                let least = members.iter().map(|o| o.cost).min().unwrap_or(0);
                if m.cost < members[worst].cost {
                    if m.cost < least {
                        quiet = 0;
                    }
                    members[worst] = m;
                }
            }
        }
    }

    fn done(&self) -> bool {
        self.best_cost <= 0 || self.limit.reached(self.steps)
    }

    fn wake_all(&mut self) {
        for j in 0..self.line.n as u16 {
            self.awake.wake(j);
        }
    }

    fn pick(&mut self, members: &[Member]) -> usize {
        let (a, b) = (self.rng.below(members.len()), self.rng.below(members.len()));
        if members[a].cost < members[b].cost { a } else { b }
    }

    fn random(&mut self) -> Vec<u16> {
        let mut order: Vec<u16> = (0..self.line.n as u16).collect();
        for k in (1..order.len()).rev() {
            order.swap(k, self.rng.below(k + 1));
        }
        order
    }

    /// A stretch of the one parent where it stands, the rest in the order of the other.
    fn cross(&mut self, one: &[u16], other: &[u16]) -> Vec<u16> {
        let n = one.len();
        let (mut a, mut b) = (self.rng.below(n), self.rng.below(n));
        if a > b {
            std::mem::swap(&mut a, &mut b);
        }
        let mut kept = vec![false; n];
        for &j in &one[a..=b] {
            kept[usize::from(j)] = true;
        }
        let mut rest = other.iter().copied().filter(|&j| !kept[usize::from(j)]);
        (0..n).map(|k| if (a..=b).contains(&k) { one[k] } else { rest.next().unwrap_or(0) }).collect()
    }

    /// Downhill, then kicks that are kept if they do no harm.
    fn polish(&mut self) -> Member {
        descend(&mut self.s, &mut self.awake);
        let mut cost = self.s.cost();
        self.home.clear();
        self.home.extend_from_slice(self.s.order());
        self.note(cost);
        let mut quiet = 0;
        while quiet < KICKS && !self.done() {
            self.steps += 1;
            kick(&mut self.s, &mut self.awake, self.rng);
            descend(&mut self.s, &mut self.awake);
            let found = self.s.cost();
            quiet += 1;
            if found <= cost {
                if found < cost {
                    quiet = 0;
                }
                cost = found;
                self.home.copy_from_slice(self.s.order());
                self.note(cost);
            } else {
                let home = std::mem::take(&mut self.home);
                self.s.load(&home);
                self.home = home;
            }
        }
        self.steps += 1;
        Member { cost, order: self.home.clone() }
    }

    fn note(&mut self, cost: i64) {
        if cost < self.best_cost {
            self.best_cost = cost;
            self.best.clone_from(&self.home);
        }
    }
}

/// Exchange two random blocks somewhere.
fn kick(s: &mut Sequence<'_>, awake: &mut Awake, rng: &mut Rng) {
    let n = s.line.n;
    let longest = (n / 4).clamp(1, KICK_BLOCK);
    let (x, y) = (1 + rng.below(longest), 1 + rng.below(longest));
    let between = rng.below(KICK_BETWEEN).min(n.saturating_sub(x + y));
    if x + y + between <= n {
        let a = 1 + rng.below(n + 1 - x - y - between);
        let m = Move { gain: 0, a, b: a + x - 1, d: a + x + between, c: a + x + between + y - 1 };
        s.rearrange(&m);
        awake.wake_cuts(s, &m);
    }
    s.refresh();
}

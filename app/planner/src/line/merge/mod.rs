//! The best order that can be made of the arcs of many.
//!
//! A population holds nearly every arc of the best order long before anybody in it is that order, and crossing two members
//! at a time seldom puts them together. Here all of them are put on one [`net`]: a node is a job at a position near one it has
//! stood at, an arc leads from a job to one that has followed it somewhere. A walk through the net from the first position
//! to the last is an order, but for jobs it visits twice or not at all. Each visit earns a price, and subgradient steps
//! (Held, Wolfe and Crowder 1974) look for the prices at which the cheapest walk visits every job about once. That is the
//! relaxation of the state space (Christofides, Mingozzi and Toth 1981) with which Tanaka and Araki (2013) prove optima of
//! this problem; on the few arcs of a population it takes milliseconds. What it says is still to be paid after each node at
//! each minute then guides a beam search ([`follow`]) for an order that is one, as Cook and Seymour (2003) merge tours.
//!
//! The few arcs that the best order has and nobody else mostly cost little at these prices. So where the net holds nothing,
//! or nothing is found, arcs are let in that nobody has, those first with which a walk would cost least ([`outside`]): what
//! Ibaraki and Nakamura (1994) use to leave out states is used to choose arcs, as Helsgaun (2000) does for tours.
//!
//! Minutes are sampled, with straight lines between the samples, so what is still to be paid is close but no bound.

mod follow;
mod net;
mod outside;

use self::net::Net;
use super::Stop;
use super::problem::Line;
use crate::rng::Rng;

/// Subgradient steps of the first net, when nothing is known about the prices, and of the others.
const PASSES_FIRST: usize = 40;
const PASSES: usize = 35;
/// Pairs of neighbours let in at a time that nobody has.
const OUTSIDE: usize = 50;
/// As much time as a step of the search takes goes into so many arcs for every job of the line.
const ARCS_A_STEP: usize = 36;

/// Room for nets of one line, and the prices found so far.
#[derive(Clone, Debug)]
pub(crate) struct Merge<'a> {
    net: Net<'a>,
    /// Numbers for each job among those done and as the last of them; combined they name what is begun (Zobrist 1970).
    names: Vec<[u64; 2]>,
}

impl<'a> Merge<'a> {
    pub(crate) fn new(line: &'a Line) -> Self {
        let mut dice = Rng::new(0);
        Self { net: Net::new(line), names: (0..line.n).map(|_| [dice.next(), dice.next()]).collect() }
    }

    /// An order that costs less than `below`, made of arcs of these and of a few others, if one is found before `stop` says so.
    /// The first of them should be the best.
    pub(crate) fn best<'o>(
        &mut self,
        orders: impl Iterator<Item = &'o [u16]> + Clone,
        below: i64,
        stop: Stop<'_>,
    ) -> Option<Vec<u16>> {
        let passes = if self.net.is_new() { PASSES_FIRST } else { PASSES };
        // Costs are whole numbers.
        let under = below as f64 - 0.5;
        self.net.lay_out(orders.clone(), &[]);
        self.search(under, below, passes, stop).or_else(|| {
            let outside = self.net.outside(under, OUTSIDE, stop);
            if outside.is_empty() {
                return None;
            }
            self.net.lay_out(orders, &outside);
            self.search(under, below, PASSES, stop)
        })
    }

    /// About how many steps of the search would have taken as long as what was done here since this was last asked.
    pub(crate) fn steps(&mut self) -> u64 {
        let arcs_a_step = ARCS_A_STEP * self.net.line.n;
        std::mem::take(&mut self.net.looked).div_ceil(arcs_a_step) as u64
    }

    fn search(&mut self, under: f64, below: i64, passes: usize, stop: Stop<'_>) -> Option<Vec<u16>> {
        let bound = self.net.find_prices(under, passes, stop);
        let order = (bound < under).then(|| self.follow(under, stop))??;
        (self.net.line.cost(&order) < below).then_some(order)
    }
}

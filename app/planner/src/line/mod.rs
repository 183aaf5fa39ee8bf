//! One line of work: every job is one operation, and all of them pass through one pair of hands, one after the other,
//! with changeovers that depend on what was done before.
//!
//! This is the single machine with sequence-dependent setups and total weighted tardiness, `1|s_ij|ΣwT`, the hardest
//! corner of the bench plan and the one where a dedicated search is worth its code. [`problem`] recognises it inside an
//! instance, [`sequence`] tells at a glance what is not worth doing, [`descent`] walks downhill, [`breed`] keeps a
//! population of local optima and recombines them by order and, with [`assemble`], by arcs; [`merge`] puts the arcs of all
//! of them together. Where one person goes round several stations, or where stations close or are dressed or pieces arrive
//! late, [`rounds`] times an order job by job and [`hands`] walks downhill; the population is the same.

mod assemble;
mod breed;
mod descent;
mod hands;
mod lanes;
mod merge;
mod problem;
mod rounds;
mod sequence;
#[cfg(test)]
mod tests;

pub(crate) use breed::{Found, search};
pub(crate) use problem::recognise;
pub(crate) use rounds::NEVER;

/// Whether there is no time left.
type Stop<'a> = &'a dyn Fn() -> bool;

/// An order with what it takes to walk downhill from it.
pub(crate) trait Walk {
    /// The jobs, first to last.
    fn order(&self) -> &[u16];
    /// What the order costs.
    fn cost(&self) -> i64;
    /// Take up another order; costs less the later the first position that differs.
    fn load(&mut self, order: &[u16]);
    /// Remember the order, if it is then quicker to take it up again.
    fn keep(&mut self) {}
    /// Take up `kept` again, the order that was to be remembered last.
    fn go_back(&mut self, kept: &[u16]) {
        self.load(kept);
    }
    /// A job is worth looking at again.
    fn wake(&mut self, job: u16);
    /// Carry out an exchange, and wake the jobs at its cuts.
    fn carry_out(&mut self, m: &sequence::Move);
    /// Improve until no job that is awake, moved with its neighbours, gains anything, or `stop` says so.
    fn descend(&mut self, stop: Stop<'_>);
}

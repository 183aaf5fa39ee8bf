//! One line of work: every job is one operation, and all of them pass through one pair of hands, one after the other,
//! with changeovers that depend on what was done before.
//!
//! This is the single machine with sequence-dependent setups and total weighted tardiness, `1|s_ij|ΣwT`, the hardest
//! corner of the bench plan and the one where a dedicated search is worth its code. [`problem`] recognises it inside an
//! instance, [`sequence`] evaluates neighbours in a handful of look-ups, [`descent`] walks downhill, [`breed`] keeps a
//! population of local optima and recombines them by order and, with [`assemble`], by arcs.

mod assemble;
mod breed;
mod descent;
mod problem;
mod sequence;
#[cfg(test)]
mod tests;

pub(crate) use breed::{Found, search};
pub(crate) use problem::recognise;

//! The bench plan: which piece is done where, when, in which setup and by whom.
//!
//! Values in, values out: an [`Instance`] goes in, a [`Plan`] comes out. The crate reads no clock and rolls no dice of
//! its own: elapsed time, effort and the dice's first number are arguments.
//!
//! ```
//! let text = r#"{"stations": [{"id": "wheel", "setup": "arc-5"}],
//!   "changeovers": [{"station": "wheel", "setups": ["arc-5", "wavy-6"], "minutes": [[0, 18], [18, 0]]}],
//!   "jobs": [
//!     {"id": "A", "due": 40, "operations": [{"on": [{"station": "wheel", "setup": "wavy-6", "minutes": 14}]}]},
//!     {"id": "B", "due": 40, "operations": [{"on": [{"station": "wheel", "setup": "arc-5", "minutes": 12}]}]}]}"#;
//! let instance = planner::parse(text).expect("a good instance");
//! let effort = planner::Budget { iterations: Some(100), ..Default::default() };
//! let plan = planner::plan(&instance, effort, &planner::Watch::none()).expect("it can be met");
//! // B keeps the wheel that is mounted; then one changeover, and A ends at 12 + 18 + 14 = 44.
//! assert_eq!(plan.objective.total, 4.0);
//! assert!(planner::verify(&instance, &plan).is_empty());
//! ```
//!
//! # How it plans
//!
//! A first plan comes from dispatching by apparent tardiness cost with setups (Lee, Bhaskaran and Pinedo 1997; the route's
//! remaining work as in Vepsalainen and Morton 1987). A shop that is one line of work goes to a search of its own: block
//! moves evaluated by look-ups (the moves of Subramanian, Battarra and Potts 2014), inside a population crossed by edge assembly
//! (Nagata and Kobayashi 2013) and by order, polished as in the hybrid evolutionary searches of Xu, Lü, Yin, Shen and Buscher
//! (2014). One person who goes round several stations is such a line too, timed job by job. Small shops are annealed over
//! orders and choices (Kirkpatrick, Gelatt and Vecchi 1983). Larger ones go downhill by small moves of loads, runs and whole
//! jobs, each timed again only as far as it reaches (Nowicki and Smutnicki 1996; Dell'Amico and Trubian 1993).
//! The bound prices the minutes of stations and people (time-indexed Lagrangian relaxation, Dyer and Wolsey 1990).
//! [`verify`] shares no code with any of it.

mod answer;
mod bench;
mod blame;
mod bound;
mod check;
mod company;
mod complaint;
mod dispatch;
mod draft;
mod explain;
mod hours;
mod improve;
mod instance;
mod line;
mod model;
mod parse;
mod promise;
mod replan;
mod ripple;
mod rng;
mod roam;
mod search;
mod standing;
#[cfg(test)]
mod truth;
mod verify;
mod what_if;

pub use answer::{Objective, Placed, Plan};
pub use complaint::Complaint;
pub use explain::{Cause, Reasons, Wait, explain};
pub use instance::{
    Alternative, Changeover, Dress, Fixed, Instance, Job, Minute, Operation, Person, StandingStart, Station,
    Weights,
};
pub use parse::parse;
pub use promise::{Outlook, Promise, Scatter, promise};
pub use replan::{REPLAN_S, replan};
pub use search::{Budget, LeftOut, Partial, Watch, plan, plan_feasible_part};
pub use standing::Standing;
pub use verify::verify;
pub use what_if::{Shift, if_open_longer, if_out_of_order, if_rush, shifts};

//! The background planner: the shop as it stands becomes a [`planner::Instance`], and the plan becomes the shop's.
//!
//! [`instance`] reads the shop and says what is to be planned; [`body`] is the document a published plan is kept as;
//! [`worker`] plans in the background and publishes; [`mod@promise`] answers a booking that is being typed; [`mod@what_if`]
//! what would happen if one thing were different.

pub mod body;
pub mod instance;
pub mod promise;
pub mod what_if;
pub mod why;
pub mod worker;

pub use body::Body;
pub use promise::promise;

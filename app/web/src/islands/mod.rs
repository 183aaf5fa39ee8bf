//! The parts of pages that also run in the browser.

pub mod booking;
pub mod inspection;
pub mod timer;
pub mod watch;

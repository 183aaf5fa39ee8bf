//! The parts of pages that also run in the browser.

#![allow(
    missing_docs,
    reason = "the island macro adds an undocumented struct beside each documented function"
)]

pub mod inspection;
pub mod watch;

//! The only place that reads the time.
//!
//! Everything else is given an instant, or a [`Clock`] to ask. Instants are UTC and whole microseconds, the
//! finest that both databases keep, so that a value read back equals the value written.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::{Duration, Instant};

use chrono::{DateTime, SubsecRound, TimeDelta, Utc};

/// Where the present comes from. Cheap to clone; clones of a settable clock move together.
#[derive(Debug, Clone)]
pub enum Clock {
    /// The machine's clock.
    System,
    /// A clock that stands still until it is moved. For tests: microseconds since 1970.
    Settable(Arc<AtomicI64>),
    /// The machine's clock, shifted by the seconds written in a file, or standing at the RFC 3339 instant
    /// written there. Lets browser tests move the time of a running server; named by `WHETLEDGER_TEST_CLOCK`.
    /// Without the file, or while it makes no sense, this is the machine's clock.
    File(Arc<PathBuf>),
}

impl Clock {
    /// A clock for tests that stands at `instant`.
    pub fn standing_at(instant: DateTime<Utc>) -> Self {
        Self::Settable(Arc::new(AtomicI64::new(instant.timestamp_micros())))
    }

    /// The present, in whole microseconds.
    pub fn now(&self) -> DateTime<Utc> {
        match self {
            Self::System => system_now(),
            Self::Settable(micros) => {
                DateTime::from_timestamp_micros(micros.load(Ordering::SeqCst)).unwrap_or_default()
            }
            Self::File(path) => std::fs::read_to_string(path.as_path())
                .ok()
                .and_then(|text| read_shift(text.trim()))
                .unwrap_or_else(system_now),
        }
    }

    /// Moves a settable clock forwards (or backwards); any other clock stays as it is.
    pub fn advance(&self, by: TimeDelta) {
        if let Self::Settable(micros) = self {
            micros.fetch_add(by.num_microseconds().unwrap_or(0), Ordering::SeqCst);
        }
    }

    /// Sets a settable clock; any other clock stays as it is.
    pub fn set(&self, instant: DateTime<Utc>) {
        if let Self::Settable(micros) = self {
            micros.store(instant.timestamp_micros(), Ordering::SeqCst);
        }
    }

    /// Whether somebody may move this clock, so that waiting for a wall-clock hour would be wrong.
    pub fn is_movable(&self) -> bool {
        !matches!(self, Self::System)
    }
}

/// `3600` and `-60` shift the machine's clock by seconds, `2026-03-02T09:00:00Z` stands still.
fn read_shift(text: &str) -> Option<DateTime<Utc>> {
    if let Ok(seconds) = text.parse::<i64>() {
        return system_now().checked_add_signed(TimeDelta::try_seconds(seconds)?);
    }
    Some(DateTime::parse_from_rfc3339(text).ok()?.with_timezone(&Utc).trunc_subsecs(6))
}

#[expect(clippy::disallowed_methods, reason = "this is the one place that reads the time")]
fn system_now() -> DateTime<Utc> {
    Utc::now().trunc_subsecs(6)
}

/// Measures how long something took, by the machine's steady clock.
#[derive(Debug, Clone, Copy)]
pub struct Stopwatch(Instant);

impl Stopwatch {
    /// Starts now.
    pub fn start() -> Self {
        Self(Instant::now())
    }

    /// The time since the start.
    pub fn elapsed(&self) -> Duration {
        self.0.elapsed()
    }

    /// Whole milliseconds since the start.
    pub fn elapsed_ms(&self) -> u64 {
        u64::try_from(self.0.elapsed().as_millis()).unwrap_or(u64::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_settable_clock_stands_still_and_its_clones_move_with_it() {
        let nine = DateTime::parse_from_rfc3339("2026-03-02T09:00:00Z").unwrap().with_timezone(&Utc);
        let clock = Clock::standing_at(nine);
        let other = clock.clone();
        assert_eq!(clock.now(), nine);
        other.advance(TimeDelta::minutes(90));
        assert_eq!(clock.now().to_rfc3339(), "2026-03-02T10:30:00+00:00");
    }

    #[test]
    fn a_file_can_hold_an_instant_or_a_shift_and_nonsense_is_passed_over() {
        let still = read_shift("2026-03-02T09:00:00+01:00").unwrap();
        assert_eq!(still.to_rfc3339(), "2026-03-02T08:00:00+00:00");
        for shift in ["86400", "+86400"] {
            let later = read_shift(shift).unwrap();
            let away = (later - system_now() - TimeDelta::days(1)).num_seconds().abs();
            assert!(away <= 1, "{shift}: {away} s off");
        }
        assert_eq!(read_shift("tomorrow"), None);
        assert_eq!(read_shift("99999999999999999999"), None);
        assert_eq!(read_shift("9223372036854775807"), None);
    }

    #[test]
    fn the_present_has_no_more_than_microseconds() {
        let now = Clock::System.now();
        assert_eq!(now.timestamp_subsec_nanos() % 1_000, 0);
    }
}

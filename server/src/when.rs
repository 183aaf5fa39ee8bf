//! Dates and times as people read them.

use chrono::{DateTime, NaiveDate, NaiveDateTime, Utc};
use chrono_tz::Tz;

use crate::local;

/// `Friday, 27 November 2026`.
pub fn day(date: NaiveDate) -> String {
    date.format("%A, %-d %B %Y").to_string()
}

/// `Friday, 27 November 2026, 10:00`.
pub fn day_and_time(shown: NaiveDateTime) -> String {
    shown.format("%A, %-d %B %Y, %H:%M").to_string()
}

/// `27 Nov 2026, 10:00`, by the clocks of a zone.
pub fn short(zone: Tz, at: DateTime<Utc>) -> String {
    local::shown(zone, at).format("%-d %b %Y, %H:%M").to_string()
}

/// `Fri 27 Nov`, by the clocks of a zone.
pub fn short_day(zone: Tz, at: DateTime<Utc>) -> String {
    local::date(zone, at).format("%a %-d %b").to_string()
}

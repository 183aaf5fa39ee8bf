//! Opening and working hours in local time, and the days that are off.

use chrono::{Datelike, Days, NaiveDate};
use serde::{Deserialize, Serialize};

/// A stretch of a local day, in minutes after midnight: `from` inclusive, `to` exclusive.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stretch {
    /// First minute.
    pub from: u16,
    /// Minute after the last, at most 1440.
    pub to: u16,
}

/// A week of hours and the dates on which there are none.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hours {
    /// Monday first: the stretches of each weekday, in order, not overlapping.
    pub week: [Vec<Stretch>; 7],
    /// Holidays and days off.
    pub closed: Vec<NaiveDate>,
}

impl Hours {
    /// The stretches of one date; empty on days off.
    pub fn on(&self, date: NaiveDate) -> &[Stretch] {
        if self.closed.contains(&date) {
            &[]
        } else {
            &self.week[date.weekday().num_days_from_monday() as usize]
        }
    }

    /// True when there is at least one stretch on `date`.
    pub fn is_open(&self, date: NaiveDate) -> bool {
        !self.on(date).is_empty()
    }

    /// The `n`-th open day after `date` (`n` = 0: `date` itself or the next open day). `None` when a year holds too few.
    pub fn open_day_after(&self, date: NaiveDate, n: usize) -> Option<NaiveDate> {
        let skip_today = usize::from(n > 0);
        (0..366)
            .filter_map(|d| date.checked_add_days(Days::new(d)))
            .skip(skip_today)
            .filter(|d| self.is_open(*d))
            .nth(n.saturating_sub(skip_today))
    }

    /// Complaints about impossible stretches, in words; empty when all is well.
    pub fn complaints(&self) -> Vec<String> {
        const DAYS: [&str; 7] =
            ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
        let mut found = Vec::new();
        for (day, stretches) in DAYS.iter().zip(&self.week) {
            for s in stretches {
                if s.from >= s.to || s.to > 1440 {
                    found.push(format!(
                        "{day}: {} to {} is no stretch of a day.",
                        clock(s.from),
                        clock(s.to)
                    ));
                }
            }
            if stretches.windows(2).any(|w| w[0].to > w[1].from) {
                found.push(format!("{day}: two stretches overlap or are out of order."));
            }
        }
        found
    }
}

/// `"8:05"` for minute 485.
pub fn clock(minute: u16) -> String {
    format!("{}:{:02}", minute / 60, minute % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn weekdays() -> Hours {
        let day = vec![Stretch { from: 480, to: 720 }, Stretch { from: 765, to: 1005 }];
        let mut hours = Hours::default();
        hours.week[..5].fill(day);
        hours
    }

    fn date(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn open_days_skip_weekends_and_holidays() {
        let mut hours = weekdays();
        hours.closed.push(date("2026-12-25"));
        // 2026-12-24 is a Thursday, the 25th a Friday.
        assert_eq!(hours.open_day_after(date("2026-12-24"), 0), Some(date("2026-12-24")));
        assert_eq!(hours.open_day_after(date("2026-12-24"), 1), Some(date("2026-12-28")));
        assert_eq!(hours.open_day_after(date("2026-12-26"), 0), Some(date("2026-12-28")));
        assert_eq!(hours.open_day_after(date("2026-12-26"), 1), Some(date("2026-12-28")));
        assert_eq!(Hours::default().open_day_after(date("2026-12-26"), 0), None);
    }

    #[test]
    fn overlapping_stretches_are_named() {
        let mut hours = weekdays();
        assert!(hours.complaints().is_empty());
        hours.week[2] = vec![Stretch { from: 600, to: 700 }, Stretch { from: 650, to: 800 }];
        assert_eq!(hours.complaints(), ["Wednesday: two stretches overlap or are out of order."]);
        hours.week[2] = vec![Stretch { from: 600, to: 600 }];
        assert_eq!(hours.complaints(), ["Wednesday: 10:00 to 10:00 is no stretch of a day."]);
    }
}

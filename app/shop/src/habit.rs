//! When a knife may want us again, from how often it was brought.

use chrono::{Days, NaiveDate};

/// Nobody brings a knife twice within this many days for a new edge; a visit so soon after the last is the same service.
const SAME_SERVICE_DAYS: i64 = 21;

/// The middle of the days between services, from the days on which one knife went home, oldest first. `None`: fewer than two.
pub fn days_between(went_home: &[NaiveDate]) -> Option<u64> {
    let mut gaps: Vec<i64> = went_home
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).num_days())
        .filter(|days| *days > SAME_SERVICE_DAYS)
        .collect();
    gaps.sort_unstable();
    let n = gaps.len();
    let middle = match n {
        0 => return None,
        n if n % 2 == 1 => gaps[n / 2],
        _ => i64::midpoint(gaps[n / 2 - 1], gaps[n / 2]),
    };
    u64::try_from(middle).ok()
}

/// The day on which it may want us again: as long after the last service as usually.
pub fn next_service(went_home: &[NaiveDate], days_between: u64) -> Option<NaiveDate> {
    went_home.last()?.checked_add_days(Days::new(days_between))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn days(dates: &[&str]) -> Vec<NaiveDate> {
        dates.iter().map(|d| d.parse().unwrap()).collect()
    }

    #[test]
    fn a_habit_is_the_middle_of_the_gaps_and_a_complaint_is_none() {
        assert_eq!(days_between(&days(&["2025-01-01"])), None);
        assert_eq!(days_between(&days(&["2025-01-01", "2025-01-15"])), None, "back within weeks");
        assert_eq!(days_between(&days(&["2025-01-01", "2025-07-20"])), Some(200));
        assert_eq!(days_between(&days(&["2024-01-01", "2024-04-10", "2024-04-20", "2025-04-10"])), Some(227));
        let home = days(&["2025-01-01", "2025-07-20"]);
        assert_eq!(next_service(&home, 200).unwrap().to_string(), "2026-02-05");
        assert_eq!(next_service(&[], 200), None);
    }
}

//! Hours as hands type them: `8:00-12:00, 13:00-15:00`; days off one a line.

use chrono::NaiveDate;

use super::{Reader, Typed};
use crate::field::FieldErrors;
use crate::hours::{Hours, Stretch, clock};

/// The ends of the fields' names and the names of the days, Monday first.
pub const DAYS: [(&str, &str); 7] = [
    ("mon", "Monday"),
    ("tue", "Tuesday"),
    ("wed", "Wednesday"),
    ("thu", "Thursday"),
    ("fri", "Friday"),
    ("sat", "Saturday"),
    ("sun", "Sunday"),
];

/// The longest holiday that is read as one stretch of days.
const MOST_DAYS_OFF: i64 = 120;

/// Writes a week of hours and its days off into the fields `PREFIX-mon` ... `PREFIX-closed`.
pub fn fill_hours(typed: &mut Typed, prefix: &str, hours: &Hours) {
    for ((day, _), stretches) in DAYS.iter().zip(&hours.week) {
        let text: Vec<_> = stretches.iter().copied().map(written).collect();
        typed.set(format!("{prefix}-{day}"), text.join(", "));
    }
    typed.set(format!("{prefix}-closed"), days_off(&hours.closed).join("\n"));
}

/// Days that follow one another become one line: `2026-12-24 to 2026-12-31`.
fn days_off(closed: &[NaiveDate]) -> Vec<String> {
    let mut days = closed.to_vec();
    days.sort_unstable();
    days.dedup();
    let mut lines: Vec<(NaiveDate, NaiveDate)> = Vec::new();
    for day in days {
        match lines.last_mut() {
            Some((_, last)) if last.succ_opt() == Some(day) => *last = day,
            _ => lines.push((day, day)),
        }
    }
    lines
        .into_iter()
        .map(|(first, last)| if first == last { first.to_string() } else { format!("{first} to {last}") })
        .collect()
}

/// Reads what [`fill_hours`] wrote.
pub fn check_hours(typed: &Typed, prefix: &str) -> Result<Hours, FieldErrors> {
    let mut read = Reader::new(typed);
    let mut hours = Hours::default();
    for ((day, name), stretches) in DAYS.iter().zip(&mut hours.week) {
        let field = format!("{prefix}-{day}");
        match stretches_of(typed.get(&field)) {
            Some(found) => *stretches = found,
            None => read.errors.add(
                field,
                format!(
                    "{name}: please write hours as 8:00-12:00, 13:00-17:00, in order, or leave it empty."
                ),
            ),
        }
    }
    let field = format!("{prefix}-closed");
    match closed_of(typed.get(&field)) {
        Ok(days) => hours.closed = days,
        Err(line) => read.errors.add(
            field,
            format!("Please write one day a line, as 2026-12-25 or 2026-12-24 to 2026-12-31; this is neither: {line}"),
        ),
    }
    read.or(hours)
}

/// A stretch as it is typed: `8:00-12:00`.
pub(super) fn written(stretch: Stretch) -> String {
    format!("{}-{}", clock(stretch.from), clock(stretch.to))
}

/// Stretches as typed, in order and not overlapping; `None`: they are something else.
pub(super) fn stretches_of(text: &str) -> Option<Vec<Stretch>> {
    let text = text.replace(['–', '—'], "-");
    let mut found: Vec<Stretch> = Vec::new();
    for part in text.split([',', ';']).map(str::trim).filter(|part| !part.is_empty()) {
        let (from, to) = part.split_once('-')?;
        let stretch = Stretch { from: minute(from)?, to: minute(to)? };
        if stretch.from >= stretch.to || found.last().is_some_and(|last| last.to > stretch.from) {
            return None;
        }
        found.push(stretch);
    }
    Some(found)
}

/// `8`, `8:05`, `08.05` as minutes after midnight; `24:00` is the end of the day.
fn minute(text: &str) -> Option<u16> {
    let text = text.trim().replace('.', ":");
    let (hour, minute) = text.split_once(':').unwrap_or((&text, "0"));
    let digits = |part: &str| !part.is_empty() && part.len() <= 2 && part.bytes().all(|b| b.is_ascii_digit());
    if !digits(hour) || !digits(minute) {
        return None;
    }
    let (hour, minute): (u16, u16) = (hour.parse().ok()?, minute.parse().ok()?);
    let total = hour * 60 + minute;
    (minute < 60 && total <= 1440).then_some(total)
}

fn closed_of(text: &str) -> Result<Vec<NaiveDate>, String> {
    let mut days = Vec::new();
    for line in text.lines().map(str::trim).filter(|line| !line.is_empty()) {
        let bad = || line.chars().take(40).collect::<String>();
        let (first, last) = line.split_once(" to ").unwrap_or((line, line));
        let first: NaiveDate = first.trim().parse().map_err(|_| bad())?;
        let last: NaiveDate = last.trim().parse().map_err(|_| bad())?;
        let n = (last - first).num_days();
        if !(0..=MOST_DAYS_OFF).contains(&n) {
            return Err(bad());
        }
        days.extend(first.iter_days().take(usize::try_from(n).unwrap_or(0) + 1));
    }
    days.sort_unstable();
    days.dedup();
    Ok(days)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(day: &str, closed: &str) -> Typed {
        let mut typed = Typed::default();
        typed.set("b-mon", day);
        typed.set("b-closed", closed);
        typed
    }

    #[test]
    fn hours_are_read_as_people_write_them() {
        let hours = check_hours(&typed("8-12, 13:00–15.30", ""), "b").unwrap();
        assert_eq!(hours.week[0], [Stretch { from: 480, to: 720 }, Stretch { from: 780, to: 930 }]);
        assert!(hours.week[1].is_empty());
        for bad in ["8", "12-8", "8-12, 11-13", "8-25", "8:61-9", "x-y", "-", "8-12-14"] {
            let errors = check_hours(&typed(bad, ""), "b").unwrap_err();
            assert!(errors.of("b-mon").is_some(), "{bad}");
        }
    }

    #[test]
    fn days_off_come_singly_or_as_a_stretch_and_go_back_as_they_came() {
        let text = "2026-12-24 to 2026-12-27\n2027-01-01";
        let hours = check_hours(&typed("", text), "b").unwrap();
        assert_eq!(hours.closed.len(), 5);
        let mut back = Typed::default();
        fill_hours(&mut back, "b", &hours);
        assert_eq!(back.get("b-closed"), text);
        for bad in ["christmas", "2026-12-27 to 2026-12-24", "2026-02-30", "2026-01-01 to 2027-01-01"] {
            assert!(check_hours(&typed("", bad), "b").unwrap_err().of("b-closed").is_some(), "{bad}");
        }
    }
}

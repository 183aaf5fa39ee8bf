//! Where instants (UTC) and the shop's own hours (local) meet.

use chrono::{DateTime, Days, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, TimeZone as _, Utc};
use chrono_tz::Tz;
use shop::hours::{Hours, Stretch};
use shop::profile::Profile;

/// The shop's time zone; UTC when its name is not known.
pub fn zone(profile: &Profile) -> Tz {
    profile.time_zone.parse().unwrap_or(Tz::UTC)
}

/// The instant at which clocks in `zone` show `local`. Where a clock change skips it, the instant as far after the
/// change as `local` lies after the skipped hour's beginning; where it comes twice, the first of the two.
pub fn instant(zone: Tz, local: NaiveDateTime) -> DateTime<Utc> {
    let found = zone.from_local_datetime(&local).earliest();
    // Clock changes move by two hours at most (Antarctica/Troll); four hours before there is none.
    let before = TimeDelta::hours(4);
    found
        .or_else(|| zone.from_local_datetime(&(local - before)).earliest().map(|at| at + before))
        .map_or_else(|| local.and_utc(), |at| at.with_timezone(&Utc))
}

/// What clocks in `zone` show at an instant.
pub fn shown(zone: Tz, at: DateTime<Utc>) -> NaiveDateTime {
    at.with_timezone(&zone).naive_local()
}

/// The date in `zone` at an instant.
pub fn date(zone: Tz, at: DateTime<Utc>) -> NaiveDate {
    shown(zone, at).date()
}

/// The instant at which a date begins.
pub fn midnight(zone: Tz, date: NaiveDate) -> DateTime<Utc> {
    instant(zone, date.and_time(NaiveTime::MIN))
}

/// The instant `minute` minutes after midnight by the clocks of that day; 1440 is the next midnight.
pub fn at_minute(zone: Tz, date: NaiveDate, minute: u16) -> DateTime<Utc> {
    let days = u64::from(minute / 1440);
    let date = date.checked_add_days(Days::new(days)).unwrap_or(date);
    let minute = u32::from(minute % 1440);
    let time = NaiveTime::from_hms_opt(minute / 60, minute % 60, 0).unwrap_or(NaiveTime::MIN);
    instant(zone, date.and_time(time))
}

/// The open stretches of `n` days from `first` on, as instants; each boundary goes through the zone by itself, so a day
/// with a clock change has the length it really has.
pub fn windows(
    zone: Tz,
    hours: &Hours,
    first: NaiveDate,
    n: u64,
) -> impl Iterator<Item = (DateTime<Utc>, DateTime<Utc>)> + use<'_> {
    (0..n).filter_map(move |k| first.checked_add_days(Days::new(k))).flat_map(move |date| {
        let of_day = move |s: &Stretch| (at_minute(zone, date, s.from), at_minute(zone, date, s.to));
        hours.on(date).iter().map(of_day).filter(|(from, to)| from < to)
    })
}

/// The first closing time at or after an instant; `None` when a year holds no open day.
pub fn closing_after(zone: Tz, hours: &Hours, at: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let today = date(zone, at);
    (0..=366)
        .filter_map(|k| today.checked_add_days(Days::new(k)))
        .filter_map(|date| hours.on(date).last().map(|s| at_minute(zone, date, s.to)))
        .find(|closing| *closing >= at)
}

/// The closing time of the `n`-th open day after the day of an instant (`n` = 0: that day or the next open one).
pub fn closing_of_day_after(zone: Tz, hours: &Hours, at: DateTime<Utc>, n: u16) -> Option<DateTime<Utc>> {
    let day = hours.open_day_after(date(zone, at), usize::from(n))?;
    hours.on(day).last().map(|s| at_minute(zone, day, s.to))
}

/// The first instant from `at` on at which people are told what they have not asked for: within the shop's time of day,
/// and on days off only if it wants that. At once when the next two weeks have no such time.
pub fn telling_time(profile: &Profile, at: DateTime<Utc>) -> DateTime<Utc> {
    let (zone, Stretch { from, to }) = (zone(profile), profile.told);
    let today = date(zone, at);
    (0..14)
        .filter_map(|k| today.checked_add_days(Days::new(k)))
        .filter(|day| {
            profile.told_on_days_off || profile.counter.is_open(*day) || profile.bench.is_open(*day)
        })
        .find_map(|day| {
            let soonest = at.max(at_minute(zone, day, from));
            (soonest < at_minute(zone, day, to)).then_some(soonest)
        })
        .unwrap_or(at)
}

/// The opening time of the `n`-th open day after the day of an instant.
pub fn opening_of_day_after(zone: Tz, hours: &Hours, at: DateTime<Utc>, n: u16) -> Option<DateTime<Utc>> {
    let day = hours.open_day_after(date(zone, at), usize::from(n))?;
    hours.on(day).first().map(|s| at_minute(zone, day, s.from))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn utc(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn every_day(from: u16, to: u16) -> Hours {
        let stretch = vec![Stretch { from, to }];
        Hours { week: std::array::from_fn(|_| stretch.clone()), closed: vec![] }
    }

    #[test]
    fn a_day_with_a_clock_change_has_the_length_it_really_has() {
        // Europe/Lisbon goes from UTC to UTC+1 on 2026-03-29 at 01:00, and back on 2026-10-25 at 02:00.
        let spring: Vec<_> = windows(Tz::Europe__Lisbon, &every_day(0, 480), day("2026-03-29"), 2).collect();
        assert_eq!(spring[0], (utc("2026-03-29T00:00:00Z"), utc("2026-03-29T07:00:00Z")));
        assert_eq!(spring[1], (utc("2026-03-29T23:00:00Z"), utc("2026-03-30T07:00:00Z")));
        let autumn: Vec<_> = windows(Tz::Europe__Lisbon, &every_day(0, 480), day("2026-10-25"), 1).collect();
        assert_eq!(autumn[0], (utc("2026-10-24T23:00:00Z"), utc("2026-10-25T08:00:00Z")));
    }

    #[test]
    fn a_skipped_hour_is_moved_on_and_a_repeated_one_is_its_first() {
        let zone = Tz::Europe__Lisbon;
        let at = |text: &str| instant(zone, text.parse().unwrap());
        assert_eq!(at("2026-03-29T01:30:00"), utc("2026-03-29T01:30:00Z"));
        assert_eq!(at("2026-10-25T01:30:00"), utc("2026-10-25T00:30:00Z"));
        assert_eq!(shown(zone, utc("2026-03-29T01:30:00Z")).to_string(), "2026-03-29 02:30:00");
    }

    #[test]
    fn people_are_told_by_day_and_not_on_days_off() {
        let mut profile = crate::use_cases::slots::tests::profile();
        profile.counter = Hours::default();
        // Mondays to Fridays.
        profile.bench = every_day(540, 1020);
        profile.bench.week[5].clear();
        profile.bench.week[6].clear();
        profile.bench.closed.push(day("2026-01-05"));
        let at = |text| telling_time(&profile, utc(text));
        // A Thursday in winter: by day at once, at night the next morning.
        assert_eq!(at("2026-01-01T12:34:56Z"), utc("2026-01-01T12:34:56Z"));
        assert_eq!(at("2026-01-01T05:00:00Z"), utc("2026-01-01T08:00:00Z"));
        assert_eq!(at("2026-01-01T20:00:00Z"), utc("2026-01-02T08:00:00Z"));
        // Friday evening: the weekend and a holiday on Monday are left alone.
        assert_eq!(at("2026-01-02T20:00:00Z"), utc("2026-01-06T08:00:00Z"));
        profile.told_on_days_off = true;
        assert_eq!(telling_time(&profile, utc("2026-01-02T20:00:00Z")), utc("2026-01-03T08:00:00Z"));
        // A shop that is never open still tells.
        profile.told_on_days_off = false;
        profile.bench = Hours::default();
        assert_eq!(telling_time(&profile, utc("2026-01-02T20:00:00Z")), utc("2026-01-02T20:00:00Z"));
    }

    #[test]
    fn closing_times_skip_days_off() {
        let zone = Tz::Europe__Lisbon;
        let mut hours = every_day(540, 1020);
        hours.closed.push(day("2026-01-02"));
        assert_eq!(
            closing_after(zone, &hours, utc("2026-01-01T17:00:00Z")),
            Some(utc("2026-01-01T17:00:00Z"))
        );
        assert_eq!(
            closing_after(zone, &hours, utc("2026-01-01T17:01:00Z")),
            Some(utc("2026-01-03T17:00:00Z"))
        );
        assert_eq!(
            closing_of_day_after(zone, &hours, utc("2026-01-01T08:00:00Z"), 1),
            Some(utc("2026-01-03T17:00:00Z"))
        );
        assert_eq!(closing_after(zone, &Hours::default(), utc("2026-01-01T08:00:00Z")), None);
    }
}

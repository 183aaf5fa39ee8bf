//! Which counter slots are free.

use std::collections::HashMap;

use chrono::{DateTime, Days, NaiveDateTime, NaiveTime, TimeDelta, Utc};
use shop::profile::Profile;

use crate::local;

/// Slots are offered this many days ahead.
const DAYS_AHEAD: u64 = 14;
/// A slot that begins sooner than this is not offered: somebody has to make room at the counter.
const NOTICE: TimeDelta = TimeDelta::hours(2);

/// The free slots, local time, soonest first. `taken` holds each taken place once.
pub fn free(profile: &Profile, taken: &[NaiveDateTime], now: DateTime<Utc>) -> Vec<NaiveDateTime> {
    let places = usize::from(profile.slot_places);
    let mut full: HashMap<NaiveDateTime, usize> = HashMap::new();
    for slot in taken {
        *full.entry(*slot).or_default() += 1;
    }
    all(profile, now).filter(|slot| full.get(slot).copied().unwrap_or(0) < places).collect()
}

/// Every slot on offer, free or not.
fn all(profile: &Profile, now: DateTime<Utc>) -> impl Iterator<Item = NaiveDateTime> {
    let zone = local::zone(profile);
    let soonest = local::shown(zone, now + NOTICE);
    let step = profile.slot_minutes.max(5);
    (0..DAYS_AHEAD)
        .filter_map(move |d| local::date(zone, now).checked_add_days(Days::new(d)))
        .flat_map(move |date| {
            profile.counter.on(date).iter().flat_map(move |stretch| {
                (stretch.from..stretch.to)
                    .step_by(usize::from(step))
                    .filter(move |from| from + step <= stretch.to)
                    .map(move |from| date.and_time(NaiveTime::MIN) + TimeDelta::minutes(i64::from(from)))
            })
        })
        .filter(move |slot| *slot >= soonest)
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use chrono::NaiveDate;
    use shop::hours::{Hours, Stretch};
    use shop::money::Money;
    use shop::profile::ReadyRule;

    /// A shop in Lisbon that is nobody's.
    pub(crate) fn profile() -> Profile {
        let mut counter = Hours::default();
        // Mondays from 9:00 to 10:15 only.
        counter.week[0] = vec![Stretch { from: 540, to: 615 }];
        Profile {
            name: "Shop".into(),
            street: String::new(),
            town: String::new(),
            country: String::new(),
            email: String::new(),
            phone: String::new(),
            time_zone: "Europe/Lisbon".into(),
            currency: "EUR".into(),
            bench: counter.clone(),
            counter,
            slot_minutes: 30,
            slot_places: 2,
            promise_days: 6,
            post_days: 2,
            ready_rule: ReadyRule::WholeVisit,
            told: Profile::usual_told(),
            told_on_days_off: false,
            paid_first: true,
            remind_after_days: 7,
            lapse_after_days: 21,
            carrier_rule: String::new(),
            carrier_checked: NaiveDate::default(),
            risk_text: String::new(),
            withdrawal_text: String::new(),
            cut_test_text: String::new(),
            most_declared: Money(0),
            wording: std::collections::BTreeMap::new(),
        }
    }

    fn local(text: &str) -> NaiveDateTime {
        text.parse().unwrap()
    }

    fn utc(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    #[test]
    fn a_slot_is_offered_until_its_places_are_gone() {
        let now = utc("2026-03-01T12:00:00Z"); // a Sunday
        let nine = local("2026-03-02T09:00:00");
        let half_past = local("2026-03-02T09:30:00");
        let next = [local("2026-03-09T09:00:00"), local("2026-03-09T09:30:00")];
        let all = [&[nine, half_past][..], &next].concat();
        assert_eq!(free(&profile(), &[], now), all);
        assert_eq!(free(&profile(), &[nine], now), all);
        assert_eq!(free(&profile(), &[nine, half_past, nine], now), [&[half_past][..], &next].concat());
    }

    #[test]
    fn a_slot_within_two_hours_is_too_soon_by_the_shops_own_clock() {
        // 7:20 UTC on a summer Monday is 8:20 in Lisbon: 9:00 and 9:30 are too soon, next week's are not.
        let free = free(&profile(), &[], utc("2026-07-06T07:20:00Z"));
        assert_eq!(free.first(), Some(&local("2026-07-13T09:00:00")));
    }
}

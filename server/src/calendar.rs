//! Calendar files (RFC 5545) of a visit: when to come, by when to send, when to fetch.

use chrono::{DateTime, Days, NaiveDate, TimeDelta, Utc};
use icalendar::{Alarm, Calendar, Component, Event, EventLike as _, EventStatus, Property};
use shop::booking::Arrival;
use shop::piece::PieceState;
use shop::profile::Profile;
use shop::read::Visit;

use crate::local;

/// The calendar file of a visit as it stands at `now`. `page` is the address of its private page, `host` the right half of
/// the entries' ids. Sent again after a change it replaces the entries of before: ids stay, the sequence number grows.
pub fn of_visit(visit: &Visit, profile: &Profile, page: &str, host: &str, now: DateTime<Utc>) -> String {
    let mut calendar = Calendar::new();
    calendar.append_property(Property::new("PRODID", "-//Whetledger//Visit//EN"));
    calendar.append_property(Property::new("METHOD", "PUBLISH"));
    let zone = local::zone(profile);
    let begin = |name: &str, summary: String| {
        let mut event = Event::new();
        event
            .uid(&format!("{name}-{}@{host}", visit.id))
            .sequence(u32::try_from(visit.version).unwrap_or(0))
            .timestamp(now)
            .summary(&summary)
            .url(page);
        if visit.cancelled_at.is_some() {
            event.status(EventStatus::Cancelled);
        } else {
            event.status(EventStatus::Confirmed);
        }
        event
    };
    let lang = visit.language;
    let say = |name: &str| {
        let places = [("shop", (&profile.name).into()), ("reference", visit.reference.to_string().into())];
        words::say(lang, name, &places)
    };
    let shop_address = format!("{}, {}, {}", profile.name, profile.street, profile.town);
    match &visit.arrival {
        Arrival::Counter { slot } => {
            let start = local::instant(zone, *slot);
            let mut event = begin("bring", say("cal-bring"));
            event
                .starts(start)
                .ends(start + TimeDelta::minutes(i64::from(profile.slot_minutes)))
                .location(&shop_address)
                .description(&say("cal-bring-say"))
                .alarm(Alarm::display(&say("cal-bring-alarm"), -TimeDelta::hours(2)));
            calendar.push(event.done());
        }
        Arrival::Post => {
            let mut event = begin("send", say("cal-send"));
            event
                .all_day(send_by(visit, profile))
                .location(&shop_address)
                .description(&say("cal-send-say"))
                .alarm(Alarm::display(&say("cal-send-alarm"), -TimeDelta::hours(12)));
            calendar.push(event.done());
        }
    }
    let ready = visit.ready_at.is_some() || visit.pieces.iter().any(|p| p.state == PieceState::Ready);
    if !visit.back_by_post {
        let day = local::shown(zone, visit.ready_at.unwrap_or(visit.promise_at)).date();
        let mut event = begin("fetch", say(if ready { "cal-fetch" } else { "cal-promised" }));
        event.all_day(day).location(&shop_address).description(&say("cal-fetch-say"));
        calendar.push(event.done());
    }
    calendar.to_string()
}

/// The last day on which a parcel should leave so that the promised day can be kept: the open days a parcel takes, and one
/// day of grace, before the day we counted on; never before the day of booking.
pub fn send_by(visit: &Visit, profile: &Profile) -> NaiveDate {
    let booked = local::date(local::zone(profile), visit.booked_at);
    // Bookings are promised from an arrival `post_days` open days after they were made, plus one for the posting itself.
    profile
        .bench
        .open_day_after(booked, 1)
        .or_else(|| booked.checked_add_days(Days::new(1)))
        .unwrap_or(booked)
}

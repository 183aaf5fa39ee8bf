//! The shop's name, place and rules.

use super::hours::{stretches_of, written};
use super::{Reader, Typed};
use crate::field::FieldErrors;
use crate::profile::{Profile, ReadyRule};

/// What the form shows.
pub fn fill_profile(profile: &Profile) -> Typed {
    let mut typed = Typed::default();
    let texts: [(&str, &str); 12] = [
        ("name", &profile.name),
        ("street", &profile.street),
        ("town", &profile.town),
        ("country", &profile.country),
        ("email", &profile.email),
        ("phone", &profile.phone),
        ("time-zone", &profile.time_zone),
        ("currency", &profile.currency),
        ("carrier-rule", &profile.carrier_rule),
        ("risk-text", &profile.risk_text),
        ("withdrawal-text", &profile.withdrawal_text),
        ("cut-test-text", &profile.cut_test_text),
    ];
    for (field, text) in texts {
        typed.set(field, text);
    }
    let figures: [(&str, u16); 6] = [
        ("slot-minutes", profile.slot_minutes),
        ("slot-places", profile.slot_places),
        ("promise-days", profile.promise_days),
        ("post-days", profile.post_days),
        ("remind-after-days", profile.remind_after_days),
        ("lapse-after-days", profile.lapse_after_days),
    ];
    for (field, figure) in figures {
        typed.set(field, figure.to_string());
    }
    let rule = match profile.ready_rule {
        ReadyRule::WholeVisit => "whole_visit",
        ReadyRule::PerPiece => "per_piece",
    };
    typed.set("ready-rule", rule);
    typed.set("told", written(profile.told));
    typed.tick("told-on-days-off", profile.told_on_days_off);
    typed.tick("paid-first", profile.paid_first);
    typed.set("carrier-checked", profile.carrier_checked.to_string());
    typed.money("most-declared", profile.most_declared);
    typed
}

/// What was typed, on top of the hours `before` has. Whether the time zone exists is for the server to say.
pub fn check_profile(typed: &Typed, before: &Profile) -> Result<Profile, FieldErrors> {
    let mut read = Reader::new(typed);
    let mut profile = Profile {
        name: read.line("name", "the shop's name", 80, true),
        street: read.line("street", "street and number", 120, true),
        town: read.line("town", "postal code and town", 120, true),
        country: read.line("country", "the country", 80, true),
        email: read.email("email"),
        phone: read.line("phone", "the telephone number", 40, false),
        time_zone: read.line("time-zone", "the time zone", 60, true),
        currency: read.line("currency", "the currency", 3, true).to_uppercase(),
        counter: before.counter.clone(),
        bench: before.bench.clone(),
        slot_minutes: read.small("slot-minutes", "the length of a slot", 5, 480),
        slot_places: read.small("slot-places", "the visits that fit in one slot", 1, 50),
        promise_days: read.small("promise-days", "the working days promised", 1, 200),
        post_days: read.small("post-days", "the days a parcel takes", 0, 60),
        ready_rule: ReadyRule::default(),
        told: Profile::usual_told(),
        told_on_days_off: typed.ticked("told-on-days-off"),
        paid_first: typed.ticked("paid-first"),
        remind_after_days: read.small("remind-after-days", "the days until a reminder", 1, 365),
        lapse_after_days: read.small("lapse-after-days", "the days until a booking lapses", 1, 365),
        carrier_rule: read.text("carrier-rule", "the carrier's rule", 4000),
        carrier_checked: read.date("carrier-checked", "the day you last checked the rule"),
        risk_text: read.text("risk-text", "this text", 4000),
        withdrawal_text: read.text("withdrawal-text", "this text", 4000),
        cut_test_text: read.text("cut-test-text", "how the force of a cut is measured", 1000),
        most_declared: read.money("most-declared", "the highest value"),
        wording: before.wording.clone(),
    };
    let rules = [("whole_visit", ReadyRule::WholeVisit), ("per_piece", ReadyRule::PerPiece)];
    profile.ready_rule = read.one_of("ready-rule", &rules).unwrap_or_default();
    match stretches_of(typed.get("told")).as_deref() {
        Some([told]) => profile.told = *told,
        _ => read.errors.add("told", "Please write the time of day as 8:00-20:00."),
    }
    let code = profile.currency.as_bytes();
    if !profile.currency.is_empty() && (code.len() != 3 || !code.iter().all(u8::is_ascii_uppercase)) {
        read.errors.add("currency", "Please give the three letters of the currency, such as EUR (ISO 4217).");
    }
    read.or(profile)
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::hours::Hours;
    use crate::money::Money;

    /// A shop that is nobody's.
    pub(in crate::owner) fn profile() -> Profile {
        Profile {
            name: "Test shop".into(),
            street: "1 Lane".into(),
            town: "1000 Town".into(),
            country: "Portugal".into(),
            email: "shop@example.com".into(),
            phone: String::new(),
            time_zone: "Europe/Lisbon".into(),
            currency: "EUR".into(),
            counter: Hours::default(),
            bench: Hours::default(),
            slot_minutes: 30,
            slot_places: 2,
            promise_days: 6,
            post_days: 2,
            ready_rule: ReadyRule::PerPiece,
            told: crate::hours::Stretch { from: 510, to: 1110 },
            told_on_days_off: true,
            paid_first: true,
            remind_after_days: 7,
            lapse_after_days: 21,
            carrier_rule: "Well packed.\nIn a box.".into(),
            carrier_checked: "2026-01-31".parse().unwrap(),
            risk_text: String::new(),
            withdrawal_text: String::new(),
            cut_test_text: "A thread, pushed through.".into(),
            most_declared: Money(150_000),
            wording: std::collections::BTreeMap::new(),
        }
    }

    #[test]
    fn a_profile_goes_through_its_form_unchanged() {
        let before = profile();
        assert_eq!(check_profile(&fill_profile(&before), &before), Ok(before));
    }

    #[test]
    fn every_bad_field_is_named() {
        let mut typed = fill_profile(&profile());
        typed.set("name", " ");
        typed.set("email", "shop");
        typed.set("currency", "E1R");
        typed.set("promise-days", "0");
        typed.set("carrier-checked", "yesterday");
        typed.set("most-declared", "-5");
        typed.set("ready-rule", "never");
        typed.set("told", "20:00-8:00");
        let errors = check_profile(&typed, &profile()).unwrap_err();
        for field in [
            "name",
            "email",
            "currency",
            "promise-days",
            "carrier-checked",
            "most-declared",
            "ready-rule",
            "told",
        ] {
            assert!(errors.of(field).is_some(), "{field} of {errors:?}");
        }
        assert_eq!(errors.0.len(), 8, "{errors:?}");
    }
}

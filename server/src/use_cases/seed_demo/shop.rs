//! The demo shop itself: name, hours, rules and prices. All invented.

use chrono::{Days, NaiveDate};
use shop::hours::{Hours, Stretch};
use shop::money::Money;
use shop::price::{LengthStep, PriceList};
use shop::profile::{Profile, ReadyRule};

/// The shop's rules. `today` dates the carrier's rule.
pub(super) fn profile(today: NaiveDate) -> Profile {
    Profile {
        name: "Marram Bladeworks".into(),
        street: "7 Ropewalk".into(),
        town: "4120 Sandhaven".into(),
        country: "Portugal".into(),
        email: "bench@example.com".into(),
        phone: "+351 200 000 000".into(),
        time_zone: "Europe/Lisbon".into(),
        currency: "EUR".into(),
        counter: weekdays(&[(9 * 60, 12 * 60 + 30), (14 * 60, 17 * 60)]),
        bench: bench_hours(),
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
        carrier_rule: "Blades travel as ordinary parcels when the edge and point cannot cut through the packing: a stiff \
                       sleeve over the edge, padding that cannot shift, a strong box, nothing on the outside that says what \
                       is inside. Please check your own carrier's rule before you send."
            .into(),
        carrier_checked: today.checked_sub_days(Days::new(40)).unwrap_or(today),
        risk_text: "On the way to us the sender bears the risk; on the way back we do, up to the value you declare and the \
                    parcel covers. Photograph your knives and their packing before you send them."
            .into(),
        withdrawal_text: "If you book from a distance you may withdraw within 14 days. If you want us to begin before they \
                          are over, please say so expressly; once the work is fully done the right to withdraw ends. This \
                          is how we understand the rules (Directive 2011/83/EU); it is not legal advice."
            .into(),
        cut_test_text: "A polyester thread of 0.3 mm, taut between two posts on the bench scale, is cut at the middle of the \
                        edge: pushed straight down, never drawn. The highest reading counts, the middle one of three."
            .into(),
        most_declared: Money(150_000),
        wording: german(),
    }
}

/// The owner's own texts for customers who read German.
fn german() -> std::collections::BTreeMap<String, String> {
    [
        (
            "de carrier-rule",
            "Klingen reisen als gewöhnliches Paket, wenn Schneide und Spitze die Verpackung nicht durchdringen können: eine \
             steife Hülle über der Schneide, Polster, das nicht verrutscht, ein fester Karton, außen kein Hinweis auf den \
             Inhalt. Bitte fragen Sie Ihren eigenen Paketdienst, bevor Sie etwas abschicken.",
        ),
        (
            "de risk-text",
            "Auf dem Weg zu uns trägt der Absender das Risiko; auf dem Rückweg tragen wir es, bis zu dem Wert, den Sie angeben \
             und den das Paket deckt. Fotografieren Sie Ihre Messer und die Verpackung, bevor Sie sie abschicken.",
        ),
        (
            "de withdrawal-text",
            "Wer aus der Ferne bucht, kann binnen 14 Tagen widerrufen. Möchten Sie, dass wir vorher anfangen, sagen Sie es \
             bitte ausdrücklich; ist die Arbeit ganz getan, endet das Widerrufsrecht. So verstehen wir die Regeln (Richtlinie \
             2011/83/EU); eine Rechtsberatung ist das nicht.",
        ),
    ]
    .map(|(name, text)| (name.to_owned(), text.to_owned()))
    .into()
}

/// Two blocks a day, Monday to Friday: six hours at the bench for each of two people.
pub(super) fn bench_hours() -> Hours {
    weekdays(&[(8 * 60, 12 * 60), (13 * 60, 15 * 60)])
}

fn weekdays(stretches: &[(u16, u16)]) -> Hours {
    let day: Vec<_> = stretches.iter().map(|&(from, to)| Stretch { from, to }).collect();
    let mut hours = Hours::default();
    hours.week[..5].fill(day);
    hours
}

/// The price list, EUR, tax included.
pub(super) fn prices() -> PriceList {
    let step = |up_to_mm: f64, cents: i64| LengthStep { up_to_mm, price: Money(cents) };
    PriceList {
        tax_permille: 230,
        plain: vec![step(150.0, 1400), step(240.0, 1900), step(9999.0, 2400)],
        single_extra: Money(600),
        back_flattening: Money(900),
        own_serrated: vec![step(180.0, 2200), step(260.0, 2700), step(9999.0, 3300)],
        foreign_fitting: Money(3600),
        foreign_tooth: (Money(3000), Money(40)),
        foreign_to_plain: Money(3400),
        chip_free_mm: 0.3,
        chip_per_half_mm: Money(500),
        tip_per_3_mm: Money(800),
        heel: Money(1200),
        bolster: Money(1500),
        thin: vec![step(180.0, 2000), step(9999.0, 2800)],
        straighten: Money(1200),
        derust_side: Money(600),
        redarken: Money(900),
        handle_tighten: Money(1000),
        handle_oil: Money(400),
        rush: (40, Money(800)),
        withdrawn: Money(500),
        parcels: vec![(Money(20_000), Money(750)), (Money(60_000), Money(1400))],
    }
}

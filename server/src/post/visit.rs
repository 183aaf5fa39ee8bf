//! The words of the notices a customer gets on the way: booked, price asked, price answered, called off, a new link.
//!
//! They answer what people ask, in the order they ask it, and promise nothing the bench cannot keep.

use chrono_tz::Tz;
use shop::booking::Arrival;
use shop::money::Money;
use shop::packing;
use shop::piece::PieceState;
use shop::profile::Profile;
use shop::read::{Piece, Verdict, Visit};
use shop::units::short;

use super::sheet::Sheet;
use crate::calendar::send_by;
use crate::{local, when};

/// A visit was booked; it counts once it is confirmed.
#[derive(Debug, Clone, PartialEq)]
pub struct Booked {
    /// The visit.
    pub visit: Visit,
    /// The shop.
    pub profile: Profile,
    /// The shop's zone.
    pub zone: Tz,
    /// Opens the private page.
    pub link: String,
    /// What goes with it (RFC 5545).
    pub calendar: String,
}

impl Booked {
    pub(super) fn subject(&self) -> String {
        format!("Please confirm your booking {}", self.visit.reference)
    }

    pub(super) fn sheet(&self) -> Sheet {
        let (visit, profile) = (&self.visit, &self.profile);
        let n = knives(visit.pieces.len());
        let mut facts = vec![("Reference".to_owned(), visit.reference.to_string())];
        facts.extend(visit.pieces.iter().map(|p| {
            let price = p.estimate.price.show(&profile.currency);
            (format!("Knife {}", p.number), format!("{}, {price}", p.name))
        }));
        facts.push(("Work in all".into(), visit.price().show(&profile.currency)));
        facts.push((
            "Ready by".into(),
            format!(
                "{}, if {}",
                when::day(local::date(self.zone, visit.promise_at)),
                match &visit.arrival {
                    Arrival::Post => format!("they leave by {}", when::day(send_by(visit, profile))),
                    Arrival::Counter { .. } => "they come at the time below".to_owned(),
                }
            ),
        ));
        let sheet = Sheet::new(format!("{n} booked: please confirm"))
            .say(format!(
                "Somebody with this mail address, we hope you, booked {n} with {}. The booking counts once you confirm \
                 it. Without that it is dropped by itself, and you hear no more of it.",
                profile.name
            ))
            .button("Look at it and confirm", &self.link)
            .facts(facts)
            .say(
                "The price is a range because nobody has measured your knives yet. Within it we go ahead; beyond it we \
                 ask you first.",
            );
        let sheet = match &visit.arrival {
            Arrival::Counter { slot } => sheet.heading("Bringing them").say(format!(
                "We expect you on {} at {}, {}. Please carry each blade wrapped in card or a towel.",
                when::day_and_time(*slot),
                profile.street,
                profile.town
            )),
            Arrival::Post => sheet
                .heading("How to pack a blade")
                .say(format!(
                    "{} (Asked of the carrier on {}.)",
                    profile.carrier_rule,
                    when::day(profile.carrier_checked)
                ))
                .list(packing::RULES)
                .say(format!(
                    "Send to: {}, {}, {}, {}. The slip to put inside is on your page.",
                    profile.name, profile.street, profile.town, profile.country
                ))
                .say(&profile.risk_text),
        };
        sheet.small(format!(
            "Keep this mail: its link opens your page and nobody else should have it. Questions? Write to {}.",
            profile.email
        ))
    }
}

/// A price is asked, for every piece of the visit that waits for an answer.
#[derive(Debug, Clone, PartialEq)]
pub struct QuoteAsked {
    /// The visit, with its pieces as they stand.
    pub visit: Visit,
    /// The shop.
    pub profile: Profile,
    /// What measuring costs when the answer is no.
    pub withdrawn: Money,
    /// Opens the private page.
    pub link: String,
}

impl QuoteAsked {
    pub(super) fn subject(&self) -> String {
        format!("Your answer, please: {}", self.visit.reference)
    }

    pub(super) fn sheet(&self) -> Sheet {
        let currency = &self.profile.currency;
        let asked: Vec<_> = self
            .visit
            .pieces
            .iter()
            .filter(|p| p.state == PieceState::Measured)
            .filter_map(|p| p.verdict.as_ref().map(|v| (p, v)))
            .collect();
        let mut sheet = Sheet::new("We have measured, and need your answer").say(format!(
            "{} turned out to be more, or other, work than you booked. We do nothing to {} until you have said yes or no.",
            if asked.len() == 1 { "One of your knives" } else { "Some of your knives" },
            if asked.len() == 1 { "it" } else { "them" },
        ));
        for (piece, verdict) in asked {
            sheet = sheet.heading(&piece.name).facts(quote_facts(piece, verdict, currency));
        }
        sheet.button("Say yes or no", &self.link).small(format!(
            "If you say no, the knife goes back as it is; {} for measuring it. The days until we have your answer come on \
             top of the promised day.",
            if self.withdrawn == Money(0) {
                "nothing is asked".to_owned()
            } else {
                format!("we ask {}", self.withdrawn.show(currency))
            }
        ))
    }
}

fn quote_facts(piece: &Piece, verdict: &Verdict, currency: &str) -> Vec<(String, String)> {
    let mut facts = vec![
        ("Price".to_owned(), verdict.quote.total.show(currency)),
        ("Booked as".into(), piece.estimate.price.show(currency)),
        ("Steel it takes".into(), recession_words(verdict)),
    ];
    if let Some(life) = life_words(verdict) {
        facts.push(("Afterwards".into(), life));
    }
    if !verdict.advice.is_empty() {
        facts.push(("We advise".into(), verdict.advice.clone()));
    }
    facts.extend(verdict.quote.lines.iter().map(|l| (l.what.clone(), l.price.show(currency))));
    facts
}

/// `0.4 mm of height`, or `0.2 to 0.8 mm of height`.
pub fn recession_words(verdict: &Verdict) -> String {
    let (low, high) = verdict.recession_mm;
    if (high - low).abs() < 0.005 {
        format!("{} mm of height", short(high, 2))
    } else {
        format!("{} to {} mm of height", short(low, 2), short(high, 2))
    }
}

/// `about 5 to 8 more at your habit`; `None` when nothing limits.
pub fn life_words(verdict: &Verdict) -> Option<String> {
    let (low, high) = verdict.services_after?;
    Some(match (low, high) {
        (_, 0) => "this would be the last time".to_owned(),
        (low, high) if low == high => format!("about {low} more at your habit"),
        (low, high) => format!("about {low} to {high} more at your habit"),
    })
}

/// All questions about prices are answered.
#[derive(Debug, Clone, PartialEq)]
pub struct Answered {
    /// The visit, with its pieces as they stand.
    pub visit: Visit,
    /// The shop.
    pub profile: Profile,
    /// Opens the private page.
    pub link: String,
}

impl Answered {
    pub(super) fn subject(&self) -> String {
        format!("Your answer is noted: {}", self.visit.reference)
    }

    pub(super) fn sheet(&self) -> Sheet {
        let currency = &self.profile.currency;
        let facts = self.visit.pieces.iter().filter_map(|p| match (p.state, p.agreed) {
            (PieceState::Withdrawn, _) => Some((p.name.clone(), "goes back as it is".to_owned())),
            (_, Some(total)) => Some((p.name.clone(), format!("agreed at {}", total.show(currency)))),
            _ => None,
        });
        let agreed: Money = self.visit.pieces.iter().filter_map(|p| p.agreed).sum();
        let zone = local::zone(&self.profile);
        let mut sheet = Sheet::new("Thank you, your answer is noted").facts(facts);
        if agreed > Money(0) {
            sheet = sheet.say(format!(
                "{} of work is agreed. It goes into line now; we have {} for it in mind, and write if that moves.",
                agreed.show(currency),
                when::day(local::date(zone, self.visit.promise_at))
            ));
        }
        sheet.button("See your visit", &self.link)
    }
}

/// Called off before anything was sent.
#[derive(Debug, Clone, PartialEq)]
pub struct Cancelled {
    /// The visit.
    pub visit: Visit,
    /// The shop.
    pub profile: Profile,
}

impl Cancelled {
    pub(super) fn subject(&self) -> String {
        format!("Called off: {}", self.visit.reference)
    }

    pub(super) fn sheet(&self) -> Sheet {
        Sheet::new("Your booking is called off")
            .say(format!(
                "We have taken {} with the reference {} off our list. Nothing is to be paid. Please do not send them any \
                 more; if they are on their way already, tell us at {}.",
                knives(self.visit.pieces.len()),
                self.visit.reference,
                self.profile.email
            ))
            .small("If this was a mistake, simply book again.")
    }
}

/// New links to somebody's visits.
#[derive(Debug, Clone, PartialEq)]
pub struct NewLinks {
    /// The visits, newest first, each with its new link.
    pub links: Vec<(Visit, String)>,
    /// The shop.
    pub profile: Profile,
}

impl NewLinks {
    pub(super) fn subject(&self) -> String {
        match self.links.as_slice() {
            [(visit, _)] => format!("A new link to your visit {}", visit.reference),
            _ => "New links to your visits".to_owned(),
        }
    }

    pub(super) fn sheet(&self) -> Sheet {
        let zone = local::zone(&self.profile);
        let mut sheet = Sheet::new(self.subject()).say(format!(
            "You, or somebody who knows your mail address, asked {} for this. The links below open your pages.",
            self.profile.name
        ));
        for (visit, link) in &self.links {
            let label = format!(
                "{}, {} booked on {}",
                visit.reference,
                knives(visit.pieces.len()),
                when::day(local::date(zone, visit.booked_at))
            );
            sheet = sheet.button(label, link);
        }
        sheet.small("If you did not ask for it, nothing is to be done; older links go on working until their day is over.")
    }
}

/// `1 knife`, `3 knives`.
pub fn knives(n: usize) -> String {
    if n == 1 { "1 knife".to_owned() } else { format!("{n} knives") }
}

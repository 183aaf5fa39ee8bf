//! The notices a customer gets on the way: booked, price asked, price answered, called off, a new link, a complaint taken in.
//!
//! They answer what people ask, in the order they ask it, and promise nothing the bench cannot keep.

use shop::booking::Arrival;
use shop::money::Money;
use shop::packing;
use shop::piece::PieceState;
use shop::profile::Profile;
use shop::read::{Piece, Verdict, Visit};

use super::sheet::Sheet;
use super::words::{Arg, Words};
use crate::calendar::send_by;

/// A visit was booked; it counts once it is confirmed.
#[derive(Debug, Clone, PartialEq)]
pub struct Booked {
    /// The visit.
    pub visit: Visit,
    /// The shop.
    pub profile: Profile,
    /// Opens the private page.
    pub link: String,
    /// What goes with it (RFC 5545).
    pub calendar: String,
}

impl Booked {
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        w.say("mail-booked-subject", &[reference(&self.visit)])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let (visit, profile) = (&self.visit, &self.profile);
        let n = w.knives(visit.pieces.len());
        let mut facts = vec![(w.say("mail-fact-reference", &[]), visit.reference.to_string())];
        facts.extend(visit.pieces.iter().map(|p| {
            let label = w.say("mail-fact-knife", &[("n", p.number.into())]);
            (label, format!("{}, {}", w.name(p), w.range(p.estimate.price)))
        }));
        facts.push((w.say("mail-fact-work", &[]), w.range(visit.price())));
        let day = w.day_of(visit.promise_at);
        let ready = match &visit.arrival {
            Arrival::Post => {
                let by = w.day(send_by(visit, profile));
                w.say("mail-booked-ready-post", &[("day", day.into()), ("by", by.into())])
            }
            Arrival::Counter { .. } => w.say("mail-booked-ready-counter", &[("day", day.into())]),
        };
        facts.push((w.say("mail-fact-ready-by", &[]), ready));
        let sheet = Sheet::new(w.say("mail-booked-heading", &[("knives", n.as_str().into())]))
            .say(w.say("mail-booked-say", &[("knives", n.into())]))
            .button(w.say("mail-booked-button", &[]), &self.link)
            .facts(facts)
            .say(w.say("mail-booked-range", &[]));
        arriving(sheet, w, visit, profile).small(w.say("mail-keep", &[]))
    }
}

/// How the knives come: the slot, or how to pack and where to send.
fn arriving(sheet: Sheet, w: &Words<'_>, visit: &Visit, profile: &Profile) -> Sheet {
    match &visit.arrival {
        Arrival::Counter { slot } => sheet.heading(w.say("mail-bring-heading", &[])).say(w.say(
            "mail-bring-say",
            &[("time", w.lang.day_and_time(*slot).into()), ("place", w.place().into())],
        )),
        Arrival::Post => {
            let book = w.book(&["packing"]);
            sheet
                .heading(w.say("mail-pack-heading", &[]))
                .say(w.say(
                    "mail-pack-rule",
                    &[
                        ("rule", profile.carrier_rule_in(w.lang).into()),
                        ("day", w.day(profile.carrier_checked).into()),
                    ],
                ))
                .list(packing::RULES.map(|rule| book.say(rule)))
                .say(w.say(
                    "mail-pack-to",
                    &[("place", w.place().into()), ("country", profile.country.as_str().into())],
                ))
                .say(profile.risk_text_in(w.lang))
        }
    }
}

/// A complaint was taken in: the visit that puts it right.
#[derive(Debug, Clone, PartialEq)]
pub struct Complained {
    /// The new visit.
    pub visit: Visit,
    /// The reference of the visit it is about.
    pub about: String,
    /// The shop.
    pub profile: Profile,
    /// Opens the private page.
    pub link: String,
}

impl Complained {
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        w.say("mail-complained-subject", &[reference(&self.visit)])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let visit = &self.visit;
        let names: Vec<_> = visit.pieces.iter().map(|p| w.name(p)).collect();
        let args = [("about", Arg::from(&self.about)), ("day", w.day_of(visit.promise_at).into())];
        let sheet = Sheet::new(w.say("mail-complained-heading", &[]))
            .say(w.say("mail-complained-say", &args))
            .list(names)
            .button(w.say("mail-see-visit", &[]), &self.link)
            .facts([(w.say("mail-fact-reference", &[]), visit.reference.to_string())]);
        arriving(sheet, w, visit, &self.profile).small(w.say("mail-keep", &[]))
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
    /// It was asked before, and nobody has answered.
    pub again: bool,
}

impl QuoteAsked {
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        let name = if self.again { "mail-quote-again-subject" } else { "mail-quote-subject" };
        w.say(name, &[reference(&self.visit)])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let asked: Vec<_> = self
            .visit
            .pieces
            .iter()
            .filter(|p| p.state == PieceState::Measured)
            .filter_map(|p| p.verdict.as_ref().map(|v| (p, v)))
            .collect();
        let one = asked.len() == 1;
        let mut sheet = if self.again {
            Sheet::new(w.say("mail-quote-again-heading", &[])).say(w.say("mail-quote-again-say", &[]))
        } else {
            Sheet::new(w.say("mail-quote-heading", &[]))
        };
        sheet = sheet.say(w.say(if one { "mail-quote-say-one" } else { "mail-quote-say-many" }, &[]));
        for (piece, verdict) in asked {
            sheet = sheet.heading(w.name(piece)).facts(quote_facts(w, piece, verdict));
        }
        let no = if self.withdrawn == Money(0) {
            w.say("mail-quote-no-free", &[])
        } else {
            w.say("mail-quote-no", &[("amount", w.money(self.withdrawn).into())])
        };
        sheet.button(w.say("mail-quote-button", &[]), &self.link).small(no)
    }
}

fn quote_facts(w: &Words<'_>, piece: &Piece, verdict: &Verdict) -> Vec<(String, String)> {
    let book = w.book(&[]);
    let mut facts = vec![
        (w.say("mail-fact-price", &[]), w.money(verdict.quote.total)),
        (w.say("mail-fact-booked-as", &[]), w.range(piece.estimate.price)),
        (
            w.say("mail-fact-steel", &[]),
            w.say("mail-height", &[("span", w.lang.span(verdict.recession_mm).into())]),
        ),
    ];
    if let Some(life) = life(w, verdict) {
        facts.push((w.say("mail-fact-after", &[]), life));
    }
    if !verdict.advice.is_empty() {
        facts.push((w.say("mail-fact-advice", &[]), book.say(&verdict.advice)));
    }
    facts.extend(verdict.quote.lines.iter().map(|l| (book.say(&l.what), w.money(l.price))));
    facts
}

/// `about 5 to 8 more at your habit`; `None` when nothing limits.
fn life(w: &Words<'_>, verdict: &Verdict) -> Option<String> {
    let (low, high) = verdict.services_after?;
    let services = match (low, high) {
        (_, 0) => w.say("life-last", &[]),
        (low, high) if low == high => w.say("life-about", &[("n", low.to_string().into())]),
        (low, high) => {
            w.say("life-span", &[("low", low.to_string().into()), ("high", high.to_string().into())])
        }
    };
    Some(match verdict.years_after {
        Some((low, high)) if high > 0 => {
            let name = if low == 0 { "life-years-up-to" } else { "life-years" };
            let years = [
                ("services", services.into()),
                ("low", low.to_string().into()),
                ("high", high.to_string().into()),
            ];
            w.say(name, &years)
        }
        _ => services,
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
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        w.say("mail-answered-subject", &[reference(&self.visit)])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let facts = self.visit.pieces.iter().filter_map(|p| match (p.state, p.agreed) {
            (PieceState::Withdrawn, _) => Some((w.name(p), w.say("mail-answered-no", &[]))),
            (_, Some(total)) => {
                Some((w.name(p), w.say("mail-answered-yes", &[("amount", w.money(total).into())])))
            }
            _ => None,
        });
        let agreed: Money = self.visit.pieces.iter().filter_map(|p| p.agreed).sum();
        let mut sheet = Sheet::new(w.say("mail-answered-heading", &[])).facts(facts);
        if agreed > Money(0) {
            let day = w.day_of(self.visit.promise_at);
            sheet = sheet
                .say(w.say("mail-answered-say", &[("amount", w.money(agreed).into()), ("day", day.into())]));
        }
        sheet.button(w.say("mail-see-visit", &[]), &self.link)
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
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        w.say("mail-cancelled-subject", &[reference(&self.visit)])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let n = w.knives(self.visit.pieces.len());
        Sheet::new(w.say("mail-cancelled-heading", &[]))
            .say(w.say("mail-cancelled-say", &[("knives", n.into()), reference(&self.visit)]))
            .small(w.say("mail-cancelled-small", &[]))
    }
}

/// New links to somebody's visits, and one to all their knives.
#[derive(Debug, Clone, PartialEq)]
pub struct NewLinks {
    /// The visits, newest first, each with its new link.
    pub links: Vec<(Visit, String)>,
    /// Opens all their knives, once; `None`: there are none yet.
    pub knives: Option<String>,
    /// The shop.
    pub profile: Profile,
}

impl NewLinks {
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        match self.links.as_slice() {
            [(visit, _)] => w.say("mail-links-subject-one", &[reference(visit)]),
            _ => w.say("mail-links-subject-many", &[]),
        }
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let mut sheet = Sheet::new(self.subject(w)).say(w.say("mail-links-say", &[]));
        for (visit, link) in &self.links {
            let label = w.say(
                "mail-links-label",
                &[
                    reference(visit),
                    ("knives", w.knives(visit.pieces.len()).into()),
                    ("day", w.day_of(visit.booked_at).into()),
                ],
            );
            sheet = sheet.button(label, link);
        }
        if let Some(knives) = &self.knives {
            sheet = sheet
                .heading(w.say("mail-links-knives-heading", &[]))
                .say(w.say("mail-links-knives-say", &[]))
                .button(w.say("mail-links-knives-button", &[]), knives);
        }
        sheet.small(w.say("mail-links-small", &[]))
    }
}

/// The shop has answered a question, or asks one.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// The visit.
    pub visit: Visit,
    /// What the shop says.
    pub body: String,
    /// The customer had asked something.
    pub answers: bool,
    /// The shop.
    pub profile: Profile,
    /// Opens the private page.
    pub link: String,
}

impl Written {
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        let name = if self.answers { "mail-answer-subject" } else { "mail-question-subject" };
        w.say(name, &[reference(&self.visit)])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let name = if self.answers { "mail-answer-heading" } else { "mail-question-heading" };
        let mut sheet = Sheet::new(w.say(name, &[])).say(w.say("mail-greeting", &[greeted(&self.visit)]));
        for paragraph in self.body.split('\n').map(str::trim).filter(|line| !line.is_empty()) {
            sheet = sheet.say(paragraph);
        }
        sheet.button(w.say("mail-written-button", &[]), &self.link).small(w.say("mail-written-small", &[]))
    }
}

/// A knife is due for service, for somebody who asked to hear of it.
#[derive(Debug, Clone, PartialEq)]
pub struct ServiceDue {
    /// Whose knives.
    pub customer: shop::ids::CustomerId,
    /// Whom it greets.
    pub name: String,
    /// Their language.
    pub language: shop::lang::Lang,
    /// Each knife: what it is called, and when it was here last.
    pub knives: Vec<(String, chrono::NaiveDate)>,
    /// The shop.
    pub profile: Profile,
    /// Opens all their knives, once.
    pub link: String,
    /// The booking page.
    pub book: String,
    /// Stops these reminders with one click (RFC 8058).
    pub unsubscribe: String,
}

impl ServiceDue {
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        w.say(if self.knives.len() == 1 { "mail-due-subject-one" } else { "mail-due-subject-many" }, &[])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let book = w.book(&["name"]);
        let facts = self.knives.iter().map(|(name, last)| {
            (book.say(name), w.say("mail-due-last", &[("day", w.lang.short_date(*last).into())]))
        });
        Sheet::new(self.subject(w))
            .say(w.say("mail-greeting", &[("name", self.name.as_str().into())]))
            .say(w.say("mail-due-say", &[]))
            .facts(facts)
            .button(w.say("mail-due-book", &[]), &self.book)
            .button(w.say("mail-due-knives", &[]), &self.link)
            .small(w.say("mail-due-why", &[]))
            .button(w.say("mail-due-stop", &[]), &self.unsubscribe)
    }
}

/// The reference, as every message about a visit knows it.
pub(super) fn reference(visit: &Visit) -> (&'static str, Arg) {
    ("reference", visit.reference.to_string().into())
}

/// Whom a notice greets.
pub(super) fn greeted(visit: &Visit) -> (&'static str, Arg) {
    ("name", Arg::from(&visit.contact.name))
}

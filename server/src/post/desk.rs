//! The words of the notices the desk sends: received, turned down, on the way home.

use shop::ids::PieceId;
use shop::money::Money;
use shop::piece::{PieceState, WaitsOn};
use shop::profile::Profile;
use shop::read::{Piece, Visit};

use super::sheet::Sheet;
use super::visit::knives;
use crate::{local, when};

/// A parcel was opened, or knives came over the counter.
#[derive(Debug, Clone, PartialEq)]
pub struct Received {
    /// The visit, with its pieces as they stand.
    pub visit: Visit,
    /// The pieces this is about.
    pub touched: Vec<PieceId>,
    /// The shop.
    pub profile: Profile,
    /// Opens the private page.
    pub link: String,
}

impl Received {
    fn about(&self, f: impl Fn(&Piece) -> bool) -> Vec<&Piece> {
        self.visit.pieces.iter().filter(|p| self.touched.contains(&p.id) && f(p)).collect()
    }

    pub(super) fn subject(&self) -> String {
        let here = self.about(|p| p.state == PieceState::InHand).len();
        match here {
            0 => format!("Not in the parcel: {}", self.visit.reference),
            1 => format!("Your knife is here: {}", self.visit.reference),
            n => format!("Your {n} knives are here: {}", self.visit.reference),
        }
    }

    pub(super) fn sheet(&self) -> Sheet {
        let here = self.about(|p| p.state == PieceState::InHand);
        let missing = self.about(|p| p.state == PieceState::Missing);
        let zone = local::zone(&self.profile);
        let mut sheet = if here.is_empty() {
            Sheet::new("We have opened your parcel")
        } else {
            let arrived = if here.len() == 1 { "has arrived" } else { "have arrived" };
            Sheet::new(format!("{} {arrived}", knives(here.len()))).facts(here.iter().map(|p| {
                let tag = p.tag.map_or_else(|| "held: see below".to_owned(), |tag| format!("tag {tag}"));
                (p.name.clone(), tag)
            }))
        };
        if !missing.is_empty() {
            let names: Vec<_> = missing.iter().map(|p| p.name.clone()).collect();
            sheet = sheet.heading("Not in the parcel").list(names).say(format!(
                "Did it stay at home, or was the parcel damaged? Please write to {}.",
                self.profile.email
            ));
        }
        let held: Vec<_> =
            here.iter().filter(|p| p.waiting.as_ref().is_some_and(|w| w.on == WaitsOn::Shop)).collect();
        if !held.is_empty() {
            let names: Vec<_> = held.iter().map(|p| p.name.clone()).collect();
            sheet = sheet.heading("Held until we know which knife it is").list(names).say(
                "We never guess which knife is which. If it has been with us before, its mark or an old bill helps us.",
            );
        }
        if !here.is_empty() {
            sheet = sheet.say(format!(
                "Next we measure. Within the booked price we go ahead; beyond it we ask you first. We have {} for it in \
                 mind.",
                when::day(local::date(zone, self.visit.promise_at))
            ));
        }
        sheet.button("See your visit", &self.link)
    }
}

/// We do not do one of the pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct TurnedDown {
    /// The visit, with its pieces as they stand.
    pub visit: Visit,
    /// The piece.
    pub piece: PieceId,
    /// The shop.
    pub profile: Profile,
    /// Opens the private page.
    pub link: String,
}

impl TurnedDown {
    pub(super) fn subject(&self) -> String {
        format!("One we cannot do: {}", self.visit.reference)
    }

    pub(super) fn sheet(&self) -> Sheet {
        let piece = self.visit.pieces.iter().find(|p| p.id == self.piece);
        let name = piece.map_or("A knife", |p| p.name.as_str());
        let reason = piece.and_then(|p| p.turned_down.clone()).unwrap_or_default();
        let fate = if self.visit.recycle_refused {
            "You asked us to recycle a blade we have to refuse; tell us within a week if you want it back after all."
        } else {
            "It goes back to you as it came."
        };
        Sheet::new(format!("{name}: we cannot do this one"))
            .say(reason)
            .say(format!("Nothing is asked for it. {fate}"))
            .button("See your visit", &self.link)
            .small(format!("Questions? Write to {}.", self.profile.email))
    }
}

/// Knives went home.
#[derive(Debug, Clone, PartialEq)]
pub struct Returned {
    /// The visit, with its pieces as they stand.
    pub visit: Visit,
    /// The pieces that went.
    pub pieces: Vec<PieceId>,
    /// By parcel, not over the counter.
    pub by_post: bool,
    /// The shop.
    pub profile: Profile,
    /// Opens the private page.
    pub link: String,
    /// Each knife's name and the address of its ledger.
    pub ledgers: Vec<(String, String)>,
}

impl Returned {
    pub(super) fn subject(&self) -> String {
        let what = if self.by_post { "On the way to you" } else { "Handed back" };
        format!("{what}: {}", self.visit.reference)
    }

    pub(super) fn sheet(&self) -> Sheet {
        let went: Vec<_> = self.visit.pieces.iter().filter(|p| self.pieces.contains(&p.id)).collect();
        let n = knives(went.len());
        let mut sheet = if self.by_post {
            let (carrier, number) = self.visit.parcel.clone().unwrap_or_default();
            Sheet::new(format!("{n} on the way to you"))
                .facts([("Carrier".to_owned(), carrier), ("Parcel number".to_owned(), number)])
                .say("Open the parcel away from you: the edges are sharp.")
        } else {
            Sheet::new(format!("{n} handed back"))
                .say("Thank you for coming. Mind the edges: they are sharp.")
        };
        sheet = sheet.list(went.iter().map(|p| match p.tag {
            Some(tag) => format!("{} (tag {tag})", p.name),
            None => p.name.clone(),
        }));
        if let Some((paid, _)) = &self.visit.paid
            && *paid > Money(0)
        {
            sheet = sheet.say(format!("Paid: {}.", paid.show(&self.profile.currency)));
        }
        if !self.ledgers.is_empty() {
            sheet = sheet.heading("What was done, and what is left").say(
                "Each knife has its own page: what we measured, what was ground off, how many more services it has.",
            );
            for (name, url) in &self.ledgers {
                sheet = sheet.button(format!("The ledger of {name}"), url);
            }
        }
        let late = self.visit.pieces.iter().filter(|p| p.tag.is_some() && p.state.is_here()).count();
        if late > 0 {
            sheet = sheet.say(format!("{} still here.", knives(late)));
        }
        sheet.button("See your visit", &self.link).small(format!(
            "Is something not right? Tell us within two weeks at {}; we look at our own work again without charge.",
            self.profile.email
        ))
    }
}

/// A parcel has not come, long after it should have.
#[derive(Debug, Clone, PartialEq)]
pub struct NotArrived {
    /// The visit.
    pub visit: Visit,
    /// The shop.
    pub profile: Profile,
    /// Opens the private page.
    pub link: String,
}

impl NotArrived {
    pub(super) fn subject(&self) -> String {
        format!("Not here yet: {}", self.visit.reference)
    }

    pub(super) fn sheet(&self) -> Sheet {
        Sheet::new("Your knives are not here yet")
            .say(format!(
                "We expected {} by now, reference {}. If they are on the way, nothing is to be done. If they have not left, \
                 send them soon or call the booking off: we keep the place a while longer and then give it away.",
                knives(self.visit.pieces.len()),
                self.visit.reference
            ))
            .button("See your visit", &self.link)
            .small(format!("Did the parcel go astray? Write to {}.", self.profile.email))
    }
}

/// A booking whose knives never came was taken off the list.
#[derive(Debug, Clone, PartialEq)]
pub struct Lapsed {
    /// The visit.
    pub visit: Visit,
    /// The shop.
    pub profile: Profile,
}

impl Lapsed {
    pub(super) fn subject(&self) -> String {
        format!("Taken off our list: {}", self.visit.reference)
    }

    pub(super) fn sheet(&self) -> Sheet {
        Sheet::new("We have given your place away")
            .say(format!(
                "What you booked under {} never reached us, so it is off our list. Nothing is to be paid. If it comes after \
                 all we take it in, with a new day; or simply book again.",
                self.visit.reference
            ))
            .small(format!("Did the parcel go astray? Write to {}.", self.profile.email))
    }
}

/// Knives are ready and nobody has fetched them.
#[derive(Debug, Clone, PartialEq)]
pub struct Unfetched {
    /// The visit, with its pieces as they stand.
    pub visit: Visit,
    /// The shop.
    pub profile: Profile,
    /// Opens the private page.
    pub link: String,
}

impl Unfetched {
    fn waiting(&self) -> Vec<&Piece> {
        self.visit.pieces.iter().filter(|p| p.state == PieceState::Ready).collect()
    }

    pub(super) fn subject(&self) -> String {
        format!("Still here for you: {}", self.visit.reference)
    }

    pub(super) fn sheet(&self) -> Sheet {
        let waiting = self.waiting();
        let names = waiting.iter().map(|p| match p.tag {
            Some(tag) => format!("{} (tag {tag})", p.name),
            None => p.name.clone(),
        });
        Sheet::new(format!("{} ready and waiting for you", knives(waiting.len())))
            .list(names)
            .say(format!(
                "Come and fetch them at {}, {}, {}.",
                self.profile.name, self.profile.street, self.profile.town
            ))
            .button("See your visit", &self.link)
            .small(format!("Can you not come? Write to {}, and we find a way.", self.profile.email))
    }
}

//! The notices the desk sends: received, turned down, on the way home, and what is chased.

use shop::ids::PieceId;
use shop::money::Money;
use shop::piece::{Amends, Harm, PieceState, Settlement, WaitsOn};
use shop::profile::Profile;
use shop::read::{Piece, Visit};

use super::sheet::Sheet;
use super::visit::{greeted, reference};
use super::words::Words;

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

    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        let here = self.about(|p| p.state == PieceState::InHand).len();
        match here {
            0 => w.say("mail-received-subject-none", &[reference(&self.visit)]),
            n => w.say("mail-received-subject", &[("n", n.into()), reference(&self.visit)]),
        }
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let here = self.about(|p| p.state == PieceState::InHand);
        let missing = self.about(|p| p.state == PieceState::Missing);
        let mut sheet = if here.is_empty() {
            Sheet::new(w.say("mail-received-heading-none", &[]))
        } else {
            Sheet::new(w.say("mail-received-heading", &[("n", here.len().into())])).facts(here.iter().map(
                |p| {
                    let tag = p.tag.map_or_else(
                        || w.say("mail-received-held", &[]),
                        |tag| w.say("mail-received-tag", &[("tag", tag.to_string().into())]),
                    );
                    (w.name(p), tag)
                },
            ))
        };
        if !missing.is_empty() {
            sheet = sheet
                .heading(w.say("mail-received-missing-heading", &[]))
                .list(missing.iter().map(|p| w.name(p)))
                .say(w.say("mail-received-missing", &[]));
        }
        let held: Vec<_> =
            here.iter().filter(|p| p.waiting.as_ref().is_some_and(|w| w.on == WaitsOn::Shop)).collect();
        if !held.is_empty() {
            sheet = sheet
                .heading(w.say("mail-received-held-heading", &[]))
                .list(held.iter().map(|p| w.name(p)))
                .say(w.say("mail-received-held-say", &[]));
        }
        if !here.is_empty() {
            let day = w.day_of(self.visit.promise_at);
            sheet = sheet.say(w.say("mail-received-next", &[("day", day.into())]));
        }
        sheet.button(w.say("mail-see-visit", &[]), &self.link)
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
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        w.say("mail-refused-subject", &[reference(&self.visit)])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let piece = self.visit.pieces.iter().find(|p| p.id == self.piece);
        let name = piece.map_or_else(|| w.say("mail-refused-a-knife", &[]), |p| w.name(p));
        let reason = piece.and_then(|p| p.turned_down.clone()).unwrap_or_default();
        let harmed = piece.is_some_and(|p| p.mishaps.iter().any(|m| m.harm == Harm::Damaged));
        let fate = if harmed {
            "mail-refused-damaged"
        } else if self.visit.recycle_refused {
            "mail-refused-recycle"
        } else {
            "mail-refused-back"
        };
        Sheet::new(w.say("mail-refused-heading", &[("name", name.into())]))
            .say(w.book(&[]).say(&reason))
            .say(w.say(fate, &[]))
            .button(w.say("mail-see-visit", &[]), &self.link)
            .small(w.say("mail-questions", &[]))
    }
}

/// A knife came to harm while it was with us.
#[derive(Debug, Clone, PartialEq)]
pub struct Harmed {
    /// The visit.
    pub visit: Visit,
    /// The piece.
    pub piece: Piece,
    /// What happened.
    pub harm: Harm,
    /// What happened, in the words somebody wrote for the customer.
    pub words: String,
    /// The shop.
    pub profile: Profile,
    /// Opens the private page.
    pub link: String,
}

impl Harmed {
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        let name = match self.harm {
            Harm::Lost => "mail-lost-subject",
            Harm::Damaged => "mail-damaged-subject",
        };
        w.say(name, &[reference(&self.visit)])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let (heading, say) = match self.harm {
            Harm::Lost => ("mail-lost-heading", "mail-lost-say"),
            Harm::Damaged => ("mail-damaged-heading", "mail-damaged-say"),
        };
        of_harm(w, heading, (&self.visit, &self.piece), [self.words.clone(), w.say(say, &[])], &self.link)
    }
}

/// A harm the customer was told of is no more.
#[derive(Debug, Clone, PartialEq)]
pub struct Righted {
    /// The visit.
    pub visit: Visit,
    /// The piece.
    pub piece: Piece,
    /// What we had said.
    pub harm: Harm,
    /// The shop.
    pub profile: Profile,
    /// Opens the private page.
    pub link: String,
}

impl Righted {
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        let name = match self.harm {
            Harm::Lost => "mail-righted-subject-found",
            Harm::Damaged => "mail-righted-subject-sound",
        };
        w.say(name, &[reference(&self.visit)])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let (heading, say) = match self.harm {
            Harm::Lost => ("mail-righted-heading-found", "mail-righted-found"),
            Harm::Damaged => ("mail-righted-heading-sound", "mail-righted-sound"),
        };
        of_harm(w, heading, (&self.visit, &self.piece), [w.say(say, &[])], &self.link)
    }
}

/// What was agreed about a harm.
#[derive(Debug, Clone, PartialEq)]
pub struct Settled {
    /// The visit.
    pub visit: Visit,
    /// The piece.
    pub piece: Piece,
    /// What was agreed.
    pub settlement: Settlement,
    /// The shop.
    pub profile: Profile,
    /// Opens the private page.
    pub link: String,
}

impl Settled {
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        w.say("mail-settled-subject", &[reference(&self.visit)])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let Settlement { amends, amount, words, .. } = &self.settlement;
        let how = match amends {
            Amends::Replaced => Some("mail-settled-replaced"),
            Amends::Paid => Some("mail-settled-paid"),
            Amends::Other => None,
        };
        let how = how.map(|name| w.say(name, &[]));
        let amount = amount.map(|amount| w.say("mail-settled-amount", &[("amount", w.money(amount).into())]));
        let says = how.into_iter().chain([words.clone()]).chain(amount);
        of_harm(w, "mail-settled-heading", (&self.visit, &self.piece), says, &self.link)
    }
}

/// What is written about one piece and its harm, said and set right alike.
fn of_harm(
    w: &Words<'_>,
    heading: &str,
    (visit, piece): (&Visit, &Piece),
    says: impl IntoIterator<Item = String>,
    link: &str,
) -> Sheet {
    let head = Sheet::new(w.say(heading, &[("name", w.name(piece).into())]))
        .say(w.say("mail-greeting", &[greeted(visit)]));
    says.into_iter()
        .fold(head, Sheet::say)
        .button(w.say("mail-see-visit", &[]), link)
        .small(w.say("mail-questions", &[]))
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
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        let name = if self.by_post { "mail-returned-subject-post" } else { "mail-returned-subject" };
        w.say(name, &[reference(&self.visit)])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let went: Vec<_> = self.visit.pieces.iter().filter(|p| self.pieces.contains(&p.id)).collect();
        let n = [("knives", w.knives(went.len()).into())];
        let mut sheet = if self.by_post {
            let (carrier, number) = self.visit.parcel.clone().unwrap_or_default();
            Sheet::new(w.say("mail-returned-heading-post", &n))
                .facts([
                    (w.say("mail-returned-carrier", &[]), carrier),
                    (w.say("mail-returned-number", &[]), number),
                ])
                .say(w.say("mail-returned-open", &[]))
        } else {
            Sheet::new(w.say("mail-returned-heading", &n)).say(w.say("mail-returned-thanks", &[]))
        };
        sheet = sheet.list(went.iter().map(|p| w.with_tag(p)));
        if let Some((paid, _)) = &self.visit.paid
            && *paid > Money(0)
        {
            sheet = sheet.say(w.say("mail-returned-paid", &[("amount", w.money(*paid).into())]));
        }
        if !self.ledgers.is_empty() {
            sheet = sheet
                .heading(w.say("mail-returned-ledger-heading", &[]))
                .say(w.say("mail-returned-ledger-say", &[]));
            for (name, url) in &self.ledgers {
                let label = w.say("mail-returned-ledger-button", &[("name", name.as_str().into())]);
                sheet = sheet.button(label, url);
            }
        }
        let late = self.visit.pieces.iter().filter(|p| p.tag.is_some() && p.state.is_here()).count();
        if late > 0 {
            sheet = sheet.say(w.say("mail-returned-late", &[("knives", w.knives(late).into())]));
        }
        sheet.button(w.say("mail-see-visit", &[]), &self.link).small(w.say("mail-returned-small", &[]))
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
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        w.say("mail-not-arrived-subject", &[reference(&self.visit)])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let n = w.knives(self.visit.pieces.len());
        Sheet::new(w.say("mail-not-arrived-heading", &[]))
            .say(w.say("mail-not-arrived-say", &[("knives", n.into()), reference(&self.visit)]))
            .button(w.say("mail-see-visit", &[]), &self.link)
            .small(w.say("mail-astray", &[]))
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
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        w.say("mail-lapsed-subject", &[reference(&self.visit)])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        Sheet::new(w.say("mail-lapsed-heading", &[]))
            .say(w.say("mail-lapsed-say", &[reference(&self.visit)]))
            .small(w.say("mail-astray", &[]))
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

    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        w.say("mail-unfetched-subject", &[reference(&self.visit)])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let waiting = self.waiting();
        Sheet::new(w.say("mail-unfetched-heading", &[("knives", w.knives(waiting.len()).into())]))
            .list(waiting.iter().map(|p| w.with_tag(p)))
            .say(w.say("mail-unfetched-say", &[("place", w.place().into())]))
            .button(w.say("mail-see-visit", &[]), &self.link)
            .small(w.say("mail-unfetched-small", &[]))
    }
}

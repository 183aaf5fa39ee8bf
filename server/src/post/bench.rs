//! The notices of the bench: ready, later than promised, more work than agreed.

use chrono::{DateTime, Utc};
use shop::ids::PieceId;
use shop::profile::Profile;
use shop::read::{Piece, Visit};

use super::sheet::Sheet;
use crate::local;

/// A visit, or one piece of it, is ready.
#[derive(Debug, Clone, PartialEq)]
pub struct Ready {
    /// The visit with its pieces.
    pub visit: Visit,
    /// The pieces this notice is about.
    pub pieces: Vec<PieceId>,
    /// The shop.
    pub profile: Profile,
    /// The private link to the visit.
    pub link: String,
}

impl Ready {
    fn these(&self) -> Vec<&Piece> {
        self.visit.pieces.iter().filter(|p| self.pieces.contains(&p.id)).collect()
    }

    /// The subject.
    pub fn subject(&self) -> String {
        let pieces = self.these();
        match pieces.as_slice() {
            [one] => format!("Ready: {} ({})", short(&one.name, 24), self.visit.reference),
            many => format!("Ready: your {} knives ({})", many.len(), self.visit.reference),
        }
    }

    /// The words.
    pub fn sheet(&self) -> Sheet {
        let pieces = self.these();
        let one = pieces.len() == 1;
        let heading = if one {
            "Your knife is ready".to_owned()
        } else {
            format!("Your {} knives are ready", pieces.len())
        };
        let rest = self
            .visit
            .pieces
            .iter()
            .filter(|p| !self.pieces.contains(&p.id) && p.state.has_work_ahead() && p.state.is_here())
            .count();
        let mut sheet = Sheet::new(heading)
            .say(greeting(&self.visit))
            .say(if one {
                "It has passed its check and is ready."
            } else {
                "They have passed their check and are ready."
            })
            .list(
                pieces
                    .iter()
                    .map(|p| p.tag.map_or_else(|| p.name.clone(), |tag| format!("{} (tag {tag})", p.name))),
            );
        if rest > 0 {
            sheet = sheet.say(format!(
                "{} of the same visit {} still on the way; we write again.",
                if rest == 1 { "One more knife".to_owned() } else { format!("{rest} more knives") },
                if rest == 1 { "is" } else { "are" }
            ));
        }
        sheet = if self.visit.back_by_post {
            sheet.say("We pack it now and write again with the parcel's number. Open the parcel away from you: what is in it is sharp.")
        } else {
            let place = [&self.profile.street, &self.profile.town]
                .into_iter()
                .filter(|line| !line.is_empty())
                .cloned()
                .collect::<Vec<_>>()
                .join(", ");
            sheet.say(format!(
                "Come and fetch it at {}{}.",
                self.profile.name,
                if place.is_empty() { String::new() } else { format!(", {place}") }
            ))
        };
        sheet
            .button("See what was done", self.link.clone())
            .small("A freshly ground edge is sharper than you remember. Do not test it on skin.")
    }
}

/// A visit will be later than promised.
#[derive(Debug, Clone, PartialEq)]
pub struct Delay {
    /// The visit.
    pub visit: Visit,
    /// The new promise.
    pub until: DateTime<Utc>,
    /// Why, in the shop's own words; may be empty.
    pub why: String,
    /// The shop.
    pub profile: Profile,
    /// The private link to the visit.
    pub link: String,
}

impl Delay {
    /// The subject.
    pub fn subject(&self) -> String {
        format!("Later than we said: {}", self.visit.reference)
    }

    /// The words.
    pub fn sheet(&self) -> Sheet {
        let zone = local::zone(&self.profile);
        let day = |at| local::shown(zone, at).format("%A, %-d %B %Y").to_string();
        let mut sheet = Sheet::new("We need longer than we said")
            .say(greeting(&self.visit))
            .facts([("Promised before", day(self.visit.promise_at)), ("Promised now", day(self.until))]);
        if !self.why.is_empty() {
            sheet = sheet.say(self.why.clone());
        }
        sheet
            .say("We are sorry. If the new day does not suit you, answer this notice or call: work that has not begun can be called off.")
            .button("See how it stands", self.link.clone())
    }
}

/// The bench found that a piece needs more than was agreed.
#[derive(Debug, Clone, PartialEq)]
pub struct NeedsMore {
    /// The visit with its pieces.
    pub visit: Visit,
    /// The piece.
    pub piece: PieceId,
    /// What it needs, in the bench's words.
    pub what: String,
    /// What it would cost in all, in words; empty when the price stays.
    pub price: String,
    /// The shop.
    pub profile: Profile,
    /// The private link to the visit.
    pub link: String,
}

impl NeedsMore {
    /// The subject.
    pub fn subject(&self) -> String {
        format!("A question about your knife ({})", self.visit.reference)
    }

    /// The words.
    pub fn sheet(&self) -> Sheet {
        let name =
            self.visit.pieces.iter().find(|p| p.id == self.piece).map_or("your knife", |p| p.name.as_str());
        let mut sheet = Sheet::new("It needs more than we agreed")
            .say(greeting(&self.visit))
            .say(format!("While working on {name} we found this: {}", self.what));
        if !self.price.is_empty() {
            sheet = sheet.say(format!("With it the work on this knife would cost {} in all.", self.price));
        }
        let call = if self.profile.phone.is_empty() {
            "answer this notice".to_owned()
        } else {
            format!("answer this notice or call {}", self.profile.phone)
        };
        sheet
            .say("We have stopped and grind no further before you say so.")
            .say(format!("Please {call}: shall we go on, or leave it as it is?"))
            .button("See your visit", self.link.clone())
    }
}

fn greeting(visit: &Visit) -> String {
    if visit.contact.name.is_empty() {
        "Good day,".to_owned()
    } else {
        format!("Good day, {},", visit.contact.name)
    }
}

/// At most `most` characters of a name, so that a subject fits a phone.
fn short(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let mut kept: String = text.chars().take(most - 1).collect();
    kept.truncate(kept.trim_end().len());
    kept + "…"
}

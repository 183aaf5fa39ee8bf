//! The notices of the bench: ready, later than promised, more work than agreed.

use chrono::{DateTime, Utc};
use shop::ids::PieceId;
use shop::profile::Profile;
use shop::read::{Piece, Visit};

use super::sheet::Sheet;
use super::visit::{greeted, reference};
use super::words::Words;

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

    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        match self.these().as_slice() {
            [one] => {
                let name = short(&w.name(one), 24);
                w.say("mail-ready-subject-one", &[("name", name.into()), reference(&self.visit)])
            }
            many => w.say("mail-ready-subject-many", &[("n", many.len().into()), reference(&self.visit)]),
        }
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let pieces = self.these();
        let one = pieces.len() == 1;
        let rest = self
            .visit
            .pieces
            .iter()
            .filter(|p| !self.pieces.contains(&p.id) && p.state.has_work_ahead() && p.state.is_here())
            .count();
        let heading = if one {
            w.say("mail-ready-heading-one", &[])
        } else {
            w.say("mail-ready-heading-many", &[("n", pieces.len().into())])
        };
        let mut sheet = Sheet::new(heading)
            .say(w.say("mail-greeting", &[greeted(&self.visit)]))
            .say(w.say(if one { "mail-ready-say-one" } else { "mail-ready-say-many" }, &[]))
            .list(pieces.iter().map(|p| w.with_tag(p)));
        if rest > 0 {
            sheet = sheet.say(w.say("mail-ready-rest", &[("n", rest.into())]));
        }
        sheet = if self.visit.back_by_post {
            sheet.say(w.say("mail-ready-post", &[]))
        } else {
            let place = std::iter::once(self.profile.name.clone()).chain(Some(w.place()));
            let place = place.filter(|line| !line.is_empty()).collect::<Vec<_>>().join(", ");
            sheet.say(w.say("mail-ready-counter", &[("place", place.into())]))
        };
        sheet.button(w.say("mail-ready-button", &[]), self.link.clone()).small(w.say("mail-ready-small", &[]))
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
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        w.say("mail-delay-subject", &[reference(&self.visit)])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let mut sheet = Sheet::new(w.say("mail-delay-heading", &[]))
            .say(w.say("mail-greeting", &[greeted(&self.visit)]))
            .facts([
                (w.say("mail-delay-before", &[]), w.day_of(self.visit.promise_at)),
                (w.say("mail-delay-now", &[]), w.day_of(self.until)),
            ]);
        if !self.why.is_empty() {
            sheet = sheet.say(self.why.clone());
        }
        sheet.say(w.say("mail-delay-say", &[])).button(w.say("mail-delay-button", &[]), self.link.clone())
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
    pub(super) fn subject(&self, w: &Words<'_>) -> String {
        w.say("mail-more-subject", &[reference(&self.visit)])
    }

    pub(super) fn sheet(&self, w: &Words<'_>) -> Sheet {
        let piece = self.visit.pieces.iter().find(|p| p.id == self.piece);
        let name = piece.map_or_else(|| w.say("mail-more-your-knife", &[]), |p| w.name(p));
        let mut sheet = Sheet::new(w.say("mail-more-heading", &[]))
            .say(w.say("mail-greeting", &[greeted(&self.visit)]))
            .say(w.say("mail-more-say", &[("name", name.into()), ("what", self.what.as_str().into())]));
        if !self.price.is_empty() {
            let price = w.lang.decimal(&self.price);
            sheet = sheet.say(w.say("mail-more-price", &[("amount", price.into())]));
        }
        let ask = if self.profile.phone.is_empty() {
            w.say("mail-more-ask", &[])
        } else {
            w.say("mail-more-ask-phone", &[("phone", self.profile.phone.as_str().into())])
        };
        sheet
            .say(w.say("mail-more-stopped", &[]))
            .say(ask)
            .button(w.say("mail-see-visit", &[]), self.link.clone())
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

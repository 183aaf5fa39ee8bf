//! Every notice the shop sends, and its words.

use lettre::Address;
use shop::lang::Lang;
use shop::piece::Harm;
use shop::profile::Profile;
use uuid::Uuid;

use super::bench::{Delay, NeedsMore, Ready};
use super::desk::{Harmed, Lapsed, NotArrived, Received, Returned, Righted, Settled, TurnedDown, Unfetched};
use super::sheet::Sheet;
use super::visit::{Answered, Booked, Cancelled, Complained, NewLinks, QuoteAsked, ServiceDue, Written};
use super::words::Words;
use crate::store::outbox::Letter;

/// A notice with everything its words need. Links are whole addresses.
#[derive(Debug, Clone, PartialEq)]
pub enum Notice {
    /// A visit will be later than promised.
    Delay(Box<Delay>),
    /// A piece needs more than was agreed.
    NeedsMore(Box<NeedsMore>),
    /// A visit, or a piece of it, is ready.
    Ready(Box<Ready>),
    /// Prices asked are answered.
    Answered(Box<Answered>),
    /// A visit was booked and waits to be confirmed.
    Booked(Box<Booked>),
    /// A visit was called off.
    Cancelled(Box<Cancelled>),
    /// A complaint was taken in.
    Complained(Box<Complained>),
    /// Somebody asked for new links.
    NewLinks(Box<NewLinks>),
    /// A price is asked, or asked again.
    QuoteAsked(Box<QuoteAsked>),
    /// A booking that never came was taken off the list.
    Lapsed(Box<Lapsed>),
    /// A parcel has not come.
    NotArrived(Box<NotArrived>),
    /// Ready knives are not fetched.
    Unfetched(Box<Unfetched>),
    /// A parcel was opened.
    Received(Box<Received>),
    /// Knives went home.
    Returned(Box<Returned>),
    /// A knife is due for service, for somebody who asked to hear of it.
    ServiceDue(Box<ServiceDue>),
    /// We do not do one of the pieces.
    TurnedDown(Box<TurnedDown>),
    /// A knife was lost or damaged here.
    Harmed(Box<Harmed>),
    /// It was found again, or was not damaged after all.
    Righted(Box<Righted>),
    /// What came to it is settled with the customer.
    Settled(Box<Settled>),
    /// The shop answers a question, or asks one.
    Written(Box<Written>),
    /// Somebody tries whether post leaves the house.
    Trial {
        /// Who tries.
        by: String,
    },
}

/// Does the same with whatever a notice to a customer holds.
macro_rules! of_each {
    ($notice:expr, $n:ident => $what:expr, $by:ident => $trial:expr) => {
        match $notice {
            Notice::Delay($n) => $what,
            Notice::NeedsMore($n) => $what,
            Notice::Ready($n) => $what,
            Notice::Answered($n) => $what,
            Notice::Booked($n) => $what,
            Notice::Cancelled($n) => $what,
            Notice::Complained($n) => $what,
            Notice::NewLinks($n) => $what,
            Notice::QuoteAsked($n) => $what,
            Notice::Lapsed($n) => $what,
            Notice::NotArrived($n) => $what,
            Notice::Unfetched($n) => $what,
            Notice::Received($n) => $what,
            Notice::Returned($n) => $what,
            Notice::ServiceDue($n) => $what,
            Notice::TurnedDown($n) => $what,
            Notice::Harmed($n) => $what,
            Notice::Righted($n) => $what,
            Notice::Settled($n) => $what,
            Notice::Written($n) => $what,
            Notice::Trial { by: $by } => $trial,
        }
    };
}

impl Notice {
    /// The notice's name, as one word for tables and logs.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Delay(_) => "delay",
            Self::NeedsMore(_) => "needs_more",
            Self::Ready(_) => "ready",
            Self::Answered(_) => "answered",
            Self::Booked(_) => "booked",
            Self::Cancelled(_) => "cancelled",
            Self::Complained(_) => "complained",
            Self::NewLinks(_) => "new_links",
            Self::QuoteAsked(n) if n.again => "quote_again",
            Self::QuoteAsked(_) => "quote",
            Self::Lapsed(_) => "lapsed",
            Self::NotArrived(_) => "not_arrived",
            Self::Unfetched(_) => "unfetched",
            Self::Received(_) => "received",
            Self::Returned(_) => "returned",
            Self::ServiceDue(_) => "service_due",
            Self::TurnedDown(_) => "turned_down",
            Self::Harmed(n) if n.harm == Harm::Lost => "lost",
            Self::Harmed(_) => "damaged",
            Self::Righted(_) => "righted",
            Self::Settled(_) => "settled",
            Self::Written(_) => "written",
            Self::Trial { .. } => "trial",
        }
    }

    /// The visit it is about, or the customer. Notices about the same keep their order.
    pub fn about(&self) -> Option<Uuid> {
        match self {
            Self::Delay(n) => Some(n.visit.id.0),
            Self::NeedsMore(n) => Some(n.visit.id.0),
            Self::Ready(n) => Some(n.visit.id.0),
            Self::Answered(n) => Some(n.visit.id.0),
            Self::Booked(n) => Some(n.visit.id.0),
            Self::Cancelled(n) => Some(n.visit.id.0),
            Self::Complained(n) => Some(n.visit.id.0),
            Self::NewLinks(n) => n.links.first().map(|(visit, _)| visit.id.0),
            Self::QuoteAsked(n) => Some(n.visit.id.0),
            Self::Lapsed(n) => Some(n.visit.id.0),
            Self::NotArrived(n) => Some(n.visit.id.0),
            Self::Unfetched(n) => Some(n.visit.id.0),
            Self::Received(n) => Some(n.visit.id.0),
            Self::Returned(n) => Some(n.visit.id.0),
            Self::ServiceDue(n) => Some(n.customer.0),
            Self::TurnedDown(n) => Some(n.visit.id.0),
            Self::Harmed(n) => Some(n.visit.id.0),
            Self::Righted(n) => Some(n.visit.id.0),
            Self::Settled(n) => Some(n.visit.id.0),
            Self::Written(n) => Some(n.visit.id.0),
            Self::Trial { .. } => None,
        }
    }

    /// The language it is written in: the one its visit was booked in.
    pub fn language(&self) -> Lang {
        match self {
            Self::Delay(n) => n.visit.language,
            Self::NeedsMore(n) => n.visit.language,
            Self::Ready(n) => n.visit.language,
            Self::Answered(n) => n.visit.language,
            Self::Booked(n) => n.visit.language,
            Self::Cancelled(n) => n.visit.language,
            Self::Complained(n) => n.visit.language,
            Self::NewLinks(n) => n.links.first().map_or(Lang::En, |(visit, _)| visit.language),
            Self::QuoteAsked(n) => n.visit.language,
            Self::Lapsed(n) => n.visit.language,
            Self::NotArrived(n) => n.visit.language,
            Self::Unfetched(n) => n.visit.language,
            Self::Received(n) => n.visit.language,
            Self::Returned(n) => n.visit.language,
            Self::ServiceDue(n) => n.language,
            Self::TurnedDown(n) => n.visit.language,
            Self::Harmed(n) => n.visit.language,
            Self::Righted(n) => n.visit.language,
            Self::Settled(n) => n.visit.language,
            Self::Written(n) => n.visit.language,
            Self::Trial { .. } => Lang::En,
        }
    }

    fn words<'a>(&self, profile: &'a Profile) -> Words<'a> {
        Words::in_language(self.language(), profile)
    }

    /// The subject: under 60 characters, so that a phone shows all of it.
    pub fn subject(&self) -> String {
        of_each!(self, n => n.subject(&self.words(&n.profile)), _by => "A trial notice from Whetledger".to_owned())
    }

    /// The words.
    pub fn sheet(&self) -> Sheet {
        of_each!(self, n => n.sheet(&self.words(&n.profile)), by => trial(by))
    }

    /// The calendar file (RFC 5545) that goes with it.
    pub fn calendar(&self) -> Option<String> {
        match self {
            Self::Booked(n) => Some(n.calendar.clone()),
            _ => None,
        }
    }

    /// Where one click stops this kind of notice.
    pub fn unsubscribe_url(&self) -> Option<String> {
        match self {
            Self::ServiceDue(n) => Some(n.unsubscribe.clone()),
            _ => None,
        }
    }

    /// Writes the notice, for the outbox.
    pub fn letter(&self, to_address: &str, to_name: &str) -> Letter {
        let sheet = self.sheet();
        let subject = one_line(&self.subject());
        Letter {
            kind: self.kind(),
            about: self.about(),
            to_address: one_line(to_address),
            to_name: one_line(to_name),
            text: sheet.to_text(),
            html: sheet.to_html(&subject, self.language()),
            subject,
            calendar: self.calendar(),
            unsubscribe_url: self.unsubscribe_url(),
        }
    }
}

fn trial(by: &str) -> Sheet {
    Sheet::new("Post leaves the house")
        .say(format!("{by} sent this to see whether notices arrive. They do: nothing more is to be done."))
        .small("Look at the sender and at the subject too: customers will see them just like this.")
}

/// Whether this is one mailbox that we would write to.
pub fn is_mailbox(text: &str) -> bool {
    text.len() <= 254 && text.is_ascii() && text.parse::<Address>().is_ok()
}

/// What stands in a header must be one line: a line break in it would begin a header of the writer's choice.
fn one_line(text: &str) -> String {
    text.chars().map(|letter| if letter.is_control() { ' ' } else { letter }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_break_reaches_a_header() {
        let letter =
            Notice::Trial { by: "Ann".to_owned() }.letter("ann@example.com", "Ann\r\nBcc: all@example.org");
        assert_eq!(letter.to_name, "Ann  Bcc: all@example.org");
    }

    #[test]
    fn only_one_plain_mailbox_is_a_mailbox() {
        for good in ["ann@example.com", "ann.b+knives@mail.example.org"] {
            assert!(is_mailbox(good), "{good}");
        }
        for bad in [
            "",
            "ann",
            "ann@",
            "a@example.com, b@example.com",
            "Ann <ann@example.com>",
            "a@exa mple.com",
            "ann@example.com\n",
        ] {
            assert!(!is_mailbox(bad), "{bad}");
        }
    }
}

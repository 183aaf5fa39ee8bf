//! The words of a notice: from the message catalogue, or as the owner has worded them.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use shop::lang::Lang;
use shop::money::{Money, MoneyRange};
use shop::phrasebook::Phrasebook;
use shop::profile::Profile;
use shop::read::{Piece, Visit};
pub use words::Arg;

use crate::local;

/// The names of everything notices say begin with this.
pub const MAIL: &str = "mail-";

/// How one customer of one shop is written to.
#[derive(Debug, Clone)]
pub struct Words<'a> {
    /// Their language.
    pub lang: Lang,
    profile: &'a Profile,
}

impl<'a> Words<'a> {
    /// For the customer of a visit.
    pub fn of(visit: &Visit, profile: &'a Profile) -> Self {
        Self::in_language(visit.language, profile)
    }

    /// In a language.
    pub fn in_language(lang: Lang, profile: &'a Profile) -> Self {
        Self { lang, profile }
    }

    /// A sentence of the catalogue; the owner's own where there is one. The shop's name and mail address have places in all of
    /// them.
    pub fn say(&self, name: &str, args: &[(&str, Arg)]) -> String {
        let mut all = Vec::with_capacity(args.len() + 2);
        all.extend_from_slice(args);
        all.push(("shop", Arg::from(&self.profile.name)));
        all.push(("email", Arg::from(&self.profile.email)));
        match self.profile.wording.get(&wording_key(self.lang, name)) {
            Some(own) => fill(own, &all),
            None => words::say(self.lang, name, &all),
        }
    }

    /// A day.
    pub fn day(&self, date: NaiveDate) -> String {
        self.lang.day(date)
    }

    /// The day of an instant, by the shop's clocks.
    pub fn day_of(&self, at: DateTime<Utc>) -> String {
        self.lang.day(local::date(local::zone(self.profile), at))
    }

    /// An amount.
    pub fn money(&self, amount: Money) -> String {
        self.lang.money(amount, &self.profile.currency)
    }

    /// A price between two ends.
    pub fn range(&self, range: MoneyRange) -> String {
        self.lang.money_range(range, &self.profile.currency)
    }

    /// `1 knife`, `3 knives`.
    pub fn knives(&self, n: usize) -> String {
        self.say("knives", &[("n", n.into())])
    }

    /// A piece with its tag, if it wears one.
    pub fn with_tag(&self, piece: &Piece) -> String {
        match piece.tag {
            Some(tag) => self
                .say("mail-with-tag", &[("name", self.name(piece).into()), ("tag", tag.to_string().into())]),
            None => self.name(piece),
        }
    }

    /// What a piece is called; only our own word for a knife nobody named is ours to translate.
    pub fn name(&self, piece: &Piece) -> String {
        self.book(&["name"]).say(&piece.name)
    }

    /// What the inner rooms say, in this language.
    pub fn book(&self, rooms: &[&str]) -> Phrasebook {
        words::phrasebook(self.lang, rooms)
    }

    /// Street, town and country in one line.
    pub fn place(&self) -> String {
        let lines = [&self.profile.street, &self.profile.town].into_iter().filter(|line| !line.is_empty());
        lines.cloned().collect::<Vec<_>>().join(", ")
    }
}

/// Under what the owner's wording of a message is kept. Both kinds of English share one.
pub fn wording_key(lang: Lang, name: &str) -> String {
    let lang = if lang.is_english() { Lang::En } else { lang };
    format!("{} {name}", lang.code())
}

/// A message as its owner edits it: `{ $name }` stands as `{name}`. `None` where one text cannot hold it.
pub fn editable(lang: Lang, name: &str) -> Option<String> {
    Some(words::written(lang, name)?.replace("{ $", "{").replace("{$", "{").replace(" }", "}"))
}

/// What is wrong with an owner's text, in a sentence; `Ok`: nothing. Only places the message has may stand in it.
pub fn check_wording(name: &str, text: &str) -> Result<(), String> {
    let allowed = places(name);
    let mut rest = text;
    while let Some(at) = rest.find(['{', '}']) {
        let place = rest[at..].strip_prefix('{').and_then(|after| after.split_once('}'));
        let Some((place, after)) = place else {
            return Err("A brace stands alone: places look like {reference}.".to_owned());
        };
        if !allowed.iter().any(|a| a == place) {
            let names: Vec<_> = allowed.iter().map(|a| format!("{{{a}}}")).collect();
            return Err(format!("There is no place {{{place}}} here; there are {}.", names.join(", ")));
        }
        rest = after;
    }
    if text.trim().is_empty() {
        return Err("Please write something, or take the program's own wording.".to_owned());
    }
    if name.contains("-subject") && text.contains(['\n', '\r']) {
        return Err("A subject is one line.".to_owned());
    }
    Ok(())
}

/// The places a message may have.
pub fn places(name: &str) -> Vec<String> {
    let mut places = words::places(Lang::En, name);
    for always in ["shop", "email"] {
        if !places.iter().any(|p| p == always) {
            places.push(always.to_owned());
        }
    }
    places
}

/// Puts what belongs into the places of an owner's text. Nothing typed by a customer is read for places.
fn fill(text: &str, args: &[(&str, Arg)]) -> String {
    let mut out = String::with_capacity(text.len() + 32);
    let mut rest = text;
    while let Some(open) = rest.find('{') {
        out.push_str(&rest[..open]);
        match rest[open + 1..].split_once('}') {
            Some((name, after)) => {
                if let Some((_, arg)) = args.iter().find(|(n, _)| *n == name) {
                    out.push_str(&arg.to_string());
                }
                rest = after;
            }
            None => {
                rest = &rest[open..];
                break;
            }
        }
    }
    out.push_str(rest);
    out
}

/// Owner's texts by message, as they are kept.
pub type Wording = BTreeMap<String, String>;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_owners_text_may_hold_its_places_and_no_others() {
        let name = "mail-ready-subject-one";
        assert_eq!(check_wording(name, "Done: {name}, {reference}"), Ok(()));
        for bad in ["Done: {price}", "Done: {name", "Done }", "", "  ", "two\nlines", "{ $name }"] {
            assert!(check_wording(name, bad).is_err(), "{bad:?}");
        }
    }

    #[test]
    fn what_a_customer_typed_is_never_read_for_places() {
        let args = [("name", Arg::from("{reference}")), ("reference", Arg::from("K7-2H"))];
        assert_eq!(fill("Ready: {name} ({reference})", &args), "Ready: {reference} (K7-2H)");
    }

    #[test]
    fn every_text_an_owner_may_edit_is_right_as_it_comes() {
        let mut n = 0;
        for name in words::names(MAIL) {
            for lang in [Lang::En, Lang::De] {
                let Some(text) = editable(lang, name) else { continue };
                assert_eq!(check_wording(name, &text), Ok(()), "{name}");
                n += 1;
            }
        }
        assert!(n > 100, "{n}");
    }
}

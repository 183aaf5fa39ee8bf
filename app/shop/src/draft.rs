//! A booking form while it is filled in: what its buttons do to what was typed.
//!
//! The form works without a program in the browser: each button sends the whole form, and what comes back is the same
//! form with one thing changed.

use crate::booking::{MOST_KNIVES, RawBooking, RawKnife};
use std::str::FromStr;

/// A button of the booking form. Knives are counted from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Press {
    /// Book it.
    Book,
    /// Show what it would take and cost.
    Estimate,
    /// One more knife.
    More,
    /// One more knife just like this one.
    Again(usize),
    /// Take this knife out.
    Remove(usize),
    /// Only show the form again: a draft kept on the device comes back this way.
    Show,
}

impl FromStr for Press {
    type Err = ();

    /// Reads the value of the button. Anything unknown is an error; the empty text (Enter pressed in a field of an old
    /// browser) is [`Press::Estimate`], which books nothing by accident.
    fn from_str(text: &str) -> Result<Self, ()> {
        let (word, knife) = text.split_once('-').unwrap_or((text, ""));
        match (word, knife) {
            ("book", "") => Ok(Self::Book),
            ("" | "estimate", "") => Ok(Self::Estimate),
            ("more", "") => Ok(Self::More),
            ("show", "") => Ok(Self::Show),
            ("again", i) => i.parse().map(Self::Again).map_err(|_| ()),
            ("remove", i) => i.parse().map(Self::Remove).map_err(|_| ()),
            _ => Err(()),
        }
    }
}

impl RawBooking {
    /// The empty form: one knife, and the answers most people give.
    pub fn empty(key: String) -> Self {
        let mut form = Self {
            key,
            knives: vec![RawKnife::default()],
            arrival: "post".into(),
            back: "post".into(),
            refused: "back".into(),
            ..Self::default()
        };
        form.number_knives();
        form
    }

    /// Does what `press` asks; gives the knife the eye should go to next, if that changed.
    pub fn press(&mut self, press: Press) -> Option<usize> {
        self.number_knives();
        let seen = match press {
            Press::More if self.knives.len() < MOST_KNIVES => {
                self.knives.push(RawKnife::default());
                Some(self.knives.len() - 1)
            }
            Press::Again(i) if i < self.knives.len() && self.knives.len() < MOST_KNIVES => {
                // A tag belongs to one blade, and so does a remark.
                let again = RawKnife {
                    tag: String::new(),
                    note: String::new(),
                    place: String::new(),
                    ..self.knives[i].clone()
                };
                self.knives.insert(i + 1, again);
                Some(i + 1)
            }
            Press::Remove(i) if i < self.knives.len() => {
                self.knives.remove(i);
                if self.knives.is_empty() {
                    self.knives.push(RawKnife::default());
                }
                Some(i.min(self.knives.len() - 1))
            }
            _ => None,
        };
        self.number_knives();
        seen
    }

    /// Gives every knife without a number of its own the next free one.
    pub fn number_knives(&mut self) {
        let mut next = self.knives.iter().filter_map(RawKnife::number).max().map_or(1, |n| n + 1);
        for i in 0..self.knives.len() {
            let own = self.knives[i].number();
            let taken = own.is_none() || self.knives[..i].iter().any(|k| k.number() == own);
            if taken {
                self.knives[i].place = next.to_string();
                next += 1;
            }
        }
    }
}

impl RawKnife {
    /// Its number in the form, from 1; `None` while it has none.
    pub fn number(&self) -> Option<u32> {
        self.place.parse().ok().filter(|n| (1..=100_000).contains(n))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn three() -> RawBooking {
        let knife = |length: &str| RawKnife { length: length.into(), ..RawKnife::default() };
        let mut form =
            RawBooking { knives: vec![knife("100"), knife("200"), knife("300")], ..RawBooking::default() };
        form.number_knives();
        form
    }

    fn lengths(form: &RawBooking) -> Vec<&str> {
        form.knives.iter().map(|k| k.length.as_str()).collect()
    }

    fn places(form: &RawBooking) -> Vec<&str> {
        form.knives.iter().map(|k| k.place.as_str()).collect()
    }

    #[test]
    fn a_knife_taken_out_leaves_the_numbers_of_the_others_alone() {
        let mut form = three();
        assert_eq!(form.press(Press::Remove(0)), Some(0));
        assert_eq!((lengths(&form), places(&form)), (vec!["200", "300"], vec!["2", "3"]));
        assert_eq!(form.press(Press::More), Some(2));
        assert_eq!(places(&form), ["2", "3", "4"]);
    }

    #[test]
    fn the_same_again_copies_what_is_wrong_but_not_the_tag() {
        let mut form = three();
        form.knives[1].tag = "7KM2-QX".into();
        form.knives[1].chips = true;
        assert_eq!(form.press(Press::Again(1)), Some(2));
        assert_eq!(
            (lengths(&form), places(&form)),
            (vec!["100", "200", "200", "300"], vec!["1", "2", "4", "3"])
        );
        assert!(form.knives[2].chips && form.knives[2].tag.is_empty());
    }

    #[test]
    fn there_is_always_one_knife_and_never_more_than_twenty() {
        let mut form = RawBooking::empty("k".into());
        assert_eq!(form.press(Press::Remove(0)), Some(0));
        assert_eq!(form.knives.len(), 1);
        for _ in 0..30 {
            form.press(Press::More);
        }
        assert_eq!(form.knives.len(), MOST_KNIVES);
        assert_eq!(form.press(Press::Again(0)), None);
        assert_eq!(form.press(Press::Remove(99)), None);
    }

    #[test]
    fn numbers_from_outside_are_made_whole_and_distinct() {
        let mut form = three();
        form.knives[0].place = "7".into();
        form.knives[1].place = "7".into();
        form.knives[2].place = "-1".into();
        form.number_knives();
        assert_eq!(places(&form), ["7", "8", "9"]);
    }

    #[test]
    fn buttons_are_read_and_an_enter_books_nothing() {
        assert_eq!("again-3".parse(), Ok(Press::Again(3)));
        assert_eq!("".parse(), Ok(Press::Estimate));
        for bad in ["again", "again--1", "book-1", "sell"] {
            assert_eq!(bad.parse::<Press>(), Err(()), "{bad}");
        }
    }
}

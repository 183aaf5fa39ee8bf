//! What the owner sets up, as plain forms: each subject has `fill` (what the form shows) and `check` (what was typed, read
//! into a value that cannot be wrong). `check(fill(x))` gives `x` back.
//!
//! Field names are flat (`plain-0-price`), so that one table of texts holds any of these forms as it was typed.

mod hours;
mod model;
mod prices;
mod profile;
mod station;
mod wheel;

pub use hours::{DAYS, check_hours, fill_hours};
pub use model::{check_model, fill_model};
pub use prices::{LISTS, ROWS, check_prices, fill_prices};
pub use profile::{check_profile, fill_profile};
pub use station::{
    CheckedStation, SETUP_ROWS, check_station, fill_station, kind_code, kind_words, station_kinds,
};
pub use wheel::{bond_code, bonds, check_dressing, check_wheel, fill_wheel};

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::field::{self, FieldErrors};
use crate::money::Money;
use crate::units;

/// A form as it was typed: field name and text. Ticks that are not set are absent.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Typed(pub BTreeMap<String, String>);

impl Typed {
    /// What stands in a field; empty when it was not sent.
    pub fn get(&self, field: &str) -> &str {
        self.0.get(field).map_or("", String::as_str)
    }

    /// Whether a tick is set.
    pub fn ticked(&self, field: &str) -> bool {
        !self.get(field).is_empty()
    }

    /// Writes a field.
    pub fn set(&mut self, field: impl Into<String>, text: impl Into<String>) {
        self.0.insert(field.into(), text.into());
    }

    /// Sets a tick or leaves it out.
    pub fn tick(&mut self, field: impl Into<String>, set: bool) {
        if set {
            self.set(field, "true");
        }
    }

    /// Writes a figure without idle zeros.
    pub fn figure(&mut self, field: impl Into<String>, value: f64) {
        self.set(field, units::short(value, 3));
    }

    /// Writes an amount with two decimals.
    pub fn money(&mut self, field: impl Into<String>, value: Money) {
        let sign = if value.0 < 0 { "-" } else { "" };
        self.set(field, format!("{sign}{}.{:02}", value.0.abs() / 100, value.0.abs() % 100));
    }
}

/// What differs between two fillings of one form, a line each: `plain-0-price: 14.00 → 15.00`. Long texts are cut.
pub fn changes(before: &Typed, after: &Typed) -> Vec<String> {
    let fields: std::collections::BTreeSet<&String> = before.0.keys().chain(after.0.keys()).collect();
    let short = |text: &str| {
        let text = text.trim().replace('\n', " / ");
        match (text.is_empty(), text.char_indices().nth(60)) {
            (true, _) => "nothing".to_owned(),
            (false, None) => text,
            (false, Some((end, _))) => format!("{}…", &text[..end]),
        }
    };
    fields
        .into_iter()
        .map(|field| (field, before.get(field), after.get(field)))
        .filter(|(_, was, is)| was.trim() != is.trim())
        .map(|(field, was, is)| format!("{}: {} → {}", field.replace('-', " "), short(was), short(is)))
        .collect()
}

/// Reads fields one by one and collects what is wrong. A field that cannot be read gives an empty value, which never leaves:
/// [`Reader::or`] refuses the whole form then.
struct Reader<'a> {
    typed: &'a Typed,
    errors: FieldErrors,
}

impl<'a> Reader<'a> {
    fn new(typed: &'a Typed) -> Self {
        Self { typed, errors: FieldErrors::default() }
    }

    fn line(&mut self, field: &str, what: &str, most: usize, required: bool) -> String {
        field::line(&mut self.errors, field, self.typed.get(field), what, most, required).unwrap_or_default()
    }

    fn text(&mut self, field: &str, what: &str, most: usize) -> String {
        field::text(&mut self.errors, field, self.typed.get(field), what, most).unwrap_or_default()
    }

    fn email(&mut self, field: &str) -> String {
        field::email(&mut self.errors, field, self.typed.get(field)).unwrap_or_default()
    }

    /// A figure in the unit the field shows; decimal point or comma.
    fn figure(&mut self, field: &str, what: &str, least: f64, most: f64) -> f64 {
        self.figure_if(field, what, least, most).unwrap_or_else(|| {
            if self.errors.of(field).is_none() {
                self.errors.add(field, format!("Please give {what}."));
            }
            0.0
        })
    }

    /// The same, may stay empty.
    fn figure_if(&mut self, field: &str, what: &str, least: f64, most: f64) -> Option<f64> {
        let typed = self.typed.get(field);
        if typed.trim().is_empty() {
            return None;
        }
        match units::decimal(typed) {
            Some(value) if (least..=most).contains(&value) => Some(value),
            _ => {
                let (least, most) = (units::short(least, 3), units::short(most, 3));
                self.errors.add(field, format!("Please give {what} as a figure from {least} to {most}."));
                None
            }
        }
    }

    /// A length in millimetres; inches are understood too.
    fn length(&mut self, field: &str, what: &str, least: f64, most: f64) -> f64 {
        self.length_if(field, what, least, most).unwrap_or_else(|| {
            if self.errors.of(field).is_none() {
                self.errors.add(field, format!("Please give {what}."));
            }
            0.0
        })
    }

    /// The same, may stay empty.
    fn length_if(&mut self, field: &str, what: &str, least: f64, most: f64) -> Option<f64> {
        let typed = self.typed.get(field);
        if typed.trim().is_empty() {
            return None;
        }
        match units::length(typed).map(|typed| typed.mm) {
            Some(mm) if (least..=most).contains(&mm) => Some(mm),
            _ => {
                let (least, most) = (units::short(least, 3), units::short(most, 3));
                self.errors.add(field, format!("Please give {what} as a length from {least} to {most} mm."));
                None
            }
        }
    }

    fn whole(&mut self, field: &str, what: &str, least: u32, most: u32) -> u32 {
        self.whole_if(field, what, least, most).unwrap_or_else(|| {
            if self.errors.of(field).is_none() {
                self.errors.add(field, format!("Please give {what}."));
            }
            least
        })
    }

    fn whole_if(&mut self, field: &str, what: &str, least: u32, most: u32) -> Option<u32> {
        let typed = self.typed.get(field).trim();
        if typed.is_empty() {
            return None;
        }
        let plain = typed.bytes().all(|b| b.is_ascii_digit());
        let read = typed.parse().ok().filter(|n| plain && (least..=most).contains(n));
        if read.is_none() {
            self.errors.add(field, format!("Please give {what} as a whole number from {least} to {most}."));
        }
        read
    }

    fn small(&mut self, field: &str, what: &str, least: u16, most: u16) -> u16 {
        u16::try_from(self.whole(field, what, u32::from(least), u32::from(most))).unwrap_or(least)
    }

    fn money(&mut self, field: &str, what: &str) -> Money {
        Money::parse(self.typed.get(field)).unwrap_or_else(|| {
            self.errors.add(field, format!("Please give {what} as an amount such as 12.50."));
            Money(0)
        })
    }

    fn date(&mut self, field: &str, what: &str) -> NaiveDate {
        self.typed.get(field).trim().parse().unwrap_or_else(|_| {
            self.errors.add(field, format!("Please give {what} as a day such as 2026-03-31."));
            NaiveDate::default()
        })
    }

    /// A short id that may stand in an address: `arc-5`.
    fn id(&mut self, field: &str, what: &str) -> String {
        let text = self.line(field, what, 24, true);
        let good = text.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
        if !good {
            self.errors.add(field, format!("Please give {what} in small letters, digits and dashes."));
        }
        text
    }

    /// One of a list of words.
    fn one_of<T: Copy>(&mut self, field: &str, choices: &[(&str, T)]) -> Option<T> {
        let typed = self.typed.get(field);
        let found = choices.iter().find(|(code, _)| *code == typed).map(|(_, value)| *value);
        if found.is_none() {
            self.errors.add(field, "Please choose one.");
        }
        found
    }

    /// The value, unless something is wrong.
    fn or<T>(self, value: T) -> Result<T, FieldErrors> {
        self.errors.or(Some(value))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_name_what_was_and_what_is() {
        let (mut before, mut after) = (Typed::default(), Typed::default());
        for (field, was, is) in [("a-b", "1", "2"), ("same", "x", " x"), ("new", "", "y"), ("gone", "z", "")]
        {
            before.set(field, was);
            after.set(field, is);
        }
        after.set("long", "ä".repeat(100));
        let lines = changes(&before, &after);
        assert_eq!(
            lines[..3],
            ["a b: 1 → 2", "gone: z → nothing", &format!("long: nothing → {}…", "ä".repeat(60))]
        );
        assert_eq!(lines[3..], ["new: nothing → y"]);
    }
}

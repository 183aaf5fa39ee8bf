//! The languages customers are spoken to in: how each writes dates, decimals, money and lengths.
//!
//! Words live in the message catalogue of the crate `words`; here is only what a page in the browser needs as well.

use crate::money::{Money, MoneyRange};
use crate::units::{MM_PER_INCH, short};
use chrono::{Datelike, NaiveDate, NaiveDateTime};
use serde::{Deserialize, Serialize};

/// A language with its habits. The code is that of BCP 47.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Lang {
    /// English as the shop itself speaks it: millimetres, day before month.
    #[default]
    #[serde(rename = "en")]
    En,
    /// English for whoever measures in inches; month before day.
    #[serde(rename = "en-US")]
    EnUs,
    /// German.
    #[serde(rename = "de")]
    De,
}

impl Lang {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::En, Self::EnUs, Self::De];

    /// What stands in `<html lang>`, in addresses and in the store.
    pub fn code(self) -> &'static str {
        match self {
            Self::En => "en",
            Self::EnUs => "en-US",
            Self::De => "de",
        }
    }

    /// What it calls itself.
    pub fn own_name(self) -> &'static str {
        match self {
            Self::En => "English",
            Self::EnUs => "English (US)",
            Self::De => "Deutsch",
        }
    }

    /// Reads a code; `None` for languages we do not speak.
    pub fn parse(code: &str) -> Option<Self> {
        let code = code.trim().replace('_', "-").to_lowercase();
        match code.split('-').collect::<Vec<_>>().as_slice() {
            ["en", .., "us"] => Some(Self::EnUs),
            ["en", ..] => Some(Self::En),
            ["de", ..] => Some(Self::De),
            _ => None,
        }
    }

    /// The best of ours for what a browser asks (RFC 9110, 12.5.4): highest weight first, the first named among equals.
    pub fn accepted(header: &str) -> Self {
        let mut asked: Vec<(u32, Self)> = header
            .split(',')
            .filter_map(|part| {
                let (code, weight) = part.split_once(';').unwrap_or((part, ""));
                let weight =
                    weight.trim().strip_prefix("q=").map_or(1.0, |q| q.trim().parse().unwrap_or(0.0));
                let weight = (f64::clamp(weight, 0.0, 1.0) * 1000.0).round() as u32;
                Self::parse(code).filter(|_| weight > 0).map(|lang| (weight, lang))
            })
            .collect();
        asked.sort_by_key(|(weight, _)| std::cmp::Reverse(*weight));
        asked.first().map_or_else(Self::default, |(_, lang)| *lang)
    }

    /// True where English words are used.
    pub fn is_english(self) -> bool {
        matches!(self, Self::En | Self::EnUs)
    }

    /// A number that was written with a decimal point, as this language writes it.
    pub fn decimal(self, number: &str) -> String {
        if self == Self::De { number.replace('.', ",") } else { number.to_owned() }
    }

    /// A figure with at most `places` decimals.
    pub fn figure(self, value: f64, places: usize) -> String {
        self.decimal(&short(value, places))
    }

    /// `12.50 EUR`, `12,50 EUR`.
    pub fn money(self, amount: Money, currency: &str) -> String {
        self.decimal(&amount.show(currency))
    }

    /// `22.00 to 38.00 EUR`, `22,00 bis 38,00 EUR`.
    pub fn money_range(self, range: MoneyRange, currency: &str) -> String {
        let shown = self.decimal(&range.show(currency));
        if self == Self::De { shown.replacen(" to ", " bis ", 1) } else { shown }
    }

    /// A length, `46.2 mm`; in inches with as many decimals as say the same.
    pub fn length(self, mm: f64, places: usize) -> String {
        match self {
            Self::EnUs => format!("{} in", short(mm / MM_PER_INCH, places + 1)),
            other => format!("{} mm", other.figure(mm, places)),
        }
    }

    /// `0.2 to 0.4 mm`; `up to 0.2 mm`; or one figure when both ends round to the same. No finer than is known before measuring.
    pub fn span(self, (low, high): (f64, f64)) -> String {
        let places = if high >= 1.0 { 1 } else { 2 };
        let (per, unit, places) =
            if self == Self::EnUs { (MM_PER_INCH, "in", places + 1) } else { (1.0, "mm", places) };
        let (low, high) = (self.figure(low / per, places), self.figure(high / per, places));
        let (to, up_to) = if self == Self::De { ("bis", "bis") } else { ("to", "up to") };
        match low.as_str() {
            low if low == high => format!("{high} {unit}"),
            "0" => format!("{up_to} {high} {unit}"),
            low => format!("{low} {to} {high} {unit}"),
        }
    }

    /// `Friday, 27 November 2026`; `Friday, November 27, 2026`; `Freitag, 27. November 2026`.
    pub fn day(self, date: NaiveDate) -> String {
        let (weekday, month) = (self.weekday(date), self.month(date));
        let (day, year) = (date.day(), date.year());
        match self {
            Self::En => format!("{weekday}, {day} {month} {year}"),
            Self::EnUs => format!("{weekday}, {month} {day}, {year}"),
            Self::De => format!("{weekday}, {day}. {month} {year}"),
        }
    }

    /// The day without its year: `Friday, 27 November`.
    pub fn day_of_year(self, date: NaiveDate) -> String {
        let (weekday, month, day) = (self.weekday(date), self.month(date), date.day());
        match self {
            Self::En => format!("{weekday}, {day} {month}"),
            Self::EnUs => format!("{weekday}, {month} {day}"),
            Self::De => format!("{weekday}, {day}. {month}"),
        }
    }

    /// `Friday, 27 November 2026, 10:00`.
    pub fn day_and_time(self, at: NaiveDateTime) -> String {
        format!("{}, {}", self.day(at.date()), self.time(at))
    }

    /// `27 Nov 2026, 10:00`.
    pub fn short(self, at: NaiveDateTime) -> String {
        format!("{}, {}", self.short_date(at.date()), self.time(at))
    }

    /// `27 Nov 2026`; `27.11.2026`.
    pub fn short_date(self, date: NaiveDate) -> String {
        match self {
            Self::En => date.format("%-d %b %Y").to_string(),
            Self::EnUs => date.format("%b %-d, %Y").to_string(),
            Self::De => date.format("%-d.%-m.%Y").to_string(),
        }
    }

    /// `November 2026`.
    pub fn month_of(self, date: NaiveDate) -> String {
        format!("{} {}", self.month(date), date.year())
    }

    fn time(self, at: NaiveDateTime) -> String {
        match self {
            Self::En | Self::De => at.format("%H:%M").to_string(),
            Self::EnUs => at.format("%-I:%M %p").to_string(),
        }
    }

    /// The day of the week.
    pub fn weekday(self, date: NaiveDate) -> &'static str {
        let n = date.weekday().num_days_from_monday() as usize;
        match self {
            Self::En | Self::EnUs => EN_DAYS[n],
            Self::De => DE_DAYS[n],
        }
    }

    /// The days of the week, from Monday.
    pub fn weekdays(self) -> [&'static str; 7] {
        if self == Self::De { DE_DAYS } else { EN_DAYS }
    }

    fn month(self, date: NaiveDate) -> &'static str {
        let n = date.month0() as usize;
        match self {
            Self::En | Self::EnUs => EN_MONTHS[n],
            Self::De => DE_MONTHS[n],
        }
    }
}

const EN_DAYS: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
const DE_DAYS: [&str; 7] = ["Montag", "Dienstag", "Mittwoch", "Donnerstag", "Freitag", "Samstag", "Sonntag"];
const EN_MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];
const DE_MONTHS: [&str; 12] = [
    "Januar",
    "Februar",
    "März",
    "April",
    "Mai",
    "Juni",
    "Juli",
    "August",
    "September",
    "Oktober",
    "November",
    "Dezember",
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_browser_gets_the_best_language_we_speak() {
        for (asked, lang) in [
            ("de-AT,de;q=0.9,en;q=0.8", Lang::De),
            ("fr;q=0.9, en-US;q=0.3, de;q=0.5", Lang::De),
            ("en-US,en;q=0.5", Lang::EnUs),
            ("en-GB,en-US;q=0.9,de;q=0.8", Lang::En),
            ("de;q=0, en", Lang::En),
            ("fr, ja", Lang::En),
            ("", Lang::En),
            (";;q=x,,", Lang::En),
        ] {
            assert_eq!(Lang::accepted(asked), lang, "{asked:?}");
        }
        for lang in Lang::ALL {
            assert_eq!(Lang::parse(lang.code()), Some(lang));
        }
    }

    #[test]
    fn each_language_writes_days_figures_and_lengths_its_own_way() {
        let at = NaiveDate::from_ymd_opt(2026, 3, 6).unwrap().and_hms_opt(14, 5, 0).unwrap();
        assert_eq!(Lang::En.day_and_time(at), "Friday, 6 March 2026, 14:05");
        assert_eq!(Lang::EnUs.day_and_time(at), "Friday, March 6, 2026, 2:05 PM");
        assert_eq!(Lang::De.day_and_time(at), "Freitag, 6. März 2026, 14:05");
        assert_eq!(Lang::De.short(at), "6.3.2026, 14:05");
        let range = MoneyRange { low: Money(2200), high: Money(3850) };
        assert_eq!(Lang::De.money_range(range, "EUR"), "22,00 bis 38,50 EUR");
        assert_eq!(Lang::De.length(46.25, 1), "46,2 mm");
        assert_eq!(Lang::EnUs.length(254.0, 0), "10 in");
    }

    #[test]
    fn a_span_is_no_finer_than_what_is_known() {
        assert_eq!(Lang::En.span((0.131, 0.474)), "0.13 to 0.47 mm");
        assert_eq!(Lang::En.span((0.3, 1.5)), "0.3 to 1.5 mm");
        assert_eq!(Lang::En.span((0.204, 0.2041)), "0.2 mm");
        assert_eq!(Lang::En.span((0.0, 0.2)), "up to 0.2 mm");
        assert_eq!(Lang::De.span((0.0, 0.2)), "bis 0,2 mm");
        assert_eq!(Lang::EnUs.span((0.254, 0.508)), "0.01 to 0.02 in");
    }
}

//! Money in whole minor units of the shop's currency; never a fraction, never a float.

use serde::{Deserialize, Serialize};
use std::iter::Sum;
use std::ops::{Add, AddAssign};

/// An amount in minor units (cents for EUR).
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Money(pub i64);

impl Money {
    /// `percent` of this amount, rounded half up to a whole minor unit.
    pub fn percent(self, percent: i64) -> Self {
        Self((self.0 * percent + 50).div_euclid(100))
    }

    /// `self` times `n`.
    pub fn times(self, n: i64) -> Self {
        Self(self.0 * n)
    }

    /// `"12.50 EUR"`: the amount with two decimals, then the ISO 4217 code.
    pub fn show(self, currency: &str) -> String {
        let sign = if self.0 < 0 { "-" } else { "" };
        format!("{sign}{}.{:02} {currency}", self.0.abs() / 100, self.0.abs() % 100)
    }

    /// Reads `"12"`, `"12.5"`, `"12,50"`; `None` for anything else, negatives and more than two decimals included.
    pub fn parse(typed: &str) -> Option<Self> {
        let typed = typed.trim().replace(',', ".");
        let (whole, part) = typed.split_once('.').unwrap_or((&typed, ""));
        if whole.is_empty()
            || whole.len() > 9
            || part.len() > 2
            || !(whole.to_owned() + part).bytes().all(|b| b.is_ascii_digit())
        {
            return None;
        }
        let cents: i64 = format!("{part:0<2}").parse().ok()?;
        Some(Self(whole.parse::<i64>().ok()? * 100 + cents))
    }
}

impl Add for Money {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl AddAssign for Money {
    fn add_assign(&mut self, other: Self) {
        self.0 += other.0;
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Self>>(iter: I) -> Self {
        iter.fold(Self(0), Add::add)
    }
}

/// A price not known exactly yet.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct MoneyRange {
    /// The least it will be.
    pub low: Money,
    /// The most it will be.
    pub high: Money,
}

impl MoneyRange {
    /// `"22.00 EUR"` when both ends are the same, else `"22.00 to 38.00 EUR"`.
    pub fn show(self, currency: &str) -> String {
        if self.low == self.high {
            self.low.show(currency)
        } else {
            let low = self.low.show(currency);
            format!("{} to {}", low.trim_end_matches(currency).trim_end(), self.high.show(currency))
        }
    }
}

impl Add for MoneyRange {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { low: self.low + other.low, high: self.high + other.high }
    }
}

impl Sum for MoneyRange {
    fn sum<I: Iterator<Item = Self>>(iter: I) -> Self {
        iter.fold(Self::default(), Add::add)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_are_read_as_people_type_them() {
        for (typed, cents) in [("12", 1200), ("12.5", 1250), ("12,50", 1250), (" 0.05 ", 5), ("12.", 1200)] {
            assert_eq!(Money::parse(typed), Some(Money(cents)), "{typed}");
        }
        for bad in ["", "-1", "1.234", "1e3", "1.2.3", "٣", "12345678901"] {
            assert_eq!(Money::parse(bad), None, "{bad}");
        }
    }

    #[test]
    fn percentages_round_half_up_to_whole_cents() {
        assert_eq!(Money(1999).percent(40), Money(800));
        assert_eq!(Money(1).percent(50), Money(1));
        assert_eq!(Money(0).percent(40), Money(0));
    }

    #[test]
    fn a_range_names_the_currency_once() {
        assert_eq!(MoneyRange { low: Money(2200), high: Money(3850) }.show("EUR"), "22.00 to 38.50 EUR");
        assert_eq!(MoneyRange { low: Money(5), high: Money(5) }.show("EUR"), "0.05 EUR");
        assert_eq!(Money(-1234).show("EUR"), "-12.34 EUR");
    }
}

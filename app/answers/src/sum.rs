//! What the whole booking comes to.

use assess::Knowledge;
use shop::booking::{self, RawBooking};
use shop::field::FieldErrors;
use shop::money::{Money, MoneyRange};

/// What the whole booking comes to.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sum {
    /// Work on the knives described so far.
    pub work: MoneyRange,
    /// How many that are.
    pub n_known: usize,
    /// How many there are.
    pub n_all: usize,
    /// The return parcel: up to which value it is covered, and its price.
    pub parcel: Option<(Money, Money)>,
    /// The currency's code.
    pub currency: String,
}

impl Sum {
    /// Adds up what was typed.
    pub fn of(knows: &Knowledge, currency: &str, raw: &RawBooking) -> Self {
        let known: Vec<_> = raw
            .knives
            .iter()
            .filter_map(|k| booking::check_knife(k, 0, &knows.models, &mut FieldErrors::default()))
            .map(|k| assess::booked(knows, &k, raw.rush))
            .filter(|v| v.refusal.is_none())
            .collect();
        let declared = Money::parse(&raw.declared).unwrap_or_default();
        Self {
            work: known.iter().map(|v| v.price).sum(),
            n_known: known.len(),
            n_all: raw.knives.len(),
            parcel: (raw.back == "post").then(|| knows.prices.parcel(declared)).flatten(),
            currency: currency.to_owned(),
        }
    }
}

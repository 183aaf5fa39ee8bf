//! What we say of a knife before we have seen it: the answers to what customers ask, in the order they ask it.
//!
//! The server writes them into the booking page; while somebody types, the same code writes them in the browser. It is the
//! only program a customer's page loads, so it is kept small: no page framework, only figures, sentences and a little HTML.

mod answer;
#[cfg(feature = "browser")]
mod browser;
#[cfg(any(feature = "browser", test))]
mod form;
mod html;
mod sum;

pub use answer::Answer;
pub use html::{answer_html, nothing_html, sum_html};
pub use sum::Sum;

use assess::{Knowledge, Typical};
use serde::{Deserialize, Serialize};
use shop::bench::{Bench, Model};
use shop::lang::Lang;
use shop::phrasebook::Phrasebook;
use shop::price::PriceList;

/// What the browser has to know to answer; written into the page once. Of what the shop knows it holds what shows in the answers:
/// stations, minutes and stones matter to the plan only, and every kind of thing to read makes the program larger.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Aid {
    models: Vec<Model>,
    prices: PriceList,
    typical: Typical,
    steels: Vec<craft::Steel>,
    currency: String,
    speech: Speech,
}

impl Aid {
    /// What matters of all the shop knows.
    pub fn of(knows: &Knowledge, currency: &str, speech: Speech) -> Self {
        Self {
            models: knows.models.clone(),
            prices: knows.prices.clone(),
            typical: knows.typical,
            steels: knows.rates.steels.clone(),
            currency: currency.to_owned(),
            speech,
        }
    }

    /// As text for the page: the fields in their order without names, each byte in hexadecimal digits, and below them the
    /// phrases as they are, which makes them half as large once compressed. JSON would be shorter in the page, but reading it
    /// is a fifth of the program.
    pub fn write(&self) -> String {
        format!(
            "{}\n{}",
            hex::encode(postcard::to_allocvec(self).unwrap_or_default()),
            self.speech.book.write()
        )
    }

    /// Reads what [`Aid::write`] wrote; nothing when it cannot be read.
    pub fn read(text: &str) -> Option<Self> {
        let (fields, phrases) = text.split_once('\n')?;
        let mut aid: Self = postcard::from_bytes(&hex::decode(fields).ok()?).ok()?;
        aid.speech.book = match aid.speech.lang {
            Lang::EnUs => Phrasebook::inches(),
            Lang::En | Lang::De => Phrasebook::read(phrases),
        };
        Some(aid)
    }

    /// As knowledge again: the same answers, but nothing that a plan could be made of.
    pub fn knowledge(&self) -> Knowledge {
        Knowledge {
            models: self.models.clone(),
            prices: self.prices.clone(),
            rates: craft::Rates {
                steels: self.steels.clone(),
                abrasives: Vec::new(),
                ..craft::Rates::default()
            },
            bench: Bench::default(),
            wheels: Vec::new(),
            typical: self.typical,
            per_year: None,
        }
    }
}

/// How a page speaks: sentences are made in English and said in this language.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Speech {
    /// The language.
    pub lang: Lang,
    /// Its phrases; empty for English.
    #[serde(skip)]
    pub book: Phrasebook,
}

impl Speech {
    /// Which phrases are said here.
    pub const ROOMS: [&str; 7] = ["answer", "assess", "advice", "limit", "price", "name", "section"];

    /// A sentence in the page's language.
    pub fn say(&self, english: &str) -> String {
        self.book.say(english)
    }
}

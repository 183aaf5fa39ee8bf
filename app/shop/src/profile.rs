//! The shop itself: its name, its place, its rules and the texts the owner edits.

use crate::hours::{Hours, Stretch};
use crate::lang::Lang;
use crate::money::Money;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// When the ready notice leaves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReadyRule {
    /// Once the last piece of a visit is ready.
    #[default]
    WholeVisit,
    /// For each piece by itself.
    PerPiece,
}

/// The shop's own data and rules, one document in the settings.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Profile {
    /// The shop's name, on every page and notice.
    pub name: String,
    /// Street and house number.
    pub street: String,
    /// Postal code and town.
    pub town: String,
    /// Country name.
    pub country: String,
    /// Mail address for answers.
    pub email: String,
    /// Telephone, may be empty.
    pub phone: String,
    /// IANA time zone, e.g. `Europe/Lisbon`.
    pub time_zone: String,
    /// ISO 4217 code.
    pub currency: String,
    /// Opening hours of the counter.
    pub counter: Hours,
    /// Working hours of the bench, for people without hours of their own.
    pub bench: Hours,
    /// Minutes of one counter slot.
    pub slot_minutes: u16,
    /// Visits that fit in one slot.
    pub slot_places: u16,
    /// Working days promised when the plan allows no better.
    pub promise_days: u16,
    /// Working days a parcel takes to arrive.
    pub post_days: u16,
    /// When the ready notice leaves.
    pub ready_rule: ReadyRule,
    /// The time of day at which people are told that something is ready, and reminded: what comes up outside of it waits.
    #[serde(default = "Profile::usual_told")]
    pub told: Stretch,
    /// On days on which neither counter nor bench is open, too.
    #[serde(default)]
    pub told_on_days_off: bool,
    /// Hand over only what is paid.
    pub paid_first: bool,
    /// Days after which the fetching of a ready piece is asked for again.
    pub remind_after_days: u16,
    /// Days after which a booking that never arrived lapses.
    pub lapse_after_days: u16,
    /// The carrier's rule on blades, in the owner's words.
    pub carrier_rule: String,
    /// When that rule was last checked with the carrier.
    pub carrier_checked: NaiveDate,
    /// Who bears the risk on the way, in the owner's words.
    pub risk_text: String,
    /// The text about withdrawing and beginning early, in the owner's words (not legal advice).
    pub withdrawal_text: String,
    /// How the shop measures the force of a cut, in the owner's words: without it a figure in newtons says little.
    #[serde(default)]
    pub cut_test_text: String,
    /// Above this value the shop asks for a call first.
    pub most_declared: Money,
    /// The owner's own wording of notices: `de mail-ready-subject` and the text with its places. What is not here is said as
    /// the program says it.
    #[serde(default)]
    pub wording: BTreeMap<String, String>,
}

impl Profile {
    /// The time of day at which people are told until the owner says otherwise: not at night, not before breakfast.
    pub fn usual_told() -> Stretch {
        Stretch { from: 8 * 60, to: 20 * 60 }
    }

    /// The carrier's rule on blades, in a language the owner has written it in; else as it stands.
    pub fn carrier_rule_in(&self, lang: Lang) -> &str {
        self.own("carrier-rule", lang).unwrap_or(&self.carrier_rule)
    }

    /// Who bears the risk on the way.
    pub fn risk_text_in(&self, lang: Lang) -> &str {
        self.own("risk-text", lang).unwrap_or(&self.risk_text)
    }

    /// About withdrawing and beginning early.
    pub fn withdrawal_text_in(&self, lang: Lang) -> &str {
        self.own("withdrawal-text", lang).unwrap_or(&self.withdrawal_text)
    }

    fn own(&self, name: &str, lang: Lang) -> Option<&str> {
        self.wording.get(&format!("{} {name}", lang.code())).map(String::as_str)
    }
}

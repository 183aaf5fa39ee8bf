//! What the desk says of a knife: how much steel the work takes, how much life is left, what it costs, how long it takes and
//! which way it goes over the bench. Here `craft` (the geometry) and `shop` (prices, stations, words) meet; it runs on the
//! server and, for the answer while typing, in the browser.
//!
//! It knows nothing of dates: those come from the plan. It stores nothing.
//!
//! - [`booked`]: what can be said before we have seen the knife: wide ranges.
//! - [`inspected`]: what is said once it is measured.
//! - [`draw`]: the drawings that go with both.
//! - [`check_steel`]: a steel of the shop's own, as typed.

mod abrasives;
mod booking;
pub mod draw;
mod life;
mod measured;
mod route;
mod steel;
mod work;

pub use booking::{booked, outlook};
pub use measured::{Unsound, inspected, measures, request};
pub use steel::{CORROSION, FIGURES, check_steel, corrosion_code, fill_steel};

use craft::learn::Habit;
use serde::{Deserialize, Serialize};
use shop::bench::{Bench, Model, Wheel};
use shop::edge::EdgeKind;
use shop::price::PriceList;

/// What a service usually takes from a blade of one kind, millimetres of height: the shop's own experience.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Typical {
    /// Plain edge, both sides: median.
    pub double_mm: f64,
    /// Plain edge, one side: median.
    pub single_mm: f64,
    /// Serrated: median.
    pub serrated_mm: f64,
    /// Standard deviation of the natural logarithm, for all kinds.
    pub spread: f64,
    /// What the ledger has taught about each kind, once the owner has taken it over.
    #[serde(default)]
    pub learned: Learned,
}

/// What the ledger has taught about the height a service takes, kind by kind.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Learned {
    /// Plain edge, both sides.
    pub double: Option<Habit>,
    /// Plain edge, one side.
    pub single: Option<Habit>,
    /// Serrated.
    pub serrated: Option<Habit>,
}

impl Learned {
    /// For one kind.
    pub fn of(&mut self, kind: craft::EdgeKind) -> &mut Option<Habit> {
        match kind {
            craft::EdgeKind::Double => &mut self.double,
            craft::EdgeKind::Single => &mut self.single,
            craft::EdgeKind::Serrated => &mut self.serrated,
        }
    }
}

impl Typical {
    /// The median for one kind of edge, before the ledger has taught anything.
    pub fn median_mm(&self, kind: craft::EdgeKind) -> f64 {
        match kind {
            craft::EdgeKind::Double => self.double_mm,
            craft::EdgeKind::Single => self.single_mm,
            craft::EdgeKind::Serrated => self.serrated_mm,
        }
    }

    /// What a later service takes from an edge of this kind.
    pub fn later(mut self, edge: EdgeKind) -> craft::Recession {
        let kind = match edge {
            EdgeKind::Double => craft::EdgeKind::Double,
            EdgeKind::Single => craft::EdgeKind::Single,
            EdgeKind::Arc | EdgeKind::Wavy | EdgeKind::Pointed => craft::EdgeKind::Serrated,
        };
        craft::Recession {
            median: self.median_mm(kind),
            spread: self.spread,
            learned: *self.learned.of(kind),
        }
    }
}

/// What the shop knows and asks, as far as it matters for one knife.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Knowledge {
    /// Our models.
    pub models: Vec<Model>,
    /// Prices.
    pub prices: PriceList,
    /// Minutes and removal rates. Abrasives are not among them: those a measured piece can meet are found among the wheels, and until
    /// it is measured no stone is named.
    pub rates: craft::Rates,
    /// Stations and setups.
    pub bench: Bench,
    /// Wheels, stones and belts in use.
    pub wheels: Vec<Wheel>,
    /// What services usually take.
    pub typical: Typical,
    /// How often a year the knife in question is brought, by its owner's visits so far; `None`: nobody knows yet.
    #[serde(default)]
    pub per_year: Option<f64>,
}

impl Knowledge {
    /// One of our models.
    pub fn model(&self, id: shop::ids::ModelId) -> Option<&Model> {
        self.models.iter().find(|m| m.id == id)
    }
}

//! What the desk says of a knife: how much steel the work takes, how much life is left, what it costs, how long it takes and
//! which way it goes over the bench. Here `craft` (the geometry) and `shop` (prices, stations, words) meet; it runs on the
//! server and, for the answer while typing, in the browser.
//!
//! It knows nothing of dates: those come from the plan. It stores nothing.
//!
//! - [`booked`]: what can be said before we have seen the knife: wide ranges.
//! - [`inspected`]: what is said once it is measured.
//! - [`draw`]: the drawings that go with both.

mod booking;
pub mod draw;
mod life;
mod measured;
mod route;
mod work;

pub use booking::{booked, outlook};
pub use measured::{Unsound, inspected, measures, request};

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
}

impl Typical {
    /// The median for one kind of edge.
    pub fn median_mm(&self, edge: EdgeKind) -> f64 {
        match edge {
            EdgeKind::Double => self.double_mm,
            EdgeKind::Single => self.single_mm,
            _ => self.serrated_mm,
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
    /// Minutes, removal rates, stones and wheels.
    pub rates: craft::Rates,
    /// Stations and setups.
    pub bench: Bench,
    /// Wheels, stones and belts in use.
    pub wheels: Vec<Wheel>,
    /// What services usually take.
    pub typical: Typical,
}

impl Knowledge {
    /// One of our models.
    pub fn model(&self, id: shop::ids::ModelId) -> Option<&Model> {
        self.models.iter().find(|m| m.id == id)
    }
}

//! Which of the shop's types are kept as settings documents, and the one only planning needs.

use serde::{Deserialize, Serialize};
use shop::bench::Bench;
use shop::hours::Hours;
use shop::ids::StaffId;
use shop::price::PriceList;
use shop::profile::Profile;

use super::settings::Document;

impl Document for Profile {
    const NAME: &'static str = "shop";
}

impl Document for Bench {
    const NAME: &'static str = "bench";
}

impl Document for PriceList {
    const NAME: &'static str = "prices";
}

/// Somebody at the bench, as the plan sees them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hand {
    /// Who.
    pub staff: StaffId,
    /// What they may do that not everybody may: `serrate`.
    pub skills: Vec<String>,
    /// Their own hours; `None`: the bench's.
    pub hours: Option<Hours>,
}

/// Everybody who works at the bench.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Crew {
    /// One entry per person.
    pub hands: Vec<Hand>,
}

impl Document for Crew {
    const NAME: &'static str = "crew";
}

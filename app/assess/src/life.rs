//! How a craft answer becomes what the desk says.

use craft::{Estimate, Limit};

/// Whole years that so many services last, cautious and hopeful, when there are `per_year` a year.
pub(crate) fn years((low, high): (u32, u32), per_year: f64) -> (u32, u32) {
    let years = |services: u32| (f64::from(services) / per_year).min(500.0);
    let (low, high) = (years(low).floor() as u32, years(high).ceil() as u32);
    // Nobody knows it to the year.
    (low, if high > 0 { high.max(low + 1) } else { 0 })
}

/// What limits, in words; empty when nothing does.
pub(crate) fn limit_words(limit: Limit) -> &'static str {
    match limit {
        Limit::Height => "the least height",
        Limit::Hardness => "the end of the hard zone",
        Limit::Thickness => "the thickness of the blade",
        Limit::Core => "the end of the hard core",
        Limit::Mark => "the mark on the blade",
        Limit::None => "",
    }
}

/// The cautions of an answer as sentences.
pub(crate) fn cautions(estimate: &Estimate) -> Vec<String> {
    estimate.cautions.iter().map(|note| note.why.to_string()).collect()
}

//! How a craft answer becomes what the desk says.

use craft::{Estimate, Limit, ServicesLeft};

/// Cautious and hopeful, of nine and one in ten.
pub(crate) fn span(left: Option<ServicesLeft>) -> Option<(u32, u32)> {
    left.map(|s| (s.p10, s.p90))
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

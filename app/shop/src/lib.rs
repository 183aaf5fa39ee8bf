//! The nouns of the shop and their rules.

//! What pages say to customers, in the language of the page.
//!
//! The server puts the language of a page into its context; [`t`] and its sisters look the words up in the message
//! catalogue. They are for pages only: an island gets its words and its language as arguments, for the catalogue stays on
//! the server.

use leptos::prelude::use_context;
pub use shop::lang::Lang;
use shop::phrasebook::Phrasebook;

/// The language of the page; the shop's own when nothing was said.
pub fn lang() -> Lang {
    use_context::<Lang>().unwrap_or_default()
}

/// A message.
#[cfg(feature = "ssr")]
pub fn t(name: &str) -> String {
    words::say(lang(), name, &[])
}

/// A message with words in its places.
#[cfg(feature = "ssr")]
pub fn tw(name: &str, places: &[(&str, &str)]) -> String {
    let places: Vec<_> = places.iter().map(|(place, text)| (*place, words::Arg::from(*text))).collect();
    words::say(lang(), name, &places)
}

/// A message about a number of things, in its place `n`.
#[cfg(feature = "ssr")]
pub fn tn(name: &str, n: usize) -> String {
    words::say(lang(), name, &[("n", n.into())])
}

/// What the program's inner rooms say in English, in the language of the page. `rooms`: which of them; none: all.
#[cfg(feature = "ssr")]
pub fn book(rooms: &[&str]) -> Phrasebook {
    words::phrasebook(lang(), rooms)
}

/// Never asked in the browser.
#[cfg(not(feature = "ssr"))]
pub fn t(_: &str) -> String {
    String::new()
}

/// Never asked in the browser.
#[cfg(not(feature = "ssr"))]
pub fn tw(_: &str, _: &[(&str, &str)]) -> String {
    String::new()
}

/// Never asked in the browser.
#[cfg(not(feature = "ssr"))]
pub fn tn(_: &str, _: usize) -> String {
    String::new()
}

/// Never asked in the browser.
#[cfg(not(feature = "ssr"))]
pub fn book(_: &[&str]) -> Phrasebook {
    Phrasebook::default()
}

/// Stands behind the name of a field that may stay empty. Parts of islands use it too, so it is not in the catalogue.
pub fn optional() -> &'static str {
    if lang() == Lang::De { " (freiwillig)" } else { " (optional)" }
}

//! Says in another language what the kernels, the checks and the ledger say in English.
//!
//! Those sentences are made far from any page, some are kept in the store, and the same code makes them in the browser.
//! So they are made once, in English, and said again where a customer reads them: a phrase is an English sentence with
//! its places, `{a}`, and the same sentence in the other language. The phrases come from the message catalogue.

use serde::{Deserialize, Serialize};

/// Phrases into one language. An empty book says everything as it is.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Phrasebook(Vec<(String, String)>);

impl Phrasebook {
    /// A book of English patterns and what they are called.
    pub fn new(mut phrases: Vec<(String, String)>) -> Self {
        // The more of a pattern is fixed, the better it fits.
        phrases.sort_by_cached_key(|(english, _)| std::cmp::Reverse(fixed(english)));
        Self(phrases)
    }

    /// True when it says everything as it is.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The sentence in this book's language; as it is when no phrase fits.
    pub fn say(&self, english: &str) -> String {
        self.find(english).unwrap_or_else(|| english.to_owned())
    }

    /// The sentence in this book's language, if a phrase fits.
    pub fn find(&self, english: &str) -> Option<String> {
        self.find_within(english, 3)
    }

    fn find_within(&self, english: &str, depth: u8) -> Option<String> {
        self.0.iter().find_map(|(pattern, other)| {
            let places = matched(pattern, english)?;
            let said: Vec<(&str, String)> = places
                .into_iter()
                .map(|(name, text)| {
                    let inner = (depth > 0).then(|| self.find_within(text, depth - 1)).flatten();
                    (name, inner.unwrap_or_else(|| number(text)))
                })
                .collect();
            Some(fill(other, &said))
        })
    }
}

/// How much of a pattern is fixed.
fn fixed(pattern: &str) -> usize {
    let mut inside = false;
    pattern
        .chars()
        .filter(|c| {
            match c {
                '{' => inside = true,
                '}' => {
                    inside = false;
                    return false;
                }
                _ => {}
            }
            !inside
        })
        .count()
}

/// A figure is written with a comma; anything else stays.
fn number(text: &str) -> String {
    let plain = text.bytes().any(|b| b.is_ascii_digit())
        && text.bytes().filter(|b| *b == b'.').count() == 1
        && text.bytes().all(|b| b.is_ascii_digit() || b == b'.' || b == b'-');
    if plain { text.replace('.', ",") } else { text.to_owned() }
}

/// The text in each place of `pattern`, if `text` is made after it. A place takes as little as it can, and never nothing.
fn matched<'p, 't>(pattern: &'p str, text: &'t str) -> Option<Vec<(&'p str, &'t str)>> {
    let mut places = Vec::new();
    let (mut pattern, mut text) = (pattern, text);
    loop {
        let Some(open) = pattern.find('{') else { return (pattern == text).then_some(places) };
        text = text.strip_prefix(&pattern[..open])?;
        let (name, rest) = pattern[open + 1..].split_once('}')?;
        let next = rest.find('{').unwrap_or(rest.len());
        let end = match (&rest[..next], rest.len() == next) {
            ("", _) => text.len(),
            // The last fixed piece has to stand at the end.
            (last, true) => text.len().checked_sub(last.len()).filter(|at| text.is_char_boundary(*at))?,
            (piece, false) => text.find(piece)?,
        };
        if end == 0 {
            return None;
        }
        places.push((name, &text[..end]));
        text = &text[end..];
        pattern = rest;
    }
}

fn fill(pattern: &str, places: &[(&str, String)]) -> String {
    let mut out = String::with_capacity(pattern.len() + 16);
    let mut rest = pattern;
    while let Some(open) = rest.find('{') {
        out.push_str(&rest[..open]);
        let Some((name, after)) = rest[open + 1..].split_once('}') else { break };
        if let Some((_, text)) = places.iter().find(|(n, _)| *n == name) {
            out.push_str(text);
        }
        rest = after;
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn book() -> Phrasebook {
        Phrasebook::new(
            [
                ("Measured: {what}.", "Gemessen: {what}."),
                ("Measured: height {mm} mm.", "Gemessen: {mm} mm hoch."),
                ("the edge", "die Schneide"),
                ("{n} teeth cut one by one", "{n} Zähne einzeln geschnitten"),
                ("between {a} and {b}", "zwischen {a} und {b}"),
            ]
            .map(|(a, b)| (a.to_owned(), b.to_owned()))
            .into(),
        )
    }

    #[test]
    fn a_sentence_is_said_with_its_places() {
        for (english, german) in [
            ("42 teeth cut one by one", "42 Zähne einzeln geschnitten"),
            ("Measured: height 46.25 mm.", "Gemessen: 46,25 mm hoch."),
            ("Measured: the edge.", "Gemessen: die Schneide."),
            ("between 1.5 and the edge", "zwischen 1,5 und die Schneide"),
        ] {
            assert_eq!(book().say(english), german);
        }
    }

    #[test]
    fn what_no_phrase_fits_stays_as_it_is() {
        for english in ["", "Something else", " teeth cut one by one", "Measured: .", "between 1 and "] {
            assert_eq!(book().find(english), None, "{english:?}");
            assert_eq!(book().say(english), english);
        }
        assert_eq!(Phrasebook::default().say("the edge"), "the edge");
    }
}

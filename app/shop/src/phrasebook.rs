//! Says in another language what the kernels, the checks and the ledger say in English.
//!
//! Those sentences are made far from any page, some are kept in the store, and the same code makes them in the browser.
//! So they are made once, in English, and said again where a customer reads them: a phrase is an English sentence with
//! its places, `{a}`, and the same sentence in the other language. The phrases come from the message catalogue.
//! Whoever measures in inches gets the same English sentences with the lengths in them converted.

use crate::units::{MM_PER_INCH, decimal, short};

/// Phrases into one language. An empty book says everything as it is.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Phrasebook {
    phrases: Vec<(String, String)>,
    inches: bool,
}

impl Phrasebook {
    /// A book of English patterns and what they are called.
    pub fn new(mut phrases: Vec<(String, String)>) -> Self {
        // The more of a pattern is fixed, the better it fits.
        phrases.sort_by_cached_key(|(english, _)| std::cmp::Reverse(fixed(english)));
        Self { phrases, inches: false }
    }

    /// The book of those who measure in inches: English as it is, `0.3 mm` as `0.012 in`.
    pub fn inches() -> Self {
        Self { phrases: Vec::new(), inches: true }
    }

    /// The phrases as text: one a line in English, and below it in the other language. One that holds `<`, which could end
    /// the element of a page in which the text stands, is left out.
    pub fn write(&self) -> String {
        let lines =
            self.phrases.iter().filter(|(english, said)| !english.contains('<') && !said.contains('<'));
        lines.map(|(english, said)| format!("{english}\n{said}\n")).collect()
    }

    /// Reads what [`Phrasebook::write`] wrote.
    pub fn read(text: &str) -> Self {
        let mut lines = text.lines().map(str::to_owned);
        let mut phrases = Vec::new();
        while let (Some(english), Some(said)) = (lines.next(), lines.next()) {
            phrases.push((english, said));
        }
        Self { phrases, inches: false }
    }

    /// The sentence in this book's language; as it is when no phrase fits.
    pub fn say(&self, english: &str) -> String {
        if self.inches {
            return in_inches(english);
        }
        self.find(english).unwrap_or_else(|| english.to_owned())
    }

    /// A drawing (SVG) with the words of its title, description and labels said again and its figures written as this
    /// language writes them. What no phrase fits stays as it is.
    pub fn say_drawing(&self, svg: &str) -> String {
        if self.phrases.is_empty() {
            return svg.to_owned();
        }
        let mut out = String::with_capacity(svg.len() + 64);
        let mut rest = svg;
        // Nothing but words stands between a tag and the next.
        while let Some(end) = rest.find('>') {
            let (tag, after) = rest.split_at(end + 1);
            let (words, after) = after.split_at(after.find('<').unwrap_or(after.len()));
            out.push_str(tag);
            match self.find(words) {
                Some(said) => out.push_str(&said),
                None => out.push_str(&figures(words)),
            }
            rest = after;
        }
        out.push_str(rest);
        out
    }

    /// The sentence in this book's language, if a phrase fits.
    pub fn find(&self, english: &str) -> Option<String> {
        self.find_within(english, 3)
    }

    fn find_within(&self, english: &str, depth: u8) -> Option<String> {
        self.phrases.iter().find_map(|(pattern, other)| {
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

/// Words with every decimal point in them a comma: a point between two digits.
fn figures(words: &str) -> String {
    let bytes = words.as_bytes();
    let digit = |at: Option<usize>| at.and_then(|at| bytes.get(at)).is_some_and(u8::is_ascii_digit);
    words
        .char_indices()
        .map(|(i, c)| if c == '.' && digit(i.checked_sub(1)) && digit(Some(i + 1)) { ',' } else { c })
        .collect()
}

/// An English sentence with its lengths in inches: `0.2 to 0.4 mm` becomes `0.008 to 0.016 in`.
fn in_inches(english: &str) -> String {
    let mut out = String::with_capacity(english.len());
    let mut rest = english;
    while let Some(at) = rest.find(" mm") {
        let (before, after) = rest.split_at(at);
        let after = &after[" mm".len()..];
        rest = after;
        let (lead, last) = figure_at_end(before);
        let Some(mm) =
            decimal(last).filter(|_| !after.as_bytes().first().is_some_and(u8::is_ascii_alphanumeric))
        else {
            out.push_str(before);
            out.push_str(" mm");
            continue;
        };
        let (lead, first) = match lead.strip_suffix(" to ").map(figure_at_end) {
            Some((lead, first)) if !first.is_empty() => (lead, first),
            _ => (lead, ""),
        };
        let places = inch_places(mm, last).max(if first.is_empty() { 0 } else { inch_places(mm, first) });
        out.push_str(lead);
        if let Some(mm) = decimal(first) {
            out.push_str(&short(mm / MM_PER_INCH, places));
            out.push_str(" to ");
        }
        out.push_str(&short(mm / MM_PER_INCH, places));
        out.push_str(" in");
    }
    out.push_str(rest);
    out
}

/// One decimal more than the millimetres have, and no fewer than tell small lengths apart.
fn inch_places(mm: f64, written: &str) -> usize {
    let decimals = written.split_once('.').map_or(0, |(_, part)| part.len());
    (decimals + 1).max(if mm < 1.0 { 3 } else { usize::from(mm < 10.0) + 1 })
}

/// What comes before the figure at the end of a text, and the figure; it may be empty.
fn figure_at_end(text: &str) -> (&str, &str) {
    let figure = text.bytes().rev().take_while(|b| b.is_ascii_digit() || *b == b'.').count();
    text.split_at(text.len() - figure)
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
    fn only_the_words_of_a_drawing_are_said_again() {
        let svg = "<svg class=\"the edge\"><title>the edge</title><g><text x=\"1.5\">1.5 mm</text><text>2 teeth cut one by one</text></g>\
                   <desc>Other. No. 2.</desc></svg>";
        let german = "<svg class=\"the edge\"><title>die Schneide</title><g><text x=\"1.5\">1,5 mm</text><text>2 Zähne einzeln geschnitten\
                      </text></g><desc>Other. No. 2.</desc></svg>";
        assert_eq!(book().say_drawing(svg), german);
        assert_eq!(Phrasebook::inches().say_drawing(svg), svg);
    }

    #[test]
    fn lengths_in_a_sentence_become_inches() {
        for (mm, inches) in [
            (
                "Nearly: the work takes 0.2 to 0.4 mm of 46 mm height.",
                "Nearly: the work takes 0.008 to 0.016 in of 1.8 in height.",
            ),
            ("height 46.25 mm", "height 1.821 in"),
            ("3 mm", "0.12 in"),
            ("up to 12 mm, 5 mmx or mm", "up to 0.5 in, 5 mmx or mm"),
            ("from 60 to 600 mm; this reads as 8000 mm.", "from 2.4 to 23.6 in; this reads as 315 in."),
            ("we go to  mm and to 4 mm", "we go to  mm and to 0.16 in"),
            ("Über 0.5 mm", "Über 0.02 in"),
        ] {
            assert_eq!(Phrasebook::inches().say(mm), inches);
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

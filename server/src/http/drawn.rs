//! Drawings say their few words in the language of the page.

use shop::phrasebook::Phrasebook;

/// A drawing (SVG) with its title, description and labels said again. What no phrase fits stays as it is.
pub(super) fn said(book: &Phrasebook, svg: String) -> String {
    if book.is_empty() || svg.is_empty() {
        return svg;
    }
    let mut out = String::with_capacity(svg.len() + 64);
    let mut rest = svg.as_str();
    while let Some(end) = rest.find('>') {
        let (tag, after) = rest.split_at(end + 1);
        out.push_str(tag);
        let text = &after[..after.find('<').unwrap_or(after.len())];
        let opened = tag.rsplit('<').next().unwrap_or_default();
        let words =
            ["title>", "desc>", "text ", "text>", "tspan"].iter().any(|name| opened.starts_with(name));
        out.push_str(&if words { book.say(text) } else { text.to_owned() });
        rest = &after[text.len()..];
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_words_of_a_drawing_are_said_again() {
        let book =
            Phrasebook::new(vec![("before".into(), "vorher".into()), ("{n} mm".into(), "{n} mm".into())]);
        let svg = "<svg class=\"before\"><title>before</title><g><text x=\"1\">1.5 mm</text><text>other</text></g></svg>";
        assert_eq!(
            said(&book, svg.to_owned()),
            "<svg class=\"before\"><title>vorher</title><g><text x=\"1\">1,5 mm</text><text>other</text></g></svg>"
        );
    }
}

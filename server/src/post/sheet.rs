//! One text, two shapes: a notice's words become plain text and HTML from the same list, so that the two can
//! never say different things.

use std::fmt::Write as _;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest as _, Sha256};
use shop::lang::Lang;

/// Plain text is wrapped at this many characters (RFC 5322 recommends to stay under 78).
const TEXT_WIDTH: usize = 72;

/// The words of a notice, part by part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    heading: String,
    parts: Vec<Part>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Part {
    Say(String),
    Heading(String),
    Facts(Vec<(String, String)>),
    List(Vec<String>),
    Button { label: String, url: String },
    Small(String),
}

impl Sheet {
    /// Begins with a heading.
    pub fn new(heading: impl Into<String>) -> Self {
        Self { heading: heading.into(), parts: Vec::new() }
    }

    /// Adds a paragraph.
    #[must_use]
    pub fn say(self, text: impl Into<String>) -> Self {
        self.with(Part::Say(text.into()))
    }

    /// Adds a heading within.
    #[must_use]
    pub fn heading(self, text: impl Into<String>) -> Self {
        self.with(Part::Heading(text.into()))
    }

    /// Adds a small table of facts: name and value.
    #[must_use]
    pub fn facts<N: Into<String>, V: Into<String>>(self, facts: impl IntoIterator<Item = (N, V)>) -> Self {
        self.with(Part::Facts(facts.into_iter().map(|(name, value)| (name.into(), value.into())).collect()))
    }

    /// Adds a list.
    #[must_use]
    pub fn list<I: Into<String>>(self, items: impl IntoIterator<Item = I>) -> Self {
        self.with(Part::List(items.into_iter().map(Into::into).collect()))
    }

    /// Adds the one thing to do: a link that looks like a button, with its address readable in the text.
    #[must_use]
    pub fn button(self, label: impl Into<String>, url: impl Into<String>) -> Self {
        self.with(Part::Button { label: label.into(), url: url.into() })
    }

    /// Adds a remark in small print.
    #[must_use]
    pub fn small(self, text: impl Into<String>) -> Self {
        self.with(Part::Small(text.into()))
    }

    fn with(mut self, part: Part) -> Self {
        self.parts.push(part);
        self
    }

    /// The plain text, wrapped; addresses stand on lines of their own and are never broken.
    pub fn to_text(&self) -> String {
        let mut text = wrap(&self.heading, "", "");
        for part in &self.parts {
            text.push('\n');
            match part {
                Part::Say(words) => text.push_str(&wrap(words, "", "")),
                Part::Heading(words) => text.push_str(&wrap(&words.to_uppercase(), "", "")),
                Part::Facts(facts) => {
                    for (name, value) in facts {
                        text.push_str(&wrap(&format!("{name}: {value}"), "", "  "));
                    }
                }
                Part::List(items) => {
                    for item in items {
                        text.push_str(&wrap(item, "- ", "  "));
                    }
                }
                Part::Button { label, url } => {
                    text.push_str(&wrap(&format!("{label}:"), "", ""));
                    let _ = writeln!(text, "{url}");
                }
                Part::Small(words) => text.push_str(&wrap(words, "", "")),
            }
        }
        text
    }

    /// A whole HTML document, 600 pixels wide at most, light and dark. It needs no picture and no script, and its
    /// only style is [`STYLE`].
    pub fn to_html(&self, title: &str, lang: Lang) -> String {
        let mut html = String::with_capacity(4096);
        let _ = write!(
            html,
            "<!DOCTYPE html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n\
             <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
             <meta name=\"color-scheme\" content=\"light dark\">\n<title>{}</title>\n<style>{STYLE}</style>\n\
             </head>\n<body>\n<table role=\"presentation\" class=\"sheet\" align=\"center\" width=\"600\" \
             cellpadding=\"0\" cellspacing=\"0\"><tr><td>\n<h1>{}</h1>\n",
            lang.code(),
            escape(title),
            escape(&self.heading)
        );
        for part in &self.parts {
            part.write_html(&mut html);
        }
        html.push_str("</td></tr></table>\n</body>\n</html>\n");
        html
    }
}

impl Part {
    fn write_html(&self, html: &mut String) {
        let _ = match self {
            Self::Say(words) => writeln!(html, "<p>{}</p>", escape(words)),
            Self::Heading(words) => writeln!(html, "<h2>{}</h2>", escape(words)),
            Self::Small(words) => writeln!(html, "<p class=\"small\">{}</p>", escape(words)),
            Self::Button { label, url } => writeln!(
                html,
                "<p><a class=\"button\" target=\"_blank\" rel=\"noopener\" href=\"{url}\">{}</a></p>\n\
                 <p class=\"small\">{url}</p>",
                escape(label),
                url = escape(url)
            ),
            Self::Facts(facts) => {
                html.push_str("<table class=\"facts\" cellpadding=\"0\" cellspacing=\"0\">\n");
                for (name, value) in facts {
                    let _ = writeln!(
                        html,
                        "<tr><th scope=\"row\" align=\"left\">{}</th><td>{}</td></tr>",
                        escape(name),
                        escape(value)
                    );
                }
                writeln!(html, "</table>")
            }
            Self::List(items) => {
                html.push_str("<ul>\n");
                for item in items {
                    let _ = writeln!(html, "<li>{}</li>", escape(item));
                }
                writeln!(html, "</ul>")
            }
        };
    }
}

/// The style of every notice, in the head; a change to it changes [`style_hash`] with it.
pub const STYLE: &str = "\
body{margin:0;padding:16px;background:#f4f2ee;color:#1d1d1b;font:16px/1.5 Georgia,'Times New Roman',serif}\
.sheet{width:100%;max-width:600px;background:#fffdf9;border-top:3px solid #7a2e1d}\
.sheet>tbody>tr>td{padding:24px}\
h1{margin:0 0 16px;font-size:24px;line-height:1.25;font-weight:normal}\
h2{margin:24px 0 8px;font-size:18px}\
p,ul{margin:0 0 16px}\
.small{font-size:14px;color:#57534b;overflow-wrap:anywhere}\
.button{display:inline-block;padding:12px 20px;background:#7a2e1d;color:#fff;text-decoration:none}\
.facts{margin:0 0 16px;border-collapse:collapse}\
.facts th{padding:4px 16px 4px 0;font-weight:normal;color:#57534b;vertical-align:top}\
.facts td{padding:4px 0}\
@media (prefers-color-scheme:dark){body{background:#161513;color:#ece8e1}.sheet{background:#211f1c;border-color:#d98a6f}\
.small,.facts th{color:#b3aca0}.button{background:#d98a6f;color:#161513}}";

/// Names [`STYLE`] in a content security policy, without quotes: `sha256-...`.
pub fn style_hash() -> String {
    format!("sha256-{}", STANDARD.encode(Sha256::digest(STYLE)))
}

fn escape(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            other => safe.push(other),
        }
    }
    safe
}

/// Breaks lines between words. The first line begins with `first`, the others with `rest`.
fn wrap(text: &str, first: &str, rest: &str) -> String {
    let mut out = String::with_capacity(text.len() + 16);
    let mut line = first.to_owned();
    let mut empty = true;
    for word in text.split_whitespace() {
        let width = line.chars().count() + usize::from(!empty) + word.chars().count();
        if !empty && width > TEXT_WIDTH {
            out.push_str(line.trim_end());
            out.push('\n');
            rest.clone_into(&mut line);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    out.push_str(line.trim_end());
    out.push('\n');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet() -> Sheet {
        Sheet::new("Your knives are here")
            .say("Both are in hand & measured; <nothing> more is to be done by you until we write again, which will be soon.")
            .facts([("Reference", "K7-2H"), ("Ready by", "Friday, 6 March 2026")])
            .list(["a gyuto, 210 mm"])
            .button("See your visit", "https://shop.example.com/v/abc?x=1&y=2")
            .small("You get this because you booked with us.")
    }

    #[test]
    fn the_plain_text_is_pleasant_to_read() {
        assert_eq!(
            sheet().to_text(),
            "Your knives are here\n\
             \n\
             Both are in hand & measured; <nothing> more is to be done by you until\n\
             we write again, which will be soon.\n\
             \n\
             Reference: K7-2H\n\
             Ready by: Friday, 6 March 2026\n\
             \n\
             - a gyuto, 210 mm\n\
             \n\
             See your visit:\n\
             https://shop.example.com/v/abc?x=1&y=2\n\
             \n\
             You get this because you booked with us.\n"
        );
    }

    #[test]
    fn the_page_says_the_same_and_nothing_typed_becomes_markup() {
        let html = sheet().to_html("Your knives are here", Lang::En);
        for part in [
            "in hand &amp; measured; &lt;nothing&gt; more",
            "<th scope=\"row\" align=\"left\">Reference</th><td>K7-2H</td>",
            "href=\"https://shop.example.com/v/abc?x=1&amp;y=2\"",
            "<li>a gyuto, 210 mm</li>",
            "prefers-color-scheme:dark",
        ] {
            assert!(html.contains(part), "{part} not in {html}");
        }
        assert!(!html.contains("style="), "a style attribute would be blocked in the shop's own view");
    }

    #[test]
    fn a_word_longer_than_a_line_stands_alone() {
        let long = "x".repeat(100);
        assert_eq!(wrap(&format!("see {long} now"), "", ""), format!("see\n{long}\nnow\n"));
    }
}

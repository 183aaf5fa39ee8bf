//! What customers read, as a message catalogue (Project Fluent syntax), in English and German.
//!
//! The messages lie in `en/` and `de/`, one file per room: `pages` (booking, private page and what is around them), `mail`
//! (notices), `spoken` (what kernels, checks and ledger say in English, see [`phrasebook`]). Both languages have the same
//! messages with the same places; a test says so. A message that is missing shows its name, so that it is seen.
//!
//! Only the server asks this crate. Parts of pages that also run in the browser get their words as arguments.

use std::collections::HashMap;
use std::fmt;
use std::sync::OnceLock;

use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement, VariantKey};
use fluent_syntax::parser;
use shop::lang::Lang;
use shop::phrasebook::Phrasebook;

const EN: [&str; 3] =
    [include_str!("../en/pages.ftl"), include_str!("../en/mail.ftl"), include_str!("../en/spoken.ftl")];
const DE: [&str; 3] =
    [include_str!("../de/pages.ftl"), include_str!("../de/mail.ftl"), include_str!("../de/spoken.ftl")];

/// Names of messages that are phrases begin with this.
const SPOKEN: &str = "spoken-";

/// What stands in a place of a message.
#[derive(Debug, Clone, PartialEq)]
pub enum Arg {
    /// Words, figures with their unit, names: shown as they are.
    Text(String),
    /// A count, which also chooses between one and many.
    Count(u64),
}

impl From<&str> for Arg {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<&String> for Arg {
    fn from(text: &String) -> Self {
        Self::Text(text.clone())
    }
}

impl From<String> for Arg {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<usize> for Arg {
    fn from(n: usize) -> Self {
        Self::Count(n as u64)
    }
}

impl From<u32> for Arg {
    fn from(n: u32) -> Self {
        Self::Count(u64::from(n))
    }
}

impl fmt::Display for Arg {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Text(text) => f.write_str(text),
            Self::Count(n) => write!(f, "{n}"),
        }
    }
}

type Messages = HashMap<&'static str, Pattern<&'static str>>;

/// The messages of one language. Broken ones are left out; the tests find them.
fn messages(lang: Lang) -> &'static Messages {
    static ENGLISH: OnceLock<Messages> = OnceLock::new();
    static GERMAN: OnceLock<Messages> = OnceLock::new();
    match lang {
        Lang::En | Lang::EnUs => ENGLISH.get_or_init(|| read(EN)),
        Lang::De => GERMAN.get_or_init(|| read(DE)),
    }
}

fn read(sources: [&'static str; 3]) -> Messages {
    let resources = sources.into_iter().map(|source| parser::parse(source).unwrap_or_else(|(good, _)| good));
    let entries = resources.flat_map(|resource| resource.body);
    entries
        .filter_map(|entry| match entry {
            Entry::Message(message) => Some((message.id.name, message.value?)),
            _ => None,
        })
        .collect()
}

/// A message with its places filled.
pub fn say(lang: Lang, name: &str, args: &[(&str, Arg)]) -> String {
    let Some(pattern) = messages(lang).get(name) else { return name.to_owned() };
    let mut out = String::with_capacity(64);
    write(&mut out, pattern, args);
    out
}

fn write(out: &mut String, pattern: &Pattern<&'static str>, args: &[(&str, Arg)]) {
    for element in &pattern.elements {
        match element {
            PatternElement::TextElement { value } => out.push_str(value),
            PatternElement::Placeable { expression: Expression::Inline(inline) } => match inline {
                InlineExpression::StringLiteral { value } => out.push_str(value),
                InlineExpression::VariableReference { id } => {
                    if let Some(arg) = arg(args, id.name) {
                        out.push_str(&arg.to_string());
                    }
                }
                // Nothing else stands in our messages; a test says so.
                _ => {}
            },
            PatternElement::Placeable { expression: Expression::Select { selector, variants } } => {
                let count = match selector {
                    InlineExpression::VariableReference { id } => arg(args, id.name),
                    _ => None,
                };
                // English and German count alike: one, and all others (CLDR, cardinal rules for whole numbers).
                let one = matches!(count, Some(Arg::Count(1)));
                let fits =
                    |key: &VariantKey<&str>| matches!(key, VariantKey::Identifier { name: "one" } if one);
                let chosen =
                    variants.iter().find(|v| fits(&v.key)).or_else(|| variants.iter().find(|v| v.default));
                if let Some(variant) = chosen {
                    write(out, &variant.value, args);
                }
            }
        }
    }
}

fn arg<'a>(args: &'a [(&str, Arg)], name: &str) -> Option<&'a Arg> {
    args.iter().find(|(place, _)| *place == name).map(|(_, arg)| arg)
}

/// A message of the catalogue as it is written, with its places: `Ready: {$what}`. `None`: there is no such message, or it
/// chooses between forms and so cannot be shown as one text.
pub fn written(lang: Lang, name: &str) -> Option<String> {
    let source = sources(lang).iter().find_map(|source| message_text(source, name))?;
    (!source.contains("->")).then_some(source)
}

/// The names of the messages that begin with `prefix`, in the order in which they are written.
pub fn names(prefix: &str) -> Vec<&'static str> {
    let all = EN.iter().flat_map(|source| source.lines()).filter_map(name_of);
    all.filter(|name| name.starts_with(prefix)).collect()
}

/// The places of a message, each once, without their sign.
pub fn places(lang: Lang, name: &str) -> Vec<String> {
    let text = sources(lang).iter().find_map(|source| message_text(source, name)).unwrap_or_default();
    let mut places: Vec<String> = text
        .split('$')
        .skip(1)
        .map(|rest| {
            rest.chars().take_while(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_')).collect()
        })
        .collect();
    places.sort_unstable();
    places.dedup();
    places
}

/// Says in a language what the program's inner rooms say in English. `rooms`: which phrases are wanted, by what their names
/// begin with after `spoken-`; none: all.
pub fn phrasebook(lang: Lang, rooms: &[&str]) -> Phrasebook {
    // The only other language so far; read once, it is asked for with every page.
    static GERMAN: OnceLock<Vec<(&str, String, String)>> = OnceLock::new();
    match lang {
        Lang::En => return Phrasebook::default(),
        Lang::EnUs => return Phrasebook::inches(),
        Lang::De => {}
    }
    let phrases = GERMAN.get_or_init(|| phrases(lang));
    let wanted = |name: &str| rooms.is_empty() || rooms.iter().any(|room| name.starts_with(room));
    let pairs = phrases.iter().filter(|(name, _, _)| wanted(name));
    Phrasebook::new(pairs.map(|(_, english, said)| (english.clone(), said.clone())).collect())
}

/// Every phrase: what its name is after `spoken-`, and its sentence in English and in `lang`.
fn phrases(lang: Lang) -> Vec<(&'static str, String, String)> {
    let plain = |lang, name: &str| {
        let text = sources(lang).iter().find_map(|source| message_text(source, name))?;
        Some(text.replace("{ \"\" }", "").replace("{ $", "{").replace("{$", "{").replace(" }", "}"))
    };
    let names = names(SPOKEN).into_iter();
    names
        .filter_map(|name| Some((&name[SPOKEN.len()..], plain(Lang::En, name)?, plain(lang, name)?)))
        .collect()
}

fn sources(lang: Lang) -> &'static [&'static str; 3] {
    if lang.is_english() { &EN } else { &DE }
}

/// The name of the message that begins on a line.
fn name_of(line: &str) -> Option<&str> {
    let (name, _) = line.split_once(" =")?;
    let good = |c: char| c.is_ascii_alphanumeric() || c == '-';
    (name.starts_with(|c: char| c.is_ascii_alphabetic()) && name.chars().all(good)).then_some(name)
}

/// The text of a message as written, its lines joined.
fn message_text(source: &str, name: &str) -> Option<String> {
    let mut lines = source.lines().skip_while(|line| name_of(line) != Some(name));
    let first = lines.next()?.split_once(" =")?.1.trim().to_owned();
    let rest = lines.take_while(|line| line.starts_with(' ')).map(str::trim);
    Some(rest.fold(first, |text, line| if text.is_empty() { line.to_owned() } else { text + " " + line }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_source_reads_without_an_error_and_no_name_is_used_twice() {
        for (lang, sources) in [(Lang::En, EN), (Lang::De, DE)] {
            let mut seen = std::collections::HashSet::new();
            for source in sources {
                let resource = match parser::parse(source) {
                    Ok(resource) => resource,
                    Err((_, errors)) => panic!("{lang:?}: {errors:?}"),
                };
                for entry in resource.body {
                    if let Entry::Message(message) = entry {
                        assert!(message.attributes.is_empty(), "{}", message.id.name);
                        only_what_is_read(&message.value.unwrap());
                    }
                }
                for name in source.lines().filter_map(name_of) {
                    assert!(seen.insert(name), "{lang:?}: {name} is there twice");
                }
            }
            assert!(seen.len() > 100, "{lang:?}: {}", seen.len());
        }
    }

    fn only_what_is_read(pattern: &Pattern<&str>) {
        for element in &pattern.elements {
            match element {
                PatternElement::TextElement { .. } => {}
                PatternElement::Placeable { expression } => match expression {
                    Expression::Inline(
                        InlineExpression::StringLiteral { .. } | InlineExpression::VariableReference { .. },
                    ) => {}
                    Expression::Select { selector: InlineExpression::VariableReference { .. }, variants } => {
                        for variant in variants {
                            only_what_is_read(&variant.value);
                        }
                    }
                    other => panic!("a message holds what the reader does not read: {other:?}"),
                },
            }
        }
    }

    #[test]
    fn both_languages_have_the_same_messages_with_the_same_places() {
        let names_in = |sources: [&'static str; 3]| -> std::collections::BTreeSet<&'static str> {
            sources.into_iter().flat_map(|source| source.lines().filter_map(name_of)).collect()
        };
        let (english, german) = (names_in(EN), names_in(DE));
        assert_eq!(english.difference(&german).collect::<Vec<_>>(), Vec::<&&str>::new(), "missing in German");
        assert_eq!(
            german.difference(&english).collect::<Vec<_>>(),
            Vec::<&&str>::new(),
            "missing in English"
        );
        for name in english {
            assert_eq!(places(Lang::En, name), places(Lang::De, name), "places of {name}");
        }
    }

    #[test]
    fn nothing_is_left_in_english_by_mistake() {
        // Words that are the same in both languages, and names.
        let same = |text: &str| text.len() < 12 || text.starts_with('{');
        for name in names("") {
            let (english, german) = (message_text_of(Lang::En, name), message_text_of(Lang::De, name));
            assert!(english != german || same(&english), "{name}: {english}");
        }
    }

    fn message_text_of(lang: Lang, name: &str) -> String {
        sources(lang).iter().find_map(|source| message_text(source, name)).unwrap_or_default()
    }

    #[test]
    fn banned_promises_are_made_in_no_language() {
        for name in names("") {
            let english = message_text_of(Lang::En, name).to_lowercase();
            for banned in ["like new", "lifetime", "no metal lost", "restored serrations"] {
                assert!(!english.contains(banned), "{name} says {banned:?}");
            }
            let german = message_text_of(Lang::De, name).to_lowercase();
            for banned in ["wie neu", "lebenslang", "ohne materialverlust", "garantiert"] {
                assert!(!german.contains(banned), "{name} says {banned:?}");
            }
        }
    }

    #[test]
    fn one_and_many_are_told_apart() {
        assert_eq!(say(Lang::En, "knives", &[("n", 1_usize.into())]), "1 knife");
        assert_eq!(say(Lang::De, "knives", &[("n", 3_usize.into())]), "3 Messer");
        assert_eq!(say(Lang::En, "no-such-message", &[]), "no-such-message");
    }
}

//! Messages that belong to a form field.

use crate::phrasebook::Phrasebook;
use serde::{Deserialize, Serialize};

/// What is wrong with one field, in words for the person who typed it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FieldError {
    /// The field's form name, e.g. `knives[0][length]`.
    pub field: String,
    /// What is wrong and what to do, one sentence.
    pub message: String,
}

/// All complaints about one form, in the order of its fields.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct FieldErrors(pub Vec<FieldError>);

impl FieldErrors {
    /// Adds a complaint about `field`.
    pub fn add(&mut self, field: impl Into<String>, message: impl Into<String>) {
        self.0.push(FieldError { field: field.into(), message: message.into() });
    }

    /// The first message about `field`, if there is one.
    pub fn of(&self, field: &str) -> Option<&str> {
        self.0.iter().find(|e| e.field == field).map(|e| e.message.as_str())
    }

    /// The same complaints in another language.
    #[must_use]
    pub fn said(self, book: &Phrasebook) -> Self {
        let say = |e: FieldError| FieldError { message: book.say(&e.message), ..e };
        Self(self.0.into_iter().map(say).collect())
    }

    /// True when nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// `Ok(value)` when nothing is wrong.
    pub fn or<T>(self, value: Option<T>) -> Result<T, Self> {
        match value {
            Some(value) if self.is_empty() => Ok(value),
            _ => Err(self),
        }
    }
}

/// A text of one line, trimmed, with inner control characters refused: at most `most` characters.
/// Complains beside `field` and returns `None` when it is too long, or empty though `required`.
pub fn line(
    errors: &mut FieldErrors,
    field: &str,
    raw: &str,
    what: &str,
    most: usize,
    required: bool,
) -> Option<String> {
    let text = raw.trim();
    if text.is_empty() {
        if required {
            errors.add(field, format!("Please give {what}."));
            return None;
        }
        return Some(String::new());
    }
    if text.chars().any(char::is_control) {
        errors.add(field, format!("Please give {what} on one line, without special characters."));
        return None;
    }
    if text.chars().count() > most {
        errors.add(field, format!("Please shorten {what} to {most} characters."));
        return None;
    }
    Some(text.to_owned())
}

/// A text of several lines, at most `most` characters; line ends become `\n`.
pub fn text(errors: &mut FieldErrors, field: &str, raw: &str, what: &str, most: usize) -> Option<String> {
    let text = raw.replace("\r\n", "\n").replace('\r', "\n");
    let text = text.trim();
    if text.chars().any(|c| c.is_control() && c != '\n' && c != '\t') {
        errors.add(field, format!("Please give {what} without special characters."));
        return None;
    }
    if text.chars().count() > most {
        errors.add(field, format!("Please shorten {what} to {most} characters."));
        return None;
    }
    Some(text.to_owned())
}

/// A mail address that our post can be sent to: one `@`, a dot in the domain, no spaces, at most 254 characters (RFC 5321).
pub fn email(errors: &mut FieldErrors, field: &str, raw: &str) -> Option<String> {
    let address = line(errors, field, raw, "a mail address", 254, true)?;
    let good = address.split_once('@').is_some_and(|(local, domain)| {
        !local.is_empty()
            && local.len() <= 64
            && !domain.contains('@')
            && domain.contains('.')
            && !domain.starts_with(['.', '-'])
            && !domain.ends_with(['.', '-'])
            && !domain.contains("..")
            && address.chars().all(|c| c.is_alphanumeric() || "@.!#$%&'*+/=?^_`{|}~-".contains(c))
    });
    if good {
        Some(address)
    } else {
        errors.add(field, "That does not look like a mail address; it should look like name@example.org.");
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_needs_both_sides_of_the_at() {
        let ok = |s: &str| email(&mut FieldErrors::default(), "email", s).is_some();
        assert!(ok("anna@example.org") && ok(" o'hara+x@mail.example.com ") && ok("jörg@exämple.org"));
        for bad in [
            "",
            "anna",
            "@example.org",
            "anna@",
            "anna@example",
            "a b@example.org",
            "a@b@example.org",
            "a@x..org",
            "a@-x.org",
            "a\r\nBcc: x@example.org",
        ] {
            assert!(!ok(bad), "{bad}");
        }
    }

    #[test]
    fn a_line_keeps_its_words_and_refuses_line_ends_and_length() {
        let mut errors = FieldErrors::default();
        assert_eq!(line(&mut errors, "n", "  Ann  ", "your name", 10, true).as_deref(), Some("Ann"));
        assert!(errors.is_empty());
        assert_eq!(line(&mut errors, "n", "a\nb", "your name", 10, true), None);
        assert_eq!(line(&mut errors, "m", &"x".repeat(11), "your name", 10, true), None);
        assert_eq!(line(&mut errors, "o", " ", "your name", 10, true), None);
        assert_eq!(errors.of("m"), Some("Please shorten your name to 10 characters."));
        assert_eq!(errors.0.len(), 3);
    }
}

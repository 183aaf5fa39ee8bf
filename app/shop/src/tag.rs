//! The codes on labels: a piece's tag and a visit's reference, both with a check character.
//!
//! The check character is ISO/IEC 7064 MOD 37,36 (hybrid system, alphabet 0–9 A–Z), which catches every single wrong
//! character and nearly all swaps of neighbours. The body uses only characters that cannot be taken for one another;
//! serials whose check character would be one of I, L, O, U are skipped, so reading can turn I and L into 1 and O into 0.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// Digits and letters without I, L, O, U.
const BODY: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// Why a typed or scanned code is not one of ours.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum CodeError {
    /// Not the right number of characters.
    #[error("a code like this has {0} characters; please check that none is missing")]
    Length(usize),
    /// A character that is on no label.
    #[error("“{0}” is not on any label; please read the code again")]
    Character(char),
    /// The check character does not fit: one character was misread.
    #[error("one character of this code was misread; please read it again")]
    Check,
}

fn value(c: u8) -> u32 {
    u32::from(if c.is_ascii_digit() { c - b'0' } else { c - b'A' + 10 })
}

/// The ISO/IEC 7064 MOD 37,36 check character of `body` (0–9, A–Z only).
pub fn check_character(body: &str) -> char {
    let mut p = 36;
    for c in body.bytes() {
        let s = (p + value(c)) % 36;
        p = (if s == 0 { 36 } else { s } * 2) % 37;
    }
    let rest = (37 - p) % 36;
    char::from_digit(rest, 36).map_or('0', |c| c.to_ascii_uppercase())
}

fn read<const N: usize>(typed: &str) -> Result<[u8; N], CodeError> {
    let mut code = [0; N];
    let mut n = 0;
    for c in typed.chars() {
        if c.is_whitespace() || matches!(c, '-' | '‐' | '–' | '.') {
            continue;
        }
        let clean = match c.to_ascii_uppercase() {
            'I' | 'L' => '1',
            'O' => '0',
            up => up,
        };
        if !clean.is_ascii() || !BODY.contains(&(clean as u8)) {
            return Err(CodeError::Character(c));
        }
        if n < N {
            code[n] = clean as u8;
        }
        n += 1;
    }
    if n != N {
        return Err(CodeError::Length(N));
    }
    let body: String = code[..N - 1].iter().map(|&b| b as char).collect();
    if check_character(&body) as u8 == code[N - 1] { Ok(code) } else { Err(CodeError::Check) }
}

/// Writes `serial` in base 32 with `N - 1` places and appends its check character; `None` where that would be ambiguous.
fn write<const N: usize>(serial: u64) -> Option<[u8; N]> {
    let mut code = [0; N];
    let mut rest = serial;
    for place in code[..N - 1].iter_mut().rev() {
        *place = BODY[(rest % 32) as usize];
        rest /= 32;
    }
    let body: String = code[..N - 1].iter().map(|&b| b as char).collect();
    let check = check_character(&body) as u8;
    BODY.contains(&check).then(|| {
        code[N - 1] = check;
        code
    })
}

macro_rules! code {
    ($(#[$doc:meta])* $name:ident, $n:literal, $dash:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(into = "String", try_from = "String")]
        pub struct $name([u8; $n]);

        impl $name {
            /// How many serials there are.
            pub const SERIALS: u64 = 32u64.pow($n - 1);

            /// The first unambiguous code at or after `serial` (taken modulo [`Self::SERIALS`]).
            pub fn from_serial(serial: u64) -> Self {
                let mut at = serial % Self::SERIALS;
                loop {
                    if let Some(code) = write::<$n>(at) {
                        return Self(code);
                    }
                    at = (at + 1) % Self::SERIALS;
                }
            }

            /// The code without its dash, as it stands in the database and in the QR code.
            pub fn plain(&self) -> String {
                self.0.iter().map(|&b| b as char).collect()
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                let plain = self.plain();
                write!(f, "{}-{}", &plain[..$dash], &plain[$dash..])
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(self, f)
            }
        }

        impl FromStr for $name {
            type Err = CodeError;
            fn from_str(typed: &str) -> Result<Self, CodeError> {
                read::<$n>(typed).map(Self)
            }
        }

        impl TryFrom<String> for $name {
            type Error = CodeError;
            fn try_from(typed: String) -> Result<Self, CodeError> {
                typed.parse()
            }
        }

        impl From<$name> for String {
            fn from(code: $name) -> Self {
                code.plain()
            }
        }
    };
}

code! {
    /// The label on a piece: five characters and a check character, e.g. `7KM2-QX`.
    Tag, 6, 4
}
code! {
    /// A visit's reference: seven characters and a check character, e.g. `4HT9-2RWB`. Long enough not to be met by chance,
    /// but no secret: it opens nothing without a link or a sign-in.
    Reference, 8, 4
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_check_character_agrees_with_published_identifiers() {
        // Global Release Identifier, example of the GRid standard v2.1 (IFPI): A1-2425G-ABC1234002-M, MOD 37,36.
        assert_eq!(check_character("A12425GABC1234002"), 'M');
        // ISO 15706-1 annex: ISAN 0000-0000-D07A-0090-Q, MOD 37,36 (from memory).
        assert_eq!(check_character("00000000D07A0090"), 'Q');
    }

    #[test]
    fn letters_that_look_like_digits_are_read_as_digits() {
        let tag = Tag::from_serial(32 * 32 + 1);
        let plain = tag.plain();
        let sloppy = plain.to_lowercase().replace('0', "o").replace('1', "l");
        assert_eq!(format!(" {} - {}", &sloppy[..3], &sloppy[3..]).parse(), Ok(tag));
    }

    proptest! {
        #[test]
        fn every_code_reads_back_and_no_single_slip_passes(serial in 0..Tag::SERIALS, place in 0usize..6, other in 0usize..32) {
            let tag = Tag::from_serial(serial);
            prop_assert_eq!(tag.to_string().parse::<Tag>(), Ok(tag));
            let mut slipped = tag.0;
            slipped[place] = BODY[other];
            let text: String = slipped.iter().map(|&b| b as char).collect();
            if slipped != tag.0 {
                prop_assert_eq!(text.parse::<Tag>(), Err(CodeError::Check));
            }
        }

        #[test]
        fn nothing_typed_makes_it_panic(text in ".{0,40}") {
            let _ = text.parse::<Tag>();
            let _ = text.parse::<Reference>();
        }
    }
}

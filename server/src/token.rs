//! Random tokens: the secret half of a private link or a session.
//!
//! 256 random bits, shown as 43 characters that are safe in an address. The database keeps only the SHA-256,
//! which is enough to find the row and useless to whoever reads it. (A slow hash is for passwords, which people
//! choose; 256 random bits cannot be guessed.)

use std::fmt;

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use rand::TryRngCore as _;
use sha2::{Digest as _, Sha256};

/// A fresh or a presented token. Its `Debug` shows nothing.
#[derive(Clone, PartialEq, Eq)]
pub struct Token([u8; 32]);

impl Token {
    /// A new token from the operating system's random source. Fails only when that source does.
    pub fn fresh() -> Result<Self, NoRandomness> {
        let mut bytes = [0; 32];
        rand::rngs::OsRng.try_fill_bytes(&mut bytes).map_err(|_| NoRandomness)?;
        Ok(Self(bytes))
    }

    /// Reads a token as somebody presented it; `None` when it cannot be one of ours.
    pub fn parse(text: &str) -> Option<Self> {
        if text.len() != 43 {
            return None;
        }
        URL_SAFE_NO_PAD.decode(text).ok()?.try_into().ok().map(Self)
    }

    /// What the database keeps in place of the token.
    pub fn sha256(&self) -> Vec<u8> {
        Sha256::digest(self.0).to_vec()
    }
}

impl fmt::Display for Token {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&URL_SAFE_NO_PAD.encode(self.0))
    }
}

impl fmt::Debug for Token {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Token(..)")
    }
}

/// The operating system gave no random bytes.
#[derive(Debug, Clone, Copy, thiserror::Error)]
#[error("the operating system gave no random bytes")]
pub struct NoRandomness;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_survives_being_written_and_read() {
        let token = Token::fresh().unwrap();
        let text = token.to_string();
        assert_eq!(text.len(), 43);
        assert_eq!(Token::parse(&text), Some(token.clone()));
        assert_ne!(Token::fresh().unwrap(), token);
        assert_eq!(format!("{token:?}"), "Token(..)");
    }

    #[test]
    fn anything_else_is_no_token() {
        let long = "a".repeat(44);
        for text in ["", "abc", long.as_str(), "???????????????????????????????????????????"] {
            assert_eq!(Token::parse(text), None, "{text}");
        }
    }
}

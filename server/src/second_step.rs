//! The second step of signing in: a code that a telephone works out from a shared key and the time (RFC 6238, TOTP,
//! with the parameters every app understands: HMAC-SHA-1, six digits, thirty seconds).

use chrono::{DateTime, Utc};
use rand::TryRngCore as _;
use totp_rs::{Algorithm, Builder, Secret};

/// Digits of a code.
const DIGITS: u8 = 6;
/// Seconds a code is good for.
const STEP_S: u64 = 30;
/// Length of the key, as long as the hash (RFC 4226, 4 R6: at least 128 bits, 160 recommended).
const KEY_BYTES: usize = 20;
/// Codes of so many steps before and after are taken too: clocks differ (RFC 6238, 5.2).
const SLACK: u16 = 1;

/// A shared key. Never printed by accident.
#[derive(Clone, PartialEq, Eq)]
pub struct Key(Vec<u8>);

impl std::fmt::Debug for Key {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Key(...)")
    }
}

impl Key {
    /// A fresh key from the operating system's dice.
    pub fn fresh() -> anyhow::Result<Self> {
        let mut bytes = vec![0; KEY_BYTES];
        rand::rngs::OsRng.try_fill_bytes(&mut bytes)?;
        Ok(Self(bytes))
    }

    /// A key as the store keeps it.
    pub fn from_bytes(bytes: Vec<u8>) -> Self {
        Self(bytes)
    }

    /// As the store keeps it.
    pub fn bytes(&self) -> &[u8] {
        &self.0
    }

    /// As people type it (RFC 4648 base 32); `None` for anything that is no key of ours.
    pub fn read(text: &str) -> Option<Self> {
        let plain: String = text.chars().filter(|c| !c.is_whitespace()).collect();
        let secret = Secret::try_from_base32(plain).ok()?;
        (secret.as_ref().len() == KEY_BYTES).then(|| Self(secret.as_ref().to_vec()))
    }

    /// As people type it.
    pub fn text(&self) -> String {
        Secret::from(self.0.clone()).to_base32()
    }

    /// The address apps read from a QR code.
    pub fn address(&self, shop: &str, sign_in_name: &str) -> String {
        let plain = |text: &str| -> String {
            text.bytes()
                .map(|byte| match byte {
                    b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'.' => {
                        char::from(byte).to_string()
                    }
                    other => format!("%{other:02X}"),
                })
                .collect()
        };
        let (issuer, name) = (plain(shop), plain(sign_in_name));
        format!("otpauth://totp/{issuer}:{name}?secret={}&issuer={issuer}", self.text())
    }

    /// Which step's code this is, when it is a code of about now and of a later step than the last one that was used:
    /// nobody who looked over a shoulder can use it again.
    pub fn step_of(&self, code: &str, now: DateTime<Utc>, last_used: Option<i64>) -> Option<i64> {
        let code: String = code.chars().filter(|c| !c.is_whitespace()).collect();
        let totp = Builder::new()
            .with_algorithm(Algorithm::SHA1)
            .with_digits(DIGITS)
            .with_step_duration(STEP_S)
            .with_skew(SLACK)
            .with_secret(self.0.clone())
            .build()
            .ok()?;
        let step = totp.check(&code, u64::try_from(now.timestamp()).ok()?)?.cast_signed();
        last_used.is_none_or(|used| step > used).then_some(step)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(seconds: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(seconds, 0).unwrap()
    }

    /// RFC 6238, appendix B, the SHA-1 rows; of the eight digits there a six-digit code is the last six.
    #[test]
    fn the_codes_of_the_standard_are_taken() {
        let key = Key::from_bytes(b"12345678901234567890".to_vec());
        for (time, eight) in [
            (59, "94287082"),
            (1_111_111_109, "07081804"),
            (1_111_111_111, "14050471"),
            (1_234_567_890, "89005924"),
            (2_000_000_000, "69279037"),
            (20_000_000_000, "65353130"),
        ] {
            assert_eq!(key.step_of(&eight[2..], at(time), None), Some(time / 30), "{time}");
            assert_eq!(key.step_of("000000", at(time), None), None);
        }
    }

    #[test]
    fn a_code_is_good_for_a_while_and_once() {
        let key = Key::from_bytes(b"12345678901234567890".to_vec());
        let code = "287 082";
        let step = key.step_of(code, at(59), None).unwrap();
        assert_eq!(key.step_of(code, at(89), None), Some(step), "the clock is half a minute ahead");
        assert_eq!(key.step_of(code, at(29), None), Some(step), "or behind");
        assert_eq!(key.step_of(code, at(120), None), None, "too old");
        assert_eq!(key.step_of(code, at(59), Some(step)), None, "used");
        assert_eq!(key.step_of("", at(59), None), None);
    }

    #[test]
    fn a_key_is_typed_as_it_is_shown() {
        let key = Key::fresh().unwrap();
        assert_eq!(Key::read(&key.text()), Some(key.clone()));
        assert_eq!(key.text().len(), 32);
        assert!(Key::read("MFRGG").is_none() && Key::read("not base 32!").is_none());
        assert_eq!(format!("{key:?}"), "Key(...)");
        let address = key.address("Ann & Bob", "ann");
        assert!(address.starts_with("otpauth://totp/Ann%20%26%20Bob:ann?secret="), "{address}");
    }
}

//! Passwords: Argon2id, on a blocking thread, a few at a time.

use argon2::password_hash::{PasswordHash, PasswordHasher as _, PasswordVerifier as _, SaltString};
use argon2::{Algorithm, Argon2, Params, Version};
use rand::TryRngCore as _;
use rand::seq::IndexedRandom as _;
use std::sync::LazyLock;
use tokio::sync::Semaphore;

/// The fewest characters of a password somebody may choose (OWASP ASVS 5, 6.2.1 asks for 8 and recommends 15).
pub const LEAST_LENGTH: usize = 12;

/// The most characters we hash; longer ones only keep the machine busy.
pub const MOST_LENGTH: usize = 128;

/// Each hash takes 19 MiB; two at a time keep a small machine answering while somebody guesses passwords.
static AT_A_TIME: Semaphore = Semaphore::const_new(2);

/// A hash of nothing anybody knows, to spend the same time on a name that does not exist.
static NOBODY: LazyLock<String> = LazyLock::new(|| {
    hash_now("whetledger: nobody has this password", b"nobody's salt 16").unwrap_or_default()
});

/// A password could not be hashed.
#[derive(Debug, Clone, Copy, thiserror::Error)]
#[error("the password could not be hashed")]
pub struct HashingFailed;

/// Hashes a password into PHC form.
pub async fn hash(password: String) -> Result<String, HashingFailed> {
    blocking(move || {
        let mut salt = [0; 16];
        rand::rngs::OsRng.try_fill_bytes(&mut salt).map_err(|_| HashingFailed)?;
        hash_now(&password, &salt)
    })
    .await?
}

/// Whether the password fits the hash. Without a hash (there is no such person) it takes as long and says no.
pub async fn fits(password: String, hash: Option<String>) -> Result<bool, HashingFailed> {
    blocking(move || {
        let stored = hash.as_deref().unwrap_or(NOBODY.as_str());
        let fits = PasswordHash::new(stored)
            .is_ok_and(|parsed| argon2id().verify_password(password.as_bytes(), &parsed).is_ok());
        fits && hash.is_some()
    })
    .await
}

/// Whether a hash was made with other parameters than today's: whoever signs in with it gets a new one.
pub fn is_outdated(hash: &str) -> bool {
    !hash.starts_with(CURRENT)
}

/// How every hash begins that is made today.
const CURRENT: &str = "$argon2id$v=19$m=19456,t=2,p=1$";

/// A one-time password that can be read out over the phone: four groups of four letters and digits, none of
/// which looks like another; 79 random bits (16 out of 31 characters).
pub fn one_time() -> String {
    const LETTERS: &[u8] = b"abcdefghjkmnpqrstuvwxyz23456789";
    let mut rng = rand::rngs::OsRng.unwrap_err();
    let mut text = String::with_capacity(19);
    for position in 0..16 {
        if position > 0 && position % 4 == 0 {
            text.push('-');
        }
        text.push(char::from(*LETTERS.choose(&mut rng).unwrap_or(&b'x')));
    }
    text
}

async fn blocking<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, HashingFailed> {
    let _permit = AT_A_TIME.acquire().await.map_err(|_| HashingFailed)?;
    tokio::task::spawn_blocking(work).await.map_err(|_| HashingFailed)
}

fn hash_now(password: &str, salt: &[u8; 16]) -> Result<String, HashingFailed> {
    let salt = SaltString::encode_b64(salt).map_err(|_| HashingFailed)?;
    let hash = argon2id().hash_password(password.as_bytes(), &salt).map_err(|_| HashingFailed)?;
    Ok(hash.to_string())
}

/// 19 MiB, two passes, one lane: the first choice of the OWASP Password Storage Cheat Sheet.
fn argon2id() -> Argon2<'static> {
    Argon2::new(Algorithm::Argon2id, Version::V0x13, Params::new(19_456, 2, 1, None).unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn only_the_right_password_fits_and_equal_passwords_have_unequal_hashes() {
        let hash_one = hash("correct horse battery".to_owned()).await.unwrap();
        let hash_two = hash("correct horse battery".to_owned()).await.unwrap();
        assert!(!is_outdated(&hash_one), "{hash_one}");
        assert_ne!(hash_one, hash_two);
        assert!(fits("correct horse battery".to_owned(), Some(hash_one.clone())).await.unwrap());
        assert!(!fits("correct horse batterz".to_owned(), Some(hash_one)).await.unwrap());
        assert!(!fits("whetledger: nobody has this password".to_owned(), None).await.unwrap());
    }

    #[test]
    fn a_one_time_password_is_four_groups_of_clear_letters() {
        let password = one_time();
        assert_eq!(password.len(), 19);
        assert_eq!(password.split('-').map(str::len).collect::<Vec<_>>(), [4; 4]);
        assert!(!password.contains(['0', 'o', 'i', 'l', '1']), "{password}");
        assert_ne!(password, one_time());
    }
}

//! Somebody chooses another password.

use shop::profile::Profile;
use zxcvbn::Score;

use super::sign_in;
use crate::context::Ctx;
use crate::passwords::{self, LEAST_LENGTH, MOST_LENGTH};
use crate::store::staff::{self, Person};
use crate::store::{StoreError, settings};
use crate::token::Token;

/// Why the password stays as it is.
#[derive(Debug, thiserror::Error)]
pub enum ChangeError {
    /// The new password and its repetition differ.
    #[error("the repetition differs")]
    NotTheSame,
    /// The present password is wrong.
    #[error("the present password is wrong")]
    WrongPresent,
    /// The new password cannot be taken, in a sentence.
    #[error("{0}")]
    BadNew(String),
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Hashing failed.
    #[error(transparent)]
    Failed(anyhow::Error),
}

/// Sets the new password, ends every session of this person, and opens a new one.
pub async fn change_password(
    ctx: &Ctx,
    person: &Person,
    present: String,
    new: String,
    device: &str,
) -> Result<Token, ChangeError> {
    let profile = settings::get::<Profile>(ctx.store.read()).await?;
    let shop = profile.map(|found| found.value.name).unwrap_or_default();
    check_new(person, &shop, &present, &new)?;
    let (_, hash) =
        staff::by_name(ctx.store.read(), &person.sign_in_name).await?.ok_or(ChangeError::WrongPresent)?;
    let fits =
        passwords::fits(present, Some(hash)).await.map_err(|error| ChangeError::Failed(error.into()))?;
    if !fits {
        return Err(ChangeError::WrongPresent);
    }
    let hash = passwords::hash(new).await.map_err(|error| ChangeError::Failed(error.into()))?;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    staff::set_password(&tx, person.id, hash, None).await?;
    let token = sign_in::afresh(&tx, person.id, device, now).await.map_err(ChangeError::Failed)?;
    tx.commit().await?;
    tracing::info!(staff = %person.id, "password changed");
    Ok(token)
}

/// Of 0 to 4: about 10⁸ guesses or more by Wheeler's estimate (zxcvbn, USENIX Security 2016), which knows the commonest
/// passwords, names, dates and rows of keys. Guessing is slowed besides.
const LEAST_SCORE: Score = Score::Three;

fn check_new(person: &Person, shop: &str, present: &str, new: &str) -> Result<(), ChangeError> {
    let bad = |why: String| Err(ChangeError::BadNew(why));
    let length = new.chars().count();
    if length < LEAST_LENGTH {
        return bad(format!("Use at least {LEAST_LENGTH} characters."));
    }
    if length > MOST_LENGTH {
        return bad(format!("Use at most {MOST_LENGTH} characters."));
    }
    if new == present {
        return bad("This is the password you have now.".to_owned());
    }
    let names = [person.sign_in_name.as_str(), person.full_name.as_str(), shop, "whetledger"];
    let words = names.iter().flat_map(|name| name.split_whitespace());
    let known: Vec<&str> = names.iter().copied().chain(words).collect();
    if new.to_lowercase().contains(&person.sign_in_name) || zxcvbn::zxcvbn(new, &known).score() < LEAST_SCORE
    {
        return bad(
            "This is too easy to guess: leave out your name and the shop's, and take a few words that have nothing to do with each other."
                .to_owned(),
        );
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::staff::Roles;

    #[test]
    fn a_password_everybody_tries_first_is_refused() {
        let person = Person {
            id: uuid::Uuid::nil(),
            sign_in_name: "ann".to_owned(),
            full_name: "Ann Example".to_owned(),
            roles: Roles::OWNER,
            must_change_password: false,
            one_time_until: None,
            has_second_step: false,
            owes_second_step: false,
            left_at: None,
        };
        let refused = |new| {
            matches!(check_new(&person, "Marram Bladeworks", "one-time", new), Err(ChangeError::BadNew(_)))
        };
        for bad in [
            "password1234",
            "qwertyuiop12",
            "123456789012",
            "aaaaaaaaaaaaaa",
            "iloveyou1234",
            "whetledger12",
            "annannannann",
            "marrambladeworks",
            "Bladeworks2026",
            "short",
            "Example12345",
        ] {
            assert!(refused(bad), "{bad}");
        }
        for good in ["four unrelated words", "seven quiet wet stones", "Gräserne Fähre 7 Dorn"] {
            assert!(!refused(good), "{good}");
        }
    }
}

//! Somebody starts to work here.

use crate::context::Ctx;
use crate::passwords;
use crate::store::StoreError;
use crate::store::staff::{self, NewPerson, Person, Roles};

/// Why nobody was added.
#[derive(Debug, thiserror::Error)]
pub enum AddError {
    /// The sign-in name does not fit.
    #[error("a sign-in name is 2 to 40 of a-z, 0-9, dot and dash, and begins with a letter")]
    BadName,
    /// The full name does not fit.
    #[error("a full name is 1 to 80 characters on one line")]
    BadFullName,
    /// Somebody has that sign-in name.
    #[error("somebody has this sign-in name already")]
    Taken,
    /// They could do nothing.
    #[error("name at least one of desk, bench and owner")]
    NoRole,
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Hashing failed.
    #[error(transparent)]
    Failed(anyhow::Error),
}

/// Somebody new and the one-time password they sign in with first. The password is nowhere else.
#[derive(Debug)]
pub struct Added {
    /// Who.
    pub person: Person,
    /// Show it once.
    pub one_time_password: String,
}

/// Adds somebody.
pub async fn add_person(
    ctx: &Ctx,
    sign_in_name: &str,
    full_name: &str,
    roles: Roles,
) -> Result<Added, AddError> {
    let sign_in_name = sign_in_name.trim().to_lowercase();
    let full_name = full_name.trim();
    check(&sign_in_name, full_name, roles)?;
    let one_time_password = passwords::one_time();
    let password_hash =
        passwords::hash(one_time_password.clone()).await.map_err(|error| AddError::Failed(error.into()))?;
    let person = NewPerson {
        id: ctx.new_id(),
        sign_in_name,
        full_name: full_name.to_owned(),
        roles,
        password_hash,
        one_time_until: ctx.one_time_until(),
    };
    let tx = ctx.store.begin_write().await?;
    let person = staff::add(&tx, person, ctx.now()).await?.ok_or(AddError::Taken)?;
    tx.commit().await?;
    Ok(Added { person, one_time_password })
}

fn check(sign_in_name: &str, full_name: &str, roles: Roles) -> Result<(), AddError> {
    let letters =
        |byte: u8| byte.is_ascii_lowercase() || byte.is_ascii_digit() || matches!(byte, b'.' | b'-');
    let good_name = (2..=40).contains(&sign_in_name.len())
        && sign_in_name.bytes().all(letters)
        && sign_in_name.starts_with(|first: char| first.is_ascii_lowercase());
    if !good_name {
        return Err(AddError::BadName);
    }
    if full_name.is_empty() || full_name.chars().count() > 80 || full_name.chars().any(char::is_control) {
        return Err(AddError::BadFullName);
    }
    if roles == Roles::default() {
        return Err(AddError::NoRole);
    }
    Ok(())
}

//! Somebody sets up a second step for signing in, or gives it up.

use super::sign_in;
use crate::context::Ctx;
use crate::passwords;
use crate::second_step::Key;
use crate::store::StoreError;
use crate::store::staff::{self, Person};
use crate::token::Token;

/// Why nothing changed.
#[derive(Debug, thiserror::Error)]
pub enum SecondStepError {
    /// The code is not the one of this key and this minute.
    #[error("the code is wrong")]
    WrongCode,
    /// The password is wrong.
    #[error("the password is wrong")]
    WrongPassword,
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Hashing failed.
    #[error(transparent)]
    Hashing(#[from] passwords::HashingFailed),
    /// No session could be opened.
    #[error(transparent)]
    Failed(anyhow::Error),
}

/// From now on signing in needs a code of this key. The code proves that the telephone has it; the password, that it
/// is not somebody who found the tablet unlocked. Every other session ends; this browser gets a new one.
pub async fn turn_on(
    ctx: &Ctx,
    person: &Person,
    password: String,
    key: &Key,
    code: &str,
    device: &str,
) -> Result<Token, SecondStepError> {
    confirm(ctx, person, password).await?;
    let step = key.step_of(code, ctx.now(), None).ok_or(SecondStepError::WrongCode)?;
    set(ctx, person, Some((key.bytes().to_vec(), step)), device).await
}

/// From now on the password alone is enough. Every other session ends; this browser gets a new one.
pub async fn turn_off(
    ctx: &Ctx,
    person: &Person,
    password: String,
    device: &str,
) -> Result<Token, SecondStepError> {
    confirm(ctx, person, password).await?;
    set(ctx, person, None, device).await
}

async fn set(
    ctx: &Ctx,
    person: &Person,
    key: Option<(Vec<u8>, i64)>,
    device: &str,
) -> Result<Token, SecondStepError> {
    let on = key.is_some();
    let tx = ctx.store.begin_write().await?;
    staff::set_second_step(&tx, person.id, key).await?;
    let token = sign_in::afresh(&tx, person.id, device, ctx.now()).await.map_err(SecondStepError::Failed)?;
    tx.commit().await?;
    tracing::info!(staff = %person.id, on, "second step changed");
    Ok(token)
}

async fn confirm(ctx: &Ctx, person: &Person, password: String) -> Result<(), SecondStepError> {
    let found = staff::by_name(ctx.store.read(), &person.sign_in_name).await?;
    let fits = passwords::fits(password, found.map(|(_, hash)| hash)).await?;
    if fits { Ok(()) } else { Err(SecondStepError::WrongPassword) }
}

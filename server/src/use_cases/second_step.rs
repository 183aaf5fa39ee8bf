//! Somebody sets up a second step for signing in, or gives it up.

use crate::context::Ctx;
use crate::passwords;
use crate::second_step::Key;
use crate::store::StoreError;
use crate::store::staff::{self, Person};

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
    Failed(#[from] passwords::HashingFailed),
}

/// From now on signing in needs a code of this key. The code proves that the telephone has it; the password, that it
/// is not somebody who found the tablet unlocked.
pub async fn turn_on(
    ctx: &Ctx,
    person: &Person,
    password: String,
    key: &Key,
    code: &str,
) -> Result<(), SecondStepError> {
    confirm(ctx, person, password).await?;
    let step = key.step_of(code, ctx.now(), None).ok_or(SecondStepError::WrongCode)?;
    let tx = ctx.store.begin_write().await?;
    staff::set_second_step(&tx, person.id, Some((key.bytes().to_vec(), step))).await?;
    tx.commit().await?;
    Ok(())
}

/// From now on the password alone is enough.
pub async fn turn_off(ctx: &Ctx, person: &Person, password: String) -> Result<(), SecondStepError> {
    confirm(ctx, person, password).await?;
    let tx = ctx.store.begin_write().await?;
    staff::set_second_step(&tx, person.id, None).await?;
    tx.commit().await?;
    Ok(())
}

async fn confirm(ctx: &Ctx, person: &Person, password: String) -> Result<(), SecondStepError> {
    let found = staff::by_name(ctx.store.read(), &person.sign_in_name).await?;
    let fits = passwords::fits(password, found.map(|(_, hash)| hash)).await?;
    if fits { Ok(()) } else { Err(SecondStepError::WrongPassword) }
}

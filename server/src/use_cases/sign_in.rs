//! Somebody who works here signs in.

use chrono::TimeDelta;

use crate::context::Ctx;
use crate::passwords;
use crate::second_step::Key;
use crate::store::staff;
use crate::token::Token;

/// A session lasts this long at most, however much it is used.
pub const SESSION_LASTS: TimeDelta = TimeDelta::days(30);

/// Opens a session. `None`: no such name, a wrong password, a missing or wrong code where one is needed, or somebody
/// who no longer works here; which of them is not said, and each takes as long.
pub async fn sign_in(
    ctx: &Ctx,
    sign_in_name: &str,
    password: String,
    code: &str,
) -> anyhow::Result<Option<Token>> {
    let found = staff::by_name(ctx.store.read(), sign_in_name).await?;
    let hash = found.as_ref().map(|(_, hash)| hash.clone());
    let too_long = password.chars().count() > passwords::MOST_LENGTH;
    let fits = passwords::fits(if too_long { String::new() } else { password }, hash).await?;
    let Some((person, _)) = found.filter(|(person, _)| fits && !too_long && person.left_at.is_none()) else {
        return Ok(None);
    };
    let now = ctx.now();
    let step = match staff::second_step(ctx.store.read(), person.id).await? {
        None => None,
        Some((key, used)) => match Key::from_bytes(key).step_of(code, now, used) {
            None => return Ok(None),
            step => step,
        },
    };
    let token = Token::fresh()?;
    let tx = ctx.store.begin_write().await?;
    if let Some(step) = step
        && !staff::use_step(&tx, person.id, step).await?
    {
        return Ok(None);
    }
    staff::forget_sessions(&tx, now).await?;
    staff::open_session(&tx, person.id, &token, now, now + SESSION_LASTS).await?;
    tx.commit().await?;
    tracing::info!(staff = %person.id, "signed in");
    Ok(Some(token))
}

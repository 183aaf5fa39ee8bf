//! Somebody who works here signs in.

use chrono::TimeDelta;

use crate::context::Ctx;
use crate::passwords;
use crate::store::staff;
use crate::token::Token;

/// A session lasts this long at most, however much it is used.
pub const SESSION_LASTS: TimeDelta = TimeDelta::days(30);

/// Opens a session. `None`: no such name, a wrong password, or somebody who no longer works here; which of them
/// is not said, and each takes as long.
pub async fn sign_in(ctx: &Ctx, sign_in_name: &str, password: String) -> anyhow::Result<Option<Token>> {
    let found = staff::by_name(ctx.store.read(), sign_in_name).await?;
    let hash = found.as_ref().map(|(_, hash)| hash.clone());
    let too_long = password.chars().count() > passwords::MOST_LENGTH;
    let fits = passwords::fits(if too_long { String::new() } else { password }, hash).await?;
    let Some((person, _)) = found.filter(|(person, _)| fits && !too_long && person.left_at.is_none()) else {
        return Ok(None);
    };
    let token = Token::fresh()?;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    staff::forget_sessions(&tx, now).await?;
    staff::open_session(&tx, person.id, &token, now, now + SESSION_LASTS).await?;
    tx.commit().await?;
    Ok(Some(token))
}

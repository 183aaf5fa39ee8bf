//! Somebody who works here signs in.

use chrono::{DateTime, TimeDelta, Utc};
use uuid::Uuid;

use crate::context::Ctx;
use crate::passwords;
use crate::second_step::Key;
use crate::store::{WriteTx, staff};
use crate::token::Token;

/// A session lasts this long at most, however much it is used.
pub const SESSION_LASTS: TimeDelta = TimeDelta::days(30);

/// What came of it.
#[derive(Debug)]
pub enum SignedIn {
    /// A session is open.
    Open(Token),
    /// Name and one-time password are right, but it has run out.
    RunOut,
    /// Anything else.
    Refused,
}

/// Opens a session. Refused: no such name, a wrong password, a missing or wrong code where one is needed, or somebody
/// who no longer works here; which of them is not said, and each takes as long.
pub async fn sign_in(
    ctx: &Ctx,
    sign_in_name: &str,
    password: String,
    code: &str,
    device: &str,
) -> anyhow::Result<SignedIn> {
    let found = staff::by_name(ctx.store.read(), sign_in_name).await?;
    let hash = found.as_ref().map(|(_, hash)| hash.clone());
    let too_long = password.chars().count() > passwords::MOST_LENGTH;
    let password = if too_long { String::new() } else { password };
    let fits = passwords::fits(password.clone(), hash).await?;
    let Some((person, hash)) = found.filter(|(person, _)| fits && !too_long && person.left_at.is_none())
    else {
        return Ok(SignedIn::Refused);
    };
    let now = ctx.now();
    if person.must_change_password && person.one_time_until.is_some_and(|until| until <= now) {
        return Ok(SignedIn::RunOut);
    }
    let step = match staff::second_step(ctx.store.read(), person.id).await? {
        None => None,
        Some((key, used)) => match Key::from_bytes(key).step_of(code, now, used) {
            None => return Ok(SignedIn::Refused),
            step => step,
        },
    };
    // The password is at hand only now, so an old hash is renewed now.
    let renewed = if passwords::is_outdated(&hash) { Some(passwords::hash(password).await?) } else { None };
    let token = Token::fresh()?;
    let tx = ctx.store.begin_write().await?;
    if let Some(step) = step
        && !staff::use_step(&tx, person.id, step).await?
    {
        return Ok(SignedIn::Refused);
    }
    if let Some(renewed) = renewed {
        staff::set_hash(&tx, person.id, &hash, renewed).await?;
    }
    staff::forget_sessions(&tx, now).await?;
    staff::open_session(&tx, person.id, &token, device, now, now + SESSION_LASTS).await?;
    tx.commit().await?;
    tracing::info!(staff = %person.id, "signed in");
    Ok(SignedIn::Open(token))
}

/// Ends every session of somebody who has just shown their password, and opens a new one for the browser they sit at.
pub(super) async fn afresh(
    tx: &WriteTx,
    staff_id: Uuid,
    device: &str,
    now: DateTime<Utc>,
) -> anyhow::Result<Token> {
    let token = Token::fresh()?;
    staff::close_sessions_of(tx, staff_id).await?;
    staff::open_session(tx, staff_id, &token, device, now, now + SESSION_LASTS).await?;
    Ok(token)
}

//! Somebody looks over where they are signed in, and ends what they do not know or no longer need.

use crate::context::Ctx;
use crate::store;
use crate::store::staff::{self, Person};
use crate::token::Token;

/// Ends one session of theirs, named by its token's hash. `false`: they have no such session (any more).
pub async fn end_one(ctx: &Ctx, person: &Person, sha256: &[u8]) -> store::Result<bool> {
    let tx = ctx.store.begin_write().await?;
    let ended = staff::close_session_of(&tx, person.id, sha256).await?;
    tx.commit().await?;
    Ok(ended)
}

/// Ends all sessions of theirs but the one of this browser. Says how many.
pub async fn end_others(ctx: &Ctx, person: &Person, kept: &Token) -> store::Result<u64> {
    let tx = ctx.store.begin_write().await?;
    let n = staff::close_other_sessions(&tx, person.id, kept).await?;
    tx.commit().await?;
    Ok(n)
}

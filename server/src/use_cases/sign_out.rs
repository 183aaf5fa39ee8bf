//! Somebody signs out.

use crate::context::Ctx;
use crate::store::{self, staff};
use crate::token::Token;

/// Ends the session; a session that is not there has ended already.
pub async fn sign_out(ctx: &Ctx, token: &Token) -> store::Result<()> {
    let tx = ctx.store.begin_write().await?;
    staff::close_session(&tx, token).await?;
    tx.commit().await
}

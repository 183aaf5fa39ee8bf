//! Somebody puts a notice that was given up back in line.

use uuid::Uuid;

use crate::context::Ctx;
use crate::store::{self, outbox};

/// Back in line, with a clean slate. `false`: it was not given up.
pub async fn retry_notice(ctx: &Ctx, id: Uuid) -> store::Result<bool> {
    let tx = ctx.store.begin_write().await?;
    let revived = outbox::revive(&tx, id, ctx.now()).await?;
    tx.commit().await?;
    if revived {
        ctx.post.ring();
        ctx.live.tell("post", Some(id));
    }
    Ok(revived)
}

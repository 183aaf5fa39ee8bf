//! Somebody tries whether post leaves the house.

use uuid::Uuid;

use crate::context::Ctx;
use crate::post::notice::{Notice, is_mailbox};
use crate::store::staff::Person;
use crate::store::{StoreError, outbox};

/// Why no trial notice was written.
#[derive(Debug, thiserror::Error)]
pub enum TrialError {
    /// That is no mail address.
    #[error("that is no mail address")]
    NoAddress,
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// Queues a trial notice.
pub async fn send_trial(ctx: &Ctx, by: &Person, to_address: &str) -> Result<Uuid, TrialError> {
    if !is_mailbox(to_address) {
        return Err(TrialError::NoAddress);
    }
    let notice = Notice::Trial { by: by.full_name.clone() };
    let letter = notice.letter(to_address, "");
    let tx = ctx.store.begin_write().await?;
    let id = outbox::queue(&tx, ctx.new_id(), letter, ctx.now()).await?;
    tx.commit().await?;
    ctx.post.ring();
    ctx.live.tell("post", Some(id));
    Ok(id)
}

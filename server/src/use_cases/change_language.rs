//! The customer reads a visit, and the notices about it, in another language from now on.

use shop::ids::VisitId;
use shop::lang::Lang;

use crate::context::Ctx;
use crate::store::{Result, customers, visits};

/// Remembers the language with the visit and with its customer.
pub async fn change_language(ctx: &Ctx, id: VisitId, language: Lang) -> Result<()> {
    let tx = ctx.store.begin_write().await?;
    let Some(visit) = visits::get(&tx, id).await? else { return Ok(()) };
    if visit.language != language {
        visits::set_language(&tx, id, language).await?;
        customers::set_language(&tx, visit.customer, language).await?;
        tx.commit().await?;
    }
    Ok(())
}

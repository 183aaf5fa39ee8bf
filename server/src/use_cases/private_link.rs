//! Private links to visits: making them, and finding out what one opens.

use chrono::TimeDelta;
use shop::ids::{KnifeId, PieceId, VisitId};

use crate::context::Ctx;
use crate::store::links::{self, Found, Fresh, Purpose};
use crate::store::{Result, WriteTx, pieces};
use crate::token::Token;

/// A link in a notice works this long; a new one can be asked for at any time.
const MAILED_LASTS: TimeDelta = TimeDelta::days(180);
/// The link in the browser that booked works this long: enough to print the slip.
const BOOKER_LASTS: TimeDelta = TimeDelta::days(3);

/// What a presented link opens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Opened {
    /// A visit.
    Visit {
        /// Which.
        visit: VisitId,
        /// True when the link came by mail: its holder reads the customer's mail, so may confirm, answer and change.
        /// False in the browser that booked, whose mail address may be a stranger's.
        by_mail: bool,
    },
    /// It was one of ours; it is past its day or was taken back.
    Stale(VisitId),
    /// We never made it.
    Unknown,
}

/// Draws a link for a notice about a visit: it opens once it is kept, in the transaction that queues the notice. With the
/// whole address.
pub(super) fn draw_mailed(ctx: &Ctx, visit: VisitId) -> Result<(Fresh, String)> {
    let now = ctx.now();
    let link = Fresh::draw(ctx.new_id(), Purpose::Visit, visit.0, Some(now + MAILED_LASTS), now)?;
    let address = ctx.url(&format!("/v/{}", link.token()));
    Ok((link, address))
}

/// Makes a link for a notice about a visit: the whole address. Belongs into the transaction that queues the notice.
pub async fn mailed(ctx: &Ctx, tx: &WriteTx, visit: VisitId) -> Result<String> {
    let (link, address) = draw_mailed(ctx, visit)?;
    link.keep(tx).await?;
    Ok(address)
}

/// Makes a link for the browser that booked a visit.
pub async fn for_booker(ctx: &Ctx, tx: &WriteTx, visit: VisitId) -> Result<Token> {
    let now = ctx.now();
    links::make(tx, ctx.new_id(), Purpose::Booked, visit.0, Some(now + BOOKER_LASTS), now).await
}

/// Makes a link to the ledger of the knife that a piece of this visit is: its path. `None` when the piece is not of this
/// visit, or nobody has had the knife in hand yet.
pub async fn to_ledger(ctx: &Ctx, visit: VisitId, piece: PieceId) -> Result<Option<String>> {
    let tx = ctx.store.begin_write().await?;
    let found = pieces::get(&tx, piece).await?.filter(|p| p.visit == visit);
    let Some(knife) = found.and_then(|p| p.knife) else { return Ok(None) };
    let path = of_knife(ctx, &tx, knife).await?;
    tx.commit().await?;
    Ok(Some(path))
}

/// Makes a link to a knife's ledger: its path.
pub(super) async fn of_knife(ctx: &Ctx, tx: &WriteTx, knife: KnifeId) -> Result<String> {
    let now = ctx.now();
    let token = links::make(tx, ctx.new_id(), Purpose::Knife, knife.0, Some(now + MAILED_LASTS), now).await?;
    Ok(format!("/k/{token}"))
}

/// Finds out what a link opens.
pub async fn open(ctx: &Ctx, presented: &str) -> Result<Opened> {
    let db = ctx.store.read();
    let mut stale = None;
    for (purpose, by_mail) in [(Purpose::Visit, true), (Purpose::Booked, false)] {
        match links::find(db, purpose, presented, ctx.now()).await? {
            Found::Open(visit) => return Ok(Opened::Visit { visit: VisitId(visit), by_mail }),
            Found::Stale(visit) => stale = Some(VisitId(visit)),
            Found::Unknown => {}
        }
    }
    Ok(stale.map_or(Opened::Unknown, Opened::Stale))
}

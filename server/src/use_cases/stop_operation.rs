//! Somebody stops: for a break, for a problem, or because the piece needs more than was agreed.

use shop::field::{self, FieldErrors};
use shop::ids::{OperationId, PieceId};
use shop::ledger::Fact;
use shop::money::Money;
use shop::piece::{Harm, Waiting, WaitsOn};
use shop::read::{Operation, OperationState};
use shop::work::REASONS;

use super::hands::{self, Refused};
use super::{mishap, private_link, ready};
use crate::context::Ctx;
use crate::post::bench::NeedsMore;
use crate::post::notice::Notice;
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::staff::Person;
use crate::store::{WriteTx, visits};

/// Stops a begun operation. It is open again; with a problem the piece is held until somebody decides.
pub async fn stop_operation(
    ctx: &Ctx,
    by: &Person,
    key: &RequestKey,
    id: OperationId,
    code: &str,
    note: &str,
) -> Result<(), Refused> {
    let reason = REASONS.iter().find(|r| r.code == code);
    let mut errors = FieldErrors::default();
    if reason.is_none() {
        errors.add("reason", "Please choose why.");
    }
    let harm = reason.and_then(|r| Harm::parse(r.code));
    let must_say = reason.is_some_and(|r| r.code == "other");
    let note = field::line(&mut errors, "note", note, "what you saw", 300, must_say);
    if let (Some(words), Some(_)) = (&note, harm)
        && let Err(too_short) = mishap::told("note", words)
    {
        return Err(Refused::Fields(too_short));
    }
    let (reason, note) = errors.or(reason.zip(note)).map_err(Refused::Fields)?;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(_) = requests::claim(&tx, key, now).await? {
        return Ok(());
    }
    if let Some(harm) = harm {
        let (operation, mut piece) = hands::operation(&tx, id).await?;
        is_begun(&operation)?;
        mishap::record(ctx, &tx, by, &mut piece, harm, &note, now).await?;
        requests::settle(&tx, key, id.0).await?;
        tx.commit().await?;
        hands::ring(ctx, piece.visit);
        return Ok(());
    }
    let (mut piece, kind) = put_down(&tx, id).await?;
    let mut facts = vec![Fact::Stopped { operation: id, code: reason.code.to_owned() }];
    if let Some(on) = reason.holds {
        let what =
            if note.is_empty() { reason.words.to_owned() } else { format!("{}: {note}", reason.words) };
        piece.waiting = Some(Waiting { on, what: format!("stopped at “{kind}”, {}", lower(&what)) });
        facts.push(Fact::Waits { on });
    }
    hands::save(&tx, &mut piece, None, hands::who(by), &facts, &note, now).await?;
    requests::settle(&tx, key, id.0).await?;
    tx.commit().await?;
    hands::ring(ctx, piece.visit);
    Ok(())
}

/// The piece needs more than was agreed: the work is put down and the customer is asked. Nothing goes on before the
/// answer. `price` is the new total for this piece; `None` when the price stays.
pub async fn needs_more(
    ctx: &Ctx,
    by: &Person,
    key: &RequestKey,
    id: OperationId,
    what: &str,
    price: &str,
) -> Result<(), Refused> {
    let mut errors = FieldErrors::default();
    let what = field::line(&mut errors, "what", what, "what it needs", 300, true);
    let price = match price.trim() {
        "" => Some(None),
        typed => Money::parse(typed).map(Some).or_else(|| {
            errors.add("price", "Please give the new total, such as 24 or 24.50, or leave it empty.");
            None
        }),
    };
    let (what, price) = errors.or(what.zip(price)).map_err(Refused::Fields)?;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(_) = requests::claim(&tx, key, now).await? {
        return Ok(());
    }
    let (mut piece, _) = put_down(&tx, id).await?;
    let profile = hands::profile(&tx).await?;
    let asked = price.map(|p| p.show(&profile.currency)).unwrap_or_default();
    let on = WaitsOn::Customer;
    let with = if asked.is_empty() { String::new() } else { format!(", {asked} in all") };
    piece.waiting =
        Some(Waiting { on, what: format!("needs more than agreed: {}{with}", what.trim_end_matches('.')) });
    let mut facts = vec![Fact::Stopped { operation: id, code: "needs_more".into() }, Fact::Waits { on }];
    facts.extend(price.map(|total| Fact::Quoted { total }));
    hands::save(&tx, &mut piece, None, hands::who(by), &facts, &what, now).await?;
    let visit = visits::get(&tx, piece.visit).await?.ok_or(Refused::Gone)?;
    let link = private_link::mailed(ctx, &tx, visit.id).await?;
    let notice = NeedsMore { visit: visit.clone(), piece: piece.id, what, price: asked, profile, link };
    hands::tell(ctx, &tx, &visit, &Notice::NeedsMore(Box::new(notice))).await?;
    requests::settle(&tx, key, id.0).await?;
    tx.commit().await?;
    hands::ring(ctx, piece.visit);
    Ok(())
}

/// What the customer said to "needs more", or what the shop decided about a stopped piece: it goes on. With a new price
/// agreed, that is what it costs from now on.
pub async fn goes_on(
    ctx: &Ctx,
    by: &Person,
    key: &RequestKey,
    id: PieceId,
    price: &str,
    note: &str,
) -> Result<(), Refused> {
    let mut errors = FieldErrors::default();
    let price = match price.trim() {
        "" => None,
        typed => {
            let read = Money::parse(typed);
            if read.is_none() {
                errors.add("price", "Please give the agreed total, such as 24 or 24.50, or leave it empty.");
            }
            read
        }
    };
    let note = field::line(&mut errors, "note", note, "how it was settled", 300, true);
    let note = errors.or(note).map_err(Refused::Fields)?;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(_) = requests::claim(&tx, key, now).await? {
        return Ok(());
    }
    let mut piece = crate::store::pieces::get(&tx, id).await?.ok_or(Refused::Gone)?;
    if piece.waiting.take().is_none() {
        return Ok(());
    }
    let mut facts = vec![Fact::GoesOn];
    if let Some(total) = price {
        piece.agreed = Some(total);
        facts.push(Fact::Agreed { total, within_range: false });
    }
    hands::save(&tx, &mut piece, None, hands::who(by), &facts, &note, now).await?;
    ready::look_again(ctx, &tx, piece.visit, now).await?;
    requests::settle(&tx, key, id.0).await?;
    tx.commit().await?;
    hands::ring(ctx, piece.visit);
    Ok(())
}

/// Puts a begun operation down: it is open again, and keeps nothing of the try but the ledger's entry.
async fn put_down(
    tx: &WriteTx,
    id: OperationId,
) -> Result<(shop::read::Piece, shop::route::OperationKind), Refused> {
    let (mut operation, piece) = hands::operation(tx, id).await?;
    is_begun(&operation)?;
    operation.state = OperationState::Open;
    operation.started_at = None;
    operation.by = None;
    hands::save_operation(tx, &mut operation).await?;
    Ok((piece, operation.step.kind))
}

fn is_begun(operation: &Operation) -> Result<(), Refused> {
    if operation.state == OperationState::Started {
        return Ok(());
    }
    Err(Refused::first("This has not been begun, or somebody has already ended it."))
}

fn lower(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

//! A numbered bill for a visit, and the cancelling of one. No bill is ever changed.

use shop::ids::{BillId, VisitId};
use shop::money::Money;
use shop::piece::PieceState;
use shop::price::{Line, PriceList};
use shop::read::Visit;

use super::hands::Refused;
use super::knowledge;
use crate::context::Ctx;
use crate::store::bills::{self, Bill};
use crate::store::{WriteTx, visits};

/// What a visit comes to, line by line: the agreed work, what measuring costs where the customer then said no, and the
/// parcel back. Work that is turned down by us costs nothing.
pub fn lines(visit: &Visit, prices: &PriceList) -> Vec<Line> {
    let mut lines = Vec::new();
    for piece in &visit.pieces {
        let tag = piece.tag.map(|tag| format!(" ({tag})")).unwrap_or_default();
        let name = format!("{}{tag}", piece.name);
        match (piece.state, piece.agreed, &piece.verdict) {
            (state, ..) if !state.is_charged() => {}
            (PieceState::Withdrawn, _, Some(_)) if prices.withdrawn != Money(0) => {
                lines.push(Line { what: format!("{name}: measured, not done"), price: prices.withdrawn });
            }
            (PieceState::Home, None, Some(_)) if withdrawn_and_home(piece.turned_down.as_ref()) => {
                lines.push(Line { what: format!("{name}: measured, not done"), price: prices.withdrawn });
            }
            (_, Some(_), Some(verdict)) => {
                lines.extend(
                    verdict
                        .quote
                        .lines
                        .iter()
                        .map(|line| Line { what: format!("{name}: {}", line.what), price: line.price }),
                );
            }
            _ => {}
        }
    }
    let travels = visit.pieces.iter().any(|p| p.state.is_here() || p.state == PieceState::Home);
    if visit.back_by_post
        && travels
        && let Some((cover, price)) = prices.parcel(visit.declared)
    {
        let cover = cover.0 / 100;
        lines.push(Line { what: format!("Parcel back, covered up to {cover}"), price });
    }
    lines.retain(|line| line.price != Money(0));
    lines
}

/// A piece that went home without an agreed price was either turned down by us (with a reason) or withdrawn.
fn withdrawn_and_home(turned_down: Option<&String>) -> bool {
    turned_down.is_none()
}

/// What a visit comes to.
pub fn total(visit: &Visit, prices: &PriceList) -> Money {
    lines(visit, prices).iter().map(|line| line.price).sum()
}

/// The bill that stands: the last one, unless it cancels another or was cancelled itself.
pub fn standing(bills: &[Bill]) -> Option<&Bill> {
    bills.iter().rev().find(|b| b.cancels.is_none() && !bills.iter().any(|other| other.cancels == Some(b.id)))
}

/// Issues the bill of a visit, or gives the one that stands.
pub(super) async fn within(
    tx: &WriteTx,
    visit: &Visit,
    prices: &PriceList,
    now: chrono::DateTime<chrono::Utc>,
) -> Result<Bill, Refused> {
    // Two desks at once: the second one waits here and then finds the first one's bill.
    bills::hold_numbers(tx).await?;
    let issued = bills::of_visit(tx, visit.id).await?;
    if let Some(bill) = standing(&issued) {
        return Ok(bill.clone());
    }
    let lines = lines(visit, prices);
    let total: Money = lines.iter().map(|line| line.price).sum();
    Ok(bills::issue(tx, visit.id, lines, prices.tax_in(total), None, now).await?)
}

/// Issues the bill of a visit, or gives the one that stands.
pub async fn issue_bill(ctx: &Ctx, id: VisitId) -> Result<Bill, Refused> {
    let prices = knowledge::load(ctx).await?.prices;
    let tx = ctx.store.begin_write().await?;
    let visit = visits::get(&tx, id).await?.ok_or(Refused::Gone)?;
    if visit.pieces.iter().any(|p| p.state.has_work_ahead()) {
        return Err(Refused::field(
            "bill",
            "Some of it is not decided or done yet; the bill comes when it is.",
        ));
    }
    let bill = within(&tx, &visit, &prices, ctx.now()).await?;
    tx.commit().await?;
    ctx.live.tell("visit", Some(id.0));
    Ok(bill)
}

/// Cancels the standing bill of a visit by another one with the same lines, negative. `None`: none stands.
pub async fn cancel_bill(ctx: &Ctx, id: VisitId) -> Result<Option<Bill>, Refused> {
    let tx = ctx.store.begin_write().await?;
    let visit = visits::get(&tx, id).await?.ok_or(Refused::Gone)?;
    bills::hold_numbers(&tx).await?;
    let issued = bills::of_visit(&tx, visit.id).await?;
    let Some(bill) = standing(&issued) else { return Ok(None) };
    let lines =
        bill.lines.iter().map(|line| Line { what: line.what.clone(), price: Money(-line.price.0) }).collect();
    let of: Option<BillId> = Some(bill.id);
    let cancelled = bills::issue(&tx, visit.id, lines, Money(-bill.tax.0), of, ctx.now()).await?;
    tx.commit().await?;
    ctx.live.tell("visit", Some(id.0));
    Ok(Some(cancelled))
}

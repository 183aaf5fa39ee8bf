//! Something was paid: how much and how. No card ever touches this program.

use chrono::{DateTime, Utc};
use shop::field::FieldErrors;
use shop::ids::{BillId, VisitId};
use shop::ledger::{Fact, Who};
use shop::money::Money;
use shop::read::Visit;

use super::hands::{self, Refused};
use super::{issue_bill, knowledge};
use crate::context::Ctx;
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::staff::Person;
use crate::store::{WriteTx, ledger, visits};

/// The ways people pay: code and words.
pub const WAYS: [(&str, &str); 4] = [
    ("cash", "cash"),
    ("terminal", "card, on the terminal beside"),
    ("transfer", "bank transfer"),
    ("other", "another way"),
];

/// A payment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Payment {
    /// How much.
    pub amount: Money,
    /// One of [`WAYS`].
    pub how: &'static str,
}

/// Reads what was typed. Both empty: nothing was paid.
pub fn typed(amount: &str, how: &str, errors: &mut FieldErrors) -> Option<Payment> {
    if amount.trim().is_empty() {
        return None;
    }
    let money = Money::parse(amount).filter(|m| *m > Money(0));
    if money.is_none() {
        errors.add("amount", "Please give the amount as a number, like 38 or 38.50.");
    }
    let how = WAYS.iter().find(|(code, _)| *code == how).map(|(code, _)| *code);
    if how.is_none() {
        errors.add("how", "Please choose how it was paid.");
    }
    Some(Payment { amount: money?, how: how? })
}

/// What is still open of a visit's total.
pub fn open(visit: &Visit, total: Money) -> Money {
    let paid = visit.paid.as_ref().map_or(Money(0), |(paid, _)| *paid);
    Money((total.0 - paid.0).max(0))
}

/// Adds a payment to a visit; the caller saves the visit.
pub(super) async fn within(
    tx: &WriteTx,
    visit: &mut Visit,
    payment: &Payment,
    bill: Option<BillId>,
    by: Who,
    now: DateTime<Utc>,
) -> Result<(), Refused> {
    let before = visit.paid.take();
    let paid = before.as_ref().map_or(Money(0), |(paid, _)| *paid) + payment.amount;
    let how = match before {
        Some((_, how)) if how != payment.how => format!("{how}, {}", payment.how),
        _ => payment.how.to_owned(),
    };
    visit.paid = Some((paid, how));
    ledger::add(tx, visit.id, by, &Fact::Paid { amount: payment.amount, bill }, None, now).await?;
    Ok(())
}

/// Records a payment, once per key.
pub async fn record_payment(
    ctx: &Ctx,
    by: &Person,
    key: &RequestKey,
    id: VisitId,
    payment: &Payment,
) -> Result<(), Refused> {
    let prices = knowledge::load(ctx).await?.prices;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(_) = requests::claim(&tx, key, now).await? {
        return Ok(());
    }
    let mut visit = visits::get(&tx, id).await?.ok_or(Refused::Gone)?;
    // A bill that can be issued is issued with the payment, so that the payment refers to it.
    let decided = !visit.pieces.iter().any(|p| p.state.has_work_ahead());
    let bill = if decided { Some(issue_bill::within(&tx, &visit, &prices, now).await?.id) } else { None };
    within(&tx, &mut visit, payment, bill, hands::who(by), now).await?;
    visits::save(&tx, &visit, now).await?;
    requests::settle(&tx, key, id.0).await?;
    tx.commit().await?;
    hands::ring(ctx, id);
    Ok(())
}

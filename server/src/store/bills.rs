//! Numbered bills. They are never changed or deleted; a wrong one is cancelled by another.

use chrono::{DateTime, Utc};
use sea_orm::{
    ColumnTrait, ConnectionTrait, DbBackend, EntityTrait, QueryFilter, QueryOrder, QuerySelect, Set,
};
use shop::ids::{BillId, VisitId};
use shop::money::Money;
use shop::price::Line;

use super::entities::bill;
use super::{Result, WriteTx, id_at, json};

/// A bill.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bill {
    /// Its id.
    pub id: BillId,
    /// Its number, without gaps from 1.
    pub number: u64,
    /// The visit.
    pub visit: VisitId,
    /// When it was issued.
    pub issued_at: DateTime<Utc>,
    /// Its lines, tax included.
    pub lines: Vec<Line>,
    /// Their sum.
    pub total: Money,
    /// The tax in it.
    pub tax: Money,
    /// The bill this one cancels, if it does.
    pub cancels: Option<BillId>,
}

/// Makes everybody else who wants a number wait until this transaction ends, so that reading the last number and taking
/// the next is one step and no number is left out. `SQLite` lets one writer in at a time anyway.
pub async fn hold_numbers(tx: &WriteTx) -> Result<()> {
    if tx.get_database_backend() == DbBackend::Postgres {
        tx.execute_unprepared("LOCK TABLE bill IN EXCLUSIVE MODE").await?;
    }
    Ok(())
}

/// Issues a bill under the next number; [`hold_numbers`] comes first.
pub async fn issue(
    tx: &WriteTx,
    visit: VisitId,
    lines: Vec<Line>,
    tax: Money,
    cancels: Option<BillId>,
    now: DateTime<Utc>,
) -> Result<Bill> {
    let last: Option<i64> = bill::Entity::find()
        .select_only()
        .column(bill::Column::Number)
        .order_by_desc(bill::Column::Number)
        .limit(1)
        .into_tuple()
        .one(tx)
        .await?;
    let number = last.unwrap_or(0) + 1;
    let total: Money = lines.iter().map(|line| line.price).sum();
    let id = id_at(now);
    let row = bill::ActiveModel {
        id: Set(id),
        number: Set(number),
        visit_id: Set(visit.0),
        issued_at: Set(now),
        lines: Set(json::write("bill.lines", &lines)?),
        total_minor: Set(total.0),
        tax_minor: Set(tax.0),
        cancels: Set(cancels.map(|b| b.0)),
    };
    super::insert(tx, row).await?;
    Ok(Bill {
        id: BillId(id),
        number: number.cast_unsigned(),
        visit,
        issued_at: now,
        lines,
        total,
        tax,
        cancels,
    })
}

/// One bill by its number.
pub async fn by_number(db: &impl ConnectionTrait, number: u64) -> Result<Option<Bill>> {
    let Ok(number) = i64::try_from(number) else { return Ok(None) };
    bill::Entity::find().filter(bill::Column::Number.eq(number)).one(db).await?.map(read).transpose()
}

/// The bills of a visit in the order they were issued.
pub async fn of_visit(db: &impl ConnectionTrait, visit: VisitId) -> Result<Vec<Bill>> {
    let rows = bill::Entity::find()
        .filter(bill::Column::VisitId.eq(visit.0))
        .order_by_asc(bill::Column::Number)
        .all(db)
        .await?;
    rows.into_iter().map(read).collect()
}

fn read(row: bill::Model) -> Result<Bill> {
    Ok(Bill {
        id: BillId(row.id),
        number: row.number.cast_unsigned(),
        visit: VisitId(row.visit_id),
        issued_at: row.issued_at,
        lines: json::read("bill.lines", row.lines)?,
        total: Money(row.total_minor),
        tax: Money(row.tax_minor),
        cancels: row.cancels.map(BillId),
    })
}

//! Questions and answers between a customer and the desk, visit by visit.

use chrono::{DateTime, Utc};
use sea_orm::sea_query::{Alias, Expr, ExprTrait as _, Query};
use sea_orm::{ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder, Set};
use shop::ids::{StaffId, VisitId};
use std::collections::BTreeSet;

use super::entities::message;
use super::{Result, WriteTx, id_at};

/// One letter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Message {
    /// Who of the shop wrote it; `None`: the customer.
    pub by_staff: Option<StaffId>,
    /// What it says.
    pub body: String,
    /// When.
    pub at: DateTime<Utc>,
}

/// Adds a letter.
pub async fn add(
    tx: &WriteTx,
    visit: VisitId,
    by_staff: Option<StaffId>,
    body: &str,
    now: DateTime<Utc>,
) -> Result<()> {
    let row = message::ActiveModel {
        id: Set(id_at(now)),
        visit_id: Set(visit.0),
        by_staff: Set(by_staff.map(|s| s.0)),
        body: Set(body.to_owned()),
        at: Set(now),
    };
    super::insert(tx, row).await
}

/// The letters of a visit, oldest first.
pub async fn of_visit(db: &impl ConnectionTrait, visit: VisitId) -> Result<Vec<Message>> {
    let rows = message::Entity::find()
        .filter(message::Column::VisitId.eq(visit.0))
        .order_by_asc(message::Column::At)
        .order_by_asc(message::Column::Id)
        .all(db)
        .await?;
    Ok(rows
        .into_iter()
        .map(|row| Message { by_staff: row.by_staff.map(StaffId), body: row.body, at: row.at })
        .collect())
}

/// The visits with a letter of the customer that nobody of the shop has answered since.
pub async fn unanswered(db: &impl ConnectionTrait) -> Result<BTreeSet<VisitId>> {
    let later = Alias::new("later");
    let col = |column: message::Column| Expr::col((later.clone(), column));
    let answer = Query::select()
        .expr(Expr::value(1))
        .from_as(message::Entity, later.clone())
        .and_where(col(message::Column::VisitId).equals((message::Entity, message::Column::VisitId)))
        .and_where(col(message::Column::ByStaff).is_not_null())
        .and_where(col(message::Column::At).gte(Expr::col((message::Entity, message::Column::At))))
        .to_owned();
    let rows = message::Entity::find()
        .filter(message::Column::ByStaff.is_null())
        .filter(Expr::exists(answer).not())
        .all(db)
        .await?;
    Ok(rows.into_iter().map(|row| VisitId(row.visit_id)).collect())
}

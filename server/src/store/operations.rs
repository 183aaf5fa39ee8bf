//! The operations of pieces.

use chrono::{DateTime, Utc};
use sea_orm::sea_query::{Expr, ExprTrait};
use sea_orm::{
    ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder, QuerySelect, QueryTrait, Set,
};
use serde::{Deserialize, Serialize};
use shop::ids::{OperationId, PieceId, StaffId};
use shop::piece::PieceState;
use shop::read::{Operation, OperationState};

use super::entities::{operation, piece};
use super::{Result, StoreError, WriteTx, exactly_one, json};

/// Where an operation was pinned to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pin {
    /// By whom it is done.
    pub person: Option<StaffId>,
    /// When the changeover before it begins.
    pub changeover_start: DateTime<Utc>,
    /// When it begins.
    pub start: DateTime<Utc>,
    /// When it ends.
    pub end: DateTime<Utc>,
}

/// Adds operations, in one statement.
pub async fn insert(tx: &WriteTx, operations: &[Operation]) -> Result<()> {
    let mut rows = Vec::with_capacity(operations.len());
    for op in operations {
        rows.push(operation::ActiveModel {
            id: Set(op.id.0),
            piece_id: Set(op.piece.0),
            position: Set(op.position.cast_signed()),
            kind: Set(op.step.kind.code().to_owned()),
            station: Set(op.step.station.clone()),
            setup: Set(op.step.setup.clone()),
            step: Set(json::write("operation.step", &op.step)?),
            estimated: Set(op.estimated),
            state: Set(op.state.code().to_owned()),
            started_at: Set(op.started_at),
            done_at: Set(op.done_at),
            by_staff: Set(op.by.map(|s| s.0)),
            pin: Set(None),
            version: Set(1),
        });
    }
    operation::Entity::insert_many(rows).exec_without_returning(tx).await?;
    Ok(())
}

/// Drops the open operations of a piece (they stay in the table as dropped), so that a new route can be added.
pub async fn drop_open(tx: &WriteTx, piece: PieceId) -> Result<u64> {
    let done = operation::Entity::update_many()
        .col_expr(operation::Column::State, Expr::value(OperationState::Dropped.code()))
        .col_expr(operation::Column::Pin, Expr::value(Option::<serde_json::Value>::None))
        .col_expr(operation::Column::Version, Expr::col(operation::Column::Version).add(1))
        .filter(operation::Column::PieceId.eq(piece.0))
        .filter(operation::Column::State.eq(OperationState::Open.code()))
        .exec(tx)
        .await?;
    Ok(done.rows_affected)
}

/// Writes a changed operation back (state, times, person, step). [`StoreError::Stale`] when somebody was quicker.
pub async fn save(tx: &WriteTx, op: &Operation) -> Result<()> {
    let done = operation::Entity::update_many()
        .col_expr(operation::Column::Position, Expr::value(op.position.cast_signed()))
        .col_expr(operation::Column::Station, Expr::value(op.step.station.clone()))
        .col_expr(operation::Column::Setup, Expr::value(op.step.setup.clone()))
        .col_expr(operation::Column::Step, Expr::value(json::write("operation.step", &op.step)?))
        .col_expr(operation::Column::State, Expr::value(op.state.code()))
        .col_expr(operation::Column::StartedAt, Expr::value(op.started_at))
        .col_expr(operation::Column::DoneAt, Expr::value(op.done_at))
        .col_expr(operation::Column::ByStaff, Expr::value(op.by.map(|s| s.0)))
        .col_expr(operation::Column::Version, Expr::value(op.version + 1))
        .filter(operation::Column::Id.eq(op.id.0))
        .filter(operation::Column::Version.eq(op.version))
        .exec(tx)
        .await?;
    exactly_one("this operation", done.rows_affected)
}

/// Pins an operation to a place in the plan, or lets it go again.
pub async fn pin(tx: &WriteTx, op: &Operation, pin: Option<&Pin>) -> Result<()> {
    let done = operation::Entity::update_many()
        .col_expr(operation::Column::Pin, Expr::value(json::write_some("operation.pin", pin)?))
        .col_expr(operation::Column::Version, Expr::value(op.version + 1))
        .filter(operation::Column::Id.eq(op.id.0))
        .filter(operation::Column::Version.eq(op.version))
        .exec(tx)
        .await?;
    exactly_one("this operation", done.rows_affected)
}

/// One operation.
pub async fn get(db: &impl ConnectionTrait, id: OperationId) -> Result<Option<Operation>> {
    operation::Entity::find_by_id(id.0).one(db).await?.map(read).transpose()
}

/// The operations of one piece in order, dropped ones left out.
pub async fn of_piece(db: &impl ConnectionTrait, piece: PieceId) -> Result<Vec<Operation>> {
    let rows = operation::Entity::find()
        .filter(operation::Column::PieceId.eq(piece.0))
        .filter(operation::Column::State.ne(OperationState::Dropped.code()))
        .order_by_asc(operation::Column::Position)
        .all(db)
        .await?;
    rows.into_iter().map(read).collect()
}

/// The operations (dropped ones left out) of every piece that still has work ahead, with their pins, piece by piece in order.
pub async fn ahead(db: &impl ConnectionTrait) -> Result<Vec<(Operation, Option<Pin>)>> {
    let busy = piece::Entity::find()
        .select_only()
        .column(piece::Column::Id)
        .filter(
            piece::Column::State
                .is_in(PieceState::ALL.iter().filter(|s| s.has_work_ahead()).map(|s| s.code())),
        )
        .into_query();
    let rows = operation::Entity::find()
        .filter(operation::Column::PieceId.in_subquery(busy))
        .filter(operation::Column::State.ne(OperationState::Dropped.code()))
        .order_by_asc(operation::Column::PieceId)
        .order_by_asc(operation::Column::Position)
        .all(db)
        .await?;
    rows.into_iter()
        .map(|row| {
            let pin = json::read_some("operation.pin", row.pin.clone())?;
            Ok((read(row)?, pin))
        })
        .collect()
}

/// Until when a piece's next operation was put off, unless work on the piece is going on.
pub fn put_off(route: &[&(Operation, Option<Pin>)]) -> Option<DateTime<Utc>> {
    let ahead = |op: &&&(Operation, Option<Pin>)| !matches!(op.0.state, OperationState::Done);
    let (next, _) = route.iter().find(ahead)?;
    next.step.not_before.filter(|_| next.state == OperationState::Open)
}

/// Operations done since `since`, with who did them: for figures and learned minutes.
pub async fn done_since(db: &impl ConnectionTrait, since: DateTime<Utc>) -> Result<Vec<Operation>> {
    let rows = operation::Entity::find()
        .filter(operation::Column::State.eq(OperationState::Done.code()))
        .filter(operation::Column::DoneAt.gte(since))
        .order_by_asc(operation::Column::DoneAt)
        .all(db)
        .await?;
    rows.into_iter().map(read).collect()
}

fn read(row: operation::Model) -> Result<Operation> {
    let state = OperationState::parse(&row.state).ok_or_else(|| StoreError::Unreadable {
        what: "operation.state",
        why: format!("unknown word {:?}", row.state),
    })?;
    Ok(Operation {
        id: OperationId(row.id),
        piece: PieceId(row.piece_id),
        position: row.position.cast_unsigned(),
        step: json::read("operation.step", row.step)?,
        estimated: row.estimated,
        state,
        started_at: row.started_at,
        done_at: row.done_at,
        by: row.by_staff.map(StaffId),
        pinned: row.pin.is_some_and(|pin| pin != serde_json::Value::Null),
        version: row.version,
    })
}

//! Work that one server does for all of them: whoever holds the lease does it, and says again and again that it still
//! lives. A lease nobody renewed is free for the next one.

use chrono::{DateTime, Utc};
use sea_orm::sea_query::{Expr, OnConflict};
use sea_orm::{ColumnTrait, Condition, EntityTrait, QueryFilter, Set};
use uuid::Uuid;

use super::entities::lease;
use super::{Result, WriteTx};

/// Takes or renews a lease until `until`. False: another server holds it.
pub async fn take(
    tx: &WriteTx,
    name: &str,
    holder: Uuid,
    now: DateTime<Utc>,
    until: DateTime<Utc>,
) -> Result<bool> {
    let free = Condition::any().add(lease::Column::Holder.eq(holder)).add(lease::Column::HeldUntil.lte(now));
    let renewed = lease::Entity::update_many()
        .col_expr(lease::Column::Holder, Expr::value(holder))
        .col_expr(lease::Column::HeldUntil, Expr::value(until))
        .filter(lease::Column::Name.eq(name))
        .filter(free)
        .exec(tx)
        .await?;
    if renewed.rows_affected == 1 {
        return Ok(true);
    }
    let row = lease::ActiveModel { name: Set(name.to_owned()), holder: Set(holder), held_until: Set(until) };
    // Two servers may both find no row; the second one then finds the first one's.
    let fresh = lease::Entity::insert(row)
        .on_conflict(OnConflict::column(lease::Column::Name).do_nothing().to_owned())
        .exec_without_returning(tx)
        .await?;
    Ok(fresh == 1)
}

/// Gives a lease back, so that the next server need not wait for its end.
pub async fn give_back(tx: &WriteTx, name: &str, holder: Uuid) -> Result<()> {
    lease::Entity::delete_many()
        .filter(lease::Column::Name.eq(name))
        .filter(lease::Column::Holder.eq(holder))
        .exec(tx)
        .await?;
    Ok(())
}

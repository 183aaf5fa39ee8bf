//! The published plans. Only the newest counts; a few older ones stay for comparison.

use chrono::{DateTime, Utc};
use sea_orm::{ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder, QuerySelect, Set};
use uuid::Uuid;

use super::entities::plan;
use super::{Result, WriteTx};

/// How many plans are kept.
const KEPT: u64 = 20;

/// A published plan; the body is the planning module's own document.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredPlan {
    /// Its id.
    pub id: Uuid,
    /// When it was made.
    pub made_at: DateTime<Utc>,
    /// The instant of its minute 0.
    pub origin: DateTime<Utc>,
    /// What the planning module wrote.
    pub body: serde_json::Value,
}

/// Publishes a plan and lets go of the oldest ones.
pub async fn publish(tx: &WriteTx, plan: &StoredPlan) -> Result<()> {
    let row = plan::ActiveModel {
        id: Set(plan.id),
        made_at: Set(plan.made_at),
        origin: Set(plan.origin),
        body: Set(plan.body.clone()),
    };
    super::insert(tx, row).await?;
    let kept: Vec<Uuid> = plan::Entity::find()
        .select_only()
        .column(plan::Column::Id)
        .order_by_desc(plan::Column::MadeAt)
        .order_by_desc(plan::Column::Id)
        .limit(KEPT)
        .into_tuple()
        .all(tx)
        .await?;
    plan::Entity::delete_many().filter(plan::Column::Id.is_not_in(kept)).exec(tx).await?;
    Ok(())
}

/// The id of the standing plan, without its body.
pub async fn latest_id(db: &impl ConnectionTrait) -> Result<Option<Uuid>> {
    Ok(plan::Entity::find()
        .select_only()
        .column(plan::Column::Id)
        .order_by_desc(plan::Column::MadeAt)
        .order_by_desc(plan::Column::Id)
        .limit(1)
        .into_tuple()
        .one(db)
        .await?)
}

/// The standing plan, if there is one.
pub async fn latest(db: &impl ConnectionTrait) -> Result<Option<StoredPlan>> {
    let row = plan::Entity::find()
        .order_by_desc(plan::Column::MadeAt)
        .order_by_desc(plan::Column::Id)
        .limit(1)
        .one(db)
        .await?;
    Ok(row.map(|row| StoredPlan { id: row.id, made_at: row.made_at, origin: row.origin, body: row.body }))
}

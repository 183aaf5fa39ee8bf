//! Checklists ticked before work began: which setup, which wheel, by whom.

use chrono::{DateTime, Utc};
use sea_orm::{ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder, Set};
use shop::ids::{StaffId, WheelId};
use uuid::Uuid;

use super::entities::setup_check;
use super::{Result, WriteTx, json};

/// One ticked checklist.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetupCheck {
    /// Its id.
    pub id: Uuid,
    /// Where.
    pub station: String,
    /// In which setup.
    pub setup: String,
    /// What runs there.
    pub wheel: Option<WheelId>,
    /// Who ticked.
    pub by: StaffId,
    /// When.
    pub at: DateTime<Utc>,
    /// The codes of what was ticked.
    pub ticks: Vec<String>,
}

/// Writes down a ticked checklist.
pub async fn insert(tx: &WriteTx, check: &SetupCheck) -> Result<()> {
    let row = setup_check::ActiveModel {
        id: Set(check.id),
        station: Set(check.station.clone()),
        setup: Set(check.setup.clone()),
        wheel_id: Set(check.wheel.map(|w| w.0)),
        by_staff: Set(check.by.0),
        at: Set(check.at),
        ticks: Set(json::write("setup_check.ticks", &check.ticks)?),
    };
    super::insert(tx, row).await
}

/// The last checklist ticked at a station.
pub async fn latest(db: &impl ConnectionTrait, station: &str) -> Result<Option<SetupCheck>> {
    let row = setup_check::Entity::find()
        .filter(setup_check::Column::Station.eq(station))
        .order_by_desc(setup_check::Column::At)
        .order_by_desc(setup_check::Column::Id)
        .one(db)
        .await?;
    row.map(|row| {
        Ok(SetupCheck {
            id: row.id,
            station: row.station,
            setup: row.setup,
            wheel: row.wheel_id.map(WheelId),
            by: StaffId(row.by_staff),
            at: row.at,
            ticks: json::read("setup_check.ticks", row.ticks)?,
        })
    })
    .transpose()
}

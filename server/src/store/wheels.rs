//! Wheels, stones and belts.

use chrono::{DateTime, Utc};
use sea_orm::sea_query::Expr;
use sea_orm::{ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder, Set};
use shop::bench::Wheel;
use shop::ids::WheelId;

use super::entities::wheel;
use super::{Result, WriteTx, exactly_one, json};

/// A wheel and the version it was read at.
#[derive(Debug, Clone, PartialEq)]
pub struct KnownWheel {
    /// The wheel.
    pub wheel: Wheel,
    /// Give this back when saving.
    pub version: i64,
}

/// Adds a wheel.
pub async fn insert(tx: &WriteTx, new: &Wheel) -> Result<()> {
    let row = wheel::ActiveModel {
        id: Set(new.id.0),
        mark: Set(new.mark.clone()),
        station: Set(new.station.clone()),
        setup: Set(new.setup.clone()),
        body: Set(json::write("wheel.body", new)?),
        retired_at: Set(None),
        version: Set(1),
    };
    super::insert(tx, row).await
}

/// All wheels in use, by mark.
pub async fn in_use(db: &impl ConnectionTrait) -> Result<Vec<KnownWheel>> {
    let rows = wheel::Entity::find()
        .filter(wheel::Column::RetiredAt.is_null())
        .order_by_asc(wheel::Column::Mark)
        .all(db)
        .await?;
    rows.into_iter().map(read).collect()
}

/// All wheels with the day each was taken out of use, those in use first, then by mark.
pub async fn all(db: &impl ConnectionTrait) -> Result<Vec<(KnownWheel, Option<DateTime<Utc>>)>> {
    let rows = wheel::Entity::find().order_by_asc(wheel::Column::Mark).all(db).await?;
    let mut wheels = Vec::with_capacity(rows.len());
    for row in rows {
        let retired_at = row.retired_at;
        wheels.push((read(row)?, retired_at));
    }
    wheels.sort_by_key(|(_, retired_at)| retired_at.is_some());
    Ok(wheels)
}

/// The wheels in use for one setup of a station.
pub async fn for_setup(db: &impl ConnectionTrait, station: &str, setup: &str) -> Result<Vec<KnownWheel>> {
    let rows = wheel::Entity::find()
        .filter(wheel::Column::RetiredAt.is_null())
        .filter(wheel::Column::Station.eq(station))
        .filter(wheel::Column::Setup.eq(setup))
        .order_by_asc(wheel::Column::Mark)
        .all(db)
        .await?;
    rows.into_iter().map(read).collect()
}

/// One wheel, retired or not.
pub async fn get(db: &impl ConnectionTrait, id: WheelId) -> Result<Option<KnownWheel>> {
    wheel::Entity::find_by_id(id.0).one(db).await?.map(read).transpose()
}

/// Writes a changed wheel back; `retired_at` takes it out of use.
pub async fn save(tx: &WriteTx, known: &KnownWheel, retired_at: Option<DateTime<Utc>>) -> Result<()> {
    let done = wheel::Entity::update_many()
        .col_expr(wheel::Column::Mark, Expr::value(known.wheel.mark.clone()))
        .col_expr(wheel::Column::Station, Expr::value(known.wheel.station.clone()))
        .col_expr(wheel::Column::Setup, Expr::value(known.wheel.setup.clone()))
        .col_expr(wheel::Column::Body, Expr::value(json::write("wheel.body", &known.wheel)?))
        .col_expr(wheel::Column::RetiredAt, Expr::value(retired_at))
        .col_expr(wheel::Column::Version, Expr::value(known.version + 1))
        .filter(wheel::Column::Id.eq(known.wheel.id.0))
        .filter(wheel::Column::Version.eq(known.version))
        .exec(tx)
        .await?;
    exactly_one("this wheel", done.rows_affected)
}

fn read(row: wheel::Model) -> Result<KnownWheel> {
    Ok(KnownWheel { wheel: json::read("wheel.body", row.body)?, version: row.version })
}

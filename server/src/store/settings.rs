//! The shop's settings: one JSON document per subject, each with a version so that two people who edit the
//! same one cannot overwrite each other in silence.

use chrono::{DateTime, Utc};
use sea_orm::sea_query::{Expr, OnConflict};
use sea_orm::{ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, Set, TryInsertResult};
use serde::Serialize;
use serde::de::DeserializeOwned;
use uuid::Uuid;

use super::entities::setting;
use super::{Result, StoreError, WriteTx, exactly_one};

/// A type that is kept as one settings document.
pub trait Document: Serialize + DeserializeOwned {
    /// The document's name in the table; never changed once released.
    const NAME: &'static str;
}

/// A document and the version it was read at. Version 0 was never written.
#[derive(Debug, Clone, PartialEq)]
pub struct Versioned<T> {
    /// The document.
    pub value: T,
    /// Give this back when writing.
    pub version: i64,
}

/// Reads a document, if it was ever written.
pub async fn get<T: Document>(db: &impl ConnectionTrait) -> Result<Option<Versioned<T>>> {
    let Some(row) = setting::Entity::find_by_id(T::NAME.to_owned()).one(db).await? else {
        return Ok(None);
    };
    let value = serde_json::from_value(row.doc)
        .map_err(|error| StoreError::Unreadable { what: T::NAME, why: error.to_string() })?;
    Ok(Some(Versioned { value, version: row.version }))
}

/// Who wrote a document last and when; `None`: it was never written.
pub async fn last_change<T: Document>(
    db: &impl ConnectionTrait,
) -> Result<Option<(DateTime<Utc>, Option<Uuid>)>> {
    let row = setting::Entity::find_by_id(T::NAME.to_owned()).one(db).await?;
    Ok(row.map(|row| (row.changed_at, row.changed_by)))
}

/// Reads a document, or its default when it was never written.
pub async fn get_or_default<T: Document + Default>(db: &impl ConnectionTrait) -> Result<Versioned<T>> {
    Ok(get(db).await?.unwrap_or_else(|| Versioned { value: T::default(), version: 0 }))
}

/// Writes a document that was read at `version` (0: never written). [`StoreError::Stale`] when somebody else
/// has written it since. `by` is who did it, if a person did. Gives the new version.
pub async fn put<T: Document>(
    tx: &WriteTx,
    value: &T,
    version: i64,
    by: Option<Uuid>,
    now: DateTime<Utc>,
) -> Result<i64> {
    let doc = serde_json::to_value(value)
        .map_err(|error| StoreError::Unreadable { what: T::NAME, why: error.to_string() })?;
    if version == 0 {
        let row = setting::ActiveModel {
            name: Set(T::NAME.to_owned()),
            doc: Set(doc),
            version: Set(1),
            changed_at: Set(now),
            changed_by: Set(by),
        };
        let inserted = setting::Entity::insert(row)
            .on_conflict(OnConflict::column(setting::Column::Name).do_nothing().to_owned())
            .on_conflict_do_nothing()
            .exec_without_returning(tx)
            .await?;
        let rows = u64::from(matches!(inserted, TryInsertResult::Inserted(1)));
        exactly_one(T::NAME, rows)?;
        return Ok(1);
    }
    let done = setting::Entity::update_many()
        .col_expr(setting::Column::Doc, Expr::value(doc))
        .col_expr(setting::Column::Version, Expr::value(version + 1))
        .col_expr(setting::Column::ChangedAt, Expr::value(now))
        .col_expr(setting::Column::ChangedBy, Expr::value(by))
        .filter(setting::Column::Name.eq(T::NAME))
        .filter(setting::Column::Version.eq(version))
        .exec(tx)
        .await?;
    exactly_one(T::NAME, done.rows_affected)?;
    Ok(version + 1)
}

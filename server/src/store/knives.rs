//! Knives over all their visits, and the models they are made after.

use chrono::{DateTime, Utc};
use sea_orm::sea_query::{Expr, ExprTrait};
use sea_orm::{ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder, Set};
use shop::bench::Model;
use shop::ids::{CustomerId, KnifeId, ModelId};
use shop::inspection::Inspection;
use shop::read::Knife;
use shop::tag::Tag;

use super::entities::{knife, model};
use super::{Result, WriteTx, exactly_one, json};

/// A knife to be added.
#[derive(Debug, Clone)]
pub struct NewKnife {
    /// A fresh id.
    pub id: KnifeId,
    /// Its tag.
    pub tag: Tag,
    /// What it is called.
    pub name: String,
    /// Our model, if it is one.
    pub model: Option<ModelId>,
    /// Whose it is.
    pub owner: Option<CustomerId>,
}

/// Adds a knife.
pub async fn insert(tx: &WriteTx, new: NewKnife, now: DateTime<Utc>) -> Result<()> {
    let row = knife::ActiveModel {
        id: Set(new.id.0),
        tag: Set(new.tag.plain()),
        name: Set(new.name),
        model_id: Set(new.model.map(|m| m.0)),
        owner_id: Set(new.owner.map(|c| c.0)),
        latest: Set(None),
        made_at: Set(now),
        version: Set(1),
    };
    row.insert(tx).await?;
    Ok(())
}

/// Remembers the latest measures of a knife.
pub async fn set_latest(tx: &WriteTx, id: KnifeId, latest: &Inspection) -> Result<()> {
    let done = knife::Entity::update_many()
        .col_expr(knife::Column::Latest, Expr::value(json::write("knife.latest", latest)?))
        .col_expr(knife::Column::Version, Expr::col(knife::Column::Version).add(1))
        .filter(knife::Column::Id.eq(id.0))
        .exec(tx)
        .await?;
    exactly_one("this knife", done.rows_affected)
}

/// Says whose a knife is from now on.
pub async fn set_owner(tx: &WriteTx, id: KnifeId, owner: CustomerId) -> Result<()> {
    let done = knife::Entity::update_many()
        .col_expr(knife::Column::OwnerId, Expr::value(owner.0))
        .col_expr(knife::Column::Version, Expr::col(knife::Column::Version).add(1))
        .filter(knife::Column::Id.eq(id.0))
        .exec(tx)
        .await?;
    exactly_one("this knife", done.rows_affected)
}

/// One knife; its heights are in the ledger ([`super::ledger::heights`]).
pub async fn get(db: &impl ConnectionTrait, id: KnifeId) -> Result<Option<Knife>> {
    let row = knife::Entity::find_by_id(id.0).one(db).await?;
    match row {
        None => Ok(None),
        Some(row) => Ok(Some(read(db, row).await?)),
    }
}

/// One knife by its tag.
pub async fn by_tag(db: &impl ConnectionTrait, tag: Tag) -> Result<Option<Knife>> {
    let row = knife::Entity::find().filter(knife::Column::Tag.eq(tag.plain())).one(db).await?;
    match row {
        None => Ok(None),
        Some(row) => Ok(Some(read(db, row).await?)),
    }
}

/// All knives, or those of one owner, newest first.
pub async fn list(db: &impl ConnectionTrait, owner: Option<CustomerId>) -> Result<Vec<Knife>> {
    let mut query = knife::Entity::find().order_by_desc(knife::Column::Id);
    if let Some(owner) = owner {
        query = query.filter(knife::Column::OwnerId.eq(owner.0));
    }
    let mut knives = Vec::new();
    for row in query.all(db).await? {
        knives.push(read(db, row).await?);
    }
    Ok(knives)
}

async fn read(db: &impl ConnectionTrait, row: knife::Model) -> Result<Knife> {
    let model_mark = match row.model_id {
        Some(id) => model::Entity::find_by_id(id).one(db).await?.map(|m| m.mark),
        None => None,
    };
    let id = KnifeId(row.id);
    Ok(Knife {
        id,
        tag: json::word("knife.tag", &row.tag)?,
        name: row.name,
        model_mark,
        owner: row.owner_id.map(CustomerId),
        latest: json::read_some("knife.latest", row.latest)?,
        heights: super::ledger::heights(db, id).await?,
    })
}

/// The model a knife is made after.
pub async fn model_of(db: &impl ConnectionTrait, id: KnifeId) -> Result<Option<Model>> {
    let Some(row) = knife::Entity::find_by_id(id.0).one(db).await? else { return Ok(None) };
    match row.model_id {
        None => Ok(None),
        Some(model) => self::model(db, ModelId(model)).await,
    }
}

/// All models, current ones first, then by mark.
pub async fn models(db: &impl ConnectionTrait) -> Result<Vec<Model>> {
    let rows = model::Entity::find()
        .order_by_desc(model::Column::Current)
        .order_by_asc(model::Column::Mark)
        .all(db)
        .await?;
    rows.into_iter().map(|row| read_model(row).map(|(model, _)| model)).collect()
}

/// One model.
pub async fn model(db: &impl ConnectionTrait, id: ModelId) -> Result<Option<Model>> {
    Ok(model::Entity::find_by_id(id.0).one(db).await?.map(read_model).transpose()?.map(|(model, _)| model))
}

/// One model and the version it is at.
pub async fn model_version(db: &impl ConnectionTrait, id: ModelId) -> Result<Option<(Model, i64)>> {
    model::Entity::find_by_id(id.0).one(db).await?.map(read_model).transpose()
}

/// Writes a model back that was read at `version`.
pub async fn save_model(tx: &WriteTx, changed: &Model, version: i64) -> Result<()> {
    let done = model::Entity::update_many()
        .col_expr(model::Column::Mark, Expr::value(changed.mark.clone()))
        .col_expr(model::Column::Name, Expr::value(changed.name.clone()))
        .col_expr(model::Column::Current, Expr::value(changed.current))
        .col_expr(model::Column::Drawing, Expr::value(json::write("model.drawing", &changed.drawing)?))
        .col_expr(model::Column::Version, Expr::value(version + 1))
        .filter(model::Column::Id.eq(changed.id.0))
        .filter(model::Column::Version.eq(version))
        .exec(tx)
        .await?;
    exactly_one("this model", done.rows_affected)
}

/// Adds a model.
pub async fn insert_model(tx: &WriteTx, new: &Model) -> Result<()> {
    let row = model::ActiveModel {
        id: Set(new.id.0),
        mark: Set(new.mark.clone()),
        name: Set(new.name.clone()),
        current: Set(new.current),
        drawing: Set(json::write("model.drawing", &new.drawing)?),
        version: Set(1),
    };
    row.insert(tx).await?;
    Ok(())
}

fn read_model(row: model::Model) -> Result<(Model, i64)> {
    let drawing = json::read("model.drawing", row.drawing)?;
    Ok((
        Model { id: ModelId(row.id), mark: row.mark, name: row.name, current: row.current, drawing },
        row.version,
    ))
}

/// Refuses a tag that is taken; the caller draws another.
pub async fn tag_is_taken(db: &impl ConnectionTrait, tag: Tag) -> Result<bool> {
    Ok(knife::Entity::find().filter(knife::Column::Tag.eq(tag.plain())).one(db).await?.is_some())
}

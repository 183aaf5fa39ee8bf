//! Knives over all their visits, and the models they are made after.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use sea_orm::sea_query::{Expr, ExprTrait, Func, LikeExpr};
use sea_orm::{
    ColumnTrait, Condition, ConnectionTrait, EntityTrait, PaginatorTrait, QueryFilter, QueryOrder,
    QuerySelect, Set,
};
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
    super::insert(tx, row).await
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
    let rows = knife::Entity::find_by_id(id.0).all(db).await?;
    Ok(read_all(db, rows).await?.pop())
}

/// One knife by its tag.
pub async fn by_tag(db: &impl ConnectionTrait, tag: Tag) -> Result<Option<Knife>> {
    let rows = knife::Entity::find().filter(knife::Column::Tag.eq(tag.plain())).all(db).await?;
    Ok(read_all(db, rows).await?.pop())
}

/// The knives of one owner, newest first.
pub async fn of_owner(db: &impl ConnectionTrait, owner: CustomerId) -> Result<Vec<Knife>> {
    let rows = knife::Entity::find()
        .filter(knife::Column::OwnerId.eq(owner.0))
        .order_by_desc(knife::Column::Id)
        .all(db)
        .await?;
    read_all(db, rows).await
}

/// Knives whose name, tag or model's mark holds `word` (all of them when it is empty), known for less long than `before`,
/// newest first, `n` at most. Capital and small letters count as the same.
pub async fn page(
    db: &impl ConnectionTrait,
    word: &str,
    before: Option<KnifeId>,
    n: u64,
) -> Result<Vec<Knife>> {
    let mut query = knife::Entity::find();
    if !word.is_empty() {
        // A shop's models are a handful; which of them are meant is known before the knives are looked through.
        let small = word.to_lowercase();
        let models: Vec<_> = models(db)
            .await?
            .into_iter()
            .filter(|model| model.mark.to_lowercase().contains(&small))
            .map(|model| model.id.0)
            .collect();
        let tag = word.replace('-', "").to_uppercase();
        let mut any = Condition::any().add(knife::Column::ModelId.is_in(models));
        if !tag.is_empty() {
            any = any.add(knife::Column::Tag.like(holding(&tag)));
        }
        for spelt in spellings(word) {
            any = any.add(Func::lower(Expr::col(knife::Column::Name)).like(holding(&spelt)));
        }
        query = query.filter(any);
    }
    if let Some(before) = before {
        query = query.filter(knife::Column::Id.lt(before.0));
    }
    let rows = query.order_by_desc(knife::Column::Id).limit(n).all(db).await?;
    read_all(db, rows).await
}

/// How many knives there are.
pub async fn count(db: &impl ConnectionTrait) -> Result<u64> {
    Ok(knife::Entity::find().count(db).await?)
}

/// Texts that hold this one, as it stands.
fn holding(text: &str) -> LikeExpr {
    let plain = text.replace('\\', "\\\\").replace('%', "\\%").replace('_', "\\_");
    LikeExpr::new(format!("%{plain}%")).escape('\\')
}

/// How a word may be spelt where the database makes letters small: `SQLite` does so with A to Z only, PostgreSQL as far as
/// its locale goes, so that the others are looked for small, capital, and with a capital at the beginning.
fn spellings(word: &str) -> Vec<String> {
    let small = word.to_lowercase();
    let mut letters = small.chars();
    let begun: String = letters.next().map(char::to_uppercase).into_iter().flatten().chain(letters).collect();
    let mut all = vec![small, word.to_uppercase().to_ascii_lowercase(), begun.to_ascii_lowercase()];
    all.sort_unstable();
    all.dedup();
    all
}

async fn read_all(db: &impl ConnectionTrait, rows: Vec<knife::Model>) -> Result<Vec<Knife>> {
    let of: Vec<_> = rows.iter().filter_map(|row| row.model_id).collect();
    let marks: HashMap<_, _> = if of.is_empty() {
        HashMap::new()
    } else {
        let models = model::Entity::find().filter(model::Column::Id.is_in(of)).all(db).await?;
        models.into_iter().map(|model| (model.id, model.mark)).collect()
    };
    let ids: Vec<_> = rows.iter().map(|row| KnifeId(row.id)).collect();
    let mut heights = super::ledger::heights(db, &ids).await?;
    rows.into_iter()
        .map(|row| {
            let id = KnifeId(row.id);
            Ok(Knife {
                id,
                tag: json::word("knife.tag", &row.tag)?,
                name: row.name,
                model_mark: row.model_id.and_then(|id| marks.get(&id).cloned()),
                owner: row.owner_id.map(CustomerId),
                latest: json::read_some("knife.latest", row.latest)?,
                heights: heights.remove(&id).unwrap_or_default(),
            })
        })
        .collect()
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
    super::insert(tx, row).await
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

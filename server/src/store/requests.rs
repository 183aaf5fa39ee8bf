//! A form sent twice acts once.
//!
//! Every form that makes something carries a key that was drawn when the form was shown. The use case claims
//! the key first, in the transaction that does the work, and settles it with what came out of it. The second
//! sending finds the outcome (or waits for the first one to commit) and makes nothing.

use chrono::{DateTime, Utc};
use sea_orm::sea_query::{Expr, OnConflict};
use sea_orm::{ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, Set, TryInsertResult};
use uuid::Uuid;

use super::entities::request;
use super::{Result, StoreError, WriteTx, exactly_one};

/// The key of one form, and what that form makes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RequestKey {
    what: &'static str,
    key: String,
}

impl RequestKey {
    /// Reads the key a form carried. `what` names the kind of form, so that a key never answers for another
    /// kind. `None` unless it is 16 to 64 letters, digits or dashes, as every key we draw is.
    pub fn parse(what: &'static str, text: &str) -> Option<Self> {
        let text = text.trim();
        let fits = (16..=64).contains(&text.len())
            && text.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'-');
        fits.then(|| Self { what, key: text.to_owned() })
    }

    /// A key for a form that is about to be shown: 128 random bits, since it opens the pictures of a form not yet sent.
    pub fn fresh() -> String {
        format!("{:032x}", rand::random::<u128>())
    }
}

/// What claiming a key found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Claim {
    /// This is the first time: do the work, then [`settle`].
    New,
    /// The work was done already, and this came out of it.
    Done(Uuid),
}

/// Claims a key within the transaction that does the work. On PostgreSQL a second claim waits until the first
/// one's transaction ends; on SQLite the whole transaction has waited already.
pub async fn claim(tx: &WriteTx, key: &RequestKey, now: DateTime<Utc>) -> Result<Claim> {
    let row = request::ActiveModel {
        what: Set(key.what.to_owned()),
        key: Set(key.key.clone()),
        claimed_at: Set(now),
        outcome: Set(None),
    };
    let both = [request::Column::What, request::Column::Key];
    let inserted = request::Entity::insert(row)
        .on_conflict(OnConflict::columns(both).do_nothing().to_owned())
        .on_conflict_do_nothing()
        .exec_without_returning(tx)
        .await?;
    if matches!(inserted, TryInsertResult::Inserted(1)) {
        return Ok(Claim::New);
    }
    match outcome(tx, key).await? {
        Some(outcome) => Ok(Claim::Done(outcome)),
        None => Err(StoreError::Unreadable { what: "request", why: "claimed but never settled".to_owned() }),
    }
}

/// Writes down what came out of a claimed key. Belongs right before the commit.
pub async fn settle(tx: &WriteTx, key: &RequestKey, outcome: Uuid) -> Result<()> {
    let done = request::Entity::update_many()
        .col_expr(request::Column::Outcome, Expr::value(outcome))
        .filter(request::Column::What.eq(key.what))
        .filter(request::Column::Key.eq(&key.key))
        .filter(request::Column::Outcome.is_null())
        .exec(tx)
        .await?;
    exactly_one("request", done.rows_affected)
}

/// What came out of a key, when it was used before. For answering a repeated form without doing any work.
pub async fn outcome(db: &impl ConnectionTrait, key: &RequestKey) -> Result<Option<Uuid>> {
    let row = request::Entity::find_by_id((key.what.to_owned(), key.key.clone())).one(db).await?;
    Ok(row.and_then(|row| row.outcome))
}

/// Forgets the keys claimed before `before`. A browser does not repeat a form after weeks.
pub async fn forget(tx: &WriteTx, before: DateTime<Utc>) -> Result<u64> {
    let gone = request::Entity::delete_many().filter(request::Column::ClaimedAt.lt(before)).exec(tx).await?;
    Ok(gone.rows_affected)
}

//! Private links: an address only the receiver knows. They stand in for an account.

use chrono::{DateTime, Utc};
use sea_orm::sea_query::Expr;
use sea_orm::{ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, Set};
use uuid::Uuid;

use super::entities::link;
use super::{Result, StoreError, WriteTx};
use crate::token::Token;

/// What a link lets its holder do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// See a visit, say that it was meant, answer its questions. Sent by mail only, so whoever holds it reads that mail.
    /// About a visit.
    Visit,
    /// See a visit from the browser that booked it, and nothing more: the mail address may be somebody else's. About a visit.
    Booked,
    /// See a knife's ledger. About a knife.
    Knife,
    /// Stop the reminders. About a customer.
    Unsubscribe,
    /// Opens, once, all knives of a customer. Sent by mail. About a customer.
    Once,
    /// All knives of a customer, for as long as one sits before them. About a customer.
    Mine,
}

impl Purpose {
    /// The word kept in the table.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Visit => "visit",
            Self::Booked => "booked",
            Self::Knife => "knife",
            Self::Unsubscribe => "unsubscribe",
            Self::Once => "once",
            Self::Mine => "mine",
        }
    }
}

/// What a presented link is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Found {
    /// It opens, and this is what it is about.
    Open(Uuid),
    /// It was one of ours; it is past its day or was taken back.
    Stale(Uuid),
    /// We never made it.
    Unknown,
}

/// A link that opens nothing before it is kept.
#[derive(Debug)]
pub struct Fresh {
    row: link::ActiveModel,
    token: Token,
}

impl Fresh {
    /// Draws a link.
    pub fn draw(
        id: Uuid,
        purpose: Purpose,
        about: Uuid,
        expires_at: Option<DateTime<Utc>>,
        now: DateTime<Utc>,
    ) -> Result<Self> {
        let token = Token::fresh()
            .map_err(|error| StoreError::Unreadable { what: "random source", why: error.to_string() })?;
        let row = link::ActiveModel {
            id: Set(id),
            token_sha256: Set(token.sha256()),
            purpose: Set(purpose.as_str().to_owned()),
            about: Set(about),
            made_at: Set(now),
            expires_at: Set(expires_at),
            revoked_at: Set(None),
        };
        Ok(Self { row, token })
    }

    /// The token, for what is written before the link is kept in the same transaction.
    pub fn token(&self) -> &Token {
        &self.token
    }

    /// Keeps it. The token is in the answer and nowhere else.
    pub async fn keep(self, tx: &WriteTx) -> Result<Token> {
        super::insert(tx, self.row).await?;
        Ok(self.token)
    }
}

/// Makes a link. The token is in the answer and nowhere else.
pub async fn make(
    tx: &WriteTx,
    id: Uuid,
    purpose: Purpose,
    about: Uuid,
    expires_at: Option<DateTime<Utc>>,
    now: DateTime<Utc>,
) -> Result<Token> {
    Fresh::draw(id, purpose, about, expires_at, now)?.keep(tx).await
}

/// Looks up a link as it was presented in an address.
pub async fn find(
    db: &impl ConnectionTrait,
    purpose: Purpose,
    presented: &str,
    now: DateTime<Utc>,
) -> Result<Found> {
    let Some(token) = Token::parse(presented) else {
        return Ok(Found::Unknown);
    };
    let row = link::Entity::find()
        .filter(link::Column::TokenSha256.eq(token.sha256()))
        .filter(link::Column::Purpose.eq(purpose.as_str()))
        .one(db)
        .await?;
    Ok(match row {
        None => Found::Unknown,
        Some(row) if row.revoked_at.is_some() => Found::Stale(row.about),
        Some(row) if row.expires_at.is_some_and(|end| end <= now) => Found::Stale(row.about),
        Some(row) => Found::Open(row.about),
    })
}

/// Uses up a link that opens once: whoever comes second finds it shut. `None`: it does not open.
pub async fn use_up(
    tx: &WriteTx,
    purpose: Purpose,
    presented: &str,
    now: DateTime<Utc>,
) -> Result<Option<Uuid>> {
    let Found::Open(about) = find(tx, purpose, presented, now).await? else { return Ok(None) };
    let Some(token) = Token::parse(presented) else { return Ok(None) };
    let done = link::Entity::update_many()
        .col_expr(link::Column::RevokedAt, Expr::value(now))
        .filter(link::Column::TokenSha256.eq(token.sha256()))
        .filter(link::Column::RevokedAt.is_null())
        .exec(tx)
        .await?;
    Ok((done.rows_affected == 1).then_some(about))
}

/// Takes back every open link of one purpose about one thing. Says how many there were.
pub async fn revoke(tx: &WriteTx, purpose: Purpose, about: Uuid, now: DateTime<Utc>) -> Result<u64> {
    let done = link::Entity::update_many()
        .col_expr(link::Column::RevokedAt, Expr::value(now))
        .filter(link::Column::Purpose.eq(purpose.as_str()))
        .filter(link::Column::About.eq(about))
        .filter(link::Column::RevokedAt.is_null())
        .exec(tx)
        .await?;
    Ok(done.rows_affected)
}

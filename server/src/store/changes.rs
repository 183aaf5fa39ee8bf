//! Who changed what in the shop's set-up: prices, wheels, models, stations, people. Only added to.

use chrono::{DateTime, Utc};
use sea_orm::{ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder, QuerySelect, Set};
use uuid::Uuid;

use super::entities::shop_change;
use super::{Result, WriteTx, id_at, json};

/// What a change was about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Subject {
    /// Name, place, rules, texts.
    Profile,
    /// Opening and working hours.
    Hours,
    /// Prices and tax.
    Prices,
    /// A model.
    Model,
    /// A wheel, stone or belt.
    Wheel,
    /// Steels of the shop's own.
    Steels,
    /// Stations and changeovers.
    Bench,
    /// People.
    Crew,
    /// What the ledger has taught.
    Typical,
    /// A customer's wish: erased or exported.
    Customer,
}

impl Subject {
    /// The word kept in the table.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Profile => "profile",
            Self::Hours => "hours",
            Self::Prices => "prices",
            Self::Model => "model",
            Self::Wheel => "wheel",
            Self::Steels => "steels",
            Self::Bench => "bench",
            Self::Crew => "crew",
            Self::Typical => "typical",
            Self::Customer => "customer",
        }
    }
}

/// One change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// What it was about, as one word.
    pub subject: String,
    /// Which one, when there are several.
    pub about: Option<Uuid>,
    /// What changed, a line each.
    pub lines: Vec<String>,
    /// Who did it; `None`: the program.
    pub by: Option<Uuid>,
    /// When.
    pub at: DateTime<Utc>,
}

/// Writes a change down, in the transaction that makes it.
pub async fn add(
    tx: &WriteTx,
    subject: Subject,
    about: Option<Uuid>,
    lines: &[String],
    by: Option<Uuid>,
    now: DateTime<Utc>,
) -> Result<()> {
    let row = shop_change::ActiveModel {
        id: Set(id_at(now)),
        subject: Set(subject.code().to_owned()),
        about: Set(about),
        lines: Set(json::write("shop_change.lines", &lines)?),
        by_staff: Set(by),
        at: Set(now),
    };
    super::insert(tx, row).await
}

/// The latest changes, newest first, `n` at most: of everything, of one subject, or of one thing.
pub async fn latest(
    db: &impl ConnectionTrait,
    subject: Option<Subject>,
    about: Option<Uuid>,
    n: u64,
) -> Result<Vec<Change>> {
    let mut query = shop_change::Entity::find();
    if let Some(subject) = subject {
        query = query.filter(shop_change::Column::Subject.eq(subject.code()));
    }
    if let Some(about) = about {
        query = query.filter(shop_change::Column::About.eq(about));
    }
    let rows = query
        .order_by_desc(shop_change::Column::At)
        .order_by_desc(shop_change::Column::Id)
        .limit(n)
        .all(db)
        .await?;
    rows.into_iter()
        .map(|row| {
            Ok(Change {
                subject: row.subject,
                about: row.about,
                lines: json::read("shop_change.lines", row.lines)?,
                by: row.by_staff,
                at: row.at,
            })
        })
        .collect()
}

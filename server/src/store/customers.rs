//! The people who bring or send knives.

use chrono::{DateTime, Utc};
use sea_orm::{ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder, Set};
use shop::booking::Person;
use shop::ids::CustomerId;
use shop::lang::Lang;
use shop::read::Contact;
use std::collections::HashMap;

use super::entities::customer;
use super::{Result, WriteTx, json};

/// Adds a person.
pub async fn insert(
    tx: &WriteTx,
    id: CustomerId,
    person: &Person,
    language: Lang,
    now: DateTime<Utc>,
) -> Result<()> {
    let row = customer::ActiveModel {
        id: Set(id.0),
        name: Set(person.name.clone()),
        email: Set(person.email.clone()),
        phone: Set(person.phone.clone()),
        address: Set(json::write_some("customer.address", person.address.as_ref())?),
        made_at: Set(now),
        erased_at: Set(None),
        language: Set(language.code().to_owned()),
        remind_since: Set(None),
        reminded_at: Set(None),
        version: Set(1),
    };
    super::insert(tx, row).await
}

/// Everybody with this mail address, compared without regard to case, oldest first. Somebody who has booked and not yet
/// confirmed stands here by themselves: anybody can type any address.
pub async fn all_by_email(db: &impl ConnectionTrait, email: &str) -> Result<Vec<CustomerId>> {
    use sea_orm::sea_query::{Expr, ExprTrait, Func};
    let rows = customer::Entity::find()
        .filter(Func::lower(Expr::col(customer::Column::Email)).eq(email.to_lowercase()))
        .filter(customer::Column::ErasedAt.is_null())
        .order_by_asc(customer::Column::MadeAt)
        .all(db)
        .await?;
    Ok(rows.into_iter().map(|row| CustomerId(row.id)).collect())
}

/// The oldest person with this mail address, compared without regard to case.
pub async fn by_email(db: &impl ConnectionTrait, email: &str) -> Result<Option<CustomerId>> {
    Ok(all_by_email(db, email).await?.into_iter().next())
}

/// Brings name, telephone and address up to what was typed last; an address is kept when none was given.
pub async fn update(tx: &WriteTx, id: CustomerId, person: &Person) -> Result<()> {
    let Some(row) = customer::Entity::find_by_id(id.0).one(tx).await? else { return Ok(()) };
    let version = row.version;
    let mut row: customer::ActiveModel = row.into();
    row.name = Set(person.name.clone());
    if !person.phone.is_empty() {
        row.phone = Set(person.phone.clone());
    }
    if person.address.is_some() {
        row.address = Set(json::write_some("customer.address", person.address.as_ref())?);
    }
    row.version = Set(version + 1);
    row.update(tx).await?;
    Ok(())
}

/// Takes out somebody who turned out to be known already; their visits must have been given to the other one before.
pub async fn remove(tx: &WriteTx, id: CustomerId) -> Result<()> {
    customer::Entity::delete_by_id(id.0).exec(tx).await?;
    Ok(())
}

/// Somebody who asked to be reminded.
#[derive(Debug, Clone, PartialEq)]
pub struct Reminded {
    /// Who.
    pub id: CustomerId,
    /// How to reach them.
    pub contact: Contact,
    /// In which language.
    pub language: Lang,
    /// When they were reminded last.
    pub last: Option<DateTime<Utc>>,
}

/// Everybody who asked to be reminded and can be reached.
pub async fn to_remind(db: &impl ConnectionTrait) -> Result<Vec<Reminded>> {
    let rows = customer::Entity::find()
        .filter(customer::Column::RemindSince.is_not_null())
        .filter(customer::Column::ErasedAt.is_null())
        .order_by_asc(customer::Column::Id)
        .all(db)
        .await?;
    rows.into_iter().map(reminded).collect()
}

/// The same of one person; `None` when they did not ask for it.
pub async fn reminder_of(db: &impl ConnectionTrait, id: CustomerId) -> Result<Option<Reminded>> {
    let row = customer::Entity::find_by_id(id.0).one(db).await?;
    row.filter(|row| row.remind_since.is_some() && row.erased_at.is_none()).map(reminded).transpose()
}

fn reminded(row: customer::Model) -> Result<Reminded> {
    Ok(Reminded {
        id: CustomerId(row.id),
        language: Lang::parse(&row.language).unwrap_or_default(),
        last: row.reminded_at,
        contact: contact(row)?,
    })
}

/// Turns reminders on (`Some`) or off.
pub async fn set_remind(tx: &WriteTx, id: CustomerId, since: Option<DateTime<Utc>>) -> Result<()> {
    change(tx, id, |row| row.remind_since = Set(since)).await
}

/// Writes down that a reminder was sent.
pub async fn was_reminded(tx: &WriteTx, id: CustomerId, now: DateTime<Utc>) -> Result<()> {
    change(tx, id, |row| row.reminded_at = Set(Some(now))).await
}

/// Remembers the language somebody used last.
pub async fn set_language(tx: &WriteTx, id: CustomerId, language: Lang) -> Result<()> {
    change(tx, id, |row| row.language = Set(language.code().to_owned())).await
}

async fn change(tx: &WriteTx, id: CustomerId, f: impl FnOnce(&mut customer::ActiveModel)) -> Result<()> {
    let Some(row) = customer::Entity::find_by_id(id.0).one(tx).await? else { return Ok(()) };
    let version = row.version;
    let mut row: customer::ActiveModel = row.into();
    f(&mut row);
    row.version = Set(version + 1);
    row.update(tx).await?;
    Ok(())
}

/// The language somebody used last.
pub async fn language(db: &impl ConnectionTrait, id: CustomerId) -> Result<Lang> {
    let row = customer::Entity::find_by_id(id.0).one(db).await?;
    Ok(row.and_then(|row| Lang::parse(&row.language)).unwrap_or_default())
}

/// How to reach somebody.
pub async fn get(db: &impl ConnectionTrait, id: CustomerId) -> Result<Option<Contact>> {
    customer::Entity::find_by_id(id.0).one(db).await?.map(contact).transpose()
}

/// How to reach several people.
pub(super) async fn get_all(
    db: &impl ConnectionTrait,
    ids: impl IntoIterator<Item = uuid::Uuid>,
) -> Result<HashMap<uuid::Uuid, Contact>> {
    let rows = customer::Entity::find().filter(customer::Column::Id.is_in(ids)).all(db).await?;
    rows.into_iter().map(|row| Ok((row.id, contact(row)?))).collect()
}

fn contact(row: customer::Model) -> Result<Contact> {
    Ok(Contact {
        name: row.name,
        email: row.email,
        phone: row.phone,
        address: json::read_some("customer.address", row.address)?,
    })
}

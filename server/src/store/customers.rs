//! The people who bring or send knives.

use chrono::{DateTime, Utc};
use sea_orm::{ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder, Set};
use shop::booking::Person;
use shop::ids::CustomerId;
use shop::read::Contact;
use std::collections::HashMap;

use super::entities::customer;
use super::{Result, WriteTx, json};

/// Adds a person.
pub async fn insert(tx: &WriteTx, id: CustomerId, person: &Person, now: DateTime<Utc>) -> Result<()> {
    let row = customer::ActiveModel {
        id: Set(id.0),
        name: Set(person.name.clone()),
        email: Set(person.email.clone()),
        phone: Set(person.phone.clone()),
        address: Set(json::write_some("customer.address", person.address.as_ref())?),
        made_at: Set(now),
        erased_at: Set(None),
        version: Set(1),
    };
    row.insert(tx).await?;
    Ok(())
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

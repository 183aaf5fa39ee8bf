//! Visits with their pieces.
//!
//! A use case reads a [`Visit`], changes it and gives it back to [`save`]; the version makes sure that nobody else has
//! saved it in between. Pieces are saved by themselves ([`super::pieces::save`]).

use chrono::{DateTime, NaiveDateTime, Utc};
use sea_orm::sea_query::{Expr, ExprTrait};
use sea_orm::{
    ColumnTrait, Condition, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder, QuerySelect, QueryTrait,
    Set,
};
use shop::booking::Arrival;
use shop::ids::{CustomerId, VisitId};
use shop::lang::Lang;
use shop::money::Money;
use shop::piece::PieceState;
use shop::profile::Profile;
use shop::read::Visit;
use shop::tag::Reference;

use super::entities::{piece, setting, visit};
use super::settings::Document as _;
use super::{Result, StoreError, WriteTx, customers, exactly_one, json, pieces};

const SLOT: &str = "%Y-%m-%dT%H:%M";

/// Adds a visit (its pieces are added with [`pieces::insert`]).
pub async fn insert(tx: &WriteTx, visit: &Visit, begin_early: bool) -> Result<()> {
    let (arrival, slot) = arrival_columns(&visit.arrival);
    let row = visit::ActiveModel {
        id: Set(visit.id.0),
        reference: Set(visit.reference.plain()),
        customer_id: Set(visit.customer.0),
        arrival: Set(arrival),
        slot: Set(slot),
        back_by_post: Set(visit.back_by_post),
        declared_minor: Set(visit.declared.0),
        rush: Set(visit.rush),
        recycle_refused: Set(visit.recycle_refused),
        begin_early: Set(begin_early),
        promise_at: Set(visit.promise_at),
        booked_at: Set(visit.booked_at),
        confirmed_at: Set(visit.confirmed_at),
        cancelled_at: Set(visit.cancelled_at),
        received_at: Set(visit.received_at),
        ready_at: Set(visit.ready_at),
        carrier: Set(visit.parcel.as_ref().map(|p| p.0.clone())),
        parcel_number: Set(visit.parcel.as_ref().map(|p| p.1.clone())),
        paid_minor: Set(visit.paid.as_ref().map(|p| p.0.0)),
        paid_how: Set(visit.paid.as_ref().map(|p| p.1.clone())),
        paid_at: Set(None),
        language: Set(visit.language.code().to_owned()),
        complaint_of: Set(visit.complaint_of.map(|id| id.0)),
        version: Set(1),
    };
    super::insert(tx, row).await
}

/// Writes a changed visit back. [`StoreError::Stale`] when somebody was quicker.
pub async fn save(tx: &WriteTx, visit: &Visit, now: DateTime<Utc>) -> Result<()> {
    let (arrival, slot) = arrival_columns(&visit.arrival);
    // The first saving that finds it paid says when.
    let paid_at = match &visit.paid {
        None => Expr::value(Option::<DateTime<Utc>>::None),
        Some(_) => Expr::col(visit::Column::PaidAt).if_null(now),
    };
    let done = visit::Entity::update_many()
        .col_expr(visit::Column::Arrival, Expr::value(arrival))
        .col_expr(visit::Column::Slot, Expr::value(slot))
        .col_expr(visit::Column::BackByPost, Expr::value(visit.back_by_post))
        .col_expr(visit::Column::DeclaredMinor, Expr::value(visit.declared.0))
        .col_expr(visit::Column::Rush, Expr::value(visit.rush))
        .col_expr(visit::Column::RecycleRefused, Expr::value(visit.recycle_refused))
        .col_expr(visit::Column::PromiseAt, Expr::value(visit.promise_at))
        .col_expr(visit::Column::ConfirmedAt, Expr::value(visit.confirmed_at))
        .col_expr(visit::Column::CancelledAt, Expr::value(visit.cancelled_at))
        .col_expr(visit::Column::ReceivedAt, Expr::value(visit.received_at))
        .col_expr(visit::Column::ReadyAt, Expr::value(visit.ready_at))
        .col_expr(visit::Column::Carrier, Expr::value(visit.parcel.as_ref().map(|p| p.0.clone())))
        .col_expr(visit::Column::ParcelNumber, Expr::value(visit.parcel.as_ref().map(|p| p.1.clone())))
        .col_expr(visit::Column::PaidMinor, Expr::value(visit.paid.as_ref().map(|p| p.0.0)))
        .col_expr(visit::Column::PaidHow, Expr::value(visit.paid.as_ref().map(|p| p.1.clone())))
        .col_expr(visit::Column::PaidAt, paid_at)
        .col_expr(visit::Column::Version, Expr::value(visit.version + 1))
        .filter(visit::Column::Id.eq(visit.id.0))
        .filter(visit::Column::Version.eq(visit.version))
        .exec(tx)
        .await?;
    exactly_one("this visit", done.rows_affected)
}

fn arrival_columns(arrival: &Arrival) -> (String, Option<String>) {
    match arrival {
        Arrival::Post => ("post".to_owned(), None),
        Arrival::Counter { slot } => ("counter".to_owned(), Some(slot.format(SLOT).to_string())),
    }
}

/// One visit.
pub async fn get(db: &impl ConnectionTrait, id: VisitId) -> Result<Option<Visit>> {
    let rows = visit::Entity::find_by_id(id.0).all(db).await?;
    Ok(with_pieces(db, rows).await?.pop())
}

/// One visit by its reference.
pub async fn by_reference(db: &impl ConnectionTrait, reference: Reference) -> Result<Option<Visit>> {
    let rows = visit::Entity::find().filter(visit::Column::Reference.eq(reference.plain())).all(db).await?;
    Ok(with_pieces(db, rows).await?.pop())
}

/// Whether a reference is taken.
pub async fn reference_is_taken(db: &impl ConnectionTrait, reference: Reference) -> Result<bool> {
    let row = visit::Entity::find().filter(visit::Column::Reference.eq(reference.plain())).one(db).await?;
    Ok(row.is_some())
}

/// All visits that are not over: at least one piece is not home, and they are not called off. Oldest promise first.
pub async fn open(db: &impl ConnectionTrait) -> Result<Vec<Visit>> {
    let over = PieceState::OVER.iter().map(|s| s.code());
    let busy = piece::Entity::find()
        .select_only()
        .column(piece::Column::VisitId)
        .filter(piece::Column::State.is_not_in(over))
        .into_query();
    let rows = visit::Entity::find()
        .filter(
            Condition::all()
                .add(visit::Column::Id.in_subquery(busy))
                .add(visit::Column::CancelledAt.is_null()),
        )
        .order_by_asc(visit::Column::PromiseAt)
        .order_by_asc(visit::Column::Id)
        .all(db)
        .await?;
    with_pieces(db, rows).await
}

/// All visits of one customer, newest first.
pub async fn of_customer(db: &impl ConnectionTrait, customer: CustomerId) -> Result<Vec<Visit>> {
    let rows = visit::Entity::find()
        .filter(visit::Column::CustomerId.eq(customer.0))
        .order_by_desc(visit::Column::BookedAt)
        .all(db)
        .await?;
    with_pieces(db, rows).await
}

/// The visit that was booked last.
pub async fn newest(db: &impl ConnectionTrait) -> Result<Option<Visit>> {
    let rows = visit::Entity::find().order_by_desc(visit::Column::BookedAt).limit(1).all(db).await?;
    Ok(with_pieces(db, rows).await?.pop())
}

/// The visit that is a complaint about this one, the newest if there are several.
pub async fn complaint_of(db: &impl ConnectionTrait, id: VisitId) -> Result<Option<Visit>> {
    let rows = visit::Entity::find()
        .filter(visit::Column::ComplaintOf.eq(id.0))
        .order_by_asc(visit::Column::BookedAt)
        .all(db)
        .await?;
    Ok(with_pieces(db, rows).await?.pop())
}

/// Counter slots already taken at or after `from` (local time), each as often as it is taken.
pub async fn slots_taken(db: &impl ConnectionTrait, from: NaiveDateTime) -> Result<Vec<NaiveDateTime>> {
    let slots: Vec<Option<String>> = visit::Entity::find()
        .select_only()
        .column(visit::Column::Slot)
        .filter(visit::Column::Slot.gte(from.format(SLOT).to_string()))
        .filter(visit::Column::CancelledAt.is_null())
        .into_tuple()
        .all(db)
        .await?;
    slots.into_iter().flatten().map(|slot| read_slot(&slot)).collect()
}

/// Makes everybody else who wants a counter slot wait until this transaction ends, so that counting the taken ones and
/// taking one is a single step. `SQLite` lets one writer in at a time anyway; on PostgreSQL the row of the shop's rules,
/// which says how many fit into a slot, is held.
pub async fn hold_slots(tx: &WriteTx) -> Result<()> {
    setting::Entity::update_many()
        .col_expr(setting::Column::Version, Expr::col(setting::Column::Version))
        .filter(setting::Column::Name.eq(Profile::NAME))
        .exec(tx)
        .await?;
    Ok(())
}

/// Says that a visit is another customer's: the same person, met before under the same mail address.
pub async fn give_to(tx: &WriteTx, visit: &mut Visit, customer: CustomerId) -> Result<()> {
    let done = visit::Entity::update_many()
        .col_expr(visit::Column::CustomerId, Expr::value(customer.0))
        .col_expr(visit::Column::Version, Expr::value(visit.version + 1))
        .filter(visit::Column::Id.eq(visit.id.0))
        .filter(visit::Column::Version.eq(visit.version))
        .exec(tx)
        .await?;
    exactly_one("this visit", done.rows_affected)?;
    visit.customer = customer;
    visit.version += 1;
    Ok(())
}

/// The language of a visit's page and notices from now on. Not a change of the visit that anybody could overwrite.
pub async fn set_language(tx: &WriteTx, id: VisitId, language: Lang) -> Result<()> {
    let done = visit::Entity::update_many()
        .col_expr(visit::Column::Language, Expr::value(language.code()))
        .filter(visit::Column::Id.eq(id.0))
        .exec(tx)
        .await?;
    exactly_one("this visit", done.rows_affected)
}

/// Whether the customer asked expressly that work begins early.
pub async fn begins_early(db: &impl ConnectionTrait, id: VisitId) -> Result<bool> {
    Ok(visit::Entity::find_by_id(id.0).one(db).await?.is_some_and(|row| row.begin_early))
}

fn read_slot(text: &str) -> Result<NaiveDateTime> {
    NaiveDateTime::parse_from_str(text, SLOT)
        .map_err(|error| StoreError::Unreadable { what: "visit.slot", why: error.to_string() })
}

async fn with_pieces(db: &impl ConnectionTrait, rows: Vec<visit::Model>) -> Result<Vec<Visit>> {
    let mut by_visit = pieces::of_visits(db, rows.iter().map(|row| row.id).collect()).await?;
    let contacts = customers::get_all(db, rows.iter().map(|row| row.customer_id)).await?;
    rows.into_iter()
        .map(|row| {
            let arrival = match (row.arrival.as_str(), &row.slot) {
                ("post", _) => Arrival::Post,
                ("counter", Some(slot)) => Arrival::Counter { slot: read_slot(slot)? },
                (other, _) => {
                    return Err(StoreError::Unreadable {
                        what: "visit.arrival",
                        why: format!("unknown word {other:?}"),
                    });
                }
            };
            Ok(Visit {
                id: VisitId(row.id),
                reference: json::word("visit.reference", &row.reference)?,
                customer: CustomerId(row.customer_id),
                contact: contacts.get(&row.customer_id).cloned().unwrap_or_default(),
                arrival,
                back_by_post: row.back_by_post,
                declared: Money(row.declared_minor),
                rush: row.rush,
                recycle_refused: row.recycle_refused,
                promise_at: row.promise_at,
                booked_at: row.booked_at,
                confirmed_at: row.confirmed_at,
                cancelled_at: row.cancelled_at,
                received_at: row.received_at,
                ready_at: row.ready_at,
                parcel: row.carrier.zip(row.parcel_number),
                paid: row.paid_minor.map(Money).zip(row.paid_how),
                language: Lang::parse(&row.language).unwrap_or_default(),
                complaint_of: row.complaint_of.map(VisitId),
                pieces: by_visit.remove(&row.id).unwrap_or_default(),
                version: row.version,
            })
        })
        .collect()
}

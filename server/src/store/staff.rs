//! The people who work in the shop and their sessions.

use chrono::{DateTime, TimeDelta, Utc};
use sea_orm::sea_query::Expr;
use sea_orm::{
    ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, ExprTrait, PaginatorTrait, QueryFilter,
    QueryOrder, Set, SqlErr,
};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::documents::SecondStepFor;
use super::entities::{staff, staff_session};
use super::{Result, WriteTx, exactly_one, settings};
use crate::token::Token;

/// How often a session writes down that it was used: often enough to see who is about, seldom enough that
/// looking at pages hardly ever writes.
const SEEN_EVERY: TimeDelta = TimeDelta::minutes(15);

/// What somebody may do in the shop. The owner may do everything; in the smallest shop that is everybody.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Roles {
    /// Receives, inspects, answers, hands back.
    pub desk: bool,
    /// Works the runs, checks, refinishes.
    pub bench: bool,
    /// Sets the shop up and sees its figures.
    pub owner: bool,
}

impl Roles {
    /// Everything.
    pub const OWNER: Self = Self { desk: true, bench: true, owner: true };

    /// Whether these roles include `role`.
    pub const fn include(self, role: Role) -> bool {
        match role {
            Role::Desk => self.desk || self.owner,
            Role::Bench => self.bench || self.owner,
            Role::Owner => self.owner,
        }
    }
}

/// One role.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// Receives, inspects, answers, hands back.
    Desk,
    /// Works the runs, checks, refinishes.
    Bench,
    /// Sets the shop up and sees its figures.
    Owner,
}

/// Somebody who works in the shop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Person {
    /// Theirs for good; the ledger refers to it.
    pub id: Uuid,
    /// What they type to sign in; lower case.
    pub sign_in_name: String,
    /// What the shop calls them.
    pub full_name: String,
    /// What they may do.
    pub roles: Roles,
    /// They still have the one-time password.
    pub must_change_password: bool,
    /// Until when the one-time password opens anything; `None`: it does not run out, or there is none.
    pub one_time_until: Option<DateTime<Utc>>,
    /// Signing in takes a code from their telephone as well.
    pub has_second_step: bool,
    /// One of their roles must have a second step and they have none yet. Known of whoever is signed in.
    pub owes_second_step: bool,
    /// When they stopped working here, if they did; they can no longer sign in.
    pub left_at: Option<DateTime<Utc>>,
}

/// Somebody to be added. The password is hashed already.
#[derive(Debug, Clone)]
pub struct NewPerson {
    /// A fresh id.
    pub id: Uuid,
    /// What they will type to sign in; lower case.
    pub sign_in_name: String,
    /// What the shop calls them.
    pub full_name: String,
    /// What they may do.
    pub roles: Roles,
    /// Argon2id, in PHC form.
    pub password_hash: String,
    /// Until when the one-time password opens anything.
    pub one_time_until: DateTime<Utc>,
}

/// Adds somebody with a one-time password. `None`: the sign-in name is taken.
pub async fn add(tx: &WriteTx, person: NewPerson, now: DateTime<Utc>) -> Result<Option<Person>> {
    if by_name(tx, &person.sign_in_name).await?.is_some() {
        return Ok(None);
    }
    let row = staff::ActiveModel {
        id: Set(person.id),
        sign_in_name: Set(person.sign_in_name),
        full_name: Set(person.full_name),
        desk: Set(person.roles.desk),
        bench: Set(person.roles.bench),
        owner: Set(person.roles.owner),
        password_hash: Set(person.password_hash),
        must_change_password: Set(true),
        added_at: Set(now),
        left_at: Set(None),
        version: Set(1),
        second_step_key: Set(None),
        second_step_used: Set(None),
        one_time_until: Set(Some(person.one_time_until)),
    };
    match row.insert(tx).await {
        Ok(row) => Ok(Some(person_of(row))),
        Err(error) if matches!(error.sql_err(), Some(SqlErr::UniqueConstraintViolation(_))) => Ok(None),
        Err(error) => Err(error.into()),
    }
}

/// Somebody by what they type to sign in, with their password hash; also those who have left.
pub async fn by_name(db: &impl ConnectionTrait, sign_in_name: &str) -> Result<Option<(Person, String)>> {
    let row = staff::Entity::find().filter(staff::Column::SignInName.eq(sign_in_name)).one(db).await?;
    Ok(row.map(|row| {
        let hash = row.password_hash.clone();
        (person_of(row), hash)
    }))
}

/// Somebody by id.
pub async fn by_id(db: &impl ConnectionTrait, id: Uuid) -> Result<Option<Person>> {
    Ok(staff::Entity::find_by_id(id).one(db).await?.map(person_of))
}

/// Everybody, by name.
pub async fn list(db: &impl ConnectionTrait) -> Result<Vec<Person>> {
    let rows = staff::Entity::find().order_by_asc(staff::Column::FullName).all(db).await?;
    Ok(rows.into_iter().map(person_of).collect())
}

/// How many people were ever added.
pub async fn count(db: &impl ConnectionTrait) -> Result<u64> {
    Ok(staff::Entity::find().count(db).await?)
}

/// Sets a password. `one_time_until`: it must be changed at the next sign-in, which has to be before then.
pub async fn set_password(
    tx: &WriteTx,
    id: Uuid,
    password_hash: String,
    one_time_until: Option<DateTime<Utc>>,
) -> Result<()> {
    let done = staff::Entity::update_many()
        .col_expr(staff::Column::PasswordHash, Expr::value(password_hash))
        .col_expr(staff::Column::MustChangePassword, Expr::value(one_time_until.is_some()))
        .col_expr(staff::Column::OneTimeUntil, Expr::value(one_time_until))
        .col_expr(staff::Column::Version, Expr::col(staff::Column::Version).add(1))
        .filter(staff::Column::Id.eq(id))
        .exec(tx)
        .await?;
    exactly_one("staff", done.rows_affected)
}

/// Puts another hash of the same password in the place of `before`; nothing happens when the password was changed meanwhile.
pub async fn set_hash(tx: &WriteTx, id: Uuid, before: &str, hash: String) -> Result<()> {
    staff::Entity::update_many()
        .col_expr(staff::Column::PasswordHash, Expr::value(hash))
        .filter(staff::Column::Id.eq(id))
        .filter(staff::Column::PasswordHash.eq(before))
        .exec(tx)
        .await?;
    Ok(())
}

/// Sets the key of the second step, with the step of the code that proved it; `None` gives the second step up.
pub async fn set_second_step(tx: &WriteTx, id: Uuid, key: Option<(Vec<u8>, i64)>) -> Result<()> {
    let (key, used) = key.unzip();
    let done = staff::Entity::update_many()
        .col_expr(staff::Column::SecondStepKey, Expr::value(key))
        .col_expr(staff::Column::SecondStepUsed, Expr::value(used))
        .col_expr(staff::Column::Version, Expr::col(staff::Column::Version).add(1))
        .filter(staff::Column::Id.eq(id))
        .exec(tx)
        .await?;
    exactly_one("staff", done.rows_affected)
}

/// The key of somebody's second step and the last step whose code was used; `None`: the password is enough.
pub async fn second_step(db: &impl ConnectionTrait, id: Uuid) -> Result<Option<(Vec<u8>, Option<i64>)>> {
    let row = staff::Entity::find_by_id(id).one(db).await?;
    Ok(row.and_then(|row| Some((row.second_step_key?, row.second_step_used))))
}

/// Uses up the code of a step. False: it was used already, perhaps just now and elsewhere.
pub async fn use_step(tx: &WriteTx, id: Uuid, step: i64) -> Result<bool> {
    let unused = staff::Column::SecondStepUsed.is_null().or(staff::Column::SecondStepUsed.lt(step));
    let done = staff::Entity::update_many()
        .col_expr(staff::Column::SecondStepUsed, Expr::value(step))
        .filter(staff::Column::Id.eq(id))
        .filter(unused)
        .exec(tx)
        .await?;
    Ok(done.rows_affected == 1)
}

/// Opens a session that lasts until `expires_at` at the latest. `device` says in a word or two where, for whoever looks
/// their sessions over.
pub async fn open_session(
    tx: &WriteTx,
    staff_id: Uuid,
    token: &Token,
    device: &str,
    now: DateTime<Utc>,
    expires_at: DateTime<Utc>,
) -> Result<()> {
    let row = staff_session::ActiveModel {
        token_sha256: Set(token.sha256()),
        staff_id: Set(staff_id),
        opened_at: Set(now),
        seen_at: Set(now),
        expires_at: Set(expires_at),
        device: Set((!device.is_empty()).then(|| device.to_owned())),
    };
    super::insert(tx, row).await
}

/// An open session, found by its cookie.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Session {
    /// Whose it is.
    pub person: Person,
    /// It was not marked as used for a while: call [`touch_session`].
    pub wants_touch: bool,
}

/// A session as whoever opened it sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Opened {
    /// The hash of its token: it names the session and opens nothing.
    pub sha256: Vec<u8>,
    /// On what kind of device; empty when the browser did not say.
    pub device: String,
    /// When it was opened.
    pub at: DateTime<Utc>,
    /// When it was used last, to a quarter of an hour.
    pub seen_at: DateTime<Utc>,
}

/// Whose session this is, if it is open, they still work here, and it was used within `idle`.
pub async fn session(
    db: &impl ConnectionTrait,
    token: &Token,
    now: DateTime<Utc>,
    idle: TimeDelta,
) -> Result<Option<Session>> {
    let found =
        staff_session::Entity::find_by_id(token.sha256()).find_also_related(staff::Entity).one(db).await?;
    let Some((session, Some(person))) = found else {
        return Ok(None);
    };
    if session.expires_at <= now || session.seen_at + idle <= now || person.left_at.is_some() {
        return Ok(None);
    }
    let mut person = person_of(person);
    if !person.has_second_step {
        let asked = settings::get_or_default::<SecondStepFor>(db).await?.value;
        person.owes_second_step = asked.is_asked_of(person.roles);
    }
    Ok(Some(Session { person, wants_touch: session.seen_at + SEEN_EVERY <= now }))
}

/// The open sessions of one person, the one used last first.
pub async fn sessions_of(
    db: &impl ConnectionTrait,
    staff_id: Uuid,
    now: DateTime<Utc>,
    idle: TimeDelta,
) -> Result<Vec<Opened>> {
    let rows = staff_session::Entity::find()
        .filter(staff_session::Column::StaffId.eq(staff_id))
        .filter(staff_session::Column::ExpiresAt.gt(now))
        .filter(staff_session::Column::SeenAt.gt(now - idle))
        .order_by_desc(staff_session::Column::SeenAt)
        .order_by_desc(staff_session::Column::OpenedAt)
        .all(db)
        .await?;
    Ok(rows
        .into_iter()
        .map(|row| Opened {
            sha256: row.token_sha256,
            device: row.device.unwrap_or_default(),
            at: row.opened_at,
            seen_at: row.seen_at,
        })
        .collect())
}

/// Marks a session as used just now.
pub async fn touch_session(tx: &WriteTx, token: &Token, now: DateTime<Utc>) -> Result<()> {
    staff_session::Entity::update_many()
        .col_expr(staff_session::Column::SeenAt, Expr::value(now))
        .filter(staff_session::Column::TokenSha256.eq(token.sha256()))
        .exec(tx)
        .await?;
    Ok(())
}

/// Ends one session.
pub async fn close_session(tx: &WriteTx, token: &Token) -> Result<()> {
    staff_session::Entity::delete_by_id(token.sha256()).exec(tx).await?;
    Ok(())
}

/// Ends one session of one person, named by its token's hash. `false`: they have no such session.
pub async fn close_session_of(tx: &WriteTx, staff_id: Uuid, sha256: &[u8]) -> Result<bool> {
    let gone = staff_session::Entity::delete_many()
        .filter(staff_session::Column::StaffId.eq(staff_id))
        .filter(staff_session::Column::TokenSha256.eq(sha256))
        .exec(tx)
        .await?;
    Ok(gone.rows_affected == 1)
}

/// Ends every session of one person but this one.
pub async fn close_other_sessions(tx: &WriteTx, staff_id: Uuid, kept: &Token) -> Result<u64> {
    let gone = staff_session::Entity::delete_many()
        .filter(staff_session::Column::StaffId.eq(staff_id))
        .filter(staff_session::Column::TokenSha256.ne(kept.sha256()))
        .exec(tx)
        .await?;
    Ok(gone.rows_affected)
}

/// Ends every session of one person, as after a change of password.
pub async fn close_sessions_of(tx: &WriteTx, staff_id: Uuid) -> Result<u64> {
    let gone = staff_session::Entity::delete_many()
        .filter(staff_session::Column::StaffId.eq(staff_id))
        .exec(tx)
        .await?;
    Ok(gone.rows_affected)
}

/// Ends every session of everybody but this one. Says how many.
pub async fn close_sessions_but(tx: &WriteTx, kept: &Token) -> Result<u64> {
    let gone = staff_session::Entity::delete_many()
        .filter(staff_session::Column::TokenSha256.ne(kept.sha256()))
        .exec(tx)
        .await?;
    Ok(gone.rows_affected)
}

/// Sweeps out the sessions that have run out.
pub async fn forget_sessions(tx: &WriteTx, now: DateTime<Utc>) -> Result<u64> {
    let gone = staff_session::Entity::delete_many()
        .filter(staff_session::Column::ExpiresAt.lte(now))
        .exec(tx)
        .await?;
    Ok(gone.rows_affected)
}

/// Sets what somebody may do.
pub async fn set_roles(tx: &WriteTx, id: Uuid, roles: Roles) -> Result<()> {
    let done = staff::Entity::update_many()
        .col_expr(staff::Column::Desk, Expr::value(roles.desk))
        .col_expr(staff::Column::Bench, Expr::value(roles.bench))
        .col_expr(staff::Column::Owner, Expr::value(roles.owner))
        .col_expr(staff::Column::Version, Expr::col(staff::Column::Version).add(1))
        .filter(staff::Column::Id.eq(id))
        .exec(tx)
        .await?;
    exactly_one("staff", done.rows_affected)
}

/// Marks somebody as gone (or as back) and ends their sessions.
pub async fn set_left(tx: &WriteTx, id: Uuid, left_at: Option<DateTime<Utc>>) -> Result<()> {
    let done = staff::Entity::update_many()
        .col_expr(staff::Column::LeftAt, Expr::value(left_at))
        .col_expr(staff::Column::Version, Expr::col(staff::Column::Version).add(1))
        .filter(staff::Column::Id.eq(id))
        .exec(tx)
        .await?;
    exactly_one("staff", done.rows_affected)?;
    close_sessions_of(tx, id).await?;
    Ok(())
}

fn person_of(row: staff::Model) -> Person {
    Person {
        id: row.id,
        sign_in_name: row.sign_in_name,
        full_name: row.full_name,
        roles: Roles { desk: row.desk, bench: row.bench, owner: row.owner },
        must_change_password: row.must_change_password,
        one_time_until: row.one_time_until,
        has_second_step: row.second_step_key.is_some(),
        owes_second_step: false,
        left_at: row.left_at,
    }
}

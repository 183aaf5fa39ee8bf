//! Notices on their way: queued in the transaction that makes the fact true, sent later by a worker.
//!
//! A worker borrows a notice by a lease that runs out by itself, never by an open transaction: a worker that
//! dies leaves a notice that somebody else picks up when the lease is over. So a notice is sent at least once,
//! and a repeat carries the same Message-ID, which is made from the notice's id.
//!
//! Notices about the same visit keep their order: a later one waits until the earlier ones are sent or given
//! up. The order is that of `seq`, which the database counts, and not of the clock, which may be set back.

use chrono::{DateTime, Utc};
use sea_orm::sea_query::{Alias, Expr, ExprTrait as _, LockBehavior, LockType, Query};
use sea_orm::{
    ColumnTrait, Condition, ConnectionTrait, EntityTrait, NotSet, PaginatorTrait, QueryFilter, QueryOrder,
    QuerySelect, Set,
};
use uuid::Uuid;

use super::entities::outbox;
use super::{Result, Store, WriteTx, exactly_one};

/// A notice as it is written: rendered once, stored, and sent exactly as it stands here.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Letter {
    /// Which notice this is, as one word.
    pub kind: &'static str,
    /// The visit it is about. Notices about the same visit keep their order.
    pub about: Option<Uuid>,
    /// Where it goes: one mailbox.
    pub to_address: String,
    /// Whom it greets; may be empty.
    pub to_name: String,
    /// One line.
    pub subject: String,
    /// The plain text.
    pub text: String,
    /// The same, as a whole HTML document.
    pub html: String,
    /// A calendar file (RFC 5545) to go with it.
    pub calendar: Option<String>,
    /// Where one click stops this kind of notice (RFC 8058).
    pub unsubscribe_url: Option<String>,
}

/// How a notice stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// Waiting for its time, for an earlier one, or for a worker. `failed` is the last failure, if there was one.
    Waiting {
        /// Not before this.
        due_at: DateTime<Utc>,
        /// What went wrong the last time.
        failed: Option<String>,
    },
    /// The mail host took it.
    Sent {
        /// When.
        at: DateTime<Utc>,
    },
    /// Given up: somebody has to look at it.
    GivenUp {
        /// When.
        at: DateTime<Utc>,
        /// Why.
        why: String,
    },
}

/// A notice as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// Its own.
    pub id: Uuid,
    /// Counts up; the order in which notices were written.
    pub seq: i64,
    /// Which notice this is, as one word.
    pub kind: String,
    /// The visit it is about.
    pub about: Option<Uuid>,
    /// Where it goes.
    pub to_address: String,
    /// Whom it greets; may be empty.
    pub to_name: String,
    /// One line.
    pub subject: String,
    /// The plain text.
    pub text: String,
    /// The same, as a whole HTML document.
    pub html: String,
    /// A calendar file to go with it.
    pub calendar: Option<String>,
    /// Where one click stops this kind of notice.
    pub unsubscribe_url: Option<String>,
    /// When it was written.
    pub queued_at: DateTime<Utc>,
    /// How often a worker has taken it up.
    pub attempts: u32,
    /// How it stands.
    pub standing: Standing,
}

/// Queues a notice. Returns its id. Whoever commits should then wake the post worker.
pub async fn queue(tx: &WriteTx, id: Uuid, letter: Letter, now: DateTime<Utc>) -> Result<Uuid> {
    queue_for(tx, id, letter, now, now).await
}

/// Queues a notice that leaves at `due_at` and not before.
pub async fn queue_for(
    tx: &WriteTx,
    id: Uuid,
    letter: Letter,
    due_at: DateTime<Utc>,
    now: DateTime<Utc>,
) -> Result<Uuid> {
    let row = outbox::ActiveModel {
        seq: NotSet,
        id: Set(id),
        kind: Set(letter.kind.to_owned()),
        about: Set(letter.about),
        to_address: Set(letter.to_address),
        to_name: Set(letter.to_name),
        subject: Set(letter.subject),
        text: Set(letter.text),
        html: Set(letter.html),
        calendar: Set(letter.calendar),
        unsubscribe_url: Set(letter.unsubscribe_url),
        queued_at: Set(now),
        due_at: Set(due_at),
        leased_until: Set(None),
        attempts: Set(0),
        sent_at: Set(None),
        dead_at: Set(None),
        last_error: Set(None),
    };
    super::insert(tx, row).await?;
    Ok(id)
}

/// Borrows the next notices that may go now, `n` at most and one about each visit, until `until`. Empty: there are none, or
/// another worker has them. Whoever gets one must call [`mark_sent`], [`mark_failed`], [`mark_dead`] or [`give_back`].
pub async fn claim(store: &Store, now: DateTime<Utc>, until: DateTime<Utc>, n: u64) -> Result<Vec<Kept>> {
    let waiting = outbox::Entity::find()
        .filter(may_go(now))
        .order_by_asc(outbox::Column::DueAt)
        .order_by_asc(outbox::Column::Seq)
        .limit(n);
    // Most of the time there is none, and nobody has to wait for us to find that out.
    if waiting.clone().one(store.read()).await?.is_none() {
        return Ok(Vec::new());
    }
    let tx = store.begin_write().await?;
    // A row that another worker is just taking is passed over; SQLite has one writer and knows no such locks.
    let mut rows = waiting.lock_with_behavior(LockType::Update, LockBehavior::SkipLocked).all(&tx).await?;
    if rows.is_empty() {
        return Ok(Vec::new());
    }
    outbox::Entity::update_many()
        .col_expr(outbox::Column::LeasedUntil, Expr::value(until))
        .col_expr(outbox::Column::Attempts, Expr::col(outbox::Column::Attempts).add(1))
        .filter(outbox::Column::Id.is_in(rows.iter().map(|row| row.id)))
        .exec(&tx)
        .await?;
    tx.commit().await?;
    for row in &mut rows {
        row.attempts += 1;
    }
    Ok(rows.into_iter().map(kept_of).collect())
}

/// Gives back notices that were claimed until `until` and that nobody has tried to send: another worker may take them at
/// once.
pub async fn give_back(tx: &WriteTx, ids: &[Uuid], until: DateTime<Utc>) -> Result<()> {
    outbox::Entity::update_many()
        .col_expr(outbox::Column::LeasedUntil, Expr::value(None::<DateTime<Utc>>))
        .col_expr(outbox::Column::Attempts, Expr::col(outbox::Column::Attempts).sub(1))
        .filter(outbox::Column::Id.is_in(ids.iter().copied()))
        .filter(outbox::Column::LeasedUntil.eq(until))
        .exec(tx)
        .await?;
    Ok(())
}

/// Unsent, not given up, due, not borrowed, and no earlier notice about the same visit still on its way.
fn may_go(now: DateTime<Utc>) -> Condition {
    let earlier = Alias::new("earlier");
    let col = |column: outbox::Column| Expr::col((earlier.clone(), column));
    let blocking = Query::select()
        .expr(Expr::value(1))
        .from_as(outbox::Entity, earlier.clone())
        .and_where(col(outbox::Column::About).equals((outbox::Entity, outbox::Column::About)))
        .and_where(col(outbox::Column::Seq).lt(Expr::col((outbox::Entity, outbox::Column::Seq))))
        .and_where(col(outbox::Column::SentAt).is_null())
        .and_where(col(outbox::Column::DeadAt).is_null())
        .to_owned();
    Condition::all()
        .add(outbox::Column::SentAt.is_null())
        .add(outbox::Column::DeadAt.is_null())
        .add(outbox::Column::DueAt.lte(now))
        .add(
            Condition::any()
                .add(outbox::Column::LeasedUntil.is_null())
                .add(outbox::Column::LeasedUntil.lt(now)),
        )
        .add(Expr::exists(blocking).not())
}

/// The mail host took it.
pub async fn mark_sent(tx: &WriteTx, id: Uuid, now: DateTime<Utc>) -> Result<()> {
    let done = outbox::Entity::update_many()
        .col_expr(outbox::Column::SentAt, Expr::value(now))
        .col_expr(outbox::Column::LeasedUntil, Expr::value(None::<DateTime<Utc>>))
        .col_expr(outbox::Column::LastError, Expr::value(None::<String>))
        .filter(outbox::Column::Id.eq(id))
        .exec(tx)
        .await?;
    exactly_one("notice", done.rows_affected)
}

/// It did not go this time; it may be tried again from `due_at` on.
pub async fn mark_failed(tx: &WriteTx, id: Uuid, why: &str, due_at: DateTime<Utc>) -> Result<()> {
    let done = outbox::Entity::update_many()
        .col_expr(outbox::Column::DueAt, Expr::value(due_at))
        .col_expr(outbox::Column::LeasedUntil, Expr::value(None::<DateTime<Utc>>))
        .col_expr(outbox::Column::LastError, Expr::value(why))
        .filter(outbox::Column::Id.eq(id))
        .filter(outbox::Column::SentAt.is_null())
        .exec(tx)
        .await?;
    exactly_one("notice", done.rows_affected)
}

/// It will not go; it stays visible until somebody looks at it.
pub async fn mark_dead(tx: &WriteTx, id: Uuid, why: &str, now: DateTime<Utc>) -> Result<()> {
    let done = outbox::Entity::update_many()
        .col_expr(outbox::Column::DeadAt, Expr::value(now))
        .col_expr(outbox::Column::LeasedUntil, Expr::value(None::<DateTime<Utc>>))
        .col_expr(outbox::Column::LastError, Expr::value(why))
        .filter(outbox::Column::Id.eq(id))
        .filter(outbox::Column::SentAt.is_null())
        .exec(tx)
        .await?;
    exactly_one("notice", done.rows_affected)
}

/// Takes back notices of one kind about one visit that wait for their time and that nobody has tried to send: a fuller one
/// takes their place. Says how many there were.
pub async fn take_back(tx: &WriteTx, about: Uuid, kind: &str) -> Result<u64> {
    let done = outbox::Entity::delete_many()
        .filter(outbox::Column::About.eq(about))
        .filter(outbox::Column::Kind.eq(kind))
        .filter(untouched())
        .exec(tx)
        .await?;
    Ok(done.rows_affected)
}

/// Takes back one notice that nobody has tried to send. `false`: it is on its way, or was sent, or given up.
pub async fn take_back_one(tx: &WriteTx, id: Uuid) -> Result<bool> {
    let done =
        outbox::Entity::delete_many().filter(outbox::Column::Id.eq(id)).filter(untouched()).exec(tx).await?;
    Ok(done.rows_affected == 1)
}

/// Nobody has tried to send it.
fn untouched() -> Condition {
    Condition::all()
        .add(outbox::Column::Attempts.eq(0))
        .add(outbox::Column::LeasedUntil.is_null())
        .add(outbox::Column::SentAt.is_null())
        .add(outbox::Column::DeadAt.is_null())
}

/// Forgets notices that were sent before `before`, or given up before it. Says how many.
pub async fn forget(tx: &WriteTx, before: DateTime<Utc>) -> Result<u64> {
    let over = Condition::any().add(outbox::Column::SentAt.lt(before)).add(outbox::Column::DeadAt.lt(before));
    Ok(outbox::Entity::delete_many().filter(over).exec(tx).await?.rows_affected)
}

/// Puts a notice that was given up back in line, with a clean slate. `false`: it was not given up.
pub async fn revive(tx: &WriteTx, id: Uuid, now: DateTime<Utc>) -> Result<bool> {
    let done = outbox::Entity::update_many()
        .col_expr(outbox::Column::DeadAt, Expr::value(None::<DateTime<Utc>>))
        .col_expr(outbox::Column::LastError, Expr::value(None::<String>))
        .col_expr(outbox::Column::DueAt, Expr::value(now))
        .col_expr(outbox::Column::Attempts, Expr::value(0))
        .filter(outbox::Column::Id.eq(id))
        .filter(outbox::Column::DeadAt.is_not_null())
        .exec(tx)
        .await?;
    Ok(done.rows_affected == 1)
}

/// One notice.
pub async fn by_id(db: &impl ConnectionTrait, id: Uuid) -> Result<Option<Kept>> {
    let row = outbox::Entity::find().filter(outbox::Column::Id.eq(id)).one(db).await?;
    Ok(row.map(kept_of))
}

/// The notices about one visit, oldest first.
pub async fn about(db: &impl ConnectionTrait, about: Uuid) -> Result<Vec<Kept>> {
    let rows = outbox::Entity::find()
        .filter(outbox::Column::About.eq(about))
        .order_by_asc(outbox::Column::Seq)
        .all(db)
        .await?;
    Ok(rows.into_iter().map(kept_of).collect())
}

/// Which notices to list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// All of them.
    All,
    /// Not sent and not given up.
    Waiting,
    /// Sent.
    Sent,
    /// Given up.
    GivenUp,
}

impl Which {
    fn condition(self) -> Condition {
        let all = Condition::all();
        match self {
            Self::All => all,
            Self::Waiting => all.add(outbox::Column::SentAt.is_null()).add(outbox::Column::DeadAt.is_null()),
            Self::Sent => all.add(outbox::Column::SentAt.is_not_null()),
            Self::GivenUp => all.add(outbox::Column::DeadAt.is_not_null()),
        }
    }
}

/// Notices written before number `before` (or the newest), newest first, `n` at most.
pub async fn list(db: &impl ConnectionTrait, which: Which, before: Option<i64>, n: u64) -> Result<Vec<Kept>> {
    let mut query = outbox::Entity::find().filter(which.condition());
    if let Some(seq) = before {
        query = query.filter(outbox::Column::Seq.lt(seq));
    }
    let rows = query.order_by_desc(outbox::Column::Seq).limit(n).all(db).await?;
    Ok(rows.into_iter().map(kept_of).collect())
}

/// How many there are.
pub async fn count(db: &impl ConnectionTrait, which: Which) -> Result<u64> {
    Ok(outbox::Entity::find().filter(which.condition()).count(db).await?)
}

fn kept_of(row: outbox::Model) -> Kept {
    let standing = match (row.sent_at, row.dead_at) {
        (Some(at), _) => Standing::Sent { at },
        (None, Some(at)) => Standing::GivenUp { at, why: row.last_error.unwrap_or_default() },
        (None, None) => Standing::Waiting { due_at: row.due_at, failed: row.last_error },
    };
    Kept {
        id: row.id,
        seq: row.seq,
        kind: row.kind,
        about: row.about,
        to_address: row.to_address,
        to_name: row.to_name,
        subject: row.subject,
        text: row.text,
        html: row.html,
        calendar: row.calendar,
        unsubscribe_url: row.unsubscribe_url,
        queued_at: row.queued_at,
        attempts: u32::try_from(row.attempts).unwrap_or(0),
        standing,
    }
}

//! What all changes of the shop's set-up have in common: why one was not saved, and writing down who changed what.

use chrono::{DateTime, Utc};
use shop::field::FieldErrors;
use shop::owner::{self, Typed};
use uuid::Uuid;

use crate::context::Ctx;
use crate::store::changes::{self, Subject};
use crate::store::staff::{self, Person};
use crate::store::{self, StoreError, WriteTx};

/// Why a change was not saved.
#[derive(Debug, thiserror::Error)]
pub enum NotSaved {
    /// Fields that are not right.
    #[error("not every field is right")]
    Fields(FieldErrors),
    /// Somebody else saved it in the meantime.
    #[error("somebody else has changed it in the meantime")]
    Stale,
    /// There is no such thing.
    #[error("there is no such thing")]
    Gone,
    /// The store failed.
    #[error(transparent)]
    Store(StoreError),
}

impl NotSaved {
    /// One field is not right.
    pub fn field(field: impl Into<String>, message: impl Into<String>) -> Self {
        let mut errors = FieldErrors::default();
        errors.add(field, message);
        Self::Fields(errors)
    }
}

impl From<StoreError> for NotSaved {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Stale { .. } => Self::Stale,
            other => Self::Store(other),
        }
    }
}

impl From<FieldErrors> for NotSaved {
    fn from(errors: FieldErrors) -> Self {
        Self::Fields(errors)
    }
}

/// Saves in a transaction of its own, and lets the planner look at what has changed.
pub(super) async fn saved<T>(
    ctx: &Ctx,
    put: impl AsyncFnOnce(&WriteTx) -> Result<T, NotSaved>,
) -> Result<T, NotSaved> {
    let tx = ctx.store.begin_write().await?;
    let done = put(&tx).await?;
    tx.commit().await?;
    ctx.planner.ring();
    Ok(done)
}

/// Writes down what a person changed: the lines by which the two fillings of the form differ. Nothing when they don't.
pub(super) async fn write_down(
    tx: &WriteTx,
    subject: (Subject, Option<Uuid>),
    by: &Person,
    (before, after): (&Typed, &Typed),
    now: DateTime<Utc>,
) -> store::Result<()> {
    let lines = owner::changes(before, after);
    if lines.is_empty() {
        return Ok(());
    }
    changes::add(tx, subject.0, subject.1, &lines, Some(by.id), now).await
}

/// One change with the name of who made it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remembered {
    /// When.
    pub at: DateTime<Utc>,
    /// Who; "the program" where nobody did.
    pub who: String,
    /// What it was about, as one word.
    pub subject: String,
    /// What changed, a line each.
    pub lines: Vec<String>,
}

/// The latest changes with names.
pub async fn remembered(
    ctx: &Ctx,
    subject: Option<Subject>,
    about: Option<Uuid>,
    n: u64,
) -> store::Result<Vec<Remembered>> {
    let db = ctx.store.read();
    let people = staff::list(db).await?;
    let name = |id: Option<Uuid>| {
        let known = people.iter().find(|person| Some(person.id) == id);
        known.map_or_else(|| "the program".to_owned(), |person| person.full_name.clone())
    };
    let found = changes::latest(db, subject, about, n).await?;
    Ok(found
        .into_iter()
        .map(|c| Remembered { at: c.at, who: name(c.by), subject: c.subject, lines: c.lines })
        .collect())
}

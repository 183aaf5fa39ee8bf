//! What the hands at desk and bench share: why something is refused, how a piece is moved, how the customer is told.

use chrono::{DateTime, Utc};
use shop::field::FieldErrors;
use shop::ids::{NoteId, OperationId, PieceId, StaffId, VisitId};
use shop::ledger::{Fact, Who};
use shop::piece::{Event, NotNow};
use shop::profile::Profile;
use shop::read::{Operation, Piece, Visit};

use crate::context::Ctx;
use crate::local;
use crate::post::notice::Notice;
use crate::store::staff::Person;
use crate::store::{StoreError, WriteTx, ledger, notes, operations, outbox, pieces, settings, visits};

pub(crate) use super::private_link::mailed as link;

/// Why something was not done. Nothing was written.
#[derive(Debug, thiserror::Error)]
pub enum Refused {
    /// There is no such operation, piece or station.
    #[error("there is no such thing")]
    Gone,
    /// Somebody else has changed it since the page was opened.
    #[error("somebody has changed {0} in the meantime")]
    Stale(&'static str),
    /// It cannot happen to a piece where it stands.
    #[error(transparent)]
    NotNow(#[from] NotNow),
    /// It cannot be done now; the sentence says why, and what to do first.
    #[error("{0}")]
    First(String),
    /// Something typed does not fit; each sentence belongs beside its field.
    #[error("something typed does not fit")]
    Fields(FieldErrors),
    /// The store failed.
    #[error(transparent)]
    Store(StoreError),
    /// The disk or the program failed.
    #[error(transparent)]
    Failed(anyhow::Error),
}

impl From<StoreError> for Refused {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Stale { what } => Self::Stale(what),
            other => Self::Store(other),
        }
    }
}

impl Refused {
    /// It cannot be done now, and why.
    pub fn first(sentence: impl Into<String>) -> Self {
        Self::First(sentence.into())
    }

    /// One complaint beside one field.
    pub fn field(field: &str, message: impl Into<String>) -> Self {
        let mut errors = FieldErrors::default();
        errors.add(field, message);
        Self::Fields(errors)
    }
}

/// Somebody of the shop, for the ledger.
pub(crate) fn who(by: &Person) -> Who {
    Who::Staff(StaffId(by.id))
}

/// An operation and its piece.
pub(crate) async fn operation(tx: &WriteTx, id: OperationId) -> Result<(Operation, Piece), Refused> {
    let operation = operations::get(tx, id).await?.ok_or(Refused::Gone)?;
    let piece = pieces::get(tx, operation.piece).await?.ok_or(Refused::Gone)?;
    Ok((operation, piece))
}

/// A piece as it was seen on the page, at `version`.
pub(crate) async fn piece(tx: &WriteTx, id: PieceId, version: i64) -> Result<Piece, Refused> {
    let piece = pieces::get(tx, id).await?.ok_or(Refused::Gone)?;
    if piece.version == version { Ok(piece) } else { Err(Refused::Stale("this piece")) }
}

/// A visit as it was seen on the page, at `version`.
pub(crate) async fn visit(tx: &WriteTx, id: VisitId, version: i64) -> Result<Visit, Refused> {
    let visit = visits::get(tx, id).await?.ok_or(Refused::Gone)?;
    if visit.version == version { Ok(visit) } else { Err(Refused::Stale("this visit")) }
}

/// Saves an operation and counts its version on.
pub(crate) async fn save_operation(tx: &WriteTx, operation: &mut Operation) -> Result<(), Refused> {
    operations::save(tx, operation).await?;
    operation.version += 1;
    Ok(())
}

/// Moves a piece (or not), saves it, and writes down what happened, one entry per fact; the note goes with the first.
pub(crate) async fn save(
    tx: &WriteTx,
    piece: &mut Piece,
    event: Option<Event>,
    by: Who,
    facts: &[Fact],
    note: &str,
    now: DateTime<Utc>,
) -> Result<(), Refused> {
    if let Some(event) = event {
        piece.state = piece.state.after(event)?;
    }
    pieces::save(tx, piece).await?;
    piece.version += 1;
    let mut why = write_note(tx, piece.visit, note, by, now).await?;
    for fact in facts {
        ledger::add(tx, &*piece, by, fact, why.take(), now).await?;
    }
    Ok(())
}

/// Keeps a text the ledger refers to; `None` when there is nothing to say.
pub(crate) async fn write_note(
    tx: &WriteTx,
    visit: VisitId,
    text: &str,
    by: Who,
    now: DateTime<Utc>,
) -> Result<Option<NoteId>, StoreError> {
    let staff = match by {
        Who::Staff(id) => Some(id),
        Who::Customer | Who::Program => None,
    };
    notes::add(tx, visit, text, staff, now).await
}

/// The shop's rules. A shop that was never set up has no pieces either.
pub(crate) async fn profile(tx: &WriteTx) -> Result<Profile, Refused> {
    Ok(settings::get::<Profile>(tx).await?.ok_or(Refused::Gone)?.value)
}

/// Queues a notice to the customer of a visit. Erased people have no address and get none.
pub(crate) async fn tell(ctx: &Ctx, tx: &WriteTx, visit: &Visit, notice: &Notice) -> Result<(), StoreError> {
    tell_at(ctx, tx, visit, notice, ctx.now()).await
}

/// Tells the customer something they have not asked for at this moment: at the time of day the shop tells such things.
pub(crate) async fn tell_in_time(
    ctx: &Ctx,
    tx: &WriteTx,
    visit: &Visit,
    profile: &Profile,
    notice: &Notice,
) -> Result<(), StoreError> {
    tell_at(ctx, tx, visit, notice, local::telling_time(profile, ctx.now())).await
}

async fn tell_at(
    ctx: &Ctx,
    tx: &WriteTx,
    visit: &Visit,
    notice: &Notice,
    due_at: DateTime<Utc>,
) -> Result<(), StoreError> {
    if visit.contact.email.is_empty() {
        return Ok(());
    }
    let letter = notice.letter(&visit.contact.email, &visit.contact.name);
    outbox::queue_for(tx, ctx.new_id(), letter, due_at, ctx.now()).await?;
    Ok(())
}

/// Wakes whoever has to know after the commit: post, planner, and the pages that are open.
pub(crate) fn ring(ctx: &Ctx, visit: VisitId) {
    ctx.post.ring();
    ctx.planner.ring();
    ctx.live.tell("visit", Some(visit.0));
}

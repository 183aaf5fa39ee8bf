//! What the desk's use cases share: why they refuse, how a piece is fetched and moved, how the customer is told.

use chrono::{DateTime, Utc};
use shop::field::FieldErrors;
use shop::ids::{NoteId, PieceId, StaffId, VisitId};
use shop::ledger::{Fact, Who};
use shop::piece::{Event, NotNow};
use shop::profile::Profile;
use shop::read::{Piece, Visit};

use crate::context::Ctx;
use crate::post::notice::Notice;
use crate::store::staff::Person;
use crate::store::{StoreError, WriteTx, ledger, notes, outbox, pieces, settings, visits};

/// Why something at the desk was not done. Nothing was written.
#[derive(Debug, thiserror::Error)]
pub enum Refused {
    /// There is no such visit, piece or knife.
    #[error("there is no such thing")]
    Gone,
    /// Somebody else has changed it since the page was opened.
    #[error("somebody has changed {0} in the meantime")]
    Stale(&'static str),
    /// It cannot happen to a piece where it stands.
    #[error(transparent)]
    NotNow(#[from] NotNow),
    /// Something typed does not fit; each sentence belongs beside its field.
    #[error("something typed does not fit")]
    Fields(FieldErrors),
    /// The store failed.
    #[error(transparent)]
    Store(StoreError),
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

/// Moves a piece, saves it and writes down why: one entry per fact, in order; the note goes with the first.
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

/// The shop's rules. A shop that was never set up has no visits either.
pub(crate) async fn profile(tx: &WriteTx) -> Result<Profile, Refused> {
    Ok(settings::get::<Profile>(tx).await?.ok_or(Refused::Gone)?.value)
}

/// Queues a notice to the customer of a visit. Erased people have no address and get none.
pub(crate) async fn tell(ctx: &Ctx, tx: &WriteTx, visit: &Visit, notice: Notice) -> Result<(), StoreError> {
    if visit.contact.email.is_empty() {
        return Ok(());
    }
    let letter = notice.letter(&visit.contact.email, &visit.contact.name);
    outbox::queue(tx, ctx.new_id(), letter, ctx.now()).await?;
    Ok(())
}

/// Wakes whoever has to know after the commit.
pub(crate) fn ring(ctx: &Ctx, visit: VisitId) {
    ctx.post.ring();
    ctx.planner.ring();
    ctx.live.tell("visit", Some(visit.0));
}

//! A knife over all its visits: for staff, and for whoever owns it.

use assess::Knowledge;
use shop::bench::Model;
use shop::ids::{EntryId, KnifeId, NoteId, PieceId, VisitId};
use shop::ledger::{Entry, Fact, Measures};
use shop::profile::Profile;
use shop::read::{Knife, Piece, Visit};
use std::collections::HashMap;

use super::hands::{self, Refused};
use super::knowledge;
use crate::context::Ctx;
use crate::store::links::{self, Found, Purpose};
use crate::store::staff::{self, Person};
use crate::store::{Result, knives, ledger, notes, pieces, visits};

/// A knife with everything we know of it.
#[derive(Debug, Clone)]
pub struct Whole {
    /// The knife.
    pub knife: Knife,
    /// Our drawing, if it is ours.
    pub model: Option<Model>,
    /// Its pieces, oldest first.
    pub pieces: Vec<Piece>,
    /// Its ledger, oldest first.
    pub entries: Vec<Entry>,
    /// The texts the entries refer to. Empty for customers: they were written for colleagues.
    pub notes: HashMap<NoteId, String>,
    /// Names of the staff in the entries. Empty for customers.
    pub staff: HashMap<uuid::Uuid, String>,
    /// The visits of its pieces, for staff.
    pub visits: HashMap<VisitId, Visit>,
    /// What the shop knows, for the drawings.
    pub knows: Knowledge,
    /// The shop's rules.
    pub profile: Profile,
}

/// For staff, by tag.
pub async fn for_staff(ctx: &Ctx, tag: shop::tag::Tag) -> Result<Option<Whole>> {
    let Some(knife) = knives::by_tag(ctx.store.read(), tag).await? else { return Ok(None) };
    let mut whole = whole(ctx, knife).await?;
    let db = ctx.store.read();
    whole.notes = notes::texts(db, whole.entries.iter().filter_map(|e| e.why)).await?;
    whole.staff = staff::list(db).await?.into_iter().map(|p| (p.id, p.full_name)).collect();
    for piece in &whole.pieces {
        if let Some(visit) = visits::get(db, piece.visit).await? {
            whole.visits.insert(visit.id, visit);
        }
    }
    Ok(Some(whole))
}

/// What the holder of a knife's private link sees.
#[derive(Debug)]
pub enum Shown {
    /// The knife: its technical ledger, and nothing of the people.
    Knife(Box<Whole>),
    /// The link was taken back.
    Stale,
    /// There is no such link.
    Unknown,
}

/// For the owner, by private link.
pub async fn for_owner(ctx: &Ctx, presented: &str) -> Result<Shown> {
    match links::find(ctx.store.read(), Purpose::Knife, presented, ctx.now()).await? {
        Found::Open(id) => match knives::get(ctx.store.read(), KnifeId(id)).await? {
            Some(knife) => Ok(Shown::Knife(Box::new(whole(ctx, knife).await?))),
            None => Ok(Shown::Unknown),
        },
        Found::Stale(_) => Ok(Shown::Stale),
        Found::Unknown => Ok(Shown::Unknown),
    }
}

async fn whole(ctx: &Ctx, knife: Knife) -> Result<Whole> {
    let db = ctx.store.read();
    let entries = ledger::of_knife(db, knife.id).await?;
    Ok(Whole {
        model: knives::model_of(db, knife.id).await?,
        pieces: pieces::of_knife(db, knife.id).await?,
        entries,
        notes: HashMap::new(),
        staff: HashMap::new(),
        visits: HashMap::new(),
        knows: knowledge::of_knife(ctx, Some(knife.id)).await?,
        profile: knowledge::profile(ctx).await?,
        knife,
    })
}

/// Corrects an entry that was wrong by a new one; the old one stays. Only entries with figures can be corrected.
pub async fn correct_entry(
    ctx: &Ctx,
    by: &Person,
    piece: PieceId,
    entry: EntryId,
    measures: Measures,
    why: &str,
) -> std::result::Result<(), Refused> {
    if why.trim().chars().count() < 5 {
        return Err(Refused::field("why", "Please say why the entry was wrong."));
    }
    if measures == Measures::default() {
        return Err(Refused::field("height", "Please give at least one right figure."));
    }
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let piece = pieces::get(&tx, piece).await?.ok_or(Refused::Gone)?;
    let entries = ledger::of_piece(&tx, piece.id).await?;
    let wrong = entries.iter().find(|e| e.id == entry).ok_or(Refused::Gone)?;
    if !matches!(wrong.fact, Fact::Measured { .. } | Fact::Done { .. } | Fact::Checked { .. }) {
        return Err(Refused::field("entry", "This entry has no figures to correct."));
    }
    let note = hands::write_note(&tx, piece.visit, why, hands::who(by), now).await?;
    ledger::add(&tx, &piece, hands::who(by), &Fact::Corrects { entry, measures }, note, now).await?;
    tx.commit().await?;
    ctx.live.tell("visit", Some(piece.visit.0));
    Ok(())
}

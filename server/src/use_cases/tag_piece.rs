//! A piece gets its tag: drawn afresh, or the one its knife has worn since an earlier visit.
//!
//! Twenty knives of one kitchen look alike. A piece whose tag is gone is held until somebody knows which knife it is; it
//! is never guessed.

use shop::ids::{KnifeId, PieceId, VisitId};
use shop::ledger::Fact;
use shop::piece::{PieceState, Waiting, WaitsOn};
use shop::read::{Piece, Visit};
use shop::tag::Tag;

use super::hands::{self, Refused};
use crate::context::Ctx;
use crate::store::knives::NewKnife;
use crate::store::staff::Person;
use crate::store::{StoreError, WriteTx, knives, pieces, visits};

/// What a knife wears when it comes out of the parcel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wears {
    /// Nothing: it is here for the first time, or has never been tagged.
    Nothing,
    /// A tag of ours.
    Tag(Tag),
    /// It has been here before and its tag is gone.
    Lost,
}

/// Which knife a held piece turned out to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// One that was never here: it gets a new tag.
    New,
    /// The one with this tag. With `sold_on` it may have been somebody else's until now.
    Known {
        /// Its tag.
        tag: Tag,
        /// Its owner has changed.
        sold_on: bool,
    },
}

/// Ties an arriving piece to its knife and tag, or says why it has to be held.
pub(super) async fn tie(
    ctx: &Ctx,
    tx: &WriteTx,
    visit: &Visit,
    piece: &mut Piece,
    wears: Wears,
) -> Result<(), StoreError> {
    let held = match wears {
        Wears::Lost => Some("Its tag is gone: find out which knife it is.".to_owned()),
        Wears::Nothing => {
            new_knife(ctx, tx, visit, piece).await?;
            None
        }
        Wears::Tag(tag) => match find(tx, visit, piece, tag).await? {
            Found::Good(knife) => {
                wear(tx, visit, piece, knife, tag).await?;
                None
            }
            Found::Unknown => {
                Some(format!("It wears tag {tag}, which is not in our books: find out which knife it is."))
            }
            Found::Elsewhere => {
                Some(format!("Another piece here wears tag {tag} too: find out which knife is which."))
            }
            Found::Strangers => Some(format!(
                "It wears tag {tag}, which belongs to a knife of somebody else: find out whether it changed hands."
            )),
        },
    };
    piece.waiting = held.map(|what| Waiting { on: WaitsOn::Shop, what });
    Ok(())
}

enum Found {
    Good(KnifeId),
    Unknown,
    Elsewhere,
    Strangers,
}

async fn find(tx: &WriteTx, visit: &Visit, piece: &Piece, tag: Tag) -> Result<Found, StoreError> {
    let Some(knife) = knives::by_tag(tx, tag).await? else { return Ok(Found::Unknown) };
    let others = pieces::of_knife(tx, knife.id).await?;
    if others.iter().any(|p| p.id != piece.id && p.tag.is_some() && p.state.is_here()) {
        return Ok(Found::Elsewhere);
    }
    Ok(match knife.owner {
        Some(owner) if owner != visit.customer => Found::Strangers,
        _ => Found::Good(knife.id),
    })
}

async fn wear(
    tx: &WriteTx,
    visit: &Visit,
    piece: &mut Piece,
    knife: KnifeId,
    tag: Tag,
) -> Result<(), StoreError> {
    knives::set_owner(tx, knife, visit.customer).await?;
    piece.knife = Some(knife);
    piece.tag = Some(tag);
    Ok(())
}

async fn new_knife(ctx: &Ctx, tx: &WriteTx, visit: &Visit, piece: &mut Piece) -> Result<(), StoreError> {
    let tag = free_tag(tx).await?;
    let id = KnifeId(ctx.new_id());
    let new = NewKnife {
        id,
        tag,
        name: piece.name.clone(),
        model: piece.booked.model,
        owner: Some(visit.customer),
    };
    knives::insert(tx, new, ctx.now()).await?;
    piece.knife = Some(id);
    piece.tag = Some(tag);
    Ok(())
}

/// A tag nobody wears. Drawn, not counted: a misread tag then hardly ever meets another knife's.
async fn free_tag(tx: &WriteTx) -> Result<Tag, StoreError> {
    loop {
        let tag = Tag::from_serial(rand::random());
        if !knives::tag_is_taken(tx, tag).await? {
            return Ok(tag);
        }
    }
}

/// Says which knife a held piece is, so that it goes on. Gives its tag.
pub async fn tag_piece(
    ctx: &Ctx,
    by: &Person,
    id: PieceId,
    version: i64,
    which: Which,
    note: &str,
) -> Result<Tag, Refused> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut piece = hands::piece(&tx, id, version).await?;
    let visit = visits::get(&tx, piece.visit).await?.ok_or(Refused::Gone)?;
    if piece.tag.is_some() || piece.state != PieceState::InHand {
        return Err(Refused::field("which", "This piece is not held for its tag any more."));
    }
    match which {
        Which::New => new_knife(ctx, &tx, &visit, &mut piece).await?,
        Which::Known { tag, sold_on } => match find(&tx, &visit, &piece, tag).await? {
            Found::Good(knife) => wear(&tx, &visit, &mut piece, knife, tag).await?,
            Found::Strangers if sold_on => {
                let knife = knives::by_tag(&tx, tag).await?.ok_or(Refused::Gone)?;
                wear(&tx, &visit, &mut piece, knife.id, tag).await?;
            }
            Found::Strangers => {
                return Err(Refused::field(
                    "tag",
                    "This knife was somebody else's. Tick “it changed hands” when you have made sure of that.",
                ));
            }
            Found::Unknown => return Err(Refused::field("tag", "No knife in our books wears this tag.")),
            Found::Elsewhere => {
                return Err(Refused::field(
                    "tag",
                    "The knife with this tag is here in another piece already.",
                ));
            }
        },
    }
    piece.waiting = None;
    let tag = piece.tag.ok_or(Refused::Gone)?;
    let facts = [Fact::Received { tag: tag.plain(), unbooked: false }, Fact::GoesOn];
    hands::save(&tx, &mut piece, None, hands::who(by), &facts, note, now).await?;
    tx.commit().await?;
    hands::ring(ctx, VisitId(piece.visit.0));
    Ok(tag)
}

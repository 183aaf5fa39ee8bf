//! Questions and answers of a visit: the customer writes from the private page, the desk from its own.

use shop::field::{self, FieldErrors};
use shop::ids::{StaffId, VisitId};

use super::hands;
use super::offer;
use crate::context::Ctx;
use crate::post::notice::Notice;
use crate::post::visit::Written;
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::staff::Person;
use crate::store::{StoreError, messages, visits};

/// The longest letter, characters.
const MOST_LETTER: usize = 4000;

/// A customer writes this many letters in a row at most; then it is the shop's turn.
const MOST_UNANSWERED: usize = 20;

/// Why a letter was not taken.
#[derive(Debug, thiserror::Error)]
pub enum LetterError {
    /// It cannot be read, or there is nothing in it.
    #[error("the letter was not taken")]
    Fields(FieldErrors),
    /// There is no such visit.
    #[error("there is no such visit")]
    Gone,
    /// The store failed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

fn checked(body: &str) -> Result<String, LetterError> {
    let mut errors = FieldErrors::default();
    let text = field::text(&mut errors, "body", body, "what you want to say", MOST_LETTER);
    match text {
        Some(text) if !text.is_empty() => Ok(text),
        _ => {
            if errors.is_empty() {
                errors.add("body", "Please give what you want to say.");
            }
            Err(LetterError::Fields(errors))
        }
    }
}

/// The customer writes. `key` makes a double click write once.
pub async fn by_customer(ctx: &Ctx, visit: VisitId, key: &str, body: &str) -> Result<(), LetterError> {
    let body = checked(body)?;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    if already(&tx, key, now).await? {
        return Ok(());
    }
    let visit = visits::get(&tx, visit).await?.ok_or(LetterError::Gone)?;
    let before = messages::of_visit(&tx, visit.id).await?;
    if before.iter().rev().take_while(|m| m.by_staff.is_none()).count() >= MOST_UNANSWERED {
        let mut errors = FieldErrors::default();
        errors.add("body", "That is enough for now; please wait for our answer.");
        return Err(LetterError::Fields(errors));
    }
    messages::add(&tx, visit.id, None, &body, now).await?;
    settle(&tx, key, visit.id).await?;
    tx.commit().await?;
    ctx.live.tell("visit", Some(visit.id.0));
    Ok(())
}

/// The desk writes; the customer gets it by mail.
pub async fn by_desk(
    ctx: &Ctx,
    by: &Person,
    visit: VisitId,
    key: &str,
    body: &str,
) -> Result<(), LetterError> {
    let body = checked(body)?;
    let profile = offer::profile(ctx).await?.ok_or(LetterError::Gone)?;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    if already(&tx, key, now).await? {
        return Ok(());
    }
    let visit = visits::get(&tx, visit).await?.ok_or(LetterError::Gone)?;
    let before = messages::of_visit(&tx, visit.id).await?;
    let answers = before.last().is_some_and(|m| m.by_staff.is_none());
    messages::add(&tx, visit.id, Some(StaffId(by.id)), &body, now).await?;
    let link = hands::link(ctx, &tx, visit.id).await?;
    let notice = Written { visit: visit.clone(), body, answers, profile, link };
    hands::tell(ctx, &tx, &visit, &Notice::Written(Box::new(notice))).await?;
    settle(&tx, key, visit.id).await?;
    tx.commit().await?;
    hands::ring(ctx, visit.id);
    Ok(())
}

async fn already(
    tx: &crate::store::WriteTx,
    key: &str,
    now: chrono::DateTime<chrono::Utc>,
) -> Result<bool, LetterError> {
    // A form without its key was not made by one of our pages.
    let key = RequestKey::parse("letter", key).ok_or(LetterError::Gone)?;
    Ok(requests::claim(tx, &key, now).await? != Claim::New)
}

async fn settle(tx: &crate::store::WriteTx, key: &str, visit: VisitId) -> Result<(), LetterError> {
    let key = RequestKey::parse("letter", key).ok_or(LetterError::Gone)?;
    Ok(requests::settle(tx, &key, visit.0).await?)
}

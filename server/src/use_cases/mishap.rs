//! A knife comes to harm while it is with us: lost, or damaged. The ledger keeps it, the customer is told in the words somebody
//! wrote for them, what turns out otherwise is set right by another entry, and what was agreed about it is one more.

use chrono::{DateTime, TimeDelta, Utc};
use shop::field::{self, FieldErrors};
use shop::ids::{EntryId, PieceId};
use shop::ledger::Fact;
use shop::money::Money;
use shop::piece::{Amends, Event, Harm, Mishap, PieceState, Settlement, Waiting, WaitsOn};
use shop::read::{OperationState, Piece};

use super::hands::{self, Refused};
use super::ready;
use crate::context::Ctx;
use crate::post::desk::{Harmed, Righted, Settled};
use crate::post::notice::Notice;
use crate::store::staff::Person;
use crate::store::{WriteTx, ledger, operations, outbox, pieces, visits};

/// What staff read of a damaged piece until the maker has decided.
const DAMAGED: &str = "damaged while with us; we decide whether the work goes on";

/// The customer's notice leaves after this time; until then a wrong entry is taken back without a word.
pub const GRACE: TimeDelta = TimeDelta::minutes(5);

/// Checks what the customer will read; `name` is the field it was typed in.
pub(super) fn told(name: &str, words: &str) -> Result<String, FieldErrors> {
    let mut errors = FieldErrors::default();
    let words = field::text(&mut errors, name, words, "what happened", 1000).unwrap_or_default();
    if errors.is_empty() && words.chars().count() < 10 {
        errors.add(name, "Please write a sentence or two: the customer reads it.");
    }
    errors.or(Some(words))
}

/// Records from the desk that a piece is lost or damaged.
pub async fn report(
    ctx: &Ctx,
    by: &Person,
    id: PieceId,
    version: i64,
    harm: Harm,
    words: &str,
) -> Result<(), Refused> {
    let words = told("words", words).map_err(Refused::Fields)?;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut piece = hands::piece(&tx, id, version).await?;
    record(ctx, &tx, by, &mut piece, harm, &words, now).await?;
    tx.commit().await?;
    hands::ring(ctx, piece.visit);
    Ok(())
}

/// Records a harm within the caller's transaction. Work that was begun is put down; a lost piece leaves the plan, a damaged one waits
/// for the maker.
pub(super) async fn record(
    ctx: &Ctx,
    tx: &WriteTx,
    by: &Person,
    piece: &mut Piece,
    harm: Harm,
    words: &str,
    now: DateTime<Utc>,
) -> Result<(), Refused> {
    let who = hands::who(by);
    if !piece.state.is_here() {
        return Err(Refused::first("This piece is not here."));
    }
    for mut begun in operations::of_piece(tx, piece.id).await? {
        if begun.state == OperationState::Started {
            begun.state = OperationState::Open;
            (begun.started_at, begun.by) = (None, None);
            hands::save_operation(tx, &mut begun).await?;
            let fact = Fact::Stopped { operation: begun.id, code: code(harm).to_owned() };
            ledger::add(tx, &*piece, who, &fact, None, now).await?;
        }
    }
    let (stood, waited) = (piece.state, piece.waiting.clone());
    match harm {
        Harm::Lost => piece.state = piece.state.after(Event::Lose)?,
        Harm::Damaged => piece.waiting = Some(Waiting { on: WaitsOn::Decision, what: DAMAGED.to_owned() }),
    }
    let why = hands::write_note(tx, piece.visit, words, who, now).await?;
    let entry = ledger::add(tx, &*piece, who, &Fact::Harmed { harm, stood }, why, now).await?;
    let visit = visits::get(tx, piece.visit).await?.ok_or(Refused::Gone)?;
    let notice = (!visit.contact.email.is_empty()).then(|| ctx.new_id());
    piece.mishaps.push(Mishap { harm, words: words.to_owned(), entry, stood, waited, notice, settled: None });
    pieces::save(tx, piece).await?;
    piece.version += 1;
    if let Some(id) = notice {
        let profile = hands::profile(tx).await?;
        let link = hands::link(ctx, tx, visit.id).await?;
        let (email, name) = (visit.contact.email.clone(), visit.contact.name.clone());
        let harmed = Harmed { visit, piece: piece.clone(), harm, words: words.to_owned(), profile, link };
        let letter = Notice::Harmed(Box::new(harmed)).letter(&email, &name);
        outbox::queue_for(tx, id, letter, now + GRACE, now).await?;
    }
    ready::tell_anew(ctx, tx, piece.visit).await?;
    // The others may have waited only for this one.
    ready::look_again(ctx, tx, piece.visit, now).await
}

/// It was found again, or was not damaged after all: the piece stands where it stood. A customer who was told of the harm is told of this.
pub async fn set_right(
    ctx: &Ctx,
    by: &Person,
    id: PieceId,
    version: i64,
    entry: EntryId,
) -> Result<(), Refused> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut piece = hands::piece(&tx, id, version).await?;
    let at = piece.mishaps.iter().position(|m| m.entry == entry).ok_or(Refused::Gone)?;
    if piece.state == PieceState::Settled || piece.mishaps.get(at).is_some_and(|m| m.settled.is_some()) {
        return Err(Refused::first(
            "It is settled with the customer. If it has turned up, agree with them what becomes of it, and receive it as a new visit \
             by its tag.",
        ));
    }
    let mishap = piece.mishaps.remove(at);
    let harm = mishap.harm;
    match harm {
        Harm::Lost => piece.state = mishap.stood,
        Harm::Damaged if piece.state == PieceState::TurnedDown => {
            return Err(Refused::first(
                "The work on it was stopped for this and the customer was told so. It goes home as it is.",
            ));
        }
        Harm::Damaged => {
            let undecided = piece.awaits_decision();
            match piece.mishaps.iter_mut().skip(at).find(|m| m.harm == Harm::Damaged) {
                // A later damage still holds it.
                Some(later) => later.waited = mishap.waited,
                None if undecided => piece.waiting = mishap.waited,
                None => {}
            }
        }
    }
    let fact = Fact::SetRight { entry, harm };
    hands::save(&tx, &mut piece, None, hands::who(by), &[fact], "", now).await?;
    let unsaid = match mishap.notice {
        Some(notice) => outbox::take_back_one(&tx, notice).await?,
        None => true,
    };
    if !unsaid {
        let visit = visits::get(&tx, piece.visit).await?.ok_or(Refused::Gone)?;
        let profile = hands::profile(&tx).await?;
        let link = hands::link(ctx, &tx, visit.id).await?;
        let righted = Righted { visit: visit.clone(), piece: piece.clone(), harm, profile, link };
        hands::tell(ctx, &tx, &visit, &Notice::Righted(Box::new(righted))).await?;
    }
    ready::tell_anew(ctx, &tx, piece.visit).await?;
    ready::look_again(ctx, &tx, piece.visit, now).await?;
    tx.commit().await?;
    hands::ring(ctx, piece.visit);
    Ok(())
}

/// What was agreed with the customer about the harm that came to a piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Agreed {
    /// How it is made good.
    pub amends: Amends,
    /// What it comes to, where there is a figure.
    pub amount: Option<Money>,
    /// What the customer reads.
    pub words: String,
    /// The knife does not go back to the customer.
    pub stays: bool,
}

/// Reads what was typed about a settlement.
pub fn agreed(amends: &str, amount: &str, words: &str, stays: bool) -> Result<Agreed, FieldErrors> {
    let amends = Amends::parse(amends);
    let (words, mut errors) = match told("words", words) {
        Ok(words) => (words, FieldErrors::default()),
        Err(errors) => (String::new(), errors),
    };
    if amends.is_none() {
        errors.add("what", "Please choose how it was settled.");
    }
    let typed = amount.trim();
    let amount = Money::parse(typed).filter(|money| *money > Money(0));
    if amount.is_none() && !typed.is_empty() {
        errors.add("amount", "Please give the amount as a number, like 38 or 38.50.");
    } else if amount.is_none() && amends == Some(Amends::Paid) {
        errors.add("amount", "Please say how much is paid.");
    }
    let agreed = amends.map(|amends| Agreed { amends, amount, words, stays });
    errors.or(agreed)
}

/// Records how the last harm that came to a piece is settled with the customer, and tells them. What was lost is then over, and so
/// is what does not go back; the rest goes home as before. Settled again, the later agreement holds and the ledger has both.
pub async fn settle(
    ctx: &Ctx,
    by: &Person,
    id: PieceId,
    version: i64,
    agreed: Agreed,
) -> Result<(), Refused> {
    let now = ctx.now();
    let who = hands::who(by);
    let tx = ctx.store.begin_write().await?;
    let mut piece = hands::piece(&tx, id, version).await?;
    if piece.awaits_decision() {
        return Err(Refused::first("Decide first whether the work on it goes on."));
    }
    let visit = visits::get(&tx, piece.visit).await?.ok_or(Refused::Gone)?;
    let Agreed { amends, amount, words, stays } = agreed;
    let why = hands::write_note(&tx, piece.visit, &words, who, now).await?;
    let Mishap { entry: harm, settled: before, .. } = piece.mishaps.last().cloned().ok_or(Refused::Gone)?;
    // A customer who has not been told yet of what was settled before hears of the last word only.
    if let Some(unsaid) = before.and_then(|before| before.notice) {
        outbox::take_back_one(&tx, unsaid).await?;
    }
    let entry = ledger::add(&tx, &piece, who, &Fact::Settled { harm, amends, amount }, why, now).await?;
    let notice = (!visit.contact.email.is_empty()).then(|| ctx.new_id());
    let settlement = Settlement { amends, amount, words, entry, notice };
    if let Some(mishap) = piece.mishaps.last_mut() {
        mishap.settled = Some(settlement.clone());
    }
    let over = piece.state == PieceState::Lost || (stays && piece.state == PieceState::TurnedDown);
    if over {
        piece.state = piece.state.after(Event::Settle)?;
        piece.waiting = None;
    }
    pieces::save(&tx, &piece).await?;
    piece.version += 1;
    if let Some(id) = notice {
        let profile = hands::profile(&tx).await?;
        let link = hands::link(ctx, &tx, visit.id).await?;
        let (email, name) = (visit.contact.email.clone(), visit.contact.name.clone());
        let settled = Settled { visit, piece: piece.clone(), settlement, profile, link };
        let letter = Notice::Settled(Box::new(settled)).letter(&email, &name);
        outbox::queue_for(&tx, id, letter, now + GRACE, now).await?;
    }
    ready::look_again(ctx, &tx, piece.visit, now).await?;
    tx.commit().await?;
    hands::ring(ctx, piece.visit);
    Ok(())
}

/// The harm as one word, for the ledger.
fn code(harm: Harm) -> &'static str {
    match harm {
        Harm::Lost => "lost",
        Harm::Damaged => "damaged",
    }
}

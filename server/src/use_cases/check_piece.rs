//! Somebody checks a piece: burr, angle, straightness, colour, and a cutting test with its number and method. It passes,
//! or goes back for more work.

use shop::ids::OperationId;
use shop::ledger::{Fact, Measures};
use shop::piece::Event;
use shop::read::{Operation, OperationState, Piece};
use shop::route::OperationKind;
use shop::work::{self, Check, RawCheck};

use super::finish_operation::{TRIES, end, is_last};
use super::hands::{self, Refused};
use super::ready;
use crate::context::Ctx;
use crate::store::requests::{self, Claim, RequestKey};
use crate::store::staff::Person;
use crate::store::{WriteTx, operations, visits};

/// Writes the check down and moves the piece.
pub async fn check_piece(
    ctx: &Ctx,
    by: &Person,
    key: &RequestKey,
    id: OperationId,
    raw: &RawCheck,
) -> Result<(), Refused> {
    let checked = work::check(raw).map_err(Refused::Fields)?;
    for _ in 1..TRIES {
        match once(ctx, by, key, id, &checked).await {
            Err(Refused::Stale(_)) => {}
            other => return other,
        }
    }
    once(ctx, by, key, id, &checked).await
}

async fn once(
    ctx: &Ctx,
    by: &Person,
    key: &RequestKey,
    id: OperationId,
    checked: &Check,
) -> Result<(), Refused> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    if let Claim::Done(_) = requests::claim(&tx, key, now).await? {
        return Ok(());
    }
    let (mut operation, mut piece) = hands::operation(&tx, id).await?;
    if operation.step.kind != OperationKind::Prove {
        return Err(Refused::first("This step is not a check."));
    }
    let done = end(&tx, &mut operation, None, Measures::default(), now).await?;
    let fact = Fact::Checked {
        passed: checked.passed,
        findings: checked.findings.clone(),
        measures: checked.measures,
        method: checked.method.clone(),
        before: checked.before,
        again: checked.again.clone(),
    };
    let event = if checked.passed { Event::Pass } else { Event::Rework };
    hands::save(&tx, &mut piece, Some(event), hands::who(by), &[fact, done], &checked.note, now).await?;
    if !checked.passed {
        add_rework(ctx, &tx, &piece, checked).await?;
        // A visit that was told to be ready is not any more.
        let mut visit = visits::get(&tx, piece.visit).await?.ok_or(Refused::Gone)?;
        if visit.ready_at.take().is_some() {
            visits::save(&tx, &visit, now).await?;
        }
    } else if is_last(&tx, &piece).await? {
        ready::finish(ctx, &tx, &mut piece, hands::who(by), now).await?;
    }
    requests::settle(&tx, key, id.0).await?;
    tx.commit().await?;
    hands::ring(ctx, piece.visit);
    Ok(())
}

/// Appends what is done again, the check after it, and then the finishing steps that were still to come.
async fn add_rework(ctx: &Ctx, tx: &WriteTx, piece: &Piece, checked: &Check) -> Result<(), Refused> {
    let route = operations::of_piece(tx, piece.id).await?;
    let open: Vec<Operation> = route.iter().filter(|o| o.state == OperationState::Open).cloned().collect();
    let mut again: Vec<Operation> = Vec::new();
    for kind in &checked.again {
        // The last time this kind was done says where and how.
        match route.iter().rfind(|o| o.step.kind == *kind && o.state == OperationState::Done) {
            Some(before) if !again.iter().any(|o| o.step.kind == *kind) => again.push(before.clone()),
            Some(_) => {}
            None => return Err(Refused::field("again", format!("“{kind}” was not done on this piece."))),
        }
    }
    again.sort_by_key(|o| o.step.kind);
    let prove = route.iter().rfind(|o| o.step.kind == OperationKind::Prove).cloned();
    operations::drop_open(tx, piece.id).await?;
    let first = route.iter().map(|o| o.position + 1).max().unwrap_or(0);
    let steps = again.into_iter().chain(prove).map(|o| (o, true)).chain(open.into_iter().map(|o| (o, false)));
    let fresh: Vec<Operation> = (first..)
        .zip(steps)
        .map(|(position, (model, again))| {
            let mut step = model.step;
            if again {
                step.reason = format!("Again: {}", checked.note);
            }
            Operation {
                id: OperationId(ctx.new_id()),
                piece: piece.id,
                position,
                step,
                estimated: false,
                state: OperationState::Open,
                started_at: None,
                done_at: None,
                by: None,
                pinned: false,
                version: 1,
            }
        })
        .collect();
    operations::insert(tx, &fresh).await?;
    Ok(())
}

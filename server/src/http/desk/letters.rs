//! The desk's side of questions and answers.

use axum::extract::{Path, State};
use chrono_tz::Tz;
use serde::Deserialize;
use shop::read::Visit;
use web::pages::desk::letters::DeskTalk;
use web::pages::talk::LetterLine;

use super::super::Answer;
use super::super::caller::{Caller, Staff};
use super::super::form::Posted;
use super::super::problem::Problem;
use super::receive;
use crate::context::Ctx;
use crate::store::requests::RequestKey;
use crate::store::{Result, messages, staff};
use crate::use_cases::write_letter::{self, LetterError};
use crate::when;

/// What was asked and answered so far.
pub(super) async fn talk(ctx: &Ctx, visit: &Visit, zone: Tz) -> Result<DeskTalk> {
    let db = ctx.store.read();
    let letters = messages::of_visit(db, visit.id).await?;
    let staff = staff::list(db).await?;
    let name = |id| staff.iter().find(|p| p.id == id).map_or("somebody", |p| p.full_name.as_str()).to_owned();
    let lines = letters.into_iter().map(|m| LetterLine {
        by_shop: m.by_staff.is_some(),
        who: m.by_staff.map_or_else(|| visit.contact.name.clone(), |id| name(id.0)),
        when: when::short(zone, m.at),
        body: m.body,
    });
    Ok(DeskTalk { letters: lines.collect(), key: RequestKey::fresh() })
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct WriteRaw {
    key: String,
    body: String,
}

pub(super) async fn write(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(by): Staff,
    Path(reference): Path<String>,
    Posted(raw): Posted<WriteRaw>,
) -> Answer {
    let visit = super::find_visit(&ctx, &reference).await?;
    match write_letter::by_desk(&ctx, &by, visit.id, &raw.key, &raw.body).await {
        Ok(()) => Ok(super::to_visit(&visit, "written")),
        Err(LetterError::Gone) => Err(Problem::NotFound),
        Err(LetterError::Store(error)) => Err(error.into()),
        Err(LetterError::Fields(errors)) => receive::again(&ctx, &caller, &reference, None, errors).await,
    }
}

//! `/desk/visit/{reference}/tags`: tags to print.

use axum::extract::{Path, RawQuery, State};
use leptos::prelude::*;
use serde::Deserialize;
use web::pages::desk::tags::{Label, TagsPage};

use super::super::caller::Caller;
use super::super::{Answer, form, page};
use crate::context::Ctx;
use crate::use_cases::knowledge;
use crate::{local, qr, when};

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Query {
    on: String,
}

pub(super) async fn show(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(reference): Path<String>,
    RawQuery(query): RawQuery,
) -> Answer {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    let visit = super::find_visit(&ctx, &reference).await?;
    let zone = local::zone(&knowledge::profile(&ctx).await?);
    let n = visit.pieces.len();
    let mut labels = Vec::new();
    for piece in visit.pieces.iter().filter(|p| p.state.is_here()) {
        if let Some(tag) = piece.tag {
            labels.push(Label {
                tag: tag.to_string(),
                qr: qr::svg(&tag.plain())?,
                name: piece.name.clone(),
                of: format!("{} {}/{n}", visit.reference, piece.number),
                due: format!("due {}", when::short_day(zone, piece.due_at)),
            });
        }
    }
    let without = visit
        .pieces
        .iter()
        .filter(|p| p.state.is_here() && p.tag.is_none() && visit.received_at.is_some())
        .map(|p| p.name.clone())
        .collect();
    let reference = visit.reference.to_string();
    let title = format!("Tags of {reference}");
    let sheet = query.on == "sheet";
    Ok(page::render(&caller, &title, move || {
        view! { <TagsPage reference=reference labels=labels without=without sheet=sheet /> }
    })
    .await)
}

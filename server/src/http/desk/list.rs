//! `/desk`: what needs a hand now, and the field that takes every code.

use axum::extract::{RawQuery, State};
use axum::response::{IntoResponse, Redirect};
use leptos::prelude::*;
use serde::Deserialize;
use shop::piece::PieceState;
use web::pages::desk::list::{DeskPage, DeskView, Row, Section};

use super::super::caller::Caller;
use super::super::{Answer, form, page};
use crate::context::Ctx;
use crate::use_cases::show_desk::{self, Desk, Job, Need, Place};
use crate::{local, when};

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Query {
    code: String,
}

/// Kinds of jobs in the order the page shows them: id and heading.
const SECTIONS: [(Need, &str, &str); 10] = [
    (Need::Receive, "receive", "To receive"),
    (Need::Decide, "decide", "To decide"),
    (Need::Reply, "reply", "To answer"),
    (Need::Inspect, "inspect", "To measure"),
    (Need::AtRisk, "at-risk", "At risk of being late"),
    (Need::HandBack, "hand-back", "To hand back or send"),
    (Need::Uncollected, "uncollected", "Not fetched"),
    (Need::Customer, "customer", "Waiting for customers"),
    (Need::Missing, "missing", "Missing"),
    (Need::Later, "later", "Expected later"),
];

pub(super) async fn show(State(ctx): State<Ctx>, caller: Caller, RawQuery(query): RawQuery) -> Answer {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    let looked_for = query.code.trim().to_owned();
    let mut not_found = None;
    if !looked_for.is_empty() {
        match show_desk::find(&ctx, &looked_for).await? {
            Place::Visit(visit, piece) => {
                let visit_href = format!("/desk/visit/{}", visit.reference.plain());
                let href = match piece {
                    Some(p) if p.state == PieceState::InHand && p.tag.is_some() => {
                        format!("/desk/piece/{}/inspect", p.id)
                    }
                    Some(p) => format!("{visit_href}#piece-{}", p.number),
                    None => visit_href,
                };
                return Ok(Redirect::to(&href).into_response());
            }
            Place::Knife(tag) => {
                return Ok(Redirect::to(&format!("/desk/knife/{}", tag.plain())).into_response());
            }
            Place::Nothing => not_found = Some("Nothing of ours has this code.".to_owned()),
            Place::NotACode(why) => not_found = Some(why),
        }
    }
    let desk = show_desk::show_desk(&ctx).await?;
    let sections = sections(&desk);
    let view = DeskView { looked_for, not_found, done: None, sections };
    Ok(page::render(&caller, "Desk", move || view! { <DeskPage desk=view /> }).await)
}

fn sections(desk: &Desk) -> Vec<Section> {
    let of = |need| desk.jobs.iter().filter(move |job| job.need == need);
    SECTIONS
        .iter()
        .map(|(need, id, title)| Section { id, title, rows: of(*need).map(|job| row(desk, job)).collect() })
        .filter(|section: &Section| !section.rows.is_empty())
        .collect()
}

fn row(desk: &Desk, job: &Job) -> Row {
    let zone = local::zone(&desk.profile);
    let visit = &desk.visits[job.visit];
    let visit_href = format!("/desk/visit/{}", visit.reference.plain());
    let reference = visit.reference.to_string();
    let (code, name, href) = match job.piece.map(|i| &visit.pieces[i]) {
        None => (reference, String::new(), visit_href),
        Some(piece) => {
            let code = piece.tag.map_or_else(|| format!("{reference}/{}", piece.number), |t| t.to_string());
            let href = match job.need {
                Need::Inspect => format!("/desk/piece/{}/inspect", piece.id),
                Need::HandBack => format!("{visit_href}/hand-back"),
                _ => format!("{visit_href}#piece-{}", piece.number),
            };
            (code, piece.name.clone(), href)
        }
    };
    let when = match job.need {
        Need::Receive | Need::Later => when::short_day(zone, job.by),
        Need::HandBack | Need::Uncollected => format!("since {}", when::short_day(zone, job.by)),
        _ => format!("due {}", when::short_day(zone, job.by)),
    };
    Row { href, code, name, who: visit.contact.name.clone(), why: job.why.clone(), when, late: job.late }
}

//! `/plan/what-if`: one thing different, and what the plan would make of it.

use axum::Router;
use axum::extract::{RawQuery, State};
use axum::routing::get;
use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use leptos::prelude::*;
use planner::Shift;
use serde::Deserialize;
use shop::ids::PieceId;
use web::pages::plan::what_if::{Outcome, ShiftLine, WhatIf, WhatIfPage};

use super::caller::Caller;
use super::{Answer, Problem, form, page};
use crate::context::Ctx;
use crate::local;
use crate::planning::Body;
use crate::planning::what_if::{self, Answered, Question};
use crate::planning::why;
use crate::use_cases::show_plan::{self, Shown};

pub(super) fn routes() -> Router<Ctx> {
    Router::new().route("/plan/what-if", get(show))
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Query {
    r#if: String,
    piece: String,
    station: String,
    until: String,
    minutes: String,
}

async fn show(State(ctx): State<Ctx>, caller: Caller, RawQuery(query): RawQuery) -> Answer {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    let mut view = WhatIf {
        piece: query.piece.clone(),
        station: query.station.clone(),
        until: query.until.clone(),
        minutes: query.minutes.clone(),
        ..WhatIf::default()
    };
    if let Some(shown) = show_plan::show_plan(&ctx).await? {
        let zone = local::zone(&shown.profile);
        let open = shown.bench.stations.iter().filter(|s| !s.closed);
        view.stations = open.map(|s| (s.id.clone(), s.name.clone())).collect();
        if let Some((_, _, body)) = &shown.plan {
            let ordinary = body.jobs.iter().filter(|(_, of)| !of.rush);
            view.pieces =
                ordinary.map(|(id, of)| (id.clone(), format!("{} {}", of.label, of.name))).collect();
            view.pieces.sort_by(|a, b| a.1.cmp(&b.1));
        }
        if view.until.is_empty() {
            let in_two_days = local::opening_of_day_after(zone, &shown.profile.bench, ctx.now(), 2);
            view.until = in_two_days.map(|at| local::date(zone, at).to_string()).unwrap_or_default();
        }
        match question(&query, &shown, zone, ctx.now()) {
            Ok(None) => {}
            Ok(Some((question, asked))) => match what_if::what_if(&ctx, question).await {
                Ok(Some(answered)) => view.outcome = Some(outcome(&answered, asked, zone)),
                Ok(None) => view.error = Some("That piece or station is not in the plan now.".to_owned()),
                Err(error) => return Err(Problem::Unexpected(error.into())),
            },
            Err(sentence) => view.error = Some(sentence),
        }
    }
    Ok(page::render(&caller, "What if", move || view! { <WhatIfPage view=view /> }).await)
}

/// The question and the sentence it is; `Ok(None)`: nothing was asked.
fn question(
    query: &Query,
    shown: &Shown,
    zone: Tz,
    now: DateTime<Utc>,
) -> Result<Option<(Question, String)>, String> {
    let Some((_, _, body)) = &shown.plan else { return Ok(None) };
    Ok(Some(match query.r#if.as_str() {
        "" => return Ok(None),
        "rush" => {
            let of = body.jobs.get(&query.piece).ok_or("Please choose a piece that is in the plan.")?;
            let id: PieceId =
                query.piece.parse().map_err(|_| "Please choose a piece that is in the plan.")?;
            (Question::Rush(id), format!("If {} {} were rush", of.label, of.name))
        }
        "broken" => {
            let station = shown.bench.station(&query.station).ok_or("Please choose a station.")?;
            let day: NaiveDate = query.until.parse().map_err(|_| "Please give the day it runs again.")?;
            let until = local::midnight(zone, day);
            if until <= now {
                return Err("Please give a day to come.".to_owned());
            }
            let asked =
                format!("If the {} were out of order until {}", station.name, day.format("%A, %-d %B"));
            (Question::Broken(station.id.clone(), until), asked)
        }
        "longer" => {
            let minutes = query.minutes.parse().ok().filter(|m| (1..=600).contains(m));
            let minutes = minutes.ok_or("Please choose how long.")?;
            (Question::Longer(minutes), format!("If everybody stayed {} longer", why::length(minutes.into())))
        }
        _ => return Err("Please choose one of the questions.".to_owned()),
    }))
}

fn outcome(answered: &Answered, asked: String, zone: Tz) -> Outcome {
    let body = &answered.standing;
    let words = |minutes: i64| if minutes == 0 { "none".to_owned() } else { why::length(minutes) };
    let figure = |label: &str, (was, is): (i64, i64)| {
        (label.to_owned(), words(is), String::new(), format!("{} as it stands", words(was)))
    };
    Outcome {
        asked,
        figures: vec![figure("Lateness in all", answered.late), figure("Changing over", answered.changeover)],
        shifts: answered.shifts.iter().filter_map(|shift| line(body, shift, zone)).collect(),
        impossible: answered.impossible.clone(),
    }
}

fn line(body: &Body, shift: &Shift, zone: Tz) -> Option<ShiftLine> {
    let of = body.jobs.get(&shift.job)?;
    let by = shift.after - shift.before;
    let direction = if by < 0 { "earlier" } else { "later" };
    Some(ShiftLine {
        href: format!("/plan/piece/{}", of.piece),
        label: of.label.clone(),
        name: of.name.clone(),
        before: why::shown(zone, body.at(shift.before)),
        after: why::shown(zone, body.at(shift.after)),
        by: format!("{} {direction}", why::length(by.abs())),
        late: (shift.late_after > 0).then(|| why::length(shift.late_after)),
    })
}

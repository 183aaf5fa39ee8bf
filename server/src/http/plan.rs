//! The plan page, the page of a piece's place, and what a hand changes there.

use std::collections::{BTreeMap, BTreeSet};

use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect};
use axum::routing::{get, post};
use chrono::{DateTime, Days, NaiveDate, Timelike as _, Utc};
use chrono_tz::Tz;
use leptos::prelude::*;
use serde::Deserialize;
use shop::ids::{OperationId, PieceId, VisitId};
use shop::read::{OperationState, PlanBar};
use web::pages::plan::{
    Bar, Broken, Lane, LeftLine, PieceLine, Place, PlacePage, PlacedStep, PlanDays, PlanPage, Stretch,
};

use super::caller::{Caller, Staff};
use super::form::{self, Posted};
use super::{Answer, Problem, page};
use crate::context::Ctx;
use crate::local;
use crate::planning::{Body, why};
use crate::store::requests::RequestKey;
use crate::use_cases::hands::Refused;
use crate::use_cases::pin_operation;
use crate::use_cases::show_plan::{self, Shown, ShownPiece};
use crate::use_cases::stop_operation;

pub(super) fn routes() -> Router<Ctx> {
    Router::new()
        .route("/plan", get(show))
        .route("/plan/piece/{id}", get(show_piece))
        .route("/plan/pin", post(pin))
        .route("/plan/let-go", post(let_go))
        .route("/plan/rush", post(rush))
        .route("/plan/hold", post(hold))
        .route("/plan/go-on", post(go_on))
        .route("/plan/delay", post(delay))
}

impl From<Refused> for Problem {
    fn from(refused: Refused) -> Self {
        match refused {
            Refused::Gone => Self::NotFound,
            Refused::Stale(what) => Self::Conflict(format!("Somebody has changed {what} in the meantime.")),
            Refused::NotNow(not_now) => Self::Conflict(format!("{}.", capital(&not_now.to_string()))),
            Refused::First(sentence) => Self::Conflict(sentence),
            Refused::Fields(errors) => {
                let all: Vec<_> = errors.0.into_iter().map(|e| e.message).collect();
                Self::BadRequest(all.join(" "))
            }
            Refused::Store(error) => error.into(),
            Refused::Failed(error) => error.into(),
        }
    }
}

pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Query {
    day: String,
    days: String,
    said: String,
}

async fn show(State(ctx): State<Ctx>, caller: Caller, RawQuery(query): RawQuery) -> Answer {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    plan_page(&ctx, &caller, &query, &BTreeMap::new(), StatusCode::OK).await
}

/// Renders the plan; `errors` stand beside the visits they belong to.
async fn plan_page(
    ctx: &Ctx,
    caller: &Caller,
    query: &Query,
    errors: &BTreeMap<String, String>,
    status: StatusCode,
) -> Answer {
    let now = ctx.now();
    let days = match show_plan::show_plan(ctx).await? {
        None => PlanDays { title: "no shop yet".into(), ..PlanDays::default() },
        Some(shown) => view_of(&shown, query, errors, now),
    };
    Ok(page::with_status(caller, status, "Plan", move || view! { <PlanPage days=days /> }).await)
}

fn view_of(shown: &Shown, query: &Query, errors: &BTreeMap<String, String>, now: DateTime<Utc>) -> PlanDays {
    let zone = local::zone(&shown.profile);
    let today = local::date(zone, now);
    let first: NaiveDate = query.day.parse().unwrap_or(today);
    let n: u64 = if query.days == "7" { 7 } else { 1 };
    let origin = local::midnight(zone, first);
    let minute = |at: DateTime<Utc>| (at - origin).num_seconds().div_euclid(60);
    let plan = shown.plan.as_ref().map(|(id, made_at, body)| (id, made_at, body, body.view(*made_at)));
    let bars: Vec<&PlanBar> = plan.as_ref().map(|(.., v)| v.bars.iter().collect()).unwrap_or_default();
    let here = (first <= today && today < first + Days::new(n)).then(|| minute(now));
    let stretches = stretches(shown, &bars, zone, first, n, here, &minute);
    let drawn = |b: &PlanBar| {
        let (from, to) = (minute(b.changeover_start), minute(b.end));
        stretches.iter().any(|s| from < s.to && to > s.from)
    };
    let begun: BTreeSet<OperationId> = plan
        .as_ref()
        .map(|(_, _, body, _)| {
            body.jobs
                .values()
                .flat_map(|j| j.operations.iter().flatten())
                .filter(|o| o.begun)
                .map(|o| o.id)
                .collect()
        })
        .unwrap_or_default();
    let lanes = shown
        .bench
        .stations
        .iter()
        .map(|station| {
            let bars = bars.iter().filter(|b| b.station == station.id && drawn(b));
            let bars: Vec<Bar> =
                bars.map(|b| bar(b, shown, zone, &minute, begun.contains(&b.operation))).collect();
            let note = if station.closed { "out of order".to_owned() } else { String::new() };
            Lane { name: station.name.clone(), href: format!("/bench/{}", station.id), note, bars }
        })
        .filter(|lane: &Lane| !lane.bars.is_empty() || !lane.note.is_empty())
        .collect();
    let step = |days: u64, back: bool| {
        let date = if back {
            first.checked_sub_days(Days::new(days))
        } else {
            first.checked_add_days(Days::new(days))
        };
        let zoom = if n == 7 { "&days=7" } else { "" };
        format!("/plan?day={}{zoom}", date.unwrap_or(first))
    };
    let zoom = if n == 7 {
        (format!("/plan?day={first}"), "One day".to_owned())
    } else {
        (format!("/plan?day={first}&days=7"), "Whole week".to_owned())
    };
    let mut days = PlanDays {
        title: first.format(if n == 7 { "week from %-d %B" } else { "%A, %-d %B" }).to_string(),
        before: step(n, true),
        after: step(n, false),
        today: (first != today || n == 7).then(|| "/plan".to_owned()),
        zoom,
        now: here,
        stretches,
        lanes,
        broken: broken(shown, errors, zone),
        said: said(&query.said),
        ..PlanDays::default()
    };
    if let Some((id, made_at, body, view)) = plan {
        days.plan_id = id.to_string();
        days.made = Some(why::shown(zone, *made_at));
        days.pieces = pieces(body, zone);
        days.left_out = body
            .left_out
            .iter()
            .map(|l| LeftLine {
                label: l.label.clone(),
                name: l.name.clone(),
                href: format!("/plan/piece/{}", l.piece),
                why: l.why.clone(),
            })
            .collect();
        days.figures = figures(&view);
    }
    days
}

fn pieces(body: &Body, zone: Tz) -> Vec<PieceLine> {
    let finishes = body.finishes();
    let mut lines: Vec<_> = body
        .jobs
        .iter()
        .filter_map(|(id, job)| {
            let finish = *finishes.get(id.as_str())?;
            let late = (finish - job.due).num_minutes().max(0);
            let line = PieceLine {
                label: job.label.clone(),
                name: job.name.clone(),
                href: format!("/plan/piece/{}", job.piece),
                promised: why::shown(zone, job.due),
                finished: why::shown(zone, finish),
                late: (late > 0).then(|| why::length(late)),
            };
            Some((std::cmp::Reverse(late), finish, line))
        })
        .collect();
    lines.sort_by(|a, b| (a.0, a.1, &a.2.label).cmp(&(b.0, b.1, &b.2.label)));
    lines.into_iter().map(|line| line.2).collect()
}

fn figures(view: &shop::read::PlanView) -> Vec<(String, String, String, String)> {
    let hours = |minutes: u64| format!("{}:{:02}", minutes / 60, minutes % 60);
    let share =
        (view.changeover_minutes * 100).checked_div(view.changeover_minutes + view.work_minutes).unwrap_or(0);
    let mut list = vec![
        ("Work ahead".into(), hours(view.work_minutes), "h".into(), format!("{} steps", view.bars.len())),
        (
            "Changeovers and dressing".into(),
            hours(view.changeover_minutes),
            "h".into(),
            format!("{share} % of all bench time"),
        ),
        (
            "Late".into(),
            view.late.len().to_string(),
            if view.late.len() == 1 { "piece" } else { "pieces" }.into(),
            if view.late.is_empty() { "everything in time".into() } else { String::new() },
        ),
    ];
    if let Some(gap) = view.gap_percent.filter(|_| !view.late.is_empty()) {
        let note = "at most, above the best plan there can be".to_owned();
        list.push(("Dearer than the best".into(), format!("{gap:.0}"), "%".into(), note));
    }
    list
}

fn said(code: &str) -> Option<String> {
    match code {
        "told" => Some("The promise is moved and the notice is on its way.".to_owned()),
        _ => None,
    }
}

/// The hours drawn of each day: the bench's, stretched to whatever stands outside them. Days without either are left out.
fn stretches(
    shown: &Shown,
    bars: &[&PlanBar],
    zone: Tz,
    first: NaiveDate,
    n: u64,
    now: Option<i64>,
    minute: &impl Fn(DateTime<Utc>) -> i64,
) -> Vec<Stretch> {
    (0..n)
        .filter_map(|k| first.checked_add_days(Days::new(k)))
        .filter_map(|date| {
            let (begin, end) = (local::midnight(zone, date), local::midnight(zone, date + Days::new(1)));
            let hours = shown.profile.bench.on(date);
            let mut from = hours.first().map(|s| local::at_minute(zone, date, s.from));
            let mut to = hours.last().map(|s| local::at_minute(zone, date, s.to));
            for bar in bars.iter().filter(|b| b.changeover_start < end && b.end > begin) {
                let (a, b) = (bar.changeover_start.max(begin), bar.end.min(end));
                from = Some(from.map_or(a, |f| f.min(a)));
                to = Some(to.map_or(b, |t| t.max(b)));
            }
            let (mut from, to) = (minute(from?), minute(to?));
            // Today begins an hour ago: what is over is in the ledger, what is ahead needs the room.
            if let Some(now) = now.filter(|now| n == 1 && (from..to).contains(now)) {
                from = from.max(now - 60);
            }
            // Whole hours look calmer.
            let (from, to) = (from.div_euclid(60) * 60, (to + 59).div_euclid(60) * 60);
            let hours = (0..=24)
                .map(|h| begin + chrono::TimeDelta::hours(h))
                .map(|at| (minute(at), local::shown(zone, at).hour()))
                .filter(|(m, _)| (from..to).contains(m))
                .map(|(m, hour)| (m, format!("{hour}:00")))
                .collect();
            let open: Vec<(i64, i64)> = shown
                .profile
                .bench
                .on(date)
                .iter()
                .map(|s| {
                    (minute(local::at_minute(zone, date, s.from)), minute(local::at_minute(zone, date, s.to)))
                })
                .collect();
            let mut closed = Vec::new();
            let mut at = from;
            for (a, b) in open.into_iter().chain([(to, to)]) {
                if at < a {
                    closed.push((at, a));
                }
                at = at.max(b);
            }
            Some(Stretch { name: date.format("%a %-d %b").to_string(), from, to, closed, hours })
        })
        .collect()
}

fn bar(b: &PlanBar, shown: &Shown, zone: Tz, minute: &impl Fn(DateTime<Utc>) -> i64, begun: bool) -> Bar {
    let late = (b.finish - b.due).num_minutes();
    let (start, end) = (local::shown(zone, b.start), local::shown(zone, b.end));
    let when = if start.date() == end.date() {
        format!("{} to {}", start.format("%a %-H:%M"), end.format("%-H:%M"))
    } else {
        format!("{} to {}", start.format("%a %-H:%M"), end.format("%a %-H:%M"))
    };
    let setup = shown
        .bench
        .station(&b.station)
        .and_then(|s| s.setups.iter().find(|x| x.id == b.setup))
        .map(|x| if x.name.is_empty() { x.id.clone() } else { x.name.clone() });
    Bar {
        changeover_start: minute(b.changeover_start),
        start: minute(b.start),
        end: minute(b.end),
        label: b.label.clone(),
        name: b.name.clone(),
        work: b.kind.words().to_owned(),
        setup: setup.unwrap_or_else(|| b.setup.clone()),
        person: b.person.clone().unwrap_or_default(),
        href: format!("/plan/piece/{}", b.piece),
        when,
        begins: start.format("%-H:%M").to_string(),
        late: (late > 0).then(|| why::length(late)),
        begun,
        pinned: b.fixed && !begun,
        estimated: b.estimated,
    }
}

fn broken(shown: &Shown, errors: &BTreeMap<String, String>, zone: Tz) -> Vec<Broken> {
    shown
        .broken
        .iter()
        .map(|b| {
            let id = b.visit.id.to_string();
            Broken {
                reference: b.visit.reference.to_string(),
                customer: b.visit.contact.name.clone(),
                promised: why::shown(zone, b.visit.promise_at),
                finished: why::shown(zone, b.finished),
                proposed: local::date(zone, b.proposed).to_string(),
                key: RequestKey::fresh(),
                error: errors.get(&id).cloned(),
                visit: id,
            }
        })
        .collect()
}

async fn show_piece(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(id): Path<String>,
    RawQuery(query): RawQuery,
) -> Answer {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    let id: PieceId = id.parse().map_err(|_| Problem::NotFound)?;
    let said = match query.said.as_str() {
        "pinned" => Some("Pinned. The plan is made again around it."),
        "free" => Some("Let go. The plan is made again."),
        "rush" => Some("Changed. The plan is made again."),
        "held" => Some("Held. It is out of the plan until it goes on."),
        "goes-on" => Some("It goes on. The plan is made again."),
        _ => None,
    };
    place_page(&ctx, &caller, id, said.map(str::to_owned), Wrong::default(), StatusCode::OK).await
}

/// What is wrong with the forms of a place.
#[derive(Debug, Default)]
struct Wrong {
    hold: Option<String>,
    go_on: Option<String>,
}

async fn place_page(
    ctx: &Ctx,
    caller: &Caller,
    id: PieceId,
    said: Option<String>,
    wrong: Wrong,
    status: StatusCode,
) -> Answer {
    let found = show_plan::show_place(ctx, id).await?.ok_or(Problem::NotFound)?;
    let mut place = place_of(&found);
    place.said = said;
    place.hold_error = wrong.hold;
    place.go_on_error = wrong.go_on;
    let title = format!("Place of {}", place.label);
    Ok(page::with_status(caller, status, &title, move || view! { <PlacePage place=place /> }).await)
}

fn place_of(found: &ShownPiece) -> Place {
    let zone = local::zone(&found.shown.profile);
    let piece = &found.piece;
    let body = found.shown.plan.as_ref().map(|(_, _, body)| body);
    let job = piece.id.to_string();
    let of = body.and_then(|b| b.jobs.get(&job));
    let left = body.and_then(|b| b.left_out.iter().find(|l| l.piece == piece.id)).map(|l| l.why.clone());
    let finished = body.and_then(|b| b.finishes().get(job.as_str()).copied());
    let late = finished.map(|f| (f - piece.due_at).num_minutes()).filter(|m| *m > 0);
    let steps = found
        .route
        .iter()
        .map(|op| {
            let placed = body.and_then(|b| {
                let (job, index) = b.find(op.id)?;
                Some((b, job, index, b.plan.find(job, index)?))
            });
            let (when, person, reason) = match placed {
                Some((b, job, index, p)) if op.state != OperationState::Done => (
                    format!(
                        "{} to {}",
                        why::shown(zone, b.at(p.start)),
                        local::shown(zone, b.at(p.end)).format("%-H:%M")
                    ),
                    p.person.as_deref().map(|id| b.name(id).to_owned()).unwrap_or_default(),
                    why::why(b, job, index, zone),
                ),
                _ => (String::new(), String::new(), String::new()),
            };
            PlacedStep {
                operation: op.id.to_string(),
                work: capital(op.step.kind.words()),
                place: found.shown.bench.setup_name(&op.step.station, &op.step.setup),
                when,
                person,
                why: reason,
                state: match op.state {
                    OperationState::Done => "done",
                    OperationState::Started => "begun",
                    OperationState::Open | OperationState::Dropped => "open",
                },
                pinned: op.pinned,
            }
        })
        .collect();
    Place {
        piece: piece.id.to_string(),
        label: piece
            .tag
            .map_or_else(|| format!("{}/{}", found.visit.reference, piece.number), |t| t.to_string()),
        name: piece.name.clone(),
        stands: capital(piece.state.words()),
        remark: left.or_else(|| of.and_then(|of| of.assumed.clone())),
        promised: why::shown(zone, piece.due_at),
        finished: finished.map(|f| why::shown(zone, f)),
        late: late.map(why::length),
        rush: piece.rush || found.visit.rush,
        waits: piece.waiting.as_ref().map(|w| w.what.clone()),
        has_work: piece.state.has_work_ahead(),
        steps,
        ..Place::default()
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct OneOperation {
    operation: String,
}

async fn pin(State(ctx): State<Ctx>, Posted(raw): Posted<OneOperation>) -> Answer {
    let id: OperationId = raw.operation.parse().map_err(|_| Problem::NotFound)?;
    pin_operation::pin_operation(&ctx, id).await?;
    back_to_piece(&ctx, id, "pinned").await
}

async fn let_go(State(ctx): State<Ctx>, Posted(raw): Posted<OneOperation>) -> Answer {
    let id: OperationId = raw.operation.parse().map_err(|_| Problem::NotFound)?;
    pin_operation::let_go(&ctx, id).await?;
    back_to_piece(&ctx, id, "free").await
}

async fn back_to_piece(ctx: &Ctx, id: OperationId, said: &str) -> Answer {
    let operation = crate::store::operations::get(ctx.store.read(), id).await?.ok_or(Problem::NotFound)?;
    Ok(Redirect::to(&format!("/plan/piece/{}?said={said}", operation.piece)).into_response())
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct OnePiece {
    piece: String,
    rush: String,
    what: String,
    note: String,
    price: String,
}

async fn rush(State(ctx): State<Ctx>, Posted(raw): Posted<OnePiece>) -> Answer {
    let id: PieceId = raw.piece.parse().map_err(|_| Problem::NotFound)?;
    pin_operation::set_rush(&ctx, id, raw.rush == "true").await?;
    Ok(Redirect::to(&format!("/plan/piece/{id}?said=rush")).into_response())
}

async fn hold(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Posted(raw): Posted<OnePiece>,
) -> Answer {
    let id: PieceId = raw.piece.parse().map_err(|_| Problem::NotFound)?;
    match pin_operation::hold(&ctx, &person, id, &raw.what).await {
        Ok(()) => Ok(Redirect::to(&format!("/plan/piece/{id}?said=held")).into_response()),
        Err(Refused::Fields(errors)) => {
            let wrong = Wrong { hold: errors.0.into_iter().next().map(|e| e.message), go_on: None };
            place_page(&ctx, &caller, id, None, wrong, StatusCode::UNPROCESSABLE_ENTITY).await
        }
        Err(other) => Err(other.into()),
    }
}

async fn go_on(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Posted(raw): Posted<OnePiece>,
) -> Answer {
    let id: PieceId = raw.piece.parse().map_err(|_| Problem::NotFound)?;
    // Said twice it still goes on only once: the second finds nothing that waits.
    let key =
        RequestKey::parse("go-on", &RequestKey::fresh()).ok_or_else(|| Problem::unexpected("no key"))?;
    match stop_operation::goes_on(&ctx, &person, &key, id, &raw.price, &raw.note).await {
        Ok(()) => Ok(Redirect::to(&format!("/plan/piece/{id}?said=goes-on")).into_response()),
        Err(Refused::Fields(errors)) => {
            let wrong = Wrong { hold: None, go_on: errors.0.into_iter().next().map(|e| e.message) };
            place_page(&ctx, &caller, id, None, wrong, StatusCode::UNPROCESSABLE_ENTITY).await
        }
        Err(other) => Err(other.into()),
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct RawDelay {
    visit: String,
    key: String,
    until: BTreeMap<String, String>,
    why: BTreeMap<String, String>,
}

async fn delay(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Posted(raw): Posted<RawDelay>,
) -> Answer {
    let id: VisitId = raw.visit.parse().map_err(|_| Problem::NotFound)?;
    let key = RequestKey::parse("delay", &raw.key)
        .ok_or_else(|| Problem::BadRequest("The form has no key.".to_owned()))?;
    // A key that begins with a digit would be read as a place in a list.
    let own = format!("v{}", raw.visit);
    let typed = raw.until.get(&own).map(String::as_str).unwrap_or_default();
    let why = raw.why.get(&own).map(String::as_str).unwrap_or_default();
    let shown = show_plan::show_plan(&ctx).await?.ok_or(Problem::NotFound)?;
    let zone = local::zone(&shown.profile);
    let until = typed
        .parse::<NaiveDate>()
        .ok()
        .and_then(|date| local::closing_after(zone, &shown.profile.counter, local::midnight(zone, date)));
    let refused = match until {
        None => "Please give the new day.".to_owned(),
        Some(until) => match pin_operation::move_promise(&ctx, &person, &key, id, until, why).await {
            Ok(()) => return Ok(Redirect::to("/plan?said=told").into_response()),
            Err(Refused::Fields(errors)) => {
                errors.0.into_iter().map(|e| e.message).collect::<Vec<_>>().join(" ")
            }
            Err(other) => return Err(other.into()),
        },
    };
    let errors = BTreeMap::from([(raw.visit, refused)]);
    plan_page(&ctx, &caller, &Query::default(), &errors, StatusCode::UNPROCESSABLE_ENTITY).await
}

//! The bench's pages: which station next, setup checks, and the forms of a piece that is worked on.

use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect};
use axum::routing::{get, post};
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use leptos::prelude::*;
use serde::Deserialize;
use shop::bench::{Setup, Station, Wheel};
use shop::ids::{OperationId, PieceId, StaffId};
use shop::read::OperationState;
use shop::route::OperationKind;
use shop::safety;
use shop::units::short;
use shop::work::{RawCheck, RawDone};
use web::pages::bench::{
    Ends, FloorPage, FloorView, Held, RunPiece, SetupView, StationCard, StationPage, StationView, Typed,
};

use super::caller::{Caller, Staff};
use super::form::{self, Posted};
use super::plan::capital;
use super::{Answer, Problem, page};
use crate::context::Ctx;
use crate::local;
use crate::planning::why;
use crate::store::requests::RequestKey;
use crate::store::staff::Person;
use crate::use_cases::bench::Refused;
use crate::use_cases::show_run::{self, AtStation, Floor, Work};
use crate::use_cases::{check_piece, confirm_setup, finish_operation, start_operation, stop_operation};

pub(super) fn routes() -> Router<Ctx> {
    Router::new()
        .route("/bench", get(floor))
        .route("/bench/{station}", get(station))
        .route("/bench/{station}/setup", post(setup))
        .route("/bench/{station}/start", post(start))
        .route("/bench/{station}/done", post(done))
        .route("/bench/{station}/check", post(check))
        .route("/bench/{station}/stop", post(stop))
        .route("/bench/{station}/more", post(more))
        .route("/bench/{station}/go-on", post(go_on))
        .route("/bench/{station}/hand-over", post(hand_over))
}

async fn floor(State(ctx): State<Ctx>, caller: Caller, Staff(person): Staff) -> Answer {
    let view = match show_run::show_floor(&ctx).await? {
        None => FloorView { bare: true, ..FloorView::default() },
        Some(floor) => floor_of(&floor, &person, ctx.now()),
    };
    Ok(page::render(&caller, "Bench", move || view! { <FloorPage floor=view /> }).await)
}

fn floor_of(floor: &Floor, person: &Person, now: DateTime<Utc>) -> FloorView {
    let zone = local::zone(&floor.profile);
    let me = StaffId(person.id);
    let mut mine: Option<(bool, DateTime<Utc>, String, String)> = None;
    let mut stations: Vec<(bool, StationCard)> = Vec::new();
    for s in &floor.bench.stations {
        let href = format!("/bench/{}", s.id);
        let run = floor.next_run(s);
        let begun = floor
            .work
            .get(&s.id)
            .into_iter()
            .flatten()
            .filter(|w| w.operation.state == OperationState::Started);
        let mut busy = Vec::new();
        for work in begun {
            let name =
                work.operation.by.and_then(|id| floor.names.get(&id)).map_or("Somebody", String::as_str);
            busy.push(format!("{name}: {}", label(work)));
            if work.operation.by == Some(me) {
                let at = work.operation.started_at.unwrap_or(now);
                mine = Some((true, at, href.clone(), format!("{}, {} is begun", s.name, label(work))));
            }
        }
        let open: Vec<&Work> =
            run.iter().flat_map(|r| &r.work).filter(|w| w.operation.state == OperationState::Open).collect();
        // An inspection is begun and ended with its sheet, not here.
        let begins = |w: &&&Work| w.not_yet.is_none() && w.operation.step.kind != OperationKind::Inspect;
        let ready = if busy.len() < s.basin.max(1) as usize { open.iter().filter(begins).count() } else { 0 };
        let first = open.iter().find(begins).and_then(|w| w.planned);
        if let (Some(run), Some((at, _)), true) = (&run, first, busy.is_empty())
            && mine.as_ref().is_none_or(|m| !m.0 && at < m.1)
        {
            let setup = setup_name(&run.setup);
            let words = if setup.is_empty() { s.name.clone() } else { format!("{}, {setup}", s.name) };
            mine = Some((false, at, href.clone(), words));
        }
        let next = run.as_ref().filter(|_| !open.is_empty()).map(|r| {
            let when = open[0].planned.map(|p| why::shown(zone, p.0)).unwrap_or_default();
            (setup_name(&r.setup), open.len(), when)
        });
        let idle = busy.is_empty() && next.is_none();
        stations.push((
            idle,
            StationCard { href, name: s.name.clone(), kind: s.kind, busy, next, ready, closed: s.closed },
        ));
    }
    stations.sort_by_key(|s| s.0);
    FloorView {
        stations: stations.into_iter().map(|s| s.1).collect(),
        mine: mine.map(|m| (m.2, m.3)),
        bare: false,
    }
}

fn setup_name(setup: &Setup) -> String {
    setup.name.clone()
}

fn label(work: &Work) -> String {
    work.piece
        .tag
        .map_or_else(|| format!("{}/{}", work.visit.reference, work.piece.number), |t| t.to_string())
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Query {
    said: String,
}

async fn station(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Path(id): Path<String>,
    RawQuery(query): RawQuery,
) -> Answer {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    let said = match query.said.as_str() {
        "checked" => Some("The setup is checked. Gloves stay off."),
        "done" => Some("Done, and counted."),
        "passed" => Some("Passed."),
        "rework" => Some("It goes back to the bench; its new steps are in the plan."),
        "stopped" => Some("Stopped. It is put down."),
        "asked" => Some("It is put down, and the customer is asked."),
        "goes-on" => Some("It goes on."),
        "handed" => Some("Handed over."),
        _ => None,
    };
    show(&ctx, &caller, &person, &id, said, None, Typed::default(), StatusCode::OK).await
}

#[expect(clippy::too_many_arguments, reason = "one page, shown by every form of it")]
async fn show(
    ctx: &Ctx,
    caller: &Caller,
    person: &Person,
    id: &str,
    said: Option<&str>,
    problem: Option<String>,
    typed: Typed,
    status: StatusCode,
) -> Answer {
    let found = show_run::show_run(ctx, id).await?.ok_or(Problem::NotFound)?;
    let mut view = view_of(&found, person, ctx.now());
    view.said = said.map(str::to_owned);
    view.problem = problem;
    view.typed = typed;
    let title = view.name.clone();
    Ok(page::with_status(caller, status, &title, move || view! { <StationPage view=view /> }).await)
}

fn view_of(found: &AtStation, person: &Person, now: DateTime<Utc>) -> StationView {
    let floor = &found.floor;
    let zone = local::zone(&floor.profile);
    let s = &found.station;
    let me = StaffId(person.id);
    let kinds: Vec<OperationKind> = match &found.run {
        Some(run) => run.work.iter().map(|w| w.operation.step.kind).collect(),
        None => Vec::new(),
    };
    let mut cautions: Vec<safety::Caution> = Vec::new();
    for kind in kinds {
        for caution in safety::cautions(kind, s.kind) {
            if !cautions.contains(&caution) {
                cautions.push(caution);
            }
        }
    }
    let when = |at: DateTime<Utc>| why::shown(zone, at);
    StationView {
        id: s.id.clone(),
        name: s.name.clone(),
        kind: s.kind,
        room: s.basin.max(1),
        setup: found.run.as_ref().map(|run| setup_of(found, &run.setup, zone)),
        cautions,
        pieces: found.run.iter().flat_map(|r| &r.work).map(|w| piece_of(w, floor, zone, now)).collect(),
        later: found
            .later
            .iter()
            .map(|(setup, n, at)| (setup.clone(), *n, at.map(when).unwrap_or_default()))
            .collect(),
        held: found
            .held
            .iter()
            .map(|w| Held {
                piece: w.piece.id.to_string(),
                label: label(w),
                name: w.piece.name.clone(),
                what: w.piece.waiting.as_ref().map(|x| capital(&x.what)).unwrap_or_default(),
            })
            .collect(),
        colleagues: floor
            .names
            .iter()
            .filter(|(id, _)| **id != me)
            .map(|(id, name)| (id.to_string(), name.clone()))
            .collect(),
        said: None,
        problem: None,
        typed: Typed::default(),
        plan_id: floor.plan.map(|id| id.to_string()).unwrap_or_default(),
    }
}

fn setup_of(found: &AtStation, setup: &Setup, zone: Tz) -> SetupView {
    let (refusal, checks) = match &found.checks {
        Ok(checks) => (None, checks.clone()),
        Err(why) => (Some(why.clone()), Vec::new()),
    };
    let checked = found.checked.as_ref().map(|c| {
        let name = found.floor.names.get(&c.by).map_or("a colleague", String::as_str);
        format!("Mounted and checked at {} by {name}.", local::shown(zone, c.at).format("%-H:%M"))
    });
    SetupView {
        id: setup.id.clone(),
        name: if setup.name.is_empty() { found.station.name.clone() } else { setup.name.clone() },
        facts: found.wheel.as_ref().map(|w| wheel_facts(w, &found.station, setup)).unwrap_or_default(),
        refusal,
        checks,
        wears: found.wheel.as_ref().is_some_and(|w| w.diameter_mm > 0.0),
        checked,
        key: RequestKey::fresh(),
    }
}

fn wheel_facts(wheel: &Wheel, station: &Station, setup: &Setup) -> Vec<(String, String)> {
    let mut facts = vec![("Mark".to_owned(), format!("{} · {}", wheel.mark, wheel.name))];
    facts.push(("Grain and bond".into(), format!("{}, {}", wheel.grit, wheel.bond.words())));
    if wheel.diameter_mm > 0.0 {
        facts.push((
            "Diameter".into(),
            format!("{} mm (done at {} mm)", short(wheel.diameter_mm, 1), short(wheel.least_diameter_mm, 0)),
        ));
    }
    if let (Some(marked), Some(spindle)) = (wheel.marked_max_rpm, wheel.spindle_rpm) {
        facts.push(("Marked speed".into(), format!("at most {marked:.0} per minute")));
        facts.push(("Spindle".into(), format!("{spindle:.0} per minute")));
    }
    if let Some(speed) = wheel.surface_speed_m_s() {
        facts.push(("At the rim".into(), format!("{} m/s", short(speed, 1))));
    }
    if let Some(teeth) = wheel.teeth {
        facts.push((
            "Teeth".into(),
            format!("pitch {} mm, {}°", short(teeth.pitch_mm, 2), short(teeth.angle_deg, 1)),
        ));
    }
    if let Some(dress) = setup.dress.filter(|_| wheel.bond != shop::bench::Bond::Plated) {
        let left = dress.every.saturating_sub(wheel.pieces_since_dressing);
        let words = if left == 0 {
            format!("due now ({} min)", dress.minutes)
        } else {
            format!("after {left} more {}", if left == 1 { "piece" } else { "pieces" })
        };
        facts.push(("Dressing".into(), words));
    }
    if let Some(mounted) = &station.mounted
        && *mounted != setup.id
    {
        let name = station.setups.iter().find(|s| s.id == *mounted).map_or(mounted.clone(), setup_name);
        facts.push(("Now mounted".into(), name));
    }
    facts
}

fn piece_of(w: &Work, floor: &Floor, zone: Tz, now: DateTime<Utc>) -> RunPiece {
    let op = &w.operation;
    let begun = (op.state == OperationState::Started).then(|| {
        let at = op.started_at.unwrap_or(now);
        let name =
            op.by.and_then(|id| floor.names.get(&id)).cloned().unwrap_or_else(|| "somebody".to_owned());
        (name, local::shown(zone, at).format("%-H:%M").to_string(), (now - at).num_seconds())
    });
    let late = w.finish.map(|f| (f - w.piece.due_at).num_minutes()).filter(|m| *m > 0);
    let inspected = w.piece.inspection.as_ref().map(|i| i.note.trim().to_owned()).filter(|n| !n.is_empty());
    let mut again: Vec<OperationKind> = w
        .done
        .iter()
        .copied()
        .filter(|k| !matches!(k, OperationKind::Inspect | OperationKind::Prove))
        .collect();
    again.sort_unstable();
    again.dedup();
    RunPiece {
        operation: op.id.to_string(),
        piece: w.piece.id.to_string(),
        label: label(w),
        name: w.piece.name.clone(),
        work: capital(op.step.kind.words()),
        targets: op.step.targets.clone(),
        reason: op.step.reason.clone(),
        note: inspected.unwrap_or_default(),
        minutes: op.step.minutes,
        when: w.planned.map(|p| why::shown(zone, p.0)).unwrap_or_default(),
        not_yet: w.not_yet.clone(),
        rush: w.piece.rush || w.visit.rush,
        late: late.map(why::length),
        begun,
        ends: match op.step.kind {
            OperationKind::Prove => Ends::Check,
            OperationKind::Inspect => Ends::Sheet,
            _ => Ends::Done,
        },
        again: again.into_iter().map(|k| (k.code().to_owned(), capital(k.words()))).collect(),
        href: format!("/desk/piece/{}/inspect", w.piece.id),
        keys: std::array::from_fn(|_| RequestKey::fresh()),
    }
}

/// Everything the forms of this page may send; each uses its own part.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
struct Raw {
    operation: String,
    piece: String,
    key: String,
    setup: String,
    ticks: Vec<String>,
    diameter: String,
    reason: String,
    what: String,
    price: String,
    to: String,
    note: String,
    minutes: String,
    height: String,
    behind_edge: String,
    angle: String,
    length: String,
    bow: String,
    good: Vec<String>,
    method: String,
    number: String,
    verdict: String,
    again: Vec<String>,
}

impl Raw {
    fn key(&self, what: &'static str) -> Result<RequestKey, Problem> {
        RequestKey::parse(what, &self.key)
            .ok_or_else(|| Problem::BadRequest("The form has no key; reload the page.".to_owned()))
    }

    fn operation(&self) -> Result<OperationId, Problem> {
        self.operation.parse().map_err(|_| Problem::NotFound)
    }

    fn done(&self) -> RawDone {
        RawDone {
            minutes: self.minutes.clone(),
            height: self.height.clone(),
            behind_edge: self.behind_edge.clone(),
            angle: self.angle.clone(),
            length: self.length.clone(),
            bow: self.bow.clone(),
            note: self.note.clone(),
        }
    }

    fn check(&self) -> RawCheck {
        RawCheck {
            good: self.good.clone(),
            angle: self.angle.clone(),
            height: self.height.clone(),
            bow: self.bow.clone(),
            method: self.method.clone(),
            number: self.number.clone(),
            verdict: self.verdict.clone(),
            again: self.again.clone(),
            note: self.note.clone(),
        }
    }

    /// What was typed, to be shown again.
    fn typed(&self, id: &str, form: &str, words: &str) -> Typed {
        Typed {
            id: id.to_owned(),
            form: form.to_owned(),
            done: self.done(),
            check: self.check(),
            reason: self.reason.clone(),
            words: words.to_owned(),
            price: self.price.clone(),
            ticks: self.ticks.clone(),
            diameter: self.diameter.clone(),
            errors: Default::default(),
        }
    }
}

/// Who sent a form, from which station's page.
struct Sent<'a> {
    ctx: &'a Ctx,
    caller: &'a Caller,
    person: &'a Person,
    station: &'a str,
}

impl Sent<'_> {
    /// Back to the station; or the same page again with what was typed and what is wrong with it.
    async fn answer(&self, outcome: Result<(), Refused>, said: &str, mut typed: Typed) -> Answer {
        let (problem, status) = match outcome {
            Ok(()) => {
                return Ok(Redirect::to(&format!("/bench/{}?said={said}", self.station)).into_response());
            }
            Err(Refused::Fields(errors)) => {
                typed.errors = errors;
                (None, StatusCode::UNPROCESSABLE_ENTITY)
            }
            Err(Refused::First(sentence)) => (Some(sentence), StatusCode::CONFLICT),
            Err(Refused::NotNow(not_now)) => {
                (Some(format!("{}.", capital(&not_now.to_string()))), StatusCode::CONFLICT)
            }
            Err(Refused::Stale(_)) => (
                Some(
                    "Somebody was quicker. This is how it stands now; do it again if it is still right."
                        .to_owned(),
                ),
                StatusCode::CONFLICT,
            ),
            Err(other) => return Err(other.into()),
        };
        show(self.ctx, self.caller, self.person, self.station, None, problem, typed, status).await
    }
}

macro_rules! sent {
    ($ctx:ident, $caller:ident, $person:ident, $station:ident) => {
        Sent { ctx: &$ctx, caller: &$caller, person: &$person, station: &$station }
    };
}

async fn setup(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let key = raw.key("setup")?;
    let outcome =
        confirm_setup::confirm_setup(&ctx, &person, &key, &station, &raw.setup, &raw.ticks, &raw.diameter)
            .await;
    sent!(ctx, caller, person, station).answer(outcome, "checked", raw.typed(&raw.setup, "setup", "")).await
}

async fn start(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let outcome = start_operation::start_operation(&ctx, &person, &raw.key("start")?, raw.operation()?).await;
    sent!(ctx, caller, person, station).answer(outcome, "begun", Typed::default()).await
}

async fn done(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let (key, id) = (raw.key("done")?, raw.operation()?);
    let outcome = finish_operation::finish_operation(&ctx, &person, &key, id, &raw.done()).await;
    sent!(ctx, caller, person, station).answer(outcome, "done", raw.typed(&raw.operation, "done", "")).await
}

async fn check(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let (key, id) = (raw.key("check")?, raw.operation()?);
    let outcome = check_piece::check_piece(&ctx, &person, &key, id, &raw.check()).await;
    let said = if raw.verdict == "pass" { "passed" } else { "rework" };
    sent!(ctx, caller, person, station).answer(outcome, said, raw.typed(&raw.operation, "check", "")).await
}

async fn stop(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let (key, id) = (raw.key("stop")?, raw.operation()?);
    let outcome = stop_operation::stop_operation(&ctx, &person, &key, id, &raw.reason, &raw.note).await;
    sent!(ctx, caller, person, station)
        .answer(outcome, "stopped", raw.typed(&raw.operation, "stop", &raw.note))
        .await
}

async fn more(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let (key, id) = (raw.key("more")?, raw.operation()?);
    let outcome = stop_operation::needs_more(&ctx, &person, &key, id, &raw.what, &raw.price).await;
    sent!(ctx, caller, person, station)
        .answer(outcome, "asked", raw.typed(&raw.operation, "more", &raw.what))
        .await
}

async fn go_on(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let id: PieceId = raw.piece.parse().map_err(|_| Problem::NotFound)?;
    let outcome = stop_operation::goes_on(&ctx, &person, id, &raw.price, &raw.note).await;
    sent!(ctx, caller, person, station)
        .answer(outcome, "goes-on", raw.typed(&raw.piece, "go-on", &raw.note))
        .await
}

async fn hand_over(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Path(station): Path<String>,
    Posted(raw): Posted<Raw>,
) -> Answer {
    let to: StaffId = raw.to.parse().map_err(|_| Problem::NotFound)?;
    let outcome = start_operation::hand_over(&ctx, &person, raw.operation()?, to).await;
    sent!(ctx, caller, person, station).answer(outcome, "handed", Typed::default()).await
}

//! The day a booking that is being typed can be promised for: by insertion into the plan that stands.

use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use chrono::{DateTime, TimeDelta, Utc};
use planner::{Alternative, Job, Minute, Operation, Outlook, Scatter, Standing};
use shop::hours::Hours;
use shop::profile::Profile;
use shop::route::RouteStep;
use uuid::Uuid;

use super::body::Body;
use crate::context::Ctx;
use crate::local;
use crate::store::{self, operations, plans, settings};

/// How many done operations it takes before their scatter is believed rather than the usual one.
const LEAST_SAMPLE: usize = 30;

/// How far back finished work is looked at.
const LOOK_BACK: TimeDelta = TimeDelta::days(90);

/// Days after arrival when nothing at all is known, not even the shop's own rule.
const UNKNOWN_DAYS: i64 = 14;

/// The promised instant for pieces with these routes that arrive together: the closing time of an open day.
///
/// It is the day on which all of them are ready in nine plays of the plan out of ten, when nothing that stands moves for
/// them; never the day of arrival itself, for a blade is inspected and its price agreed first. Where there is no plan
/// yet, or it cannot hold the work, it is the shop's own number of working days after arrival.
pub async fn promise(
    ctx: &Ctx,
    routes: &[Vec<RouteStep>],
    arrival: DateTime<Utc>,
) -> store::Result<DateTime<Utc>> {
    let db = ctx.store.read();
    let Some(profile) = settings::get::<Profile>(db).await? else {
        return Ok(arrival + TimeDelta::days(UNKNOWN_DAYS));
    };
    let profile = profile.value;
    let opened = match plans::latest_id(db).await? {
        Some(id) => open(ctx, id).await?,
        None => None,
    };
    let routes = routes.to_vec();
    let release = arrival.max(ctx.now());
    let ready = match opened {
        Some(opened) => {
            tokio::task::spawn_blocking(move || opened.ready(&routes, release)).await.unwrap_or(None)
        }
        None => None,
    };
    Ok(round_up(&profile, release, ready))
}

/// Rounds up to the closing time of an open day. `None`: the shop's own number of working days.
fn round_up(profile: &Profile, arrival: DateTime<Utc>, ready: Option<DateTime<Utc>>) -> DateTime<Utc> {
    let zone = local::zone(profile);
    let nobody: &Hours = &Hours::default();
    let hours = [&profile.counter, &profile.bench]
        .into_iter()
        .find(|h| h.open_day_after(local::date(zone, arrival), 0).is_some())
        .unwrap_or(nobody);
    let after = |n| local::closing_of_day_after(zone, hours, arrival, n);
    let rounded = match ready {
        Some(ready) => local::closing_after(zone, hours, ready).max(after(1)),
        None => after(profile.promise_days.max(1)),
    };
    rounded.unwrap_or(arrival + TimeDelta::days(UNKNOWN_DAYS))
}

/// A published plan, opened for questions.
#[derive(Debug)]
struct Opened {
    id: Uuid,
    body: Body,
    standing: Standing,
    outlook: Outlook,
    scatter: Scatter,
}

/// The plan that was asked last. One is enough: all questions are about the newest.
static LAST: OnceLock<Mutex<Option<Arc<Opened>>>> = OnceLock::new();

async fn open(ctx: &Ctx, id: Uuid) -> store::Result<Option<Arc<Opened>>> {
    let last = LAST.get_or_init(Mutex::default);
    let known = last.lock().unwrap_or_else(PoisonError::into_inner).clone();
    if let Some(opened) = known.filter(|opened| opened.id == id) {
        return Ok(Some(opened));
    }
    let db = ctx.store.read();
    let Some(stored) = plans::latest(db).await? else { return Ok(None) };
    let Ok(body) = Body::read(&stored) else { return Ok(None) };
    let scatter = scatter(ctx).await?;
    let opened = tokio::task::spawn_blocking(move || {
        let standing = Standing::open(&body.instance, &body.plan).ok()?;
        let outlook = standing.outlook(scatter);
        Some(Arc::new(Opened { id: stored.id, body, standing, outlook, scatter }))
    })
    .await
    .unwrap_or(None);
    if let Some(opened) = &opened {
        *last.lock().unwrap_or_else(PoisonError::into_inner) = Some(opened.clone());
    }
    Ok(opened)
}

/// How far done work scattered around what was planned for it.
async fn scatter(ctx: &Ctx) -> store::Result<Scatter> {
    let done = operations::done_since(ctx.store.read(), ctx.now() - LOOK_BACK).await?;
    let logs: Vec<f64> = done
        .iter()
        .filter_map(|op| {
            let took = (op.done_at? - op.started_at?).num_seconds() as f64 / 60.0;
            // Work begun and forgotten overnight says nothing about how long it takes.
            let share = took / f64::from(op.step.minutes.max(1));
            (0.1..10.0).contains(&share).then(|| share.ln())
        })
        .collect();
    Ok(Scatter { spread: spread_of(&logs).unwrap_or(Scatter::default().spread), ..Scatter::default() })
}

/// The standard deviation, kept within what a bench can show; `None` for too few.
fn spread_of(logs: &[f64]) -> Option<f64> {
    if logs.len() < LEAST_SAMPLE {
        return None;
    }
    let n = logs.len() as f64;
    let mean = logs.iter().sum::<f64>() / n;
    let variance = logs.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n - 1.0);
    Some(variance.sqrt().clamp(0.05, 1.0))
}

impl Opened {
    /// When all pieces with these routes are ready in nine plays out of ten; `None` when one fits nowhere.
    fn ready(&self, routes: &[Vec<RouteStep>], release: DateTime<Utc>) -> Option<DateTime<Utc>> {
        let release = self.body.minute(release) + 1;
        let mut latest = release;
        let mut grown: Option<(planner::Instance, planner::Plan)> = None;
        let asked: Vec<_> = routes.iter().enumerate().filter(|(_, route)| !route.is_empty()).collect();
        for (k, (number, route)) in asked.iter().enumerate() {
            let job = job(&format!("asked/{number}"), route, release);
            let promised = match &grown {
                None => self.standing.promise(&job, &self.outlook).ok()?,
                Some((instance, plan)) => planner::promise(instance, plan, &job, self.scatter).ok()?,
            };
            latest = latest.max(promised.p90).max(promised.completion);
            // The next piece of the same visit finds this one in its way.
            if k + 1 < asked.len() {
                let (instance, plan) =
                    grown.get_or_insert_with(|| (self.body.instance.clone(), self.body.plan.clone()));
                instance.jobs.push(job);
                plan.operations.extend(promised.operations);
            }
        }
        Some(self.body.at(latest))
    }
}

fn job(id: &str, route: &[RouteStep], release: Minute) -> Job {
    let operations = route
        .iter()
        .map(|step| Operation {
            on: vec![Alternative {
                station: step.station.clone(),
                setup: step.setup.clone(),
                minutes: Minute::from(step.minutes.max(1)),
                attended: step.attended.map(|m| Minute::from(m.min(step.minutes.max(1)))),
                skill: step.skill.clone(),
            }],
            lag: Minute::from(step.lag),
            max_lag: step.max_lag.map(|m| Minute::from(m.max(step.lag))),
            fixed: None,
        })
        .collect();
    Job { id: id.to_owned(), release, due: release, weight: 1.0, operations }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shop::hours::Stretch;

    #[test]
    fn scatter_is_believed_from_thirty_pieces_on() {
        assert_eq!(spread_of(&[0.1; 29]), None);
        // Half at -0.3, half at +0.3: the deviation is 0.3 times sqrt(40/39).
        let logs: Vec<f64> = (0..40).map(|k| if k % 2 == 0 { 0.3 } else { -0.3 }).collect();
        let spread = spread_of(&logs).unwrap();
        assert!((spread - 0.3 * (40.0_f64 / 39.0).sqrt()).abs() < 1e-12, "{spread}");
        assert_eq!(spread_of(&[0.2; 40]), Some(0.05));
    }

    #[test]
    fn a_promise_is_the_end_of_an_open_day_and_never_the_day_of_arrival() {
        let day = vec![Stretch { from: 540, to: 1020 }];
        let closed = Vec::new;
        let week = [day.clone(), day.clone(), day.clone(), day.clone(), day, closed(), closed()];
        let hours = Hours { week, closed: vec![] };
        let profile: Profile = serde_json::from_value(serde_json::json!({
            "name": "", "street": "", "town": "", "country": "", "email": "", "phone": "",
            "time_zone": "Europe/Lisbon", "currency": "EUR", "counter": hours, "bench": hours,
            "slot_minutes": 30, "slot_places": 2, "promise_days": 6, "post_days": 2,
            "ready_rule": "whole_visit", "paid_first": false, "remind_after_days": 14,
            "lapse_after_days": 14, "carrier_rule": "", "carrier_checked": "2026-01-01",
            "risk_text": "", "withdrawal_text": "", "most_declared": 60000
        }))
        .unwrap();
        let at = |text: &str| text.parse::<DateTime<Utc>>().unwrap();
        // A Thursday in winter: Lisbon is on UTC.
        let thursday = at("2026-01-08T10:00:00Z");
        assert_eq!(
            round_up(&profile, thursday, Some(at("2026-01-08T12:00:00Z"))),
            at("2026-01-09T17:00:00Z")
        );
        assert_eq!(
            round_up(&profile, thursday, Some(at("2026-01-09T17:30:00Z"))),
            at("2026-01-12T17:00:00Z")
        );
        assert_eq!(round_up(&profile, thursday, None), at("2026-01-16T17:00:00Z"));
    }
}

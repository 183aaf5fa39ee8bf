//! What needs a hand now, most urgent first, and where a scanned code leads.

use chrono::{DateTime, Days, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use shop::booking::Arrival;
use shop::ids::VisitId;
use shop::piece::{PieceState, WaitsOn};
use shop::profile::Profile;
use shop::read::{Piece, Visit};
use shop::tag::{CodeError, Reference, Tag};

use super::{knowledge, show_plan};
use crate::context::Ctx;
use crate::store::{Result, knives, messages, pieces, visits};
use crate::{local, when};

/// A piece counts as at risk this long before it is due, while work on it is still ahead.
const AT_RISK: TimeDelta = TimeDelta::hours(24);

/// What kind of hand is needed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Need {
    /// It should be here by now, or comes today.
    Receive,
    /// Somebody has to decide.
    Decide,
    /// The customer has asked something.
    Reply,
    /// In hand, not measured.
    Inspect,
    /// Due soon, or past it.
    AtRisk,
    /// May go home.
    HandBack,
    /// Ready for a long time.
    Uncollected,
    /// The customer has to answer.
    Customer,
    /// Was not in the parcel.
    Missing,
    /// Comes another day.
    Later,
}

/// One thing to do.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// What kind.
    pub need: Need,
    /// The sooner the more urgent.
    pub by: DateTime<Utc>,
    /// Past that.
    pub late: bool,
    /// Place of the visit in [`Desk::visits`].
    pub visit: usize,
    /// Place of the piece in it, when it is about one.
    pub piece: Option<usize>,
    /// Why, in a few words.
    pub why: String,
}

/// The desk.
#[derive(Debug, Clone)]
pub struct Desk {
    /// The shop's rules.
    pub profile: Profile,
    /// All open visits.
    pub visits: Vec<Visit>,
    /// What needs a hand, by kind and then by urgency.
    pub jobs: Vec<Job>,
}

/// Looks over everything that is open.
pub async fn show_desk(ctx: &Ctx) -> Result<Desk> {
    let profile = knowledge::profile(ctx).await?;
    let visits = visits::open(ctx.store.read()).await?;
    let broken = show_plan::show_plan(ctx).await?.map(|shown| shown.broken).unwrap_or_default();
    let broken: Vec<_> = broken.into_iter().map(|b| (b.visit.id, b.finished)).collect();
    let mut jobs = jobs(&visits, &broken, &profile, ctx.now());
    let asked = messages::unanswered(ctx.store.read()).await?;
    for (i, visit) in visits.iter().enumerate().filter(|(_, visit)| asked.contains(&visit.id)) {
        let why = "a question of the customer".to_owned();
        jobs.push(Job { need: Need::Reply, by: visit.promise_at, late: false, visit: i, piece: None, why });
    }
    Ok(Desk { profile, visits, jobs })
}

/// What needs a hand. `broken`: visits whose promise the plan breaks, with when it finishes them.
pub fn jobs(
    visits: &[Visit],
    broken: &[(VisitId, DateTime<Utc>)],
    profile: &Profile,
    now: DateTime<Utc>,
) -> Vec<Job> {
    let zone = local::zone(profile);
    let mut jobs: Vec<Job> = visits
        .iter()
        .enumerate()
        .flat_map(|(at, visit)| {
            let arrival = arrival_job(at, visit, profile, zone, now);
            let late = broken.iter().find(|(id, _)| *id == visit.id).map(|(_, finished)| Job {
                need: Need::AtRisk,
                by: visit.promise_at,
                late: true,
                visit: at,
                piece: None,
                why: format!("the plan finishes it on {}", when::short_day(zone, *finished)),
            });
            let pieces = visit.pieces.iter().enumerate();
            let pieces = pieces.filter_map(move |(i, p)| piece_job(at, visit, i, p, profile, now));
            arrival.into_iter().chain(late).chain(pieces)
        })
        .collect();
    jobs.sort_by(|a, b| (a.need, a.by).cmp(&(b.need, b.by)));
    jobs
}

fn arrival_job(at: usize, visit: &Visit, profile: &Profile, zone: Tz, now: DateTime<Utc>) -> Option<Job> {
    let n = visit.pieces.iter().filter(|p| p.state == PieceState::Expected).count();
    if n == 0 {
        return None;
    }
    let day = expected_on(visit, profile, zone);
    let today = local::date(zone, now);
    let by = match &visit.arrival {
        Arrival::Counter { slot } => local::instant(zone, *slot),
        Arrival::Post => local::midnight(zone, day),
    };
    let late = day < today;
    let why = match (late, day == today) {
        (true, _) => "should have come".to_owned(),
        (_, true) => "comes today".to_owned(),
        _ => "expected".to_owned(),
    };
    let why = if visit.confirmed_at.is_none() { format!("{why}, not confirmed") } else { why };
    let need = if day <= today { Need::Receive } else { Need::Later };
    Some(Job { need, by, late, visit: at, piece: None, why: format!("{} {why}", knives_words(n)) })
}

/// The day a visit is expected on: its slot, or as many open days after the booking as the post takes, and one to pack.
pub fn expected_on(visit: &Visit, profile: &Profile, zone: Tz) -> NaiveDate {
    match &visit.arrival {
        Arrival::Counter { slot } => slot.date(),
        Arrival::Post => {
            let booked = local::date(zone, visit.booked_at);
            let days = usize::from(profile.post_days) + 1;
            profile
                .counter
                .open_day_after(booked, days)
                .unwrap_or_else(|| booked.checked_add_days(Days::new(days as u64)).unwrap_or(booked))
        }
    }
}

fn piece_job(
    at: usize,
    visit: &Visit,
    i: usize,
    piece: &Piece,
    profile: &Profile,
    now: DateTime<Utc>,
) -> Option<Job> {
    use PieceState as S;
    let job = |need, by, late, why: String| Some(Job { need, by, late, visit: at, piece: Some(i), why });
    if piece.state == S::Missing {
        return job(Need::Missing, piece.due_at, false, "was not in the parcel".into());
    }
    if piece.state == S::Lost {
        return job(
            Need::Decide,
            piece.due_at,
            true,
            "lost here: look for it, settle it with the customer".into(),
        );
    }
    if piece.state.is_here()
        && let Some(waiting) = &piece.waiting
    {
        let need = if waiting.on == WaitsOn::Customer { Need::Customer } else { Need::Decide };
        return job(need, piece.due_at, piece.due_at < now, waiting.what.clone());
    }
    match piece.state {
        S::InHand => job(Need::Inspect, piece.due_at, piece.due_at < now, "to be measured".into()),
        S::Measured => job(Need::Customer, piece.due_at, piece.due_at < now, "waits for an answer".into()),
        S::Ready | S::TurnedDown | S::Withdrawn if visit.received_at.is_some() => {
            let since = visit.ready_at.unwrap_or(piece.due_at);
            let remind = TimeDelta::days(i64::from(profile.remind_after_days));
            let long = piece.state == S::Ready && !visit.back_by_post && now - since > remind;
            let need = if long { Need::Uncollected } else { Need::HandBack };
            let harmed = piece.mishaps.last().is_some_and(|mishap| mishap.settled.is_none());
            let more = if harmed { "; damaged here, not settled with the customer" } else { "" };
            job(need, since, long, format!("{}, may go home{more}", piece.state.words()))
        }
        S::Agreed | S::InLine | S::AtBench | S::Proven if piece.due_at - now < AT_RISK => {
            let late = piece.due_at < now;
            let why = if late { "is past its day" } else { "is due within a day" };
            job(Need::AtRisk, piece.due_at, late, format!("{}; {why}", piece.state.words()))
        }
        _ => None,
    }
}

/// `1 knife`, `3 knives`.
fn knives_words(n: usize) -> String {
    if n == 1 { "1 knife".to_owned() } else { format!("{n} knives") }
}

/// Where a typed or scanned code leads.
#[derive(Debug, Clone, PartialEq)]
pub enum Place {
    /// A visit, and a piece of it when a tag was scanned.
    Visit(Box<Visit>, Option<Piece>),
    /// A knife that is not here.
    Knife(Tag),
    /// Nothing of ours has this code.
    Nothing,
    /// Not a code of ours; the reason is for people.
    NotACode(String),
}

/// Finds what a code belongs to. A scanned address of ours counts by its last part.
pub async fn find(ctx: &Ctx, typed: &str) -> Result<Place> {
    let db = ctx.store.read();
    let code = typed.trim().trim_end_matches('/').rsplit('/').next().unwrap_or_default();
    let by_tag = code.parse::<Tag>();
    if let Ok(tag) = by_tag {
        if let Some(piece) = pieces::by_tag(db, tag).await?
            && let Some(visit) = visits::get(db, piece.visit).await?
        {
            return Ok(Place::Visit(Box::new(visit), Some(piece)));
        }
        let knife = knives::by_tag(db, tag).await?;
        return Ok(knife.map_or(Place::Nothing, |knife| Place::Knife(knife.tag)));
    }
    match code.parse::<Reference>() {
        Ok(reference) => {
            let visit = visits::by_reference(db, reference).await?;
            Ok(visit.map_or(Place::Nothing, |visit| Place::Visit(Box::new(visit), None)))
        }
        Err(CodeError::Length(_)) if matches!(by_tag, Err(CodeError::Length(_))) => Ok(Place::NotACode(
            "A tag has 6 characters, a reference 8; please check that none is missing.".to_owned(),
        )),
        Err(error) => {
            let words = match by_tag {
                Err(tag_error @ (CodeError::Check | CodeError::Character(_))) => tag_error.to_string(),
                _ => error.to_string(),
            };
            let mut letters = words.chars();
            let first = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
            Ok(Place::NotACode(format!("{first}{}.", letters.as_str())))
        }
    }
}

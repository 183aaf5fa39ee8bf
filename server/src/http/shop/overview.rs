//! The owner's first page.

use axum::extract::State;
use axum::http::StatusCode;
use leptos::prelude::*;
use web::pages::shop::{OverviewPage, OverviewView, WarningLine};

use super::{history_of, rendered, when, zone};
use crate::context::Ctx;
use crate::http::Answer;
use crate::http::caller::Caller;
use crate::use_cases::overview::{self, Warning};

pub(super) async fn show(State(ctx): State<Ctx>, caller: Caller) -> Answer {
    let found = overview::overview(&ctx).await?;
    let zone = zone(&ctx).await?;
    let backup = match (found.backed_up_at, ctx.config.backup_hour) {
        (_, None) => "Backups by themselves are switched off (WHETLEDGER_BACKUP_HOUR).".to_owned(),
        (None, Some(hour)) => format!("None yet. One is made every night at {hour}:00."),
        (Some(at), Some(hour)) => {
            format!("The last one was made on {}. One is made every night at {hour}:00.", when(zone, at))
        }
    };
    let mut warnings: Vec<WarningLine> = found.warnings.iter().map(|warning| line(warning, zone)).collect();
    warnings.sort_by_key(|line| !line.grave);
    if found.profile.is_none() {
        warnings.insert(0, WarningLine {
            words: "There is no shop yet: start the program once with the demo shop (whetledger seed-demo) and make it yours here.".to_owned(),
            grave: true,
            ..WarningLine::default()
        });
    }
    let count = |label: &str, value: usize, note: String, href: &str| {
        (label.to_owned(), value.to_string(), note, href.to_owned())
    };
    let view_of = OverviewView {
        name: found.profile.map(|profile| profile.name).unwrap_or_default(),
        warnings,
        backup,
        counts: vec![
            count("Models", found.models.0, format!("made now, of {}", found.models.1), "/shop/models"),
            count("Wheels and stones", found.n_wheels, "in use".to_owned(), "/shop/wheels"),
            count("Stations", found.n_stations, String::new(), "/shop/stations"),
            count("People", found.n_people, "work here".to_owned(), "/shop/crew"),
        ],
        history: history_of(zone, found.changes),
    };
    rendered(&caller, StatusCode::OK, "Shop", move || view! { <OverviewPage of=view_of /> }).await
}

fn line(warning: &Warning, zone: chrono_tz::Tz) -> WarningLine {
    let to = |words: String, href: &str, place: &str, grave| WarningLine {
        words,
        href: href.to_owned(),
        place: place.to_owned(),
        grave,
    };
    match warning {
        Warning::NoBackup => to("There is no backup yet. The first one is made by itself; if this stays, see the log.".to_owned(), "", "", false),
        Warning::OldBackup(at) => to(
            format!("The last backup is of {}. Something keeps the nightly one from being made: see the log, and run whetledger doctor.", when(zone, *at)),
            "",
            "",
            true,
        ),
        Warning::BackupElsewhere { postgres: true } => to(
            "The books are in PostgreSQL: back them up with its own tools (pg_dump), and the folder of photos after it.".to_owned(),
            "",
            "",
            false,
        ),
        Warning::BackupElsewhere { postgres: false } => {
            to("Nightly backups are switched off. Make sure that something else makes them.".to_owned(), "", "", false)
        }
        Warning::PostHeld(n) => to(
            format!("No post leaves the house: {n} notices wait until a mail host is set up (WHETLEDGER_POST)."),
            "/desk/post",
            "See the post",
            *n > 0,
        ),
        Warning::PostLate(due) => to(
            format!("A notice should have left on {} and has not. Is the mail host there?", when(zone, *due)),
            "/desk/post",
            "See the post",
            true,
        ),
        Warning::PostGivenUp(n) => {
            to(format!("{n} notices could not be delivered and were given up."), "/desk/post", "See the post", true)
        }
        Warning::Unfit(id, why) => to(why.clone(), &format!("/shop/wheels/{id}"), "See the wheel", true),
        Warning::NoWheel(place) => {
            to(format!("{place}: no wheel or stone in use is noted there, so its fitness is not checked."), "/shop/wheels", "See the wheels", false)
        }
        Warning::CarrierUnchecked(date) => to(
            format!("The carrier's rule on blades was last checked on {date}. Rules change: ask again and note the day."),
            "/shop/profile",
            "See the rule",
            false,
        ),
        Warning::NobodyAtBench => to("Nobody works at the bench, so nothing can be planned.".to_owned(), "/shop/crew", "See the people", true),
    }
}

//! The shop's front, and the way back in for whoever lost a link.

use axum::Router;
use axum::extract::State;
use axum::http::StatusCode;
use axum::routing::get;
use leptos::prelude::*;
use serde::Deserialize;
use shop::booking::Arrival;
use shop::field::{self, FieldErrors};
use web::pages::home::{HomePage, LinkPage};

use super::caller::Caller;
use super::form::Posted;
use super::limits::Door;
use super::{Answer, page};
use crate::context::Ctx;
use crate::local;
use crate::use_cases::{offer, promise, renew_link};

pub(super) fn routes() -> Router<Ctx> {
    Router::new().route("/", get(home)).route("/link", get(show_link).post(send_link))
}

async fn home(State(ctx): State<Ctx>, caller: Caller) -> Answer {
    caller.speak(caller.asked_language());
    let profile = offer::profile(&ctx).await?;
    let ready_by = match &profile {
        None => None,
        Some(profile) => {
            let arrival = promise::arrival(profile, &Arrival::Post, ctx.now());
            let at = promise::promise(&ctx, profile, &[], arrival, false).await?;
            Some(caller.asked_language().day(local::date(local::zone(profile), at)))
        }
    };
    Ok(page::render(&caller, "", move || view! { <HomePage profile=profile ready_by=ready_by /> }).await)
}

async fn show_link(caller: Caller) -> Answer {
    caller.speak(caller.asked_language());
    Ok(page::render(&caller, &caller.say("home-where"), || {
        view! { <LinkPage address=String::new() error=None sent=false /> }
    })
    .await)
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct LinkRaw {
    email: String,
}

async fn send_link(State(ctx): State<Ctx>, caller: Caller, Posted(raw): Posted<LinkRaw>) -> Answer {
    caller.knock(Door::Booking, &ctx)?;
    caller.speak(caller.asked_language());
    let mut errors = FieldErrors::default();
    let address = field::email(&mut errors, "email", &raw.email);
    let Some(address) = address else {
        let errors = errors.said(&words::phrasebook(caller.asked_language(), &["form"]));
        let error = errors.of("email").map(str::to_owned);
        return Ok(page::with_status(
            &caller,
            StatusCode::UNPROCESSABLE_ENTITY,
            &caller.say("home-where"),
            move || view! { <LinkPage address=raw.email error=error sent=false /> },
        )
        .await);
    };
    renew_link::for_address(&ctx, &address).await?;
    Ok(page::render(&caller, &caller.say("link-sent-title"), || {
        view! { <LinkPage address=String::new() error=None sent=true /> }
    })
    .await)
}

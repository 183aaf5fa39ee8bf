//! What is kept about people, said to everybody.

use axum::Router;
use axum::extract::State;
use axum::routing::get;
use leptos::prelude::*;
use shop::profile::Profile;
use web::pages::privacy::{Keeper, PrivacyPage};

use super::caller::Caller;
use super::{Answer, page};
use crate::context::Ctx;
use crate::store::{Engine, settings};

pub(super) fn routes() -> Router<Ctx> {
    Router::new().route("/privacy", get(show))
}

async fn show(State(ctx): State<Ctx>, caller: Caller) -> Answer {
    let by_itself = ctx.config.backup_hour.is_some() && ctx.store.engine() == Engine::Sqlite;
    let backups = by_itself.then_some(ctx.config.backup_keep);
    let keeper = match settings::get::<Profile>(ctx.store.read()).await? {
        None => Keeper::default(),
        Some(found) => {
            let profile = found.value;
            Keeper {
                address: [profile.street, profile.town, profile.country].join(", "),
                name: profile.name,
                email: profile.email,
                lapse_after_days: profile.lapse_after_days,
                backups,
            }
        }
    };
    caller.speak(caller.asked_language());
    let title = caller.say("frame-privacy");
    Ok(page::render(&caller, &title, move || view! { <PrivacyPage keeper=keeper /> }).await)
}

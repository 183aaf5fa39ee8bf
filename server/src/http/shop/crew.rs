//! The people who work here.

use axum::extract::{Path, RawQuery, State};
use axum::http::{HeaderMap, StatusCode};
use leptos::prelude::*;
use shop::bench::Bench;
use shop::owner::Typed;
use uuid::Uuid;
use web::pages::shop::{CrewPage, OneTime, PersonLine, PersonPage, PersonView, Sheet};

use super::{Query, done, id, problem, refused, rendered, said, version, with_history};
use crate::context::Ctx;
use crate::http::access::session_token;
use crate::http::caller::{Caller, Staff};
use crate::http::form::{self, Posted};
use crate::http::{Answer, Problem};
use crate::store::changes::Subject;
use crate::store::documents::{Crew, SecondStepFor};
use crate::store::settings::{self, Versioned};
use crate::store::staff::{self, Person};
use crate::use_cases::save_crew;

pub(super) async fn list(State(ctx): State<Ctx>, caller: Caller, RawQuery(query): RawQuery) -> Answer {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    let mut typed = Typed::default();
    typed.tick("bench", true);
    let sheet = Sheet { typed, said: said(&query.said), ..Sheet::default() };
    everybody(&ctx, &caller, StatusCode::OK, sheet, None).await
}

pub(super) async fn hire(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Posted(typed): Posted<Typed>,
) -> Answer {
    match save_crew::hire(&ctx, &person, &typed).await {
        Ok(added) => {
            // Rendered at once and not after a redirect: the password is shown this once and kept nowhere.
            let one_time = OneTime {
                full_name: added.person.full_name,
                sign_in_name: added.person.sign_in_name,
                password: added.one_time_password,
            };
            everybody(&ctx, &caller, StatusCode::OK, Sheet::default(), Some(one_time)).await
        }
        Err(why) => {
            let (sheet, status) = refused(why, typed, 0, (&Typed::default(), 0))?;
            everybody(&ctx, &caller, status, sheet, None).await
        }
    }
}

fn roles(person: &Person) -> String {
    let roles = [(person.roles.desk, "desk"), (person.roles.bench, "bench"), (person.roles.owner, "owner")];
    roles.iter().filter(|(has, _)| *has).map(|(_, name)| *name).collect::<Vec<_>>().join(", ")
}

async fn everybody(
    ctx: &Ctx,
    caller: &Caller,
    status: StatusCode,
    sheet: Sheet,
    one_time: Option<OneTime>,
) -> Answer {
    let crew = settings::get_or_default::<Crew>(ctx.store.read()).await?.value;
    let mut people: Vec<PersonLine> = staff::list(ctx.store.read())
        .await?
        .into_iter()
        .map(|person| {
            let hand = crew.hands.iter().find(|hand| hand.staff.0 == person.id);
            let bench = hand.map_or_else(String::new, |hand| {
                let hours = if hand.hours.is_some() { "hours of their own" } else { "the bench's hours" };
                if hand.skills.is_empty() {
                    hours.to_owned()
                } else {
                    format!("{}; {hours}", hand.skills.join(", "))
                }
            });
            PersonLine {
                href: format!("/shop/crew/{}", person.id),
                roles: roles(&person),
                name: person.full_name,
                sign_in_name: person.sign_in_name,
                bench,
                second_step: person.has_second_step,
                left: person.left_at.is_some(),
            }
        })
        .collect();
    people.sort_by_key(|person| person.left);
    let sheet = with_history(ctx, sheet, Subject::Crew, None).await?;
    let asked = settings::get_or_default::<SecondStepFor>(ctx.store.read()).await?;
    let second_step =
        Sheet { typed: save_crew::fill_second_step(asked.value), version: asked.version, ..Sheet::default() };
    let hours = ctx.config.one_time_hours;
    let view = move || {
        view! { <CrewPage people=people sheet=sheet second_step=second_step one_time=one_time one_time_hours=hours /> }
    };
    rendered(caller, status, "People", view).await
}

/// A person, and the crew's document.
async fn known(ctx: &Ctx, id: Uuid) -> Result<(Person, Versioned<Crew>), Problem> {
    let person = staff::by_id(ctx.store.read(), id).await?.ok_or(Problem::NotFound)?;
    Ok((person, settings::get_or_default::<Crew>(ctx.store.read()).await?))
}

pub(super) async fn show(
    State(ctx): State<Ctx>,
    caller: Caller,
    Path(text): Path<String>,
    RawQuery(query): RawQuery,
) -> Answer {
    let query: Query = form::read(query.unwrap_or_default().as_bytes())?;
    one(&ctx, &caller, StatusCode::OK, id(&text)?, None, said(&query.said), None).await
}

pub(super) async fn save(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(by): Staff,
    Path(text): Path<String>,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let (id, read_at) = (id(&text)?, version(&typed)?);
    match save_crew::save_person(&ctx, &by, id, read_at, &typed).await {
        Ok(()) => Ok(done(&format!("/shop/crew/{id}"), "saved")),
        Err(why) => {
            let (person, crew) = known(&ctx, id).await?;
            let now = save_crew::fill(&person, &crew.value);
            let (sheet, status) = refused(why, typed, read_at, (&now, crew.version))?;
            one(&ctx, &caller, status, id, Some(sheet), None, None).await
        }
    }
}

pub(super) async fn left(
    State(ctx): State<Ctx>,
    Staff(by): Staff,
    Path(text): Path<String>,
    Posted(typed): Posted<Typed>,
) -> Answer {
    let leaves = typed.get("left") == "yes";
    let id = id(&text)?;
    save_crew::set_left(&ctx, &by, id, leaves).await.map_err(problem)?;
    Ok(done(&format!("/shop/crew/{id}"), if leaves { "left" } else { "again" }))
}

pub(super) async fn ask_second_step(
    State(ctx): State<Ctx>,
    Staff(by): Staff,
    Posted(typed): Posted<Typed>,
) -> Answer {
    save_crew::ask_second_step(&ctx, &by, version(&typed)?, &typed).await.map_err(problem)?;
    Ok(done("/shop/crew", "second-step"))
}

pub(super) async fn end_sessions(State(ctx): State<Ctx>, Staff(by): Staff, headers: HeaderMap) -> Answer {
    let here =
        session_token(&headers, ctx.config.is_https()).ok_or_else(|| Problem::unexpected("no session"))?;
    save_crew::end_sessions(&ctx, &by, &here).await.map_err(problem)?;
    Ok(done("/shop/crew", "sessions"))
}

pub(super) async fn password(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(by): Staff,
    Path(text): Path<String>,
) -> Answer {
    let id = id(&text)?;
    let password = save_crew::new_password(&ctx, Some(&by), id).await.map_err(problem)?;
    one(&ctx, &caller, StatusCode::OK, id, None, None, Some(password)).await
}

async fn one(
    ctx: &Ctx,
    caller: &Caller,
    status: StatusCode,
    id: Uuid,
    sheet: Option<Sheet>,
    said: Option<String>,
    password: Option<String>,
) -> Answer {
    let (person, crew) = known(ctx, id).await?;
    let fresh = || Sheet {
        typed: save_crew::fill(&person, &crew.value),
        version: crew.version,
        said,
        ..Sheet::default()
    };
    let sheet = with_history(ctx, sheet.unwrap_or_else(fresh), Subject::Crew, Some(id)).await?;
    let bench = settings::get_or_default::<Bench>(ctx.store.read()).await?.value;
    let mut skills: Vec<String> = bench.stations.into_iter().filter_map(|station| station.skill).collect();
    skills.sort_unstable();
    skills.dedup();
    let title = person.full_name.clone();
    let one_time = password.map(|password| OneTime {
        full_name: person.full_name.clone(),
        sign_in_name: person.sign_in_name.clone(),
        password,
    });
    let view_of = PersonView {
        sheet,
        id: id.to_string(),
        name: person.full_name,
        sign_in_name: person.sign_in_name,
        left: person.left_at.is_some(),
        skills,
        one_time,
        one_time_hours: ctx.config.one_time_hours,
    };
    rendered(caller, status, &title, move || view! { <PersonPage of=view_of /> }).await
}

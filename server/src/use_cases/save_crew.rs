//! The owner says who works here, what each may do, what they are skilled in, and when they work.

use chrono::{DateTime, Utc};
use shop::field::FieldErrors;
use shop::hours::Hours;
use shop::ids::StaffId;
use shop::owner::{Typed, check_hours, fill_hours};
use uuid::Uuid;

use super::add_person::{AddError, Added, add_person};
use super::set_up::{NotSaved, saved, write_down};
use crate::context::Ctx;
use crate::passwords;
use crate::store::changes::{self, Subject};
use crate::store::documents::{Crew, Hand, SecondStepFor};
use crate::store::staff::{self, Person, Roles};
use crate::store::{WriteTx, settings};
use crate::token::Token;

/// What the form of one person shows.
pub fn fill(person: &Person, crew: &Crew) -> Typed {
    let mut typed = Typed::default();
    typed.tick("desk", person.roles.desk);
    typed.tick("bench", person.roles.bench);
    typed.tick("owner", person.roles.owner);
    let hand = crew.hands.iter().find(|hand| hand.staff.0 == person.id);
    typed.tick("at-bench", hand.is_some());
    typed.set("skills", hand.map(|hand| hand.skills.join(", ")).unwrap_or_default());
    typed.tick("own-hours", hand.is_some_and(|hand| hand.hours.is_some()));
    let hours = hand.and_then(|hand| hand.hours.clone()).unwrap_or_else(Hours::default);
    fill_hours(&mut typed, "own", &hours);
    typed
}

/// Saves what one person may do, is skilled in, and when they work, over the crew that was read at `version`.
pub async fn save_person(
    ctx: &Ctx,
    by: &Person,
    id: Uuid,
    version: i64,
    typed: &Typed,
) -> Result<(), NotSaved> {
    saved(ctx, async |tx| put(tx, by, id, version, typed, ctx.now()).await).await
}

/// The same inside a transaction.
pub(super) async fn put(
    tx: &WriteTx,
    by: &Person,
    id: Uuid,
    version: i64,
    typed: &Typed,
    now: DateTime<Utc>,
) -> Result<(), NotSaved> {
    let person = staff::by_id(tx, id).await?.ok_or(NotSaved::Gone)?;
    let mut crew = settings::get_or_default::<Crew>(tx).await?.value;
    let before = fill(&person, &crew);
    let roles =
        Roles { desk: typed.ticked("desk"), bench: typed.ticked("bench"), owner: typed.ticked("owner") };
    let mut errors = FieldErrors::default();
    if roles == Roles::default() {
        errors.add("roles", "Please tick at least one of desk, bench and owner.");
    }
    if !roles.owner && is_last_owner(tx, id).await? {
        errors.add("roles", "Nobody else is an owner: somebody has to be.");
    }
    let skills = skills_of(&mut errors, typed.get("skills"));
    let hours = if typed.ticked("own-hours") {
        match check_hours(typed, "own") {
            Ok(hours) => Some(hours),
            Err(wrong) => {
                errors.0.extend(wrong.0);
                None
            }
        }
    } else {
        None
    };
    if !errors.is_empty() {
        return Err(errors.into());
    }
    crew.hands.retain(|hand| hand.staff.0 != id);
    if typed.ticked("at-bench") {
        crew.hands.push(Hand { staff: StaffId(id), skills, hours });
    }
    settings::put(tx, &crew, version, Some(by.id), now).await?;
    if roles != person.roles {
        staff::set_roles(tx, id, roles).await?;
    }
    let after = fill(&Person { roles, ..person }, &crew);
    write_down(tx, (Subject::Crew, Some(id)), by, (&before, &after), now).await?;
    Ok(())
}

/// Words with commas between them; each becomes a skill.
fn skills_of(errors: &mut FieldErrors, text: &str) -> Vec<String> {
    let mut skills: Vec<String> =
        text.split(',').map(|skill| skill.trim().to_lowercase()).filter(|skill| !skill.is_empty()).collect();
    skills.sort_unstable();
    skills.dedup();
    let good = |skill: &String| skill.len() <= 24 && skill.chars().all(|c| c.is_alphanumeric() || c == '-');
    if !skills.iter().all(good) || skills.len() > 20 {
        errors.add("skills", "Please write skills as single words with commas between them.");
    }
    skills
}

/// Somebody starts to work here, and joins the bench if they may. The answer holds their one-time password, once.
pub async fn hire(ctx: &Ctx, by: &Person, typed: &Typed) -> Result<Added, NotSaved> {
    let roles =
        Roles { desk: typed.ticked("desk"), bench: typed.ticked("bench"), owner: typed.ticked("owner") };
    let added = add_person(ctx, typed.get("sign-in-name"), typed.get("full-name"), roles).await;
    let added = added.map_err(|error| {
        let words = sentence(&error.to_string());
        match error {
            AddError::BadName | AddError::Taken => NotSaved::field("sign-in-name", words),
            AddError::BadFullName => NotSaved::field("full-name", words),
            AddError::NoRole => NotSaved::field("roles", words),
            AddError::Store(error) => error.into(),
            AddError::Failed(error) => NotSaved::field("full-name", format!("It failed: {error}.")),
        }
    })?;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let mut crew = settings::get_or_default::<Crew>(&tx).await?;
    if added.person.roles.bench {
        crew.value.hands.push(Hand { staff: StaffId(added.person.id), skills: Vec::new(), hours: None });
        settings::put(&tx, &crew.value, crew.version, Some(by.id), now).await?;
    }
    let line = format!("{} starts to work here", added.person.full_name);
    changes::add(&tx, Subject::Crew, Some(added.person.id), &[line], Some(by.id), now).await?;
    tx.commit().await?;
    ctx.planner.ring();
    Ok(added)
}

/// Somebody no longer works here (their sessions end and the plan no longer counts on them), or works here again.
pub async fn set_left(ctx: &Ctx, by: &Person, id: Uuid, leaves: bool) -> Result<(), NotSaved> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let person = staff::by_id(&tx, id).await?.ok_or(NotSaved::Gone)?;
    if leaves && is_last_owner(&tx, id).await? {
        return Err(NotSaved::field("roles", "Nobody else is an owner: somebody has to be."));
    }
    staff::set_left(&tx, id, leaves.then_some(now)).await?;
    let mut crew = settings::get_or_default::<Crew>(&tx).await?;
    if leaves && crew.value.hands.iter().any(|hand| hand.staff.0 == id) {
        crew.value.hands.retain(|hand| hand.staff.0 != id);
        settings::put(&tx, &crew.value, crew.version, Some(by.id), now).await?;
    }
    let line =
        format!("{} {}", person.full_name, if leaves { "no longer works here" } else { "works here again" });
    changes::add(&tx, Subject::Crew, Some(id), &[line], Some(by.id), now).await?;
    tx.commit().await?;
    ctx.planner.ring();
    Ok(())
}

/// A new one-time password for somebody who forgot theirs; all their sessions end. `by`: the owner who gives it, if it is
/// not given on the command line.
pub async fn new_password(ctx: &Ctx, by: Option<&Person>, id: Uuid) -> Result<String, NotSaved> {
    let one_time = passwords::one_time();
    let hash = passwords::hash(one_time.clone())
        .await
        .map_err(|error| NotSaved::field("roles", format!("It failed: {error}.")))?;
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let person = staff::by_id(&tx, id).await?.ok_or(NotSaved::Gone)?;
    staff::set_password(&tx, id, hash, Some(ctx.one_time_until())).await?;
    // Whoever asks for a new password has often lost the telephone too; they set the second step up again.
    staff::set_second_step(&tx, id, None).await?;
    staff::close_sessions_of(&tx, id).await?;
    let line = format!("new one-time password for {}", person.full_name);
    changes::add(&tx, Subject::Crew, Some(id), &[line], by.map(|by| by.id), now).await?;
    tx.commit().await?;
    tracing::info!(staff = %id, "one-time password given");
    Ok(one_time)
}

/// What the form of who needs a second step shows.
pub fn fill_second_step(asked: SecondStepFor) -> Typed {
    let mut typed = Typed::default();
    typed.tick("second-step-desk", asked.0.desk);
    typed.tick("second-step-bench", asked.0.bench);
    typed.tick("second-step-owner", asked.0.owner);
    typed
}

/// From now on whoever has one of the ticked roles and no second step sets one up before anything else opens.
pub async fn ask_second_step(ctx: &Ctx, by: &Person, version: i64, typed: &Typed) -> Result<(), NotSaved> {
    let now = ctx.now();
    let asked = SecondStepFor(Roles {
        desk: typed.ticked("second-step-desk"),
        bench: typed.ticked("second-step-bench"),
        owner: typed.ticked("second-step-owner"),
    });
    let tx = ctx.store.begin_write().await?;
    let before = settings::get_or_default::<SecondStepFor>(&tx).await?.value;
    settings::put(&tx, &asked, version, Some(by.id), now).await?;
    let both = (&fill_second_step(before), &fill_second_step(asked));
    write_down(&tx, (Subject::Crew, None), by, both, now).await?;
    tx.commit().await?;
    Ok(())
}

/// Ends every session of everybody but the one the owner asks from, for when a device or a password may be in wrong hands.
pub async fn end_sessions(ctx: &Ctx, by: &Person, here: &Token) -> Result<(), NotSaved> {
    let now = ctx.now();
    let tx = ctx.store.begin_write().await?;
    let n = staff::close_sessions_but(&tx, here).await?;
    let line = format!("everybody signed out; sessions ended: {n}");
    changes::add(&tx, Subject::Crew, None, &[line], Some(by.id), now).await?;
    tx.commit().await?;
    tracing::info!(staff = %by.id, n, "everybody's sessions ended");
    Ok(())
}

async fn is_last_owner(tx: &WriteTx, id: Uuid) -> Result<bool, NotSaved> {
    let people = staff::list(tx).await?;
    let mut others = people.iter().filter(|person| person.id != id);
    let is_owner = people.iter().any(|person| person.id == id && person.roles.owner);
    Ok(is_owner && !others.any(|person| person.roles.owner && person.left_at.is_none()))
}

/// An error's words as a sentence.
fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}.", letters.as_str())
}

//! The shop's post: what was written, and whether it went.

use axum::Router;
use axum::extract::{Path, RawQuery, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect};
use axum::routing::{get, post};
use chrono_tz::Tz;
use leptos::prelude::*;
use serde::Deserialize;
use uuid::Uuid;
use web::pages::post::{NoticeLine, NoticePage, NoticeView, PostPage, PostTab, Standing, TrialForm};

use super::caller::{Caller, Staff};
use super::form::{self, Posted};
use super::problem::Problem;
use super::{Answer, page};
use crate::config::Post;
use crate::context::Ctx;
use crate::local;
use crate::post::sheet;
use crate::store::outbox::{self, Kept, Which};
use crate::use_cases::{offer, retry_notice, send_trial};

/// How many notices one page of the list shows.
const PER_PAGE: u64 = 50;

pub(super) fn routes() -> Router<Ctx> {
    Router::new()
        .route("/desk/post", get(list))
        .route("/desk/post/trial", post(trial))
        .route("/desk/post/{id}", get(show))
        .route("/desk/post/{id}/page", get(html))
        .route("/desk/post/{id}/calendar", get(calendar))
        .route("/desk/post/{id}/again", post(again))
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct ListQuery {
    which: String,
    before: String,
    said: String,
}

const TABS: [(&str, &str, Which); 4] = [
    ("all", "All", Which::All),
    ("waiting", "Waiting", Which::Waiting),
    ("sent", "Sent", Which::Sent),
    ("given-up", "Given up", Which::GivenUp),
];

async fn list(State(ctx): State<Ctx>, caller: Caller, RawQuery(query): RawQuery) -> Answer {
    let query = form::read(query.unwrap_or_default().as_bytes())?;
    list_page(&ctx, &caller, query, TrialForm::default()).await
}

async fn list_page(ctx: &Ctx, caller: &Caller, query: ListQuery, trial: TrialForm) -> Answer {
    let status = if trial.error.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    let (word, _, which) = TABS.into_iter().find(|tab| tab.0 == query.which).unwrap_or(TABS[0]);
    let db = ctx.store.read();
    let kept = outbox::list(db, which, query.before.parse().ok(), PER_PAGE).await?;
    let mut tabs = Vec::with_capacity(TABS.len());
    for (tab_word, name, which) in TABS {
        tabs.push(PostTab {
            word: tab_word,
            name,
            n: outbox::count(db, which).await?,
            shown: tab_word == word,
        });
    }
    let older = (kept.len() as u64 == PER_PAGE)
        .then(|| kept.last().map(|last| format!("/desk/post?which={word}&before={}", last.seq)))
        .flatten();
    let zone = zone(ctx).await?;
    let lines = kept.iter().map(|kept| line_of(kept, zone)).collect::<Vec<_>>();
    let said = match query.said.as_str() {
        "trial" => Some("The trial notice is written and on its way.".to_owned()),
        "again" => Some("The notice is back in line.".to_owned()),
        _ => None,
    };
    let transport = transport_words(ctx);
    Ok(page::with_status(caller, status, "Post", move || {
        view! { <PostPage transport=transport tabs=tabs lines=lines older=older said=said trial=trial /> }
    })
    .await)
}

async fn show(State(ctx): State<Ctx>, caller: Caller, Path(id): Path<String>) -> Answer {
    let kept = find(&ctx, &id).await?;
    let title = kept.subject.clone();
    let line = line_of(&kept, zone(&ctx).await?);
    let given_up = matches!(kept.standing, outbox::Standing::GivenUp { .. });
    let notice = NoticeView {
        html_href: format!("{}/page", line.href),
        retry_href: given_up.then(|| format!("{}/again", line.href)),
        calendar_href: kept.calendar.as_ref().map(|_| format!("{}/calendar", line.href)),
        line,
        attempts: kept.attempts,
        text: for_staff(&ctx, kept.text),
    };
    Ok(page::render(&caller, &title, move || view! { <NoticePage notice=notice /> }).await)
}

/// The notice's own HTML, for a sandboxed frame: no scripts, no pictures from elsewhere, and of styles only the
/// one sheet that all our notices carry, named by its hash.
async fn html(State(ctx): State<Ctx>, Path(id): Path<String>) -> Answer {
    let kept = find(&ctx, &id).await?;
    let policy = format!(
        "default-src 'none'; style-src '{}'; img-src data:; base-uri 'none'; form-action 'none'; \
         frame-ancestors 'self'; sandbox allow-popups",
        sheet::style_hash()
    );
    let policy =
        HeaderValue::from_str(&policy).map_err(|_| Problem::unexpected("a policy that is no header"))?;
    let headers = [
        (header::CONTENT_TYPE, HeaderValue::from_static("text/html; charset=utf-8")),
        (header::CONTENT_SECURITY_POLICY, policy),
        (header::X_FRAME_OPTIONS, HeaderValue::from_static("SAMEORIGIN")),
        (header::CACHE_CONTROL, HeaderValue::from_static("no-store")),
    ];
    Ok((headers, for_staff(&ctx, kept.html)).into_response())
}

async fn calendar(State(ctx): State<Ctx>, Path(id): Path<String>) -> Answer {
    let calendar = find(&ctx, &id).await?.calendar.ok_or(Problem::NotFound)?;
    let calendar = for_staff(&ctx, calendar);
    let headers = [
        (header::CONTENT_TYPE, "text/calendar; charset=utf-8"),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"visit.ics\""),
        (header::CACHE_CONTROL, "no-store"),
    ];
    Ok((headers, calendar).into_response())
}

async fn again(State(ctx): State<Ctx>, Path(id): Path<String>) -> Answer {
    let id = find(&ctx, &id).await?.id;
    retry_notice::retry_notice(&ctx, id).await?;
    Ok(Redirect::to("/desk/post?said=again").into_response())
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct TrialRaw {
    to: String,
}

async fn trial(
    State(ctx): State<Ctx>,
    caller: Caller,
    Staff(person): Staff,
    Posted(raw): Posted<TrialRaw>,
) -> Answer {
    match send_trial::send_trial(&ctx, &person, raw.to.trim()).await {
        Ok(_) => Ok(Redirect::to("/desk/post?said=trial").into_response()),
        Err(send_trial::TrialError::NoAddress) => {
            let error = Some("This is not a mail address we could write to.".to_owned());
            list_page(&ctx, &caller, ListQuery::default(), TrialForm { to: raw.to, error }).await
        }
        Err(send_trial::TrialError::Store(error)) => Err(error.into()),
    }
}

/// A notice as staff may read it: the keys of private links are blanked, for whoever holds one is taken for the customer. Where
/// notices go into a folder nothing reaches a customer, and whoever tries the shop out opens the links here.
fn for_staff(ctx: &Ctx, text: String) -> String {
    if matches!(ctx.config.post, Post::Folder(_)) { text } else { without_keys(&text) }
}

/// Blanks what looks like the key of a private link: 43 letters and figures behind a slash. A calendar file folds its lines
/// (RFC 5545, 3.1), so a fold may stand within.
fn without_keys(text: &str) -> String {
    const KEY: usize = 43;
    const FOLD: &str = "\r\n ";
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find('/') {
        out.push_str(&rest[..=at]);
        rest = &rest[at + 1..];
        let (mut n, mut end) = (0, 0);
        while let Some(c) = rest[end..].chars().next() {
            if rest[end..].starts_with(FOLD) && n > 0 {
                end += FOLD.len();
            } else if c.is_ascii_alphanumeric() || c == '-' || c == '_' {
                n += 1;
                end += 1;
            } else {
                break;
            }
        }
        if n == KEY {
            out.push_str("(private)");
            rest = &rest[end..];
        }
    }
    out.push_str(rest);
    out
}

async fn find(ctx: &Ctx, id: &str) -> Result<Kept, Problem> {
    let id: Uuid = id.parse().map_err(|_| Problem::NotFound)?;
    outbox::by_id(ctx.store.read(), id).await?.ok_or(Problem::NotFound)
}

fn line_of(kept: &Kept, zone: Tz) -> NoticeLine {
    let (at, standing) = match &kept.standing {
        outbox::Standing::Waiting { failed, .. } => (kept.queued_at, Standing::Waiting(failed.clone())),
        outbox::Standing::Sent { at } => (*at, Standing::Sent),
        outbox::Standing::GivenUp { at, why } => (*at, Standing::GivenUp(why.clone())),
    };
    NoticeLine {
        href: format!("/desk/post/{}", kept.id),
        subject: kept.subject.clone(),
        to: if kept.to_name.is_empty() {
            kept.to_address.clone()
        } else {
            format!("{} <{}>", kept.to_name, kept.to_address)
        },
        when: local::shown(zone, at).format("%-d %b %Y, %H:%M").to_string(),
        when_utc: at.to_rfc3339(),
        standing,
    }
}

/// The shop's own time; UTC until it is set up.
async fn zone(ctx: &Ctx) -> Result<Tz, Problem> {
    Ok(offer::profile(ctx).await?.map_or(chrono_tz::UTC, |profile| local::zone(&profile)))
}

fn transport_words(ctx: &Ctx) -> String {
    match &ctx.config.post {
        Post::Hold => "No post leaves the house: notices wait here until a mail host is set up.".to_owned(),
        Post::Folder(folder) => {
            format!("Notices are written into the folder {} and not sent to anybody.", folder.display())
        }
        Post::Smtp(smtp) => format!("Notices go out through {}.", smtp.host),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_of_private_links_are_blanked_and_nothing_else_is() {
        let key = "Ab-_".repeat(11)[..43].to_owned();
        let text = format!(
            "See it:\nhttps://shop.example.com/v/{key}\nand/or <a href=\"http://x/k/{key}\">/book</a>"
        );
        assert_eq!(
            without_keys(&text),
            "See it:\nhttps://shop.example.com/v/(private)\nand/or <a href=\"http://x/k/(private)\">/book</a>"
        );
        let folded = format!("URL:https://shop.example.com/v/{}\r\n {}\r\nEND", &key[..20], &key[20..]);
        assert_eq!(without_keys(&folded), "URL:https://shop.example.com/v/(private)\r\nEND");
    }
}

//! Renders a page inside the frame.

use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

use axum::body::Body;
use axum::http::{HeaderValue, Request, StatusCode, header};
use axum::response::{Html, IntoResponse as _, Response};
use chrono::{DateTime, TimeDelta, Utc};
use futures::StreamExt as _;
use leptos::prelude::*;
use shop::lang::Lang;
use web::shell::{Assets, Frame, Shell, SignedIn};

use super::book::Blank;
use super::caller::Caller;
use super::limits::Limits;
use crate::config::Post;
use crate::context::Ctx;
use crate::store::staff::Role;
use crate::use_cases::offer;

/// What all pages share, read once at start-up.
#[derive(Debug)]
pub struct Site {
    ctx: Ctx,
    assets: Assets,
    banner: Option<String>,
    limits: Limits,
    /// The shop's name as last read, and when.
    name: Mutex<Option<(String, DateTime<Utc>)>>,
    /// The empty booking form as drawn last, by language.
    blanks: Mutex<Vec<Arc<Blank>>>,
}

/// The name over every page is read anew after this long, so that a change shows everywhere, on other servers too.
const NAME_KEPT: TimeDelta = TimeDelta::seconds(5);

impl Site {
    /// Reads the manifest of the built files. Without one, pages come bare and the log says so.
    pub fn new(ctx: &Ctx) -> Self {
        let banner = match &ctx.config.post {
            Post::Hold => {
                Some("No post leaves the house: notices wait until a mail host is set up.".to_owned())
            }
            Post::Folder(_) => Some("Notices are written into a folder and not sent to anybody.".to_owned()),
            Post::Smtp(_) => None,
        };
        let assets = read_manifest(&ctx.config.site);
        Self {
            ctx: ctx.clone(),
            assets,
            banner,
            limits: Limits::default(),
            name: Mutex::default(),
            blanks: Mutex::default(),
        }
    }

    /// What stands over every page: the shop's own name, and the program's while the shop has none.
    async fn shop_name(&self) -> String {
        let now = self.ctx.now();
        let fresh = |at: DateTime<Utc>| (now - at).abs() < NAME_KEPT;
        let kept = self.name.lock().unwrap_or_else(PoisonError::into_inner).clone();
        if let Some((name, _)) = kept.as_ref().filter(|(_, at)| fresh(*at)) {
            return name.clone();
        }
        match offer::profile(&self.ctx).await {
            Ok(Some(profile)) => {
                let mut name = self.name.lock().unwrap_or_else(PoisonError::into_inner);
                *name = Some((profile.name.clone(), now));
                profile.name
            }
            // A page that says what is wrong needs a head too.
            Ok(None) | Err(_) => kept.map_or_else(|| "Whetledger".to_owned(), |(name, _)| name),
        }
    }

    /// The empty booking form in a language, for as long as the name over it is kept.
    pub(super) fn blank_booking(&self, lang: Lang, now: DateTime<Utc>) -> Option<Arc<Blank>> {
        let blanks = self.blanks.lock().unwrap_or_else(PoisonError::into_inner);
        let fresh = |blank: &&Arc<Blank>| blank.lang == lang && (now - blank.at).abs() < NAME_KEPT;
        blanks.iter().find(fresh).cloned()
    }

    /// Keeps the empty booking form of a language.
    pub(super) fn keep_blank_booking(&self, blank: Blank) {
        let mut blanks = self.blanks.lock().unwrap_or_else(PoisonError::into_inner);
        blanks.retain(|other| other.lang != blank.lang);
        blanks.push(Arc::new(blank));
    }

    /// The name of a built file, by the name it has in the source.
    pub fn file(&self, name: &str) -> Option<&str> {
        self.assets.files.get(name).map(String::as_str)
    }

    /// How often somebody may knock.
    pub fn limits(&self) -> &Limits {
        &self.limits
    }
}

fn read_manifest(site: &Path) -> Assets {
    let path = site.join("manifest.json");
    let read = std::fs::read(&path)
        .map_err(|error| error.to_string())
        .and_then(|bytes| serde_json::from_slice(&bytes).map_err(|error| error.to_string()));
    read.unwrap_or_else(|error| {
        tracing::warn!("no built assets ({}: {error}); pages come bare and without islands", path.display());
        Assets::default()
    })
}

/// Marks an answer that is a whole page, whatever its status.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rendered;

/// Renders a page. `view` is called once, on the server; it may own whatever it shows.
pub async fn render<V: IntoView + 'static>(
    caller: &Caller,
    title: &str,
    view: impl FnOnce() -> V + Send + 'static,
) -> Response {
    with_status(caller, StatusCode::OK, title, view).await
}

/// Renders a page with a status of its own: 422 for a form that has to be corrected.
pub async fn with_status<V: IntoView + 'static>(
    caller: &Caller,
    status: StatusCode,
    title: &str,
    view: impl FnOnce() -> V + Send + 'static,
) -> Response {
    let frame = frame(caller, title).await;
    let nonce = caller.nonce().clone();
    let lang = caller.spoken().unwrap_or_default();
    let context = move || {
        provide_context(nonce.clone());
        provide_context(lang);
    };
    let page = move || view! { <Shell frame=frame>{view()}</Shell> };
    // Pages have no router and read no request, so the renderer gets an empty one.
    let request = Request::new(Body::empty());
    let mut response = leptos_axum::handle_response_inner(context, page, request, |page, chunks, _| {
        Box::pin(async move {
            let page = page.to_html_stream_in_order().collect::<String>().await;
            let whole = futures::stream::once(async move { page }).chain(chunks());
            Box::pin(whole) as std::pin::Pin<Box<dyn futures::Stream<Item = String> + Send>>
        })
    })
    .await;
    *response.status_mut() = status;
    marked(response)
}

/// A page that was rendered before.
pub(super) fn whole(page: String) -> Response {
    marked(Html(page).into_response())
}

fn marked(mut response: Response) -> Response {
    // The nonce is for this answer only, and most pages are private.
    response.headers_mut().insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    response.extensions_mut().insert(Rendered);
    response
}

/// The pages that are for everybody; only these may be found by searching.
const FOR_EVERYBODY: [&str; 3] = ["/", "/book", "/privacy"];

async fn frame(caller: &Caller, title: &str) -> Frame {
    let signed_in = caller.person().map(|person| SignedIn {
        id: person.id.to_string(),
        full_name: person.full_name.clone(),
        desk: person.roles.include(Role::Desk),
        bench: person.roles.include(Role::Bench),
        owner: person.roles.include(Role::Owner),
    });
    Frame {
        title: title.to_owned(),
        shop_name: caller.site().shop_name().await,
        path: caller.path().to_owned(),
        description: FOR_EVERYBODY.contains(&caller.path()).then(|| caller.say("home-lead")),
        tongues: caller.spoken().map(|_| caller.path().to_owned()).unwrap_or_default(),
        banner: signed_in.as_ref().and_then(|_| caller.site().banner.clone()),
        signed_in,
        assets: caller.site().assets.clone(),
    }
}

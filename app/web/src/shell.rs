//! The frame around every page: head, header with the way around, main part, foot.

use std::collections::BTreeMap;

use leptos::prelude::*;

use crate::parts::Wordmark;
use crate::say::{Lang, lang, t};

/// Names of the built files, as the build wrote them into its manifest. All empty when nothing was built: pages
/// then come without looks and islands, and still work.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Deserialize)]
#[serde(default)]
pub struct Assets {
    /// The islands' program, without its ending: `web-<hash>`. For staff only.
    pub app: Option<String>,
    /// The program that answers on the booking page, without its ending: `answers-<hash>`.
    pub answers: Option<String>,
    /// The stylesheet's file name.
    pub css: Option<String>,
    /// The one that comes after it on staff's pages.
    pub staff: Option<String>,
    /// Other files: the name in the source, and the name with its hash.
    pub files: BTreeMap<String, String>,
}

impl Assets {
    /// The address of a built file, by the name it has in the source.
    pub fn url(&self, name: &str) -> Option<String> {
        self.files.get(name).map(|file| format!("/pkg/{file}"))
    }
}

/// Who is signed in, as far as the frame shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignedIn {
    /// Their id: what is pressed at the bench without the line is sent for them alone.
    pub id: String,
    /// What the shop calls them.
    pub full_name: String,
    /// They may see the desk's pages.
    pub desk: bool,
    /// They may see the bench's pages.
    pub bench: bool,
    /// They may set the shop up.
    pub owner: bool,
}

/// What the frame of one page shows.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Frame {
    /// What the page is called, without the shop's name.
    pub title: String,
    /// The shop's name.
    pub shop_name: String,
    /// The page's own path, to mark where one is.
    pub path: String,
    /// Who is signed in; `None` on a customer's page.
    pub signed_in: Option<SignedIn>,
    /// Something all staff should know, such as that no post leaves the house.
    pub banner: Option<String>,
    /// What a search engine may say of the page; `None`: the page is nobody's business but whose link it is, and none may keep it.
    pub description: Option<String>,
    /// Where a change of language leads back to; empty: the page speaks one language only.
    pub tongues: String,
    /// The built files.
    pub assets: Assets,
}

/// A place staff go to.
struct Place {
    path: &'static str,
    name: &'static str,
    /// Who sees it.
    shown_to: fn(&SignedIn) -> bool,
}

const PLACES: [Place; 6] = [
    Place { path: "/desk", name: "Desk", shown_to: |who| who.desk },
    Place { path: "/plan", name: "Plan", shown_to: |who| who.desk || who.bench },
    Place { path: "/bench", name: "Bench", shown_to: |who| who.bench },
    Place { path: "/knives", name: "Knives", shown_to: |who| who.desk || who.bench },
    Place { path: "/desk/post", name: "Post", shown_to: |who| who.desk },
    Place { path: "/shop", name: "Shop", shown_to: |who| who.owner },
];

/// Small scripts beside the islands, and the places whose pages they help: browser work that wasm is no help with.
const SCRIPTS: [(&str, &str); 2] = [("/bench", "bench.js"), ("/desk", "scan.js")];

/// A whole document around `children`.
#[component]
pub fn Shell(
    /// What the frame shows.
    frame: Frame,
    /// The page itself.
    children: Children,
) -> impl IntoView {
    let title = if frame.title.is_empty() {
        frame.shop_name.clone()
    } else {
        format!("{} · {}", frame.title, frame.shop_name)
    };
    let for_engines = match frame.description.clone() {
        Some(words) => view! { <meta name="description" content=words /> }.into_any(),
        None => view! { <meta name="robots" content="noindex" /> }.into_any(),
    };
    // The page that draws every part draws staff's too.
    let for_staff = frame.signed_in.is_some() || under(&frame.path, "/style");
    let staff = frame.assets.staff.as_ref().filter(|_| for_staff);
    let css: Vec<_> = frame
        .assets
        .css
        .iter()
        .chain(staff)
        .map(|file| {
            let href = format!("/pkg/{file}");
            view! { <link rel="stylesheet" href=href /> }
        })
        .collect();
    let icon = frame.assets.url("icon.svg").map(|href| {
        view! { <link rel="icon" type="image/svg+xml" href=href /> }
    });
    let touch_icon = frame.assets.url("icons/app-192.png").map(|href| {
        view! { <link rel="apple-touch-icon" href=href /> }
    });
    // Headings are set in it; asked for early, it is there before the first line is drawn.
    let face = frame.assets.url("fonts/figures.woff2").map(|href| {
        view! { <link rel="preload" href=href r#as="font" r#type="font/woff2" crossorigin="anonymous" /> }
    });
    let manifest = frame.assets.url("shop.webmanifest").map(|href| {
        view! { <link rel="manifest" href=href /> }
    });
    // Customers' pages have no islands: what a phone loads is counted.
    let program = frame.assets.app.as_ref().filter(|_| frame.signed_in.is_some());
    let islands = program.zip(frame.assets.url("islands.js")).map(|(app, src)| {
        // Only islands are woken; what stands around them is never taken over.
        if let Some(shared) = Owner::current_shared_context() {
            shared.set_is_hydrating(false);
        }
        view! { <script src=src data-app=format!("/pkg/{app}") defer></script> }
    });
    let scripts: Vec<_> = SCRIPTS
        .iter()
        .filter(|(place, _)| frame.signed_in.is_some() && under(&frame.path, place))
        .filter_map(|(_, file)| frame.assets.url(file))
        .map(|src| {
            let person = frame.signed_in.as_ref().map(|who| who.id.clone());
            view! { <script src=src data-person=person defer></script> }
        })
        .collect();
    let counter =
        frame.assets.url("book.js").filter(|_| frame.path == "/book" || frame.path.starts_with("/v/"));
    let counter = counter.map(|src| {
        let answers = frame.assets.answers.as_ref().map(|name| format!("/pkg/{name}.js"));
        view! { <script type="module" src=src data-answers=answers></script> }
    });
    let forget = frame.assets.url("forget.js").filter(|_| frame.path == "/sign-in");
    let forget = forget.map(|src| view! { <script src=src defer></script> });
    let banner = frame.banner.clone().map(|text| {
        view! { <p class="banner" role="status">{text}</p> }
    });
    let speaks = (!frame.tongues.is_empty()).then(|| view! { <Tongues back=frame.tongues.clone() /> });
    view! {
        <!DOCTYPE html>
        <html lang=lang().code()>
            <head>
                <meta charset="utf-8" />
                <meta name="viewport" content="width=device-width, initial-scale=1" />
                <meta name="color-scheme" content="light dark" />
                <meta name="theme-color" content="#22302d" />
                // Between these tags a browser takes everything for text, the markers Leptos puts between children too.
                <title inner_html=title.replace('&', "&amp;").replace('<', "&lt;")></title>
                {for_engines}
                {face}
                {css}
                {icon}
                {touch_icon}
                {manifest}
                {islands}
                {scripts}
                {counter}
                {forget}
            </head>
            <body>
                <a class="skip" href="#main">{t("frame-skip")}</a>
                <Top frame=frame />
                {banner}
                <main id="main" class="page" tabindex="-1">{children()}</main>
                <footer class="foot">
                    <p><a href="/privacy">{t("frame-privacy")}</a></p>
                    {speaks}
                    <p><Wordmark /></p>
                </footer>
            </body>
        </html>
    }
}

/// The other languages this page can be read in.
#[component]
fn Tongues(back: String) -> impl IntoView {
    let here = lang();
    let others: Vec<_> = Lang::ALL
        .into_iter()
        .filter(|lang| *lang != here)
        .map(|lang| {
            view! {
                <button class="link" type="submit" name="lang" value=lang.code() lang=lang.code()>{lang.own_name()}</button>
            }
        })
        .collect();
    view! {
        <form method="post" action="/language" class="tongues">
            <input type="hidden" name="back" value=back />
            {others}
        </form>
    }
    .into_any()
}

/// Whether a page is the place itself or lies under it.
fn under(path: &str, place: &str) -> bool {
    path.strip_prefix(place).is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
}

/// The shop's name and the way around.
#[component]
fn Top(frame: Frame) -> impl IntoView {
    let home = if frame.signed_in.is_some() { "/desk" } else { "/" };
    let path = frame.path;
    // The longest place that the page lies under, so that the post page does not mark the desk as well.
    let here =
        PLACES.iter().map(|place| place.path).filter(|place| under(&path, place)).max_by_key(|p| p.len());
    let way = frame.signed_in.map(|who| {
        let places: Vec<_> = PLACES
            .iter()
            .filter(|place| (place.shown_to)(&who))
            .map(|place| {
                let current = (here == Some(place.path)).then_some("page");
                view! { <li><a href=place.path aria-current=current>{place.name}</a></li> }
            })
            .collect();
        view! {
            <nav class="places" aria-label="Places">
                <ul>{places}</ul>
            </nav>
            <div class="who">
                <a href="/account">{who.full_name}</a>
                <form method="post" action="/sign-out">
                    <button class="button quiet" type="submit">"Sign out"</button>
                </form>
            </div>
        }
    });
    view! {
        <header class="top">
            <a class="shop-name" href=home>{frame.shop_name}</a>
            {way}
        </header>
    }
}

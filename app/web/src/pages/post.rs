//! The shop's post: every notice as it was written, and whether it went.

use leptos::prelude::*;

use crate::parts::{Badge, Column, Crumbs, DataTable, Empty, Facts, Picture, Tab, Tabs, Tone};

/// How a notice stands, in the words of the page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// On its way. Holds what went wrong the last time, if anything did.
    Waiting(Option<String>),
    /// The mail host took it.
    Sent,
    /// Given up, and why.
    GivenUp(String),
}

/// One line of the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoticeLine {
    /// Where its page is.
    pub href: String,
    /// Its subject.
    pub subject: String,
    /// Whom it goes to.
    pub to: String,
    /// When it was written, sent or given up, for people.
    pub when: String,
    /// The same instant for machines.
    pub when_utc: String,
    /// How it stands.
    pub standing: Standing,
}

/// Which notices the list shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PostTab {
    /// The word in the address.
    pub word: &'static str,
    /// The name.
    pub name: &'static str,
    /// How many there are.
    pub n: u64,
    /// It is the one that is shown.
    pub shown: bool,
}

/// The small form for a trial notice, as it was typed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TrialForm {
    /// The address as typed.
    pub to: String,
    /// What is wrong with it, in one sentence.
    pub error: Option<String>,
}

/// The list of notices.
#[component]
pub fn PostPage(
    /// What happens to post just now, in one sentence.
    transport: String,
    /// Which lists there are.
    tabs: Vec<PostTab>,
    /// The lines.
    lines: Vec<NoticeLine>,
    /// Where older ones are.
    older: Option<String>,
    /// Something that was just done.
    said: Option<String>,
    /// The form for a trial notice.
    trial: TrialForm,
) -> impl IntoView {
    let bad = trial.error.is_some();
    let trial_error = trial.error.map(|text| view! { <p class="error" id="trial-error">{text}</p> });
    let said = said.map(|text| view! { <p class="notice good" role="status">{text}</p> });
    let tabs: Vec<_> = tabs
        .into_iter()
        .map(|tab| Tab {
            href: format!("/desk/post?which={}", tab.word),
            words: format!("{} ({})", tab.name, tab.n),
            shown: tab.shown,
        })
        .collect();
    let list = if lines.is_empty() {
        view! { <Empty title="Nothing here"><p>"Notices appear here as they are written: when something is booked, received, ready."</p></Empty> }
            .into_any()
    } else {
        let columns = vec![
            Column::words("Notice"),
            Column::words("To"),
            Column::words("When"),
            Column::words("How it stands"),
        ];
        let rows = lines
            .into_iter()
            .map(|line| {
                vec![
                    view! { <a href=line.href>{line.subject}</a> }.into_any(),
                    line.to.into_any(),
                    view! { <time datetime=line.when_utc>{line.when}</time> }.into_any(),
                    view! { <StandingWords standing=line.standing /> }.into_any(),
                ]
            })
            .collect();
        view! { <DataTable caption="Notices, newest first" caption_hidden=true columns=columns rows=rows /> }
            .into_any()
    };
    let older = older.map(|href| view! { <p><a href=href>"Older ones"</a></p> });
    view! {
        <h1>"Post"</h1>
        {said}
        <p>{transport}</p>
        <form method="post" action="/desk/post/trial" class="line-form">
            <label for="trial-to">"Send a trial notice to"</label>
            <input
                id="trial-to"
                name="to"
                type="email"
                value=trial.to
                autocomplete="email"
                maxlength="254"
                required
                autofocus=bad
                aria-invalid=bad.then_some("true")
                aria-describedby=bad.then_some("trial-error")
            />
            <button class="button" type="submit">"Send"</button>
            {trial_error}
        </form>
        <Tabs label="Which notices" tabs=tabs />
        {list}
        {older}
    }
}

#[component]
fn StandingWords(standing: Standing) -> impl IntoView {
    match standing {
        Standing::Sent => view! { <Badge words="Sent" tone=Tone::Good /> }.into_any(),
        Standing::Waiting(None) => view! { <Badge words="Waiting" picture=Picture::Clock /> }.into_any(),
        Standing::Waiting(Some(why)) => {
            view! { <Badge words="Waiting" tone=Tone::Warn /> <p class="note">"Tried before: " {why}</p> }
                .into_any()
        }
        Standing::GivenUp(why) => {
            view! { <Badge words="Given up" tone=Tone::Bad /> <p class="note">{why}</p> }.into_any()
        }
    }
}

/// One notice, whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoticeView {
    /// The line as in the list.
    pub line: NoticeLine,
    /// How often it was tried.
    pub attempts: u32,
    /// The plain text.
    pub text: String,
    /// Where its HTML is, for the sandboxed frame.
    pub html_href: String,
    /// Where it can be put back in line, when it was given up.
    pub retry_href: Option<String>,
    /// Where its calendar file is, when it has one.
    pub calendar_href: Option<String>,
}

/// Shows one notice as text and as HTML.
#[component]
pub fn NoticePage(
    /// The notice.
    notice: NoticeView,
) -> impl IntoView {
    let retry = notice.retry_href.map(|href| {
        view! {
            <form method="post" action=href>
                <button class="button primary" type="submit">"Try it again"</button>
            </form>
        }
    });
    let calendar = notice.calendar_href.map(|href| {
        view! { <p><a href=href download="visit.ics">"The calendar file that goes with it"</a></p> }
    });
    let line = notice.line;
    let tried = if notice.attempts == 1 { "once".to_owned() } else { format!("{} times", notice.attempts) };
    let facts: Vec<(String, AnyView)> = vec![
        ("To".into(), line.to.into_any()),
        ("When".into(), view! { <time datetime=line.when_utc>{line.when}</time> }.into_any()),
        ("How it stands".into(), view! { <StandingWords standing=line.standing /> }.into_any()),
        ("Tried".into(), tried.into_any()),
    ];
    view! {
        <Crumbs trail=vec![("/desk/post".to_owned(), "Post".to_owned())] here="Notice" />
        <h1>{line.subject}</h1>
        <Facts items=facts />
        {retry}
        {calendar}
        <h2>"As text"</h2>
        <pre class="letter">{notice.text}</pre>
        <h2>"As a page"</h2>
        <iframe class="letter" title="The notice as a page" sandbox="allow-popups" src=notice.html_href></iframe>
    }
}

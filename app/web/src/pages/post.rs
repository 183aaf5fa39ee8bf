//! The shop's post: every notice as it was written, and whether it went.

use leptos::prelude::*;

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
        .map(|tab| {
            let href = format!("/desk/post?which={}", tab.word);
            let current = tab.shown.then_some("page");
            view! { <li><a href=href aria-current=current>{tab.name} " (" {tab.n} ")"</a></li> }
        })
        .collect();
    let list = if lines.is_empty() {
        view! { <p>"Nothing here."</p> }.into_any()
    } else {
        let rows: Vec<_> = lines.into_iter().map(|line| view! { <Line line=line /> }).collect();
        view! {
            <div class="table-wrap">
                <table>
                    <thead>
                        <tr>
                            <th scope="col">"Notice"</th>
                            <th scope="col">"To"</th>
                            <th scope="col">"When"</th>
                            <th scope="col">"How it stands"</th>
                        </tr>
                    </thead>
                    <tbody>{rows}</tbody>
                </table>
            </div>
        }
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
        <nav class="tabs" aria-label="Which notices"><ul>{tabs}</ul></nav>
        {list}
        {older}
    }
}

#[component]
fn Line(line: NoticeLine) -> impl IntoView {
    view! {
        <tr>
            <td><a href=line.href>{line.subject}</a></td>
            <td>{line.to}</td>
            <td><time datetime=line.when_utc>{line.when}</time></td>
            <td><StandingWords standing=line.standing /></td>
        </tr>
    }
}

#[component]
fn StandingWords(standing: Standing) -> impl IntoView {
    match standing {
        Standing::Sent => view! { <span class="state good">"Sent"</span> }.into_any(),
        Standing::Waiting(None) => view! { <span class="state">"Waiting"</span> }.into_any(),
        Standing::Waiting(Some(why)) => {
            view! { <span class="state warn">"Waiting, tried before: " {why}</span> }.into_any()
        }
        Standing::GivenUp(why) => view! { <span class="state error">"Given up: " {why}</span> }.into_any(),
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
    view! {
        <p><a href="/desk/post">"All post"</a></p>
        <h1>{line.subject}</h1>
        <dl class="facts">
            <dt>"To"</dt>
            <dd>{line.to}</dd>
            <dt>"When"</dt>
            <dd><time datetime=line.when_utc>{line.when}</time></dd>
            <dt>"How it stands"</dt>
            <dd><StandingWords standing=line.standing /></dd>
            <dt>"Tried"</dt>
            <dd>{notice.attempts} " times"</dd>
        </dl>
        {retry}
        {calendar}
        <h2>"As text"</h2>
        <pre class="letter">{notice.text}</pre>
        <h2>"As a page"</h2>
        <iframe class="letter" title="The notice as a page" sandbox="allow-popups" src=notice.html_href></iframe>
    }
}

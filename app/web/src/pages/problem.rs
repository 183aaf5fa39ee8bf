//! The page that says what went wrong and what to do now.

use leptos::prelude::*;

/// A calm account of what went wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Account {
    /// What happened, as a heading.
    pub what: String,
    /// A sentence or two: why, and what can be done.
    pub advice: String,
    /// Where to go from here: address and words.
    pub next: (String, String),
    /// Names the case in the log, when it is ours to find out.
    pub reference: Option<String>,
}

/// Shows an account.
#[component]
pub fn ProblemPage(
    /// What went wrong.
    account: Account,
) -> impl IntoView {
    let reference = account.reference.map(|number| {
        view! {
            <p>{crate::say::t("problem-reference")} " " <strong class="reference">{number}</strong></p>
        }
    });
    let (href, words) = account.next;
    view! {
        <article class="card problem">
            <h1>{account.what}</h1>
            <p>{account.advice}</p>
            {reference}
            <p><a class="button" href=href>{words}</a></p>
        </article>
    }
}

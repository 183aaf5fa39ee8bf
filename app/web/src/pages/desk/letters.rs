//! Questions and answers of a visit, as the desk sees them.

use leptos::prelude::*;

use crate::pages::talk::{LetterLine, Letters, MOST_LETTER};
use crate::parts::{Actions, Button, Card, TextArea};

/// Questions and answers of a visit at the desk.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct DeskTalk {
    /// The letters, oldest first.
    pub letters: Vec<LetterLine>,
    /// A fresh key for the next one.
    pub key: String,
}

/// What the customer asked, and the answer.
#[component]
pub fn LettersCard(
    /// The letters.
    talk: DeskTalk,
    /// Where an answer is sent to.
    action: String,
    /// What is wrong with it.
    error: Option<String>,
) -> impl IntoView {
    let waits = talk.letters.last().is_some_and(|letter| !letter.by_shop);
    let label = if waits { "Your answer" } else { "Ask or tell the customer something" };
    view! {
        <Card title="Questions and answers" first=waits>
            <Letters letters=talk.letters />
            <form method="post" action=action class="stack" novalidate>
                <input type="hidden" name="key" value=talk.key />
                <TextArea name="body" label=label error=error maxlength=MOST_LETTER />
                <Actions><Button>"Send it by mail"</Button></Actions>
            </form>
        </Card>
    }
    .into_any()
}

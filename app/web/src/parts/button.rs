//! What one presses.

use leptos::prelude::*;

use super::{Pictogram, Picture};

/// How much a button matters. A page has at most one `Primary` in sight.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum ButtonKind {
    /// One of several things that can be done.
    #[default]
    Plain,
    /// The one thing this page is for.
    Primary,
    /// Something aside: no frame until the hand is over it.
    Quiet,
    /// Takes something away. Prefer an undo afterwards to a question before.
    Danger,
}

impl ButtonKind {
    fn class(self, big: bool) -> &'static str {
        match (self, big) {
            (Self::Plain, false) => "button",
            (Self::Primary, false) => "button primary",
            (Self::Quiet, false) => "button quiet",
            (Self::Danger, false) => "button danger",
            (Self::Plain, true) => "button big",
            (Self::Primary, true) => "button primary big",
            (Self::Quiet, true) => "button quiet big",
            (Self::Danger, true) => "button danger big",
        }
    }
}

/// A button. Inside a form it sends it, with `name` and `value` saying which button it was.
///
/// Further attributes go on as `attr:formnovalidate=true`, `attr:formaction="..."`.
#[component]
pub fn Button(
    /// How much it matters.
    #[prop(optional)]
    kind: ButtonKind,
    /// For wet hands: at least 60 px high, large words.
    #[prop(optional)]
    big: bool,
    /// Form name, when several buttons send the same form.
    #[prop(optional, into)]
    name: String,
    /// What is sent under that name.
    #[prop(optional, into)]
    value: String,
    /// A pictogram before the words.
    #[prop(optional, into)]
    picture: Option<Picture>,
    /// `true`: does not send the form (for islands).
    #[prop(optional)]
    aside: bool,
    /// Cannot be pressed now. Say beside it why.
    #[prop(optional, into)]
    disabled: Signal<bool>,
    /// The words: a verb, and what it acts on.
    children: Children,
) -> impl IntoView {
    let has_name = !name.is_empty();
    let picture = picture.map(|of| view! { <Pictogram of=of /> });
    view! {
        <button
            class=kind.class(big)
            type=if aside { "button" } else { "submit" }
            name=has_name.then_some(name)
            value=has_name.then_some(value)
            disabled=disabled
        >
            {picture}
            {children()}
        </button>
    }
    .into_any()
}

/// A link that looks like a button: it goes somewhere and changes nothing.
#[component]
pub fn ButtonLink(
    /// Where to.
    #[prop(into)]
    href: String,
    /// How much it matters.
    #[prop(optional)]
    kind: ButtonKind,
    /// For wet hands.
    #[prop(optional)]
    big: bool,
    /// A pictogram before the words.
    #[prop(optional, into)]
    picture: Option<Picture>,
    /// The words.
    children: Children,
) -> impl IntoView {
    let picture = picture.map(|of| view! { <Pictogram of=of /> });
    view! { <a class=kind.class(big) href=href>{picture}{children()}</a> }.into_any()
}

/// The row of buttons at the end of a form: first the one that matters.
#[component]
pub fn Actions(
    /// Buttons and links.
    children: Children,
) -> impl IntoView {
    view! { <div class="actions">{children()}</div> }.into_any()
}

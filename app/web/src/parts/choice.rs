//! Things one picks by looking: cards with drawings, and ticks.

use leptos::prelude::*;

use super::field::own_id;
use super::{Pictogram, Picture, Said};

/// One thing that can be chosen.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Opt {
    /// What the form sends.
    pub value: String,
    /// What people read.
    pub label: String,
    /// A few more words; empty: none.
    pub note: String,
    /// A drawing.
    pub picture: Option<Picture>,
}

impl Opt {
    /// A choice with its value and words.
    pub fn new(value: impl Into<String>, label: impl Into<String>) -> Self {
        Self { value: value.into(), label: label.into(), ..Self::default() }
    }

    /// The same with a few more words.
    pub fn note(self, note: impl Into<String>) -> Self {
        Self { note: note.into(), ..self }
    }

    /// The same with a drawing.
    pub fn drawn(self, picture: impl Into<Picture>) -> Self {
        Self { picture: Some(picture.into()), ..self }
    }
}

/// One of a few, as cards to press; radio buttons underneath, so arrow keys and plain forms work.
///
/// The first card's input has the id of the name, so that the error summary leads to it.
#[component]
pub fn Choice(
    /// Form name.
    #[prop(into)]
    name: String,
    /// The question.
    #[prop(into)]
    legend: String,
    /// The cards.
    options: Vec<Opt>,
    /// The value that is chosen; empty: none.
    #[prop(optional, into)]
    chosen: String,
    /// Help in one sentence.
    #[prop(optional, into)]
    hint: String,
    /// What is wrong with it.
    #[prop(optional, into)]
    error: Said,
    /// May stay unchosen.
    #[prop(optional)]
    optional: bool,
    /// Must be chosen.
    #[prop(optional)]
    required: bool,
) -> impl IntoView {
    let id = own_id(&name);
    let cards: Vec<_> = options
        .into_iter()
        .enumerate()
        .map(|(i, opt)| {
            let own = if i == 0 { id.clone() } else { format!("{id}-{i}") };
            let (target, checked) = (own.clone(), opt.value == chosen);
            let picture = opt.picture.map(|of| view! { <Pictogram of=of /> });
            let note = (!opt.note.is_empty()).then(|| view! { <span class="note">{opt.note}</span> });
            view! {
                <label class="pick-card" for=target>
                    <input type="radio" id=own name=name.clone() value=opt.value checked=checked required=required />
                    {picture}
                    <span class="words">{opt.label}{note}</span>
                </label>
            }
        })
        .collect();
    view! {
        <Asked id=id legend=legend hint=hint error=error optional=optional>
            <div class="cards">{cards}</div>
        </Asked>
    }
    .into_any()
}

/// Several ticks or fields under one question.
#[component]
pub fn Group(
    /// The question.
    #[prop(into)]
    legend: String,
    /// Help in one sentence.
    #[prop(optional, into)]
    hint: String,
    /// Form name the error summary leads to.
    #[prop(optional, into)]
    name: String,
    /// What is wrong with the whole of it.
    #[prop(optional, into)]
    error: Said,
    /// May stay empty.
    #[prop(optional)]
    optional: bool,
    /// The ticks or fields.
    children: Children,
) -> impl IntoView {
    let id = if name.is_empty() {
        own_id(&legend.to_lowercase().replace(' ', "-").replace('?', ""))
    } else {
        own_id(&name)
    };
    view! {
        <Asked id=id legend=legend hint=hint error=error optional=optional on_group=true>
            <div class="cards">{children()}</div>
        </Asked>
    }
    .into_any()
}

/// The frame of a question with several answers.
#[component]
fn Asked(
    id: String,
    legend: String,
    hint: String,
    error: Said,
    optional: bool,
    #[prop(optional)] on_group: bool,
    children: Children,
) -> impl IntoView {
    let (hint_id, error_id) = (format!("{id}-hint"), format!("{id}-error"));
    let has_hint = !hint.is_empty();
    let describe = {
        let (hint_id, error_id) = (hint_id.clone(), error_id.clone());
        move || match (has_hint, error.any()) {
            (true, true) => Some(format!("{hint_id} {error_id}")),
            (true, false) => Some(hint_id.clone()),
            (false, true) => Some(error_id.clone()),
            (false, false) => None,
        }
    };
    let optional = optional.then(|| view! { <span class="optional">{crate::say::optional()}</span> });
    let hint = has_hint.then(|| view! { <p class="hint" id=hint_id>{hint}</p> });
    let said = move || error.now().map(|text| view! { <p class="error" id=error_id.clone()>{text}</p> });
    view! {
        <fieldset class="asked" id=on_group.then_some(id) tabindex=on_group.then_some("-1") aria-describedby=describe>
            <legend>{legend}{optional}</legend>
            {hint}
            {children()}
            {said}
        </fieldset>
    }
    .into_any()
}

/// One thing to tick; sends its value (`true` by itself) or nothing. With a drawing it is a card.
#[component]
pub fn Tick(
    /// Form name.
    #[prop(into)]
    name: String,
    /// What is true when it is ticked.
    #[prop(into)]
    label: String,
    /// Ticked before.
    #[prop(optional)]
    checked: bool,
    /// What the form sends; `true` unless several ticks share the name.
    #[prop(optional, into)]
    value: String,
    /// Help in one sentence.
    #[prop(optional, into)]
    hint: String,
    /// What is wrong with it.
    #[prop(optional, into)]
    error: Said,
    /// A drawing.
    #[prop(optional, into)]
    picture: Option<Picture>,
    /// Must be ticked.
    #[prop(optional)]
    required: bool,
) -> impl IntoView {
    let (id, value) = if value.is_empty() {
        (own_id(&name), "true".to_owned())
    } else {
        (format!("{}-{value}", own_id(&name)), value)
    };
    let (hint_id, error_id) = (format!("{id}-hint"), format!("{id}-error"));
    let has_hint = !hint.is_empty();
    let describe = {
        let (hint_id, error_id) = (hint_id.clone(), error_id.clone());
        move || match (has_hint, error.any()) {
            (true, true) => Some(format!("{hint_id} {error_id}")),
            (true, false) => Some(hint_id.clone()),
            (false, true) => Some(error_id.clone()),
            (false, false) => None,
        }
    };
    let target = id.clone();
    let class = if picture.is_some() { "pick-card" } else { "tick" };
    let picture = picture.map(|of| view! { <Pictogram of=of /> });
    let hint = has_hint.then(|| view! { <span class="note" id=hint_id>{hint}</span> });
    let said = move || error.now().map(|text| view! { <p class="error" id=error_id.clone()>{text}</p> });
    view! {
        <div class="tick-field">
            <label class=class for=target>
                <input
                    type="checkbox"
                    id=id
                    name=name
                    value=value
                    checked=checked
                    required=required
                    aria-invalid=move || error.any().then_some("true")
                    aria-describedby=describe
                />
                {picture}
                <span class="words">{label}{hint}</span>
            </label>
            {said}
        </div>
    }
    .into_any()
}

//! Fields one types into or picks from a list.

use leptos::context::Provider;
use leptos::prelude::*;

use super::{Opt, Said};

/// What a field is for; it decides the keyboard a phone shows and what a browser may fill in.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Input {
    /// A line of words.
    #[default]
    Text,
    /// A figure as hands type it: decimal point or comma. Stays a text field, so that nothing typed is lost.
    Figure,
    /// A length that may come in inches: `1/16`, `8 1/4 in`. Like [`Input::Figure`], with a keyboard that has `/`.
    Length,
    /// A whole number.
    Whole,
    /// A mail address.
    Email,
    /// A telephone number.
    Phone,
    /// A password; never shown again.
    Password,
    /// Something to look for.
    Search,
    /// A calendar day.
    Date,
    /// A time of day.
    Time,
    /// A day and a time, local.
    Moment,
    /// A tag or reference, typed or scanned: capitals, no spelling help.
    Tag,
}

impl Input {
    fn html_type(self) -> &'static str {
        match self {
            Self::Text | Self::Figure | Self::Length | Self::Whole | Self::Tag => "text",
            Self::Email => "email",
            Self::Phone => "tel",
            Self::Password => "password",
            Self::Search => "search",
            Self::Date => "date",
            Self::Time => "time",
            Self::Moment => "datetime-local",
        }
    }

    fn inputmode(self) -> Option<&'static str> {
        match self {
            Self::Figure => Some("decimal"),
            Self::Whole => Some("numeric"),
            _ => None,
        }
    }

    fn autocomplete(self) -> Option<&'static str> {
        match self {
            Self::Figure | Self::Length | Self::Whole | Self::Tag => Some("off"),
            Self::Email => Some("email"),
            Self::Phone => Some("tel"),
            _ => None,
        }
    }

    /// Neither corrected nor capitalised by a helpful phone.
    fn is_literal(self) -> bool {
        !matches!(self, Self::Text | Self::Search)
    }

    fn class(self) -> &'static str {
        match self {
            Self::Figure | Self::Length | Self::Whole => "field figure-field",
            Self::Tag => "field tag-field",
            _ => "field",
        }
    }
}

/// The id of the element for a form name: `knives[0][length]` becomes `knives-0-length`.
pub fn id_of(name: &str) -> String {
    name.split(['[', ']']).filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-")
}

/// Set by [`Within`]: goes before the ids of all fields inside.
#[derive(Debug, Clone)]
struct FormId(String);

/// The id of the element for a form name here: as [`id_of`], after the id of the form it stands in if there is one.
pub(super) fn own_id(name: &str) -> String {
    match use_context::<FormId>() {
        Some(FormId(form)) => format!("{form}-{}", id_of(name)),
        None => id_of(name),
    }
}

/// Keeps the ids of several forms on one page apart, where their fields have the same names. Wrap each form, together with
/// its error summary, in one of these.
#[component]
pub fn Within(
    /// Different for every form of the page.
    #[prop(into)]
    id: String,
    /// The form.
    children: Children,
) -> impl IntoView {
    view! { <Provider value=FormId(id)>{children()}</Provider> }.into_any()
}

/// Which of the texts around a field describe it, for `aria-describedby`.
fn described(id: &str, hint: bool, echo: bool, error: bool) -> Option<String> {
    let ids: Vec<_> = [(hint, "hint"), (echo, "echo"), (error, "error")]
        .into_iter()
        .filter(|(there, _)| *there)
        .map(|(_, what)| format!("{id}-{what}"))
        .collect();
    (!ids.is_empty()).then(|| ids.join(" "))
}

/// Label, then hint: what a field says before one types.
#[component]
fn Above(id: String, label: String, hint: String, optional: bool) -> impl IntoView {
    let hint = (!hint.is_empty()).then(|| view! { <p class="hint" id=format!("{id}-hint")>{hint}</p> });
    let optional = optional.then(|| view! { <span class="optional">{crate::say::optional()}</span> });
    view! {
        <label for=id>{label}{optional}</label>
        {hint}
    }
    .into_any()
}

/// Echo, then error: what a field says to what was typed.
#[component]
fn Below(id: String, echo: Said, error: Said) -> impl IntoView {
    let echo_id = format!("{id}-echo");
    let echo = echo.may_come().then(|| {
        view! { <output class="echo" id=echo_id for=id.clone()>{move || echo.now()}</output> }
    });
    let said = move || error.now().map(|text| view! { <p class="error" id=format!("{id}-error")>{text}</p> });
    view! { {echo} {said} }.into_any()
}

/// One line to type into: label above, unit beside, hint, echo of the understood figure and error tied to it.
///
/// `on:input` on the part hears what is typed, since the event rises to it.
#[component]
pub fn Field(
    /// Form name.
    #[prop(into)]
    name: String,
    /// What is asked, in a few words.
    #[prop(into)]
    label: String,
    /// What was typed before.
    #[prop(optional, into)]
    value: String,
    /// What it is for.
    #[prop(optional)]
    kind: Input,
    /// Help in one sentence.
    #[prop(optional, into)]
    hint: String,
    /// The unit, shown at the end of the box.
    #[prop(optional, into)]
    unit: String,
    /// What is wrong with it.
    #[prop(optional, into)]
    error: Said,
    /// How the figure was understood: `= 1.59 mm`.
    #[prop(optional, into)]
    echo: Said,
    /// May stay empty; the label says so.
    #[prop(optional)]
    optional: bool,
    /// Must be filled; forms that answer by themselves carry `novalidate`.
    #[prop(optional)]
    required: bool,
    /// Most characters.
    #[prop(optional)]
    maxlength: Option<u32>,
    /// What a browser may fill in; without it, what `kind` suggests.
    #[prop(optional)]
    autocomplete: Option<&'static str>,
    /// What the value must look like, as a regular expression.
    #[prop(optional)]
    pattern: Option<&'static str>,
    /// Values offered while typing.
    #[prop(optional)]
    suggestions: Vec<String>,
    /// Takes the focus when the page opens; at most one on a page.
    #[prop(optional)]
    autofocus: bool,
) -> impl IntoView {
    let id = own_id(&name);
    let has_hint = !hint.is_empty();
    let describe = {
        let id = id.clone();
        move || described(&id, has_hint, echo.may_come(), error.any())
    };
    let literal = kind.is_literal();
    let list = (!suggestions.is_empty()).then(|| format!("{id}-list"));
    let datalist = list.clone().map(|list| {
        let options: Vec<_> =
            suggestions.into_iter().map(|value| view! { <option value=value></option> }).collect();
        view! { <datalist id=list>{options}</datalist> }
    });
    let unit_shown =
        (!unit.is_empty()).then(|| view! { <span class="unit" aria-hidden="true">{unit.clone()}</span> });
    let spoken = if unit.is_empty() { String::new() } else { format!(", {unit}") };
    view! {
        <div class=kind.class()>
            <label for=id.clone()>
                {label}
                <span class="hidden">{spoken}</span>
                {optional.then(|| view! { <span class="optional">{crate::say::optional()}</span> })}
            </label>
            {has_hint.then(|| view! { <p class="hint" id=format!("{id}-hint")>{hint}</p> })}
            <div class="box">
                <input
                    id=id.clone()
                    name=name
                    type=kind.html_type()
                    value=value
                    inputmode=kind.inputmode()
                    autocomplete=autocomplete.or(kind.autocomplete())
                    autocapitalize=match kind { Input::Tag => Some("characters"), _ if literal => Some("none"), _ => None }
                    spellcheck=literal.then_some("false")
                    maxlength=maxlength.map(|most| most.to_string())
                    pattern=pattern
                    required=required
                    autofocus=autofocus
                    list=list
                    aria-invalid=move || error.any().then_some("true")
                    aria-describedby=describe
                />
                {unit_shown}
            </div>
            {datalist}
            <Below id=id echo=echo error=error />
        </div>
    }
    .into_any()
}

/// `text` as it has to stand between the tags of a textarea. Leptos writes a textarea's children as they are, so what
/// somebody typed could close it and go on as markup; and a browser swallows the first line break in it.
fn between_textarea_tags(text: &str) -> String {
    format!("\n{}", text.replace('&', "&amp;").replace('<', "&lt;"))
}

/// Several lines to type into.
#[component]
pub fn TextArea(
    /// Form name.
    #[prop(into)]
    name: String,
    /// What is asked.
    #[prop(into)]
    label: String,
    /// What was typed before.
    #[prop(optional, into)]
    value: String,
    /// Help in one sentence.
    #[prop(optional, into)]
    hint: String,
    /// What is wrong with it.
    #[prop(optional, into)]
    error: Said,
    /// May stay empty.
    #[prop(optional)]
    optional: bool,
    /// Must be filled.
    #[prop(optional)]
    required: bool,
    /// Lines shown at first; it grows with what is typed where the browser can.
    #[prop(default = 3)]
    rows: u32,
    /// Most characters.
    #[prop(optional)]
    maxlength: Option<u32>,
) -> impl IntoView {
    let id = own_id(&name);
    let has_hint = !hint.is_empty();
    let describe = {
        let id = id.clone();
        move || described(&id, has_hint, false, error.any())
    };
    view! {
        <div class="field">
            <Above id=id.clone() label=label hint=hint optional=optional />
            <textarea
                id=id.clone()
                name=name
                rows=rows.to_string()
                required=required
                maxlength=maxlength.map(|most| most.to_string())
                aria-invalid=move || error.any().then_some("true")
                aria-describedby=describe
                inner_html=between_textarea_tags(&value)
            ></textarea>
            <Below id=id echo=Said::default() error=error />
        </div>
    }
    .into_any()
}

/// One of a list. For up to six things that can be drawn take [`super::Choice`] instead.
#[component]
pub fn Select(
    /// Form name.
    #[prop(into)]
    name: String,
    /// What is asked.
    #[prop(into)]
    label: String,
    /// The list; an [`Opt`] with an empty value stands for "not chosen".
    options: Vec<Opt>,
    /// The value that is chosen.
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
    let has_hint = !hint.is_empty();
    let describe = {
        let id = id.clone();
        move || described(&id, has_hint, false, error.any())
    };
    let options: Vec<_> = options
        .into_iter()
        .map(|opt| {
            let selected = opt.value == chosen;
            let words = if opt.note.is_empty() { opt.label } else { format!("{}: {}", opt.label, opt.note) };
            view! { <option value=opt.value selected=selected>{words}</option> }
        })
        .collect();
    view! {
        <div class="field">
            <Above id=id.clone() label=label hint=hint optional=optional />
            <div class="box pick">
                <select
                    id=id.clone()
                    name=name
                    required=required
                    aria-invalid=move || error.any().then_some("true")
                    aria-describedby=describe
                >
                    {options}
                </select>
            </div>
            <Below id=id echo=Said::default() error=error />
        </div>
    }
    .into_any()
}

/// Photos, from the camera or from what is kept on the device. The form needs `enctype="multipart/form-data"`.
#[component]
pub fn Photos(
    /// Form name.
    #[prop(into)]
    name: String,
    /// What to photograph.
    #[prop(into)]
    label: String,
    /// Help in one sentence: how many, how large.
    #[prop(optional, into)]
    hint: String,
    /// What is wrong with them.
    #[prop(optional, into)]
    error: Said,
    /// Several at once.
    #[prop(optional)]
    several: bool,
    /// Opens the camera at once where there is one: for the bench.
    #[prop(optional)]
    camera: bool,
) -> impl IntoView {
    let id = own_id(&name);
    let has_hint = !hint.is_empty();
    let describe = {
        let id = id.clone();
        move || described(&id, has_hint, false, error.any())
    };
    view! {
        <div class="field">
            <Above id=id.clone() label=label hint=hint optional=true />
            <input
                id=id.clone()
                name=name
                type="file"
                accept="image/jpeg,image/png,image/webp"
                capture=camera.then_some("environment")
                multiple=several
                aria-invalid=move || error.any().then_some("true")
                aria-describedby=describe
            />
            <Below id=id echo=Said::default() error=error />
        </div>
    }
    .into_any()
}

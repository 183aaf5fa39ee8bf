//! What a page says to people: notices, cautions, refusals, nothing to show, what is wrong with a form.

use leptos::prelude::*;
use shop::field::FieldErrors;

use super::field::own_id;
use super::{Pictogram, Picture, Tone};
use crate::say::tn;

/// A sentence or two about what just happened or what to know. Put an undo button into it where something was done.
#[component]
pub fn Notice(
    /// How it is meant. `Good` and `Plain` are spoken when they appear, `Bad` at once.
    #[prop(optional)]
    tone: Tone,
    /// A short heading; empty: none.
    #[prop(optional, into)]
    title: String,
    /// The sentences, and buttons if any.
    children: Children,
) -> impl IntoView {
    let title = (!title.is_empty()).then(|| view! { <p class="title">{title}</p> });
    view! {
        <div class=format!("notice {}", tone.class()) role=if tone == Tone::Bad { "alert" } else { "status" }>
            <Pictogram of=tone.picture() />
            <div class="inside">{title}{children()}</div>
        </div>
    }
    .into_any()
}

/// A caution at the step it belongs to, with its published source.
#[component]
pub fn Caution(
    /// The drawing that goes with it.
    #[prop(into)]
    picture: Picture,
    /// Where it comes from: a standard, or "common practice".
    #[prop(into)]
    source: String,
    /// What to do, in the imperative.
    children: Children,
) -> impl IntoView {
    view! {
        <div class="caution">
            <Pictogram of=picture />
            <div class="inside">
                <p>{children()}</p>
                <p class="source">{source}</p>
            </div>
        </div>
    }
    .into_any()
}

/// A no, with its reason and what can be done instead.
#[component]
pub fn Refusal(
    /// What we do not do, as a heading.
    #[prop(into)]
    title: String,
    /// Why, and what is possible instead.
    children: Children,
) -> impl IntoView {
    view! {
        <div class="refusal">
            <Pictogram of=Picture::TurnedDown />
            <div class="inside"><p class="title">{title}</p>{children()}</div>
        </div>
    }
    .into_any()
}

/// There is nothing to show: why, and the way to something.
#[component]
pub fn Empty(
    /// What would be here.
    #[prop(into)]
    title: String,
    /// A drawing.
    #[prop(default = Picture::Rack)]
    picture: Picture,
    /// What to do to fill it; may hold a link.
    children: Children,
) -> impl IntoView {
    view! {
        <div class="empty">
            <Pictogram of=picture />
            <p class="title">{title}</p>
            <div>{children()}</div>
        </div>
    }
    .into_any()
}

/// How far a long piece of work is: an upload, an import, planning.
#[component]
pub fn Progress(
    /// What is going on.
    #[prop(into)]
    label: String,
    /// Done so far.
    #[prop(into)]
    done: Signal<u32>,
    /// Of how many.
    of: u32,
) -> impl IntoView {
    view! {
        <label class="progress">
            <span>{label} " " <span class="figures">{move || done.get()} " of " {of}</span></span>
            <progress max=of.to_string() value=move || done.get().to_string()></progress>
        </label>
    }
    .into_any()
}

/// All that is wrong with a form, above it: each message leads to its field, the first has the focus. Nothing when all is well.
#[component]
pub fn ErrorSummary(
    /// What is wrong, in the order of the fields.
    errors: FieldErrors,
) -> impl IntoView {
    let title = match errors.0.len() {
        0 => return None,
        n => tn("not-right", n),
    };
    let title_id = own_id("errors-title");
    let labelled = title_id.clone();
    let links: Vec<_> = errors
        .0
        .into_iter()
        .enumerate()
        .map(|(i, error)| {
            // A complaint about the form as a whole leads nowhere.
            let words = if error.field.is_empty() {
                error.message.into_any()
            } else {
                view! { <a href=format!("#{}", own_id(&error.field)) autofocus=i == 0>{error.message}</a> }
                    .into_any()
            };
            view! { <li>{words}</li> }
        })
        .collect();
    Some(
        view! {
            <div class="summary" role="alert" aria-labelledby=labelled>
                <Pictogram of=Picture::Bad />
                <div class="inside">
                    <h2 id=title_id>{title}</h2>
                    <ul>{links}</ul>
                </div>
            </div>
        }
        .into_any(),
    )
}

//! Why a piece stands where it stands, and what a hand can change about it.

use leptos::prelude::*;

use super::page::Small;
use super::{Place, PlacedStep};
use crate::parts::{Actions, Badge, Button, Card, Crumbs, Facts, Field, Notice, Picture, Tone};

/// One piece's places in the plan.
#[component]
pub fn PlacePage(
    /// The piece.
    place: Place,
) -> impl IntoView {
    let said = place.said.clone().map(|text| view! { <Notice>{text}</Notice> });
    let remark = place.remark.clone().map(|text| view! { <Notice tone=Tone::Warn>{text}</Notice> });
    let mut facts: Vec<(String, AnyView)> = vec![
        ("Stands".into(), place.stands.clone().into_any()),
        ("Promised".into(), place.promised.clone().into_any()),
    ];
    if let Some(finished) = place.finished.clone() {
        facts.push(("Ready by the plan".into(), finished.into_any()));
    }
    if let Some(late) = place.late.clone() {
        facts.push(("Late by".into(), view! { <Badge words=late tone=Tone::Bad /> }.into_any()));
    }
    if place.rush {
        facts.push(("Rush".into(), view! { <Badge words="yes" picture=Picture::Rush /> }.into_any()));
    }
    if let Some(waits) = place.waits.clone() {
        facts.push(("Waits".into(), waits.into_any()));
    }
    let steps: Vec<_> = place.steps.clone().into_iter().map(|step| view! { <Step step=step /> }).collect();
    let change = place.has_work.then(|| view! { <Change place=place.clone() /> });
    view! {
        <Crumbs trail=vec![("/plan".to_owned(), "Plan".to_owned())] here=place.label.clone() />
        <h1>{place.label.clone()} " " {place.name.clone()}</h1>
        {said}
        {remark}
        <Facts items=facts />
        <h2>"Why it stands where it stands"</h2>
        <ol class="stack place-steps">{steps}</ol>
        {change}
    }
}

#[component]
fn Step(step: PlacedStep) -> impl IntoView {
    let badge = match step.state {
        "done" => view! { <Badge words="done" tone=Tone::Good /> }.into_any(),
        "begun" => view! { <Badge words="begun" tone=Tone::Now /> }.into_any(),
        _ if step.pinned => view! { <Badge words="pinned" picture=Picture::Pin /> }.into_any(),
        _ => ().into_any(),
    };
    let operation = || vec![("operation", step.operation.clone())];
    let pin = (step.state == "open").then(|| {
        if step.pinned {
            view! { <Small action="/plan/let-go" fields=operation() words="Let it go" picture=Picture::Pin /> }.into_any()
        } else if step.when.is_empty() {
            ().into_any()
        } else {
            view! { <Small action="/plan/pin" fields=operation() words="Pin it here" picture=Picture::Pin /> }.into_any()
        }
    });
    let when = (!step.when.is_empty()).then(|| {
        let person = if step.person.is_empty() { String::new() } else { format!(", {}", step.person) };
        view! { <p>{step.when.clone()} ", " {step.place.clone()} {person}</p> }
    });
    let why = (!step.why.is_empty()).then(|| view! { <p class="quiet">{step.why.clone()}</p> });
    view! {
        <li class="card">
            <div class="row"><h3>{step.work.clone()}</h3>{badge}</div>
            {when}
            {why}
            {pin}
        </li>
    }
}

#[component]
fn Change(place: Place) -> impl IntoView {
    let piece = place.piece.clone();
    let what_if = (!place.rush).then(|| {
        let href = format!("/plan/what-if?if=rush&piece={piece}");
        view! { <p><a href=href>"What if it were rush?"</a></p> }
    });
    let rush = if place.rush { ("false", "Make it ordinary") } else { ("true", "Make it rush") };
    let hold = if place.waits.is_some() {
        view! {
            <form method="post" action="/plan/go-on" class="stack" novalidate>
                <input type="hidden" name="piece" value=piece.clone() />
                <Field name="note" label="How it was settled" maxlength=300 error=place.go_on_error.clone() />
                <Field name="price" label="Newly agreed total" optional=true hint="Only when another price was agreed for this piece." />
                <Actions><Button>"It goes on"</Button></Actions>
            </form>
        }
        .into_any()
    } else {
        view! {
            <form method="post" action="/plan/hold" class="stack" novalidate>
                <input type="hidden" name="piece" value=piece.clone() />
                <Field name="what" label="Hold it: what does it wait for?" maxlength=200 error=place.hold_error.clone() />
                <Actions><Button picture=Picture::Hold>"Hold it"</Button></Actions>
            </form>
        }
        .into_any()
    };
    view! {
        <Card title="Change its place">
            <Small
                action="/plan/rush"
                fields=vec![("piece", piece), ("rush", rush.0.to_owned())]
                words=rush.1
                picture=Picture::Rush
            />
            {what_if}
            {hold}
        </Card>
    }
}

//! One station: setup first, then piece after piece.

use leptos::prelude::*;

use super::piece::{InHand, NextUp, Run};
use super::setup::{Cautions, Setup};
use super::{Held, StationView, Strip};
use crate::parts::{
    Actions, Bench, Button, Card, Crumbs, Empty, ErrorSummary, Field, Fold, Notice, Picture, Tone, Within,
};

/// One station with its run.
#[component]
pub fn StationPage(
    /// What is shown.
    view: StationView,
) -> impl IntoView {
    let said = view.said.clone().map(|text| {
        view! { <div class="said"><Notice tone=Tone::Good>{text}</Notice></div> }
    });
    let problem =
        view.problem.clone().map(|text| view! { <Notice tone=Tone::Bad title="Not done">{text}</Notice> });
    let setup = view.setup.clone().map(|setup| {
        view! { <Setup station=view.id.clone() setup=setup typed=view.typed.clone() /> }
    });
    let path = format!("/bench/{}", view.id);
    let open = view
        .setup
        .as_ref()
        .is_some_and(|s| s.refusal.is_none() && (s.checks.is_empty() || s.checked.is_some()));
    let (begun, line): (Vec<_>, Vec<_>) = view.pieces.clone().into_iter().partition(|p| p.begun.is_some());
    let room = begun.len() < view.room.max(1) as usize;
    let in_hand: Vec<_> = begun
        .into_iter()
        .map(|piece| {
            view! {
                <InHand
                    station=view.id.clone()
                    piece=piece
                    typed=view.typed.clone()
                    colleagues=view.colleagues.clone()
                />
            }
        })
        .collect();
    let first = line.iter().position(|p| p.not_yet.is_none()).filter(|_| open && room);
    let n = line.len();
    let next: Vec<_> = line
        .into_iter()
        .enumerate()
        .map(|(k, piece)| {
            let may = open && room && piece.not_yet.is_none();
            let run = Run {
                station: view.id.clone(),
                first: first == Some(k),
                may,
                // The first piece is the one to begin with: what can be put off is what follows it.
                until: if k > 0 || !in_hand.is_empty() { view.until.clone() } else { Vec::new() },
                colleagues: view.colleagues.clone(),
            };
            view! { <NextUp run=run piece=piece /> }
        })
        .collect();
    let line = (n > 0).then(|| {
        let title =
            if n == 1 { "One piece in this run".to_owned() } else { format!("{n} pieces in this run") };
        view! { <h2>{title}</h2><ol class="plain stack run">{next}</ol> }
    });
    let nothing = (view.setup.is_none() && view.pieces.is_empty()).then(|| {
        view! {
            <Empty title="Nothing in line here"><p><a href="/bench">"Other stations"</a></p></Empty>
        }
    });
    let later = (!view.later.is_empty()).then(|| {
        let items: Vec<_> = view
            .later
            .clone()
            .into_iter()
            .map(|(setup, n, when)| view! { <li>{setup} ": " {n} {if n == 1 { " piece" } else { " pieces" }} " " <span class="quiet">{when}</span></li> })
            .collect();
        view! { <Fold summary="The runs after this one"><ul>{items}</ul></Fold> }
    });
    let minded = view.cautions.clone();
    let cautions = (!minded.is_empty()).then(|| {
        view! { <Fold summary="Mind this here" open=true><Cautions cautions=minded /></Fold> }
    });
    let held: Vec<_> = view
        .held
        .clone()
        .into_iter()
        .map(|held| view! { <Waits station=view.id.clone() held=held view=view.clone() /> })
        .collect();
    view! {
        <Bench>
            <div class="stack" data-bench=path.clone() data-room=view.room.max(1) data-open=open.to_string()>
            <Crumbs trail=vec![("/bench".to_owned(), "Bench".to_owned())] here=view.name.clone() />
            <h1>{view.name.clone()}</h1>
            {said}
            {problem}
            <div class="stack in-hand">{in_hand}</div>
            <div class="stack setup">{setup}</div>
            {nothing}
            {cautions}
            {line}
            {later}
            {held}
            </div>
            <Strip path=path />
        </Bench>
    }
}

/// A piece that waits here, and the form with which it goes on.
#[component]
fn Waits(station: String, held: Held, view: StationView) -> impl IntoView {
    let errors = view.typed.errors_of(&held.piece, "go-on");
    let (id, label) = (held.piece.clone(), held.label.clone());
    let title = format!("Waits: {} {}", held.label, held.name);
    let (words, price) = if view.typed.is(&held.piece, "go-on") {
        (view.typed.words.clone(), view.typed.price.clone())
    } else {
        Default::default()
    };
    view! {
        <div data-held=id data-label=label>
        <Card title=title>
            <p>{held.what}</p>
            <Fold summary="It is settled" open=!errors.is_empty()>
                <Within id=format!("go-on-{}", held.piece)>
                <ErrorSummary errors=errors.clone() />
                <form method="post" action=format!("/bench/{station}/go-on") class="stack" novalidate>
                    <input type="hidden" name="piece" value=held.piece.clone() />
                    <input type="hidden" name="key" value=held.key />
                    <Field name="note" label="How it was settled" value=words maxlength=300 error=errors.of("note") />
                    <Field
                        name="price"
                        label="Newly agreed total for this piece"
                        optional=true
                        value=price
                        error=errors.of("price")
                    />
                    <Actions><Button picture=Picture::Good>"It goes on"</Button></Actions>
                </form>
                </Within>
            </Fold>
        </Card>
        </div>
    }
}

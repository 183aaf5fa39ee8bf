//! The check: looked at, measured, cut; passed, or back to the bench.

use leptos::prelude::*;
use shop::work::{LOOKED_AT, METHODS, RawCheck};

use super::{RunPiece, Typed};
use crate::parts::{
    Actions, Button, ButtonKind, Choice, ErrorSummary, Field, Fold, Group, Input, Opt, Picture, Tick, Within,
};

/// The check's form. Two buttons end it: passed, or back to the bench.
#[component]
pub(super) fn CheckForm(station: String, piece: RunPiece, typed: Typed) -> impl IntoView {
    let errors = typed.errors_of(&piece.operation, "check");
    let raw = if typed.is(&piece.operation, "check") { typed.check.clone() } else { RawCheck::default() };
    let ticks: Vec<_> = LOOKED_AT
        .iter()
        .map(|(code, words)| {
            let checked = raw.good.iter().any(|g| g == code);
            let error = errors.of(&format!("good-{code}")).map(str::to_owned);
            view! { <Tick name="good[]" value=*code label=*words checked=checked error=error /> }
        })
        .collect();
    let methods: Vec<Opt> =
        METHODS.iter().map(|(code, words, unit, ..)| Opt::new(*code, *words).note(*unit)).collect();
    let how = (!piece.cut_test_text.is_empty())
        .then(|| view! { <p class="hint">"In newtons: " {piece.cut_test_text.clone()}</p> });
    let again: Vec<_> = piece
        .again
        .clone()
        .into_iter()
        .map(|(code, words)| {
            let checked = raw.again.contains(&code);
            view! { <Tick name="again[]" value=code label=words checked=checked /> }
        })
        .collect();
    let before = if raw.before.is_empty() { piece.cut_before.clone() } else { raw.before.clone() };
    let rework_open = raw.verdict == "rework";
    view! {
        <Within id=format!("check-{}", piece.operation)>
        <ErrorSummary errors=errors.clone() />
        <form method="post" action=format!("/bench/{station}/check") class="stack" novalidate>
            <input type="hidden" name="operation" value=piece.operation.clone() />
            <input type="hidden" name="key" value=piece.keys.done.clone() />
            <Group legend="Looked at and found good">{ticks}</Group>
            <Choice name="method" legend="Cutting test" options=methods chosen=raw.method error=errors.of("method") />
            {how}
            <div class="fields">
                <Field name="number" label="Its number" kind=Input::Figure value=raw.number error=errors.of("number") />
                <Field name="before" label="Before the work" kind=Input::Figure optional=true value=before error=errors.of("before") />
                <Field name="angle" label="Angle" kind=Input::Figure unit="°" optional=true value=raw.angle error=errors.of("angle") />
                <Field name="height" label="Height at the middle" kind=Input::Length unit="mm" optional=true value=raw.height error=errors.of("height") />
                <Field name="bow" label="Bow left" kind=Input::Length unit="mm" optional=true value=raw.bow error=errors.of("bow") />
            </div>
            <Actions>
                <Button kind=ButtonKind::Primary big=true name="verdict" value="pass" picture=Picture::Good>"Passed"</Button>
            </Actions>
            <Fold summary="Not yet good: back to the bench" open=rework_open>
                <Group legend="What is done again?" name="again" error=errors.of("again")>{again}</Group>
                <Field name="note" label="Why it goes back" maxlength=300 value=raw.note error=errors.of("note") />
                <Actions><Button kind=ButtonKind::Danger name="verdict" value="rework">"Back to the bench"</Button></Actions>
            </Fold>
        </form>
        </Within>
    }
}

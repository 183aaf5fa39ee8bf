//! The setup of a run: what is mounted, what is checked before anything turns.

use leptos::prelude::*;
use shop::safety::{self, Caution as Minded};

use super::{SetupView, Typed, picture_of};
use crate::parts::{
    Actions, Button, ButtonKind, Card, Caution, ErrorSummary, Facts, Field, Fold, Input, Notice, Refusal,
    Tick, Tone, Within,
};

/// The setup: refused, to be checked, or checked already.
#[component]
pub(super) fn Setup(
    /// The station's id.
    station: String,
    /// The setup.
    setup: SetupView,
    /// What was typed and refused.
    typed: Typed,
) -> impl IntoView {
    let facts: Vec<(String, AnyView)> =
        setup.facts.clone().into_iter().map(|(word, fact)| (word, fact.into_any())).collect();
    if let Some(why) = setup.refusal.clone() {
        return view! {
            <Refusal title="This setup must not be run">
                <p>{why}</p>
                <p>"Another wheel has to be mounted, or the owner corrects what is written about this one. "
                    {safety::FIRST}</p>
            </Refusal>
        }
        .into_any();
    }
    let checked = setup.checked.clone();
    if setup.checks.is_empty() && facts.is_empty() {
        return ().into_any();
    }
    if setup.checks.is_empty() {
        return view! { <Card title=setup.name.clone()><Facts items=facts /></Card> }.into_any();
    }
    let tend = (setup.wears || setup.dresses)
        .then(|| view! { <Tend station=station.clone() setup=setup.clone() typed=typed.clone() /> });
    let form = view! { <Checklist station=station setup=setup.clone() typed=typed /> };
    match checked {
        Some(words) => view! {
            <Notice tone=Tone::Good title=setup.name.clone()><p>{words}</p></Notice>
            <Fold summary="The setup and its checks">
                <Facts items=facts />
                {form}
            </Fold>
            {tend}
        }
        .into_any(),
        None => view! {
            <Card title=format!("First the setup: {}", setup.name) first=true>
                <Facts items=facts />
                {form}
            </Card>
        }
        .into_any(),
    }
}

#[component]
fn Checklist(station: String, setup: SetupView, typed: Typed) -> impl IntoView {
    let errors = typed.errors_of(&setup.id, "setup");
    let ticked = if typed.is(&setup.id, "setup") { typed.ticks.clone() } else { Vec::new() };
    let ticks: Vec<_> = setup
        .checks
        .clone()
        .into_iter()
        .map(|check| {
            let error = errors.of(&format!("ticks-{}", check.code)).map(|_| "Not ticked yet.".to_owned());
            let checked = ticked.contains(&check.code);
            // Gloves are a tick of their own, apart from the others and last.
            let class = if check.code == "gloves" { "gloves-off" } else { "" };
            let picture = picture_of(check.danger, &check.code);
            view! {
                <div class=class>
                    <Tick
                        name="ticks[]"
                        value=check.code
                        label=check.words
                        hint=check.source
                        checked=checked
                        error=error
                        picture=picture
                    />
                </div>
            }
        })
        .collect();
    let diameter = setup.wears.then(|| {
        let typed = if typed.is(&setup.id, "setup") { typed.diameter.clone() } else { String::new() };
        view! {
            <Field
                name="diameter"
                label="Diameter today, if you measured it"
                kind=Input::Length
                unit="mm"
                optional=true
                value=typed
                error=errors.of("diameter")
            />
        }
    });
    view! {
        <ErrorSummary errors=errors />
        <form method="post" action=format!("/bench/{station}/setup") class="stack setup-checks" novalidate>
            <input type="hidden" name="key" value=setup.key />
            <input type="hidden" name="setup" value=setup.id />
            <div class="check-grid">{ticks}</div>
            {diameter}
            <p class="quiet">{safety::FIRST}</p>
            <Actions><Button kind=ButtonKind::Primary big=true>"All checked: begin"</Button></Actions>
        </form>
    }
}

/// Dressing and wear, written down as they happen.
#[component]
fn Tend(station: String, setup: SetupView, typed: Typed) -> impl IntoView {
    let errors = typed.errors_of(&setup.id, "wheel");
    let diameter = if typed.is(&setup.id, "wheel") { typed.diameter.clone() } else { String::new() };
    let dressed = setup.dresses.then(|| {
        let error = errors.of("dressed").map(str::to_owned);
        view! { <Tick name="dressed" label="Dressed just now" hint="The pieces since are counted anew." error=error /> }
    });
    let measured = setup.wears.then(|| {
        view! { <Field name="diameter" label="Diameter now" kind=Input::Length unit="mm" optional=setup.dresses value=diameter error=errors.of("diameter") /> }
    });
    view! {
        <Fold summary="Dressed or measured the wheel" open=!errors.is_empty()>
            <Within id=format!("wheel-{}", setup.id)>
            <ErrorSummary errors=errors.clone() />
            <form method="post" action=format!("/bench/{station}/wheel") class="stack" novalidate>
                <input type="hidden" name="key" value=setup.wheel_key />
                <input type="hidden" name="setup" value=setup.id.clone() />
                {dressed}
                {measured}
                <Actions><Button>"Write it down"</Button></Actions>
            </form>
            </Within>
        </Fold>
    }
}

/// What to mind while working.
#[component]
pub(super) fn Cautions(cautions: Vec<Minded>) -> impl IntoView {
    let list: Vec<_> = cautions
        .into_iter()
        .map(|c| {
            let picture = picture_of(c.danger, "");
            view! { <Caution picture=picture source=c.source>{c.words}</Caution> }
        })
        .collect();
    view! { <div class="stack">{list}</div> }
}

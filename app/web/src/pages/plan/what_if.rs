//! What if: one thing different, and what the plan would make of it. Nothing changes by asking.

use leptos::prelude::*;

use crate::parts::{
    Actions, Badge, Button, ButtonKind, Card, Column, Crumbs, DataTable, Empty, Field, Figure, Input, Notice,
    Select, Tone,
};

/// A piece that would be finished at another time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShiftLine {
    /// Its page in the plan.
    pub href: String,
    /// Tag, or reference and number.
    pub label: String,
    /// What it is called.
    pub name: String,
    /// Finished by the plan that stands.
    pub before: String,
    /// Finished then.
    pub after: String,
    /// By how much, in words: `2 h earlier`.
    pub by: String,
    /// It would be late: by how much.
    pub late: Option<String>,
}

/// What came out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outcome {
    /// What was asked, as a sentence.
    pub asked: String,
    /// Figures: word, value, unit, what it is now.
    pub figures: Vec<(String, String, String, String)>,
    /// The pieces it moves.
    pub shifts: Vec<ShiftLine>,
    /// Why it cannot be.
    pub impossible: Option<String>,
}

/// The page.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct WhatIf {
    /// Pieces that could be made rush: id and words.
    pub pieces: Vec<(String, String)>,
    /// Stations: id and name.
    pub stations: Vec<(String, String)>,
    /// The piece asked about.
    pub piece: String,
    /// The station asked about.
    pub station: String,
    /// Until which day, as typed.
    pub until: String,
    /// How many minutes longer.
    pub minutes: String,
    /// What is wrong with the question.
    pub error: Option<String>,
    /// What came out; `None`: nothing was asked yet.
    pub outcome: Option<Outcome>,
}

/// The page.
#[component]
pub fn WhatIfPage(
    /// What is shown.
    view: WhatIf,
) -> impl IntoView {
    let options = |list: Vec<(String, String)>| {
        list.into_iter().map(|(id, words)| crate::parts::Opt::new(id, words)).collect::<Vec<_>>()
    };
    let error = view
        .error
        .clone()
        .map(|words| view! { <Notice tone=Tone::Bad title="That cannot be asked">{words}</Notice> });
    let outcome = view.outcome.clone().map(|outcome| view! { <Found outcome=outcome /> });
    let longer = [("30", "half an hour"), ("60", "one more hour"), ("120", "two more hours")];
    let longer = longer.map(|(code, words)| (code.to_owned(), words.to_owned())).to_vec();
    let minutes = if view.minutes.is_empty() { "60".to_owned() } else { view.minutes.clone() };
    view! {
        <Crumbs trail=vec![("/plan".to_owned(), "Plan".to_owned())] here="What if" />
        <h1>"What if …"</h1>
        <p class="quiet">"Asking changes nothing: it plans once more beside the plan that stands and sets the two side by side."</p>
        {error}
        {outcome}
        <div class="columns what-if">
            <Card title="… a piece were rush?">
                <form method="get" action="/plan/what-if" class="stack">
                    <input type="hidden" name="if" value="rush" />
                    <Select name="piece" label="Which piece" options=options(view.pieces) chosen=view.piece />
                    <Actions><Button kind=ButtonKind::Plain>"Ask"</Button></Actions>
                </form>
            </Card>
            <Card title="… a station broke?">
                <form method="get" action="/plan/what-if" class="stack">
                    <input type="hidden" name="if" value="broken" />
                    <Select name="station" label="Which station" options=options(view.stations) chosen=view.station />
                    <Field name="until" label="It runs again on the morning of" kind=Input::Date value=view.until />
                    <Actions><Button kind=ButtonKind::Plain>"Ask"</Button></Actions>
                </form>
            </Card>
            <Card title="… we stayed longer tonight?">
                <form method="get" action="/plan/what-if" class="stack">
                    <input type="hidden" name="if" value="longer" />
                    <Select name="minutes" label="How long" options=options(longer) chosen=minutes />
                    <Actions><Button kind=ButtonKind::Plain>"Ask"</Button></Actions>
                </form>
            </Card>
        </div>
    }
}

#[component]
fn Found(outcome: Outcome) -> impl IntoView {
    if let Some(why) = outcome.impossible {
        return view! {
            <Card title=outcome.asked first=true>
                <Notice tone=Tone::Warn title="No such plan"><p>{why}</p></Notice>
            </Card>
        }
        .into_any();
    }
    let figures: Vec<_> = outcome
        .figures
        .into_iter()
        .map(|(label, value, unit, note)| view! { <Figure label=label value=value unit=unit note=note /> })
        .collect();
    let body = if outcome.shifts.is_empty() {
        view! { <Empty title="Nothing would move"><p>"Every piece would be finished when it is finished now."</p></Empty> }.into_any()
    } else {
        let columns = vec![
            Column::words("Piece"),
            Column::words("Finished now"),
            Column::words("Would be"),
            Column::words("That is"),
            Column::words("Stands"),
        ];
        let rows = outcome
            .shifts
            .into_iter()
            .map(|line| {
                let stands = match line.late {
                    Some(late) => {
                        view! { <Badge words=format!("late by {late}") tone=Tone::Bad /> }.into_any()
                    }
                    None => "in time".into_any(),
                };
                vec![
                    view! { <a href=line.href>{line.label} " " {line.name}</a> }.into_any(),
                    line.before.into_any(),
                    line.after.into_any(),
                    line.by.into_any(),
                    stands,
                ]
            })
            .collect();
        view! { <DataTable caption="Pieces that would be finished at another time" caption_hidden=true columns=columns rows=rows /> }.into_any()
    };
    view! {
        <Card title=outcome.asked first=true>
            <div class="columns">{figures}</div>
            {body}
        </Card>
    }
    .into_any()
}

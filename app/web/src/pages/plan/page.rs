//! The plan page.

use leptos::prelude::*;

use super::drawing::Drawing;
use super::{Bar, Broken, Lane, LeftLine, PieceLine, PlanDays};
use crate::islands::watch::Watch;
use crate::parts::{
    Actions, Badge, Button, Card, Column, DataTable, Empty, Field, Figure, Fold, Input, Notice, Picture, Tone,
};

/// The plan of one day or of a week.
#[component]
pub fn PlanPage(
    /// What is shown.
    days: PlanDays,
) -> impl IntoView {
    let said = days.said.clone().map(|text| view! { <Notice tone=Tone::Good>{text}</Notice> });
    let figures: Vec<_> = days
        .figures
        .clone()
        .into_iter()
        .map(|(label, value, unit, note)| view! { <Figure label=label value=value unit=unit note=note /> })
        .collect();
    let today = days.today.clone().map(|href| view! { <a class="button quiet" href=href>"Today"</a> });
    let (zoom_href, zoom_words) = days.zoom.clone();
    let zoom =
        (!zoom_words.is_empty()).then(|| view! { <a class="button quiet" href=zoom_href>{zoom_words}</a> });
    let made = days.made.clone().map(
        |made| view! { <p class="quiet">"Planned by itself at " {made} "; again after every change."</p> },
    );
    let body = if days.made.is_none() {
        view! {
            <Empty title="There is no plan yet">
                <p>"It appears by itself as soon as there is work: book or receive a knife."</p>
            </Empty>
        }
        .into_any()
    } else if days.lanes.iter().all(|lane| lane.bars.is_empty()) {
        view! { <Empty title="Nothing stands here" picture=Picture::Rack><p>"No work is planned for this time."</p></Empty> }.into_any()
    } else {
        view! {
            <Drawing days=days.clone() />
            <Key />
            <Wall lanes=days.lanes.clone() />
            <Lists lanes=days.lanes.clone() />
        }
        .into_any()
    };
    view! {
        <Watch what="plan" words="The plan has changed." seen=days.plan_id.clone() />
        <div class="row plan-head">
            <h1>"Plan: " {days.title.clone()}</h1>
            <nav class="row" aria-label="Other days">
                <a class="button quiet" href=days.before.clone()>"Earlier"</a>
                {today}
                <a class="button quiet" href=days.after.clone()>"Later"</a>
                {zoom}
                <a class="button quiet" href="/plan/what-if">"What if …"</a>
            </nav>
        </div>
        {said}
        <BrokenPromises broken=days.broken.clone() />
        {body}
        <div class="columns">{figures}</div>
        <Pieces pieces=days.pieces.clone() />
        <LeftOut left_out=days.left_out.clone() />
        {made}
    }
}

/// What the drawing means, drawn small.
#[component]
fn Key() -> impl IntoView {
    let meanings = [
        (super::drawing::KEY_RUN, "a piece at its station"),
        (super::drawing::KEY_ESTIMATED, "by the booking alone"),
        (super::drawing::KEY_CHANGE, "change of setup"),
        (super::drawing::KEY_LATE, "late"),
        (super::drawing::KEY_BEGUN, "begun"),
        (super::drawing::KEY_PINNED, "pinned"),
        (super::drawing::KEY_CLOSED, "closed"),
    ];
    let meanings = meanings.map(|(drawn, words)| {
        view! { <li><svg class="drawing" viewBox="0 0 34 20" width="34" height="20" aria-hidden="true" inner_html=drawn></svg>{words}</li> }
    });
    view! { <ul class="plan-key" aria-label="What the drawing means">{meanings}</ul> }
}

/// For the wall: what is too small to be read on the printed drawing, station by station. Seen on paper only.
#[component]
fn Wall(lanes: Vec<Lane>) -> impl IntoView {
    /// More lines than this are set smaller, so that a full day still is one A4.
    const MANY: usize = 64;
    let many = lanes.iter().map(|lane| lane.bars.len()).sum::<usize>() > MANY;
    let stations: Vec<_> = lanes
        .into_iter()
        .filter(|lane| !lane.bars.is_empty())
        .map(|lane| {
            let lines: Vec<_> = lane
                .bars
                .into_iter()
                .map(|bar| {
                    let change = bar.start - bar.changeover_start;
                    let setup = (change > 0).then(|| format!(" · first {change} min: {}", bar.setup));
                    let late = bar.late.map(|_| view! { " · " <strong>"late"</strong> });
                    view! { <li><time>{bar.begins}</time><strong>{bar.label}</strong> " " {bar.work} {setup} {late}</li> }
                })
                .collect();
            view! { <section><h2>{lane.name}</h2><ol>{lines}</ol></section> }
        })
        .collect();
    view! { <div class=if many { "wall print-only many" } else { "wall print-only" }>{stations}</div> }
}

/// The same as words: one table a station, and small sheets on a phone.
#[component]
fn Lists(lanes: Vec<Lane>) -> impl IntoView {
    let tables: Vec<_> = lanes
        .into_iter()
        .filter(|lane| !lane.bars.is_empty())
        .map(|lane| {
            let columns = vec![
                Column::words("Piece"),
                Column::words("When"),
                Column::words("Work"),
                Column::words("Setup"),
                Column::figures("Changeover", "min"),
                Column::words("Who"),
                Column::words("Stands"),
            ];
            let rows = lane.bars.into_iter().map(row).collect();
            view! {
                <section class="plan-list">
                    <h3><a href=lane.href>{lane.name.clone()}</a></h3>
                    <DataTable caption=format!("{} in order", lane.name) caption_hidden=true columns=columns rows=rows />
                </section>
            }
        })
        .collect();
    view! { <Fold summary="The same as a table"><div class="stack">{tables}</div></Fold> }
}

fn row(bar: Bar) -> Vec<AnyView> {
    let change = bar.start - bar.changeover_start;
    let stands = match (&bar.late, bar.begun, bar.pinned) {
        (Some(late), ..) => view! { <Badge words=format!("late by {late}") tone=Tone::Bad /> }.into_any(),
        (None, true, _) => view! { <Badge words="begun" tone=Tone::Now /> }.into_any(),
        (None, false, true) => view! { <Badge words="pinned" picture=Picture::Pin /> }.into_any(),
        (None, false, false) if bar.estimated => "by the booking".into_any(),
        _ => "in time".into_any(),
    };
    vec![
        view! { <a href=bar.href>{bar.label} " " {bar.name}</a> }.into_any(),
        bar.when.into_any(),
        bar.work.into_any(),
        bar.setup.into_any(),
        if change > 0 { change.to_string().into_any() } else { "–".into_any() },
        if bar.person.is_empty() { "–".into_any() } else { bar.person.into_any() },
        stands,
    ]
}

/// Promises that would be broken, before anybody is told.
#[component]
fn BrokenPromises(broken: Vec<Broken>) -> impl IntoView {
    if broken.is_empty() {
        return ().into_any();
    }
    let n = broken.len();
    let forms: Vec<_> = broken
        .into_iter()
        .map(|b| {
            let error = b.error.clone();
            view! {
                <li class="stack">
                    <p>
                        <strong>{b.reference.clone()}</strong> " " {b.customer} ": promised " {b.promised}
                        ", by the plan ready " {b.finished} "."
                    </p>
                    <form method="post" action="/plan/delay" class="row plan-delay" novalidate>
                        <input type="hidden" name="visit" value=b.visit.clone() />
                        <input type="hidden" name="key" value=b.key />
                        <Field
                            name=format!("until[v{}]", b.visit)
                            label="New day"
                            kind=Input::Date
                            value=b.proposed
                            error=error
                        />
                        <Field name=format!("why[v{}]", b.visit) label="Why, for the customer" optional=true maxlength=300 />
                        <Button>"Promise this day and tell them"</Button>
                    </form>
                </li>
            }
        })
        .collect();
    let title = if n == 1 { "One promise would be broken" } else { "Promises would be broken" };
    view! {
        <Card title=title first=true>
            <p>"Nobody has been told yet. Make room (rush, pins, hours), or move the promise; the customer then gets one notice."</p>
            <ul class="plain stack">{forms}</ul>
        </Card>
    }
    .into_any()
}

/// Every piece with its day: late ones first, then as they get ready.
#[component]
fn Pieces(pieces: Vec<PieceLine>) -> impl IntoView {
    if pieces.is_empty() {
        return ().into_any();
    }
    let columns = vec![
        Column::words("Piece"),
        Column::words("Ready by the plan"),
        Column::words("Promised"),
        Column::words("How it stands"),
    ];
    let rows = pieces
        .into_iter()
        .map(|l| {
            let stands = match l.late {
                Some(late) => view! { <Badge words=format!("late by {late}") tone=Tone::Bad /> }.into_any(),
                None => "in time".into_any(),
            };
            let piece = format!("{} {}", l.label, l.name);
            vec![
                view! { <a href=l.href>{piece}</a> }.into_any(),
                l.finished.into_any(),
                l.promised.into_any(),
                stands,
            ]
        })
        .collect();
    view! {
        <h2>"Pieces"</h2>
        <DataTable caption="When each piece is ready" caption_hidden=true columns=columns rows=rows />
    }
    .into_any()
}

#[component]
fn LeftOut(left_out: Vec<LeftLine>) -> impl IntoView {
    if left_out.is_empty() {
        return ().into_any();
    }
    let items: Vec<_> = left_out
        .into_iter()
        .map(|l| view! { <li><a href=l.href>{l.label} " " {l.name}</a> ": " {l.why}</li> })
        .collect();
    view! { <h2>"Not planned"</h2><ul>{items}</ul> }.into_any()
}

/// A small row of forms that act on one thing.
#[component]
pub(super) fn Small(
    /// Where it goes.
    action: &'static str,
    /// Hidden fields.
    fields: Vec<(&'static str, String)>,
    /// The button's words.
    #[prop(into)]
    words: String,
    /// Its drawing.
    picture: Picture,
) -> impl IntoView {
    let hidden: Vec<_> = fields
        .into_iter()
        .map(|(name, value)| view! { <input type="hidden" name=name value=value /> })
        .collect();
    view! {
        <form method="post" action=action class="inline">
            {hidden}
            <Actions><Button picture=picture>{words}</Button></Actions>
        </form>
    }
}

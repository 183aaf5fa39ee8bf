//! One piece at a station: in the hand, or next in line.

use leptos::prelude::*;
use shop::work::{REASONS, RawDone};

use super::check::CheckForm;
use super::{Ends, Keys, RunPiece, Typed};
use crate::parts::{
    Actions, Badge, Button, ButtonKind, ButtonLink, Choice, ErrorSummary, Field, Figure, Fold, Input, Opt,
    Picture, Select, Tone, Within,
};

/// The figures to work to, large: "15° each side" becomes the number with its words under it.
#[component]
fn Targets(targets: Vec<String>) -> impl IntoView {
    let figures: Vec<_> = targets
        .into_iter()
        .map(|target| {
            let (before, number, after) = split(&target);
            if number.is_empty() {
                view! { <p class="target-words">{target}</p> }.into_any()
            } else {
                view! { <Figure label=before value=number unit=after big=true /> }.into_any()
            }
        })
        .collect();
    (!figures.is_empty()).then(|| view! { <div class="row targets">{figures}</div> })
}

/// Words before the first number, the number (with its degree sign), and words after it.
fn split(target: &str) -> (String, String, String) {
    let is_part = |c: char| c.is_ascii_digit() || matches!(c, '.' | '°');
    let Some(from) = target.find(|c: char| c.is_ascii_digit()) else {
        return (target.to_owned(), String::new(), String::new());
    };
    let rest = &target[from..];
    let to = rest.find(|c| !is_part(c)).unwrap_or(rest.len());
    // "P120" or "F 150" is a name, not a figure to read off.
    if target[..from].ends_with(|c: char| c.is_ascii_uppercase()) {
        return (target.to_owned(), String::new(), String::new());
    }
    (target[..from].trim().to_owned(), rest[..to].to_owned(), rest[to..].trim().to_owned())
}

#[component]
fn Head(piece: RunPiece) -> impl IntoView {
    let rush = piece.rush.then(|| view! { <Badge words="rush" picture=Picture::Rush tone=Tone::Warn /> });
    let late =
        piece.late.clone().map(|late| view! { <Badge words=format!("late by {late}") tone=Tone::Bad /> });
    view! {
        <div class="row piece-head">
            <span class="tag-big">{piece.label.clone()}</span>
            <span>{piece.name.clone()}</span>
            {rush}
            {late}
        </div>
        <p class="work-name">{piece.work.clone()}</p>
    }
}

/// A piece that is being worked on: targets, time, and the forms that end the step.
#[component]
pub(super) fn InHand(
    station: String,
    piece: RunPiece,
    typed: Typed,
    colleagues: Vec<(String, String)>,
) -> impl IntoView {
    let (who, since, seconds) = piece.begun.clone().unwrap_or_default();
    let note = (!piece.note.is_empty()).then(|| view! { <p class="piece-note">{piece.note.clone()}</p> });
    let reason = (!piece.reason.is_empty()).then(|| view! { <p class="quiet">{piece.reason.clone()}</p> });
    let end = match piece.ends {
        Ends::Done => view! { <DoneForm station=station.clone() piece=piece.clone() typed=typed.clone() /> }.into_any(),
        Ends::Check => view! { <CheckForm station=station.clone() piece=piece.clone() typed=typed.clone() /> }.into_any(),
        Ends::Sheet => view! { <p><ButtonLink href=piece.href.clone() kind=ButtonKind::Primary big=true>"Fill in its sheet"</ButtonLink></p> }.into_any(),
    };
    let minutes = piece.minutes;
    let anchor = format!("op-{}", piece.operation);
    let label = piece.label.clone();
    view! {
        <section class="card first piece-in-hand" id=anchor data-label=label>
            <Head piece=piece.clone() />
            <p class="row">
                <Badge words=format!("begun {since} by {who}") tone=Tone::Now />
                <span class="timer" data-seconds=seconds data-planned=minutes>
                    <span class="figures">{format!("{}:{:02}", seconds / 60, seconds % 60)}</span>
                    {format!(" of {minutes} min")}
                    <span class="longer" hidden=seconds <= i64::from(minutes) * 60>", longer than planned"</span>
                </span>
            </p>
            <Targets targets=piece.targets.clone() />
            {note}
            {end}
            {reason}
            <Photo station=station.clone() piece=piece.clone() typed=typed.clone() />
            <Aside station=station piece=piece typed=typed colleagues=colleagues />
        </section>
    }
}

#[component]
fn DoneForm(station: String, piece: RunPiece, typed: Typed) -> impl IntoView {
    let errors = typed.errors_of(&piece.operation, "done");
    let raw = if typed.is(&piece.operation, "done") { typed.done.clone() } else { RawDone::default() };
    let measured = view! {
        <div class="fields">
            <Field name="height" label="Height at the middle" kind=Input::Length unit="mm" optional=true value=raw.height error=errors.of("height") />
            <Field name="behind_edge" label="Thickness behind the edge" kind=Input::Length unit="mm" optional=true value=raw.behind_edge error=errors.of("behind_edge") />
            <Field name="angle" label="Angle" kind=Input::Figure unit="°" optional=true value=raw.angle error=errors.of("angle") />
            <Field name="bow" label="Bow left" kind=Input::Length unit="mm" optional=true value=raw.bow error=errors.of("bow") />
            <Field name="minutes" label="Minutes, if the clock is wrong" kind=Input::Whole unit="min" optional=true value=raw.minutes error=errors.of("minutes") />
            <Field name="note" label="Remark" optional=true maxlength=300 value=raw.note error=errors.of("note") />
        </div>
    };
    view! {
        <Within id=format!("done-{}", piece.operation)>
        <ErrorSummary errors=errors.clone() />
        <form method="post" action=format!("/bench/{station}/done") class="stack" novalidate>
            <input type="hidden" name="operation" value=piece.operation.clone() />
            <input type="hidden" name="key" value=piece.keys.done.clone() />
            <Fold summary="Measured after" open=!errors.is_empty()>{measured}</Fold>
            <Actions><Button kind=ButtonKind::Primary big=true picture=Picture::Good>"Done"</Button></Actions>
        </form>
        </Within>
    }
}

/// A picture of how it looks now, kept with the piece.
#[component]
fn Photo(station: String, piece: RunPiece, typed: Typed) -> impl IntoView {
    let errors = typed.errors_of(&piece.piece, "photo");
    let id = format!("photo-{}", piece.operation);
    view! {
        <Fold summary="Take a picture" open=!errors.is_empty()>
            <form method="post" action=format!("/bench/{station}/photo") enctype="multipart/form-data" class="stack" novalidate>
                <input type="hidden" name="piece" value=piece.piece.clone() />
                <input type="hidden" name="key" value=piece.keys.photo.clone() />
                <div class="field">
                    <label for=id.clone()>"How it looks now"</label>
                    <input id=id name="photo" type="file" accept="image/*" capture="environment" />
                    {errors.of("photo").map(|words| view! { <p class="error">{words.to_owned()}</p> })}
                </div>
                <Actions><Button>"Keep the picture"</Button></Actions>
            </form>
        </Fold>
    }
}

/// The other ways out: it needs more, it stops, somebody else goes on.
#[component]
fn Aside(station: String, piece: RunPiece, typed: Typed, colleagues: Vec<(String, String)>) -> impl IntoView {
    let id = piece.operation.clone();
    let (more, stop) = (typed.errors_of(&id, "more"), typed.errors_of(&id, "stop"));
    let words = |form: &str| if typed.is(&id, form) { typed.words.clone() } else { String::new() };
    let (more_words, stop_words) = (words("more"), words("stop"));
    let price = if typed.is(&id, "more") { typed.price.clone() } else { String::new() };
    let chosen = if typed.is(&id, "stop") { typed.reason.clone() } else { String::new() };
    let reasons = REASONS.iter().map(|r| Opt::new(r.code, r.words)).collect();
    let Keys { stop: stop_key, more: more_key, over: over_key, .. } = piece.keys.clone();
    let hand_over = (!colleagues.is_empty()).then(|| {
        let options: Vec<Opt> = colleagues.into_iter().map(|(id, name)| Opt::new(id, name)).collect();
        let action = format!("/bench/{station}/hand-over");
        let id = id.clone();
        view! {
            <Fold summary="Hand over to a colleague">
                <Within id=format!("over-{id}")>
                <form method="post" action=action class="stack">
                    <input type="hidden" name="operation" value=id.clone() />
                    <input type="hidden" name="key" value=over_key />
                    <Select name="to" label="To whom" options=options />
                    <Actions><Button>"Hand over"</Button></Actions>
                </form>
                </Within>
            </Fold>
        }
    });
    let (operation, stopped) = (piece.operation.clone(), piece.operation);
    let (to_more, to_stop) = (format!("/bench/{station}/more"), format!("/bench/{station}/stop"));
    view! {
        <Fold summary="It needs more than was agreed" open=!more.is_empty()>
            <Within id=format!("more-{operation}")>
            <ErrorSummary errors=more.clone() />
            <form method="post" action=to_more class="stack" novalidate>
                <input type="hidden" name="operation" value=operation.clone() />
                <input type="hidden" name="key" value=more_key />
                <p>"The work is put down and the customer is asked. Nothing is ground before the answer."</p>
                <Field name="what" label="What it needs, for the customer to read" maxlength=300 value=more_words error=more.of("what") />
                <Field name="price" label="New total for this piece" kind=Input::Figure optional=true hint="Empty: the price stays." value=price error=more.of("price") />
                <Actions><Button>"Stop and ask the customer"</Button></Actions>
            </form>
            </Within>
        </Fold>
        <Fold summary="Stop: a pause or a problem" open=!stop.is_empty()>
            <Within id=format!("stop-{stopped}")>
            <ErrorSummary errors=stop.clone() />
            <form method="post" action=to_stop class="stack" novalidate>
                <input type="hidden" name="operation" value=stopped.clone() />
                <input type="hidden" name="key" value=stop_key />
                <Choice name="reason" legend="Why?" options=reasons chosen=chosen error=stop.of("reason") />
                <Field name="note" label="What you see" optional=true maxlength=300 value=stop_words error=stop.of("note") />
                <Actions><Button kind=ButtonKind::Danger>"Stop"</Button></Actions>
            </form>
            </Within>
        </Fold>
        {hand_over}
    }
}

/// The run a piece stands in.
#[derive(Debug, Clone)]
pub(super) struct Run {
    /// The station's id.
    pub(super) station: String,
    /// The piece is the one to begin with.
    pub(super) first: bool,
    /// It can be begun now.
    pub(super) may: bool,
    /// Until when it and what follows may be put off; empty: they cannot.
    pub(super) until: Vec<(String, String)>,
    /// Colleagues to hand over to, once it is begun.
    pub(super) colleagues: Vec<(String, String)>,
}

/// A piece in line. It carries its begun form along (in a `template`), so that it can be begun without the line.
#[component]
pub(super) fn NextUp(run: Run, piece: RunPiece) -> impl IntoView {
    let Run { station, first, may, until, colleagues } = run;
    let (label, operation, key) = (piece.label.clone(), piece.operation.clone(), piece.keys.start.clone());
    let kind = if first { ButtonKind::Primary } else { ButtonKind::Plain };
    let sheet = piece.ends == Ends::Sheet;
    let to_sheet = (sheet && piece.not_yet.is_none()).then(|| {
        let href = piece.href.clone();
        view! { <p><ButtonLink href=href kind=kind big=first>"Fill in its sheet"</ButtonLink></p> }
    });
    let startable = piece.not_yet.is_none() && !sheet;
    let begun = startable.then(|| {
        let mut begun = piece.clone();
        // Who and when is filled in where it is begun.
        begun.begun = Some(("you".to_owned(), "just now".to_owned(), 0));
        view! {
            <template>
                <InHand station=station.clone() piece=begun typed=Typed::default() colleagues=colleagues />
            </template>
        }
    });
    let put_off = (startable && !until.is_empty()).then(|| {
        let options: Vec<Opt> = until.into_iter().map(|(code, words)| Opt::new(code, words)).collect();
        let (id, key) = (piece.operation.clone(), piece.keys.split.clone());
        let action = format!("/bench/{station}/split");
        view! {
            <Fold summary="Split the run here">
                <Within id=format!("split-{id}")>
                <form method="post" action=action class="stack">
                    <input type="hidden" name="operation" value=id.clone() />
                    <input type="hidden" name="key" value=key />
                    <Select name="until" label="This piece and what follows it are put off" options=options />
                    <Actions><Button>"Split the run"</Button></Actions>
                </form>
                </Within>
            </Fold>
        }
    });
    let start = startable.then(|| {
        view! {
            <form method="post" action=format!("/bench/{station}/start") class="start" hidden=!may>
                <input type="hidden" name="operation" value=operation />
                <input type="hidden" name="key" value=key />
                <Actions><Button kind=kind big=first>"Start " {label}</Button></Actions>
            </form>
        }
    });
    let not_yet = piece.not_yet.clone().map(|why| view! { <Badge words=why picture=Picture::Clock /> });
    let targets = if first {
        view! { <Targets targets=piece.targets.clone() /> }.into_any()
    } else if piece.targets.is_empty() {
        ().into_any()
    } else {
        view! { <p>{piece.targets.join(" · ")}</p> }.into_any()
    };
    let class = if first { "card first" } else { "card" };
    view! {
        <li class=class data-operation=piece.operation.clone() data-label=piece.label.clone() data-ready=startable.to_string()>
            <Head piece=piece.clone() />
            {targets}
            <p class="row quiet"><span>{piece.minutes} " min"</span> <span>{piece.when.clone()}</span> {not_yet}</p>
            {start}
            {to_sheet}
            {put_off}
            {begun}
        </li>
    }
}

#[cfg(test)]
mod tests {
    use super::split;

    #[track_caller]
    fn check(target: &str, before: &str, number: &str, after: &str) {
        assert_eq!(split(target), (before.to_owned(), number.to_owned(), after.to_owned()));
    }

    #[test]
    fn the_number_of_a_target_is_found() {
        check("15° each side", "", "15°", "each side");
        check("take 0.25 mm of height", "take", "0.25", "mm of height");
        check("4 passes", "", "4", "passes");
        check("wet", "wet", "", "");
        check("FEPA P120", "FEPA P120", "", "");
    }
}

//! Handing back: every knife checked by its tag.

use leptos::prelude::*;
use serde::{Deserialize, Serialize};
use shop::field::FieldErrors;
use shop::piece::{Mishap, PieceState};
use shop::read::{Piece, Visit};

use super::Complaints;
use crate::parts::{
    Actions, Button, ButtonKind, Card, Choice, Crumbs, Empty, ErrorSummary, Field, Input, Notice, Opt,
    Picture, Select, StateBadge, Tick, Tone,
};

/// The form as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct RawHandBack {
    /// Makes a double click hand back once.
    pub key: String,
    /// Version of the visit.
    pub version: String,
    /// A tag just scanned.
    pub scan: String,
    /// Ids of the pieces ticked or scanned.
    pub pieces: Vec<String>,
    /// Some that could go stay here, and that is meant.
    pub part: bool,
    /// `post` or `counter`.
    pub way: String,
    /// Who takes them.
    pub taken_by: String,
    /// The carrier.
    pub carrier: String,
    /// The parcel's number.
    pub number: String,
    /// Paid with it.
    pub amount: String,
    /// How it was paid.
    pub how: String,
    /// Which button was pressed: `scan` or `go`.
    pub r#do: String,
}

/// What is handed back.
#[derive(Debug, Clone, PartialEq)]
pub struct HandBackView {
    /// The visit.
    pub visit: Visit,
    /// The form.
    pub raw: RawHandBack,
    /// What is wrong.
    pub errors: FieldErrors,
    /// What the last scan found, and whether it was good.
    pub scanned: Option<(bool, String)>,
    /// What the visit comes to, and what is paid and open, in words.
    pub money: Vec<(String, String)>,
    /// The currency's code.
    pub currency: String,
    /// Ways to pay.
    pub ways: Vec<(String, String)>,
}

fn may_go(piece: &Piece) -> bool {
    matches!(piece.state, PieceState::Ready | PieceState::TurnedDown | PieceState::Withdrawn)
}

/// Handing back.
#[component]
pub fn HandBackPage(
    /// What is handed back.
    view: HandBackView,
) -> impl IntoView {
    let reference = view.visit.reference;
    let href = format!("/desk/visit/{}", reference.plain());
    let errors = Complaints::new(view.errors.clone());
    let scanned = view.scanned.clone().map(|(good, words)| {
        let tone = if good { Tone::Good } else { Tone::Bad };
        view! { <Notice tone=tone><p>{words}</p></Notice> }
    });
    let ready: Vec<Piece> = view.visit.pieces.iter().filter(|p| may_go(p)).cloned().collect();
    let stay: Vec<_> = view
        .visit
        .pieces
        .iter()
        .filter(|p| !may_go(p) && !p.state.is_over())
        .map(|p| {
            view! { <li>{p.name.clone()}" "<StateBadge state=p.state /></li> }
        })
        .collect();
    let stays = (!stay.is_empty()).then(|| {
        view! { <Notice tone=Tone::Warn title="These stay here"><ul>{stay}</ul></Notice> }
    });
    if ready.is_empty() {
        return view! {
            <Crumbs trail=vec![("/desk".to_owned(), "Desk".to_owned()), (href.clone(), reference.to_string())] here="Hand back" />
            <h1>"Hand back "<span class="reference">{reference.to_string()}</span></h1>
            <Empty title="Nothing of this visit may go home yet" picture=Picture::Parcel>
                <p><a href=href>"Back to the visit"</a></p>
            </Empty>
            {stays}
        }
        .into_any();
    }
    let rows: Vec<_> = ready
        .iter()
        .map(|p| {
            let id = p.id.to_string();
            let tag = p.tag.map_or_else(|| "no tag".to_owned(), |tag| tag.to_string());
            let checked = view.raw.pieces.contains(&id);
            let why = match p.state {
                PieceState::Ready => "ready".to_owned(),
                other => format!("{}; goes back as it is", other.words()),
            };
            let why = match p.mishaps.last() {
                Some(Mishap { settled: Some(settled), words, .. }) => {
                    format!("{why}. Damaged here: {words} Settled: {}", settled.words)
                }
                Some(mishap) => format!("{why}. Damaged here, not settled: {}", mishap.words),
                None => why,
            };
            view! { <Tick name="pieces[]" value=id label=format!("{tag}  {}", p.name) hint=why checked=checked /> }
        })
        .collect();
    let all = ready.iter().all(|p| view.raw.pieces.contains(&p.id.to_string()));
    let part = (errors.of("part").is_some() || view.raw.part).then(|| {
        view! {
            <Tick
                name="part"
                label="The others stay here for now, and that is meant"
                checked=view.raw.part
                error=errors.of("part")
            />
        }
    });
    let by_post = view.raw.way == "post";
    let RawHandBack { key, version, way, taken_by, carrier, number, amount, how, .. } = view.raw.clone();
    let currency = view.currency.clone();
    let ways = vec![
        Opt::new("counter", "Over the counter").note("to somebody who gives a name"),
        Opt::new("post", "By parcel").note("with carrier and number"),
    ];
    let payment_ways: Vec<_> = view.ways.iter().map(|(code, words)| Opt::new(code, words)).collect();
    let money: Vec<_> = view
        .money
        .iter()
        .map(|(what, much)| view! { <div><dt>{what.clone()}</dt><dd>{much.clone()}</dd></div> })
        .collect();
    view! {
        <Crumbs trail=vec![("/desk".to_owned(), "Desk".to_owned()), (href.clone(), reference.to_string())] here="Hand back" />
        <h1>"Hand back "<span class="reference">{reference.to_string()}</span></h1>
        <p>{view.visit.contact.name.clone()}</p>
        <ErrorSummary errors=view.errors.clone() />
        {scanned}
        {stays}
        <form method="post" action=format!("{href}/hand-back") class="stack hand-back" novalidate>
            <input type="hidden" name="key" value=key />
            <input type="hidden" name="version" value=version />
            <Card title="Every tag" first=true>
                // The first button of a form is the one that Enter presses: a scanner types and presses Enter.
                <div class="row scan">
                    <Field
                        name="scan"
                        label="Scan or type a tag"
                        kind=Input::Tag
                        maxlength=40
                        error=errors.of("scan")
                        autofocus=!all
                    />
                    <Button name="do" value="scan">"Check this tag"</Button>
                </div>
                {rows}
                {part}
            </Card>
            <Card title="How they go">
                <Choice name="way" legend="How do they go?" options=ways chosen=way error=errors.of("way") />
                <div class="fields">
                    <Field
                        name="taken_by"
                        label="Taken by (name)"
                        value=taken_by
                        maxlength=80
                        error=errors.of("taken_by")
                        optional=by_post
                        autocomplete="off"
                        hint="For the counter: the name stands for a signature."
                    />
                    <Field name="carrier" label="Carrier" value=carrier maxlength=60 error=errors.of("carrier") optional=!by_post />
                    <Field name="number" label="Parcel number" value=number maxlength=60 error=errors.of("number") optional=!by_post />
                </div>
            </Card>
            <Card title="Money">
                <dl class="facts">{money}</dl>
                <div class="fields">
                    <Field name="amount" label="Paid now" kind=Input::Figure unit=currency value=amount error=errors.of("amount") optional=true />
                    <Select name="how" label="How" options=payment_ways chosen=how error=errors.of("how") />
                </div>
            </Card>
            <Actions>
                <Button kind=ButtonKind::Primary name="do" value="go">"Hand back"</Button>
            </Actions>
        </form>
    }
    .into_any()
}

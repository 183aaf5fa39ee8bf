//! Questions and answers of a visit, and what a customer says when something was not right.

use chrono::NaiveDateTime;
use leptos::prelude::*;
use serde::{Deserialize, Serialize};
use shop::field::FieldErrors;

use crate::pages::book::SlotSelect;
use crate::parts::{
    Actions, Button, ButtonKind, Card, Choice, ErrorSummary, Fold, Group, Opt, Picture, TextArea, Tick,
};
use crate::say::{t, tw};

/// The longest letter, characters.
pub const MOST_LETTER: u32 = 4000;

/// One letter as it is shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LetterLine {
    /// The shop wrote it.
    pub by_shop: bool,
    /// Who wrote it, in words.
    pub who: String,
    /// When, in words.
    pub when: String,
    /// What it says.
    pub body: String,
}

/// What was asked and answered so far.
#[component]
pub fn Letters(
    /// The letters, oldest first.
    letters: Vec<LetterLine>,
) -> impl IntoView {
    if letters.is_empty() {
        return ().into_any();
    }
    let letters: Vec<_> = letters
        .into_iter()
        .map(|letter| {
            let lines: Vec<_> =
                letter.body.lines().map(str::to_owned).map(|line| view! { <p>{line}</p> }).collect();
            view! {
                <li class=if letter.by_shop { "letter-line shop" } else { "letter-line" }>
                    <p class="quiet">{letter.who} ", " <time>{letter.when}</time></p>
                    {lines}
                </li>
            }
        })
        .collect();
    view! { <ol class="letters">{letters}</ol> }.into_any()
}

/// Questions and answers on the customer's page.
#[component]
pub fn TalkCard(
    /// The letters, oldest first.
    letters: Vec<LetterLine>,
    /// Where a letter is sent to.
    action: String,
    /// The letter as typed.
    typed: String,
    /// A fresh key for it.
    key: String,
    /// What is wrong with it.
    error: Option<String>,
) -> impl IntoView {
    let none = letters.is_empty();
    view! {
        <section class="card" id="talk">
            <h2>{t("talk-title")}</h2>
            {none.then(|| view! { <p class="quiet">{t("talk-none")}</p> })}
            <Letters letters=letters />
            <form method="post" action=action class="stack" novalidate>
                <input type="hidden" name="key" value=key />
                <TextArea name="body" label=t("talk-field") value=typed error=error maxlength=MOST_LETTER />
                <Actions><Button>{t("talk-send")}</Button></Actions>
            </form>
        </section>
    }
    .into_any()
}

/// What is not right with a visit that went home, as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct RawComplaint {
    /// Makes a double click complain once.
    pub key: String,
    /// The pieces it is about.
    pub pieces: Vec<String>,
    /// What is not right.
    pub what: String,
    /// `post` or `counter`.
    pub arrival: String,
    /// The time at the counter.
    pub slot: String,
}

/// What the complaint form shows.
#[derive(Debug, Clone, PartialEq)]
pub struct ComplaintView {
    /// The pieces that went home: id, and what they are called.
    pub pieces: Vec<(String, String)>,
    /// Free times at the counter.
    pub slots: Vec<NaiveDateTime>,
    /// As typed.
    pub raw: RawComplaint,
    /// What is wrong with it.
    pub errors: FieldErrors,
    /// Until when, in words.
    pub until: String,
}

/// The form for something that was not right.
#[component]
pub fn ComplaintForm(
    /// What it shows.
    view: ComplaintView,
    /// Where it is sent to.
    action: String,
) -> impl IntoView {
    let open = !view.errors.is_empty();
    let said = |name: &str| view.errors.of(name).map(str::to_owned);
    let ticks: Vec<_> = view
        .pieces
        .iter()
        .enumerate()
        .map(|(i, (id, name))| {
            let checked = view.raw.pieces.contains(id) || view.pieces.len() == 1;
            view! { <Tick name=format!("pieces[{i}]") value=id.clone() label=name.clone() checked=checked /> }
        })
        .collect();
    let arrival = vec![
        Opt::new("post", t("way-post")).drawn(Picture::Parcel).note(t("way-post-note")),
        Opt::new("counter", t("way-counter")).drawn(Picture::Counter).note(t("way-chosen")),
    ];
    let (pieces_said, what_said, arrival_said, slot_said) =
        (said("pieces"), said("what"), said("arrival"), said("slot"));
    view! {
        <Card title=t("wrong-title")>
            <p>{tw("wrong-say", &[("day", &view.until)])}</p>
            <Fold summary=t("wrong-open") open=open>
                <ErrorSummary errors=view.errors.clone() />
                <form method="post" action=action class="stack" novalidate>
                    <input type="hidden" name="key" value=view.raw.key.clone() />
                    <Group legend=t("wrong-which") name="pieces" error=pieces_said>{ticks}</Group>
                    <TextArea name="what" label=t("wrong-what") hint=t("wrong-what-hint") value=view.raw.what.clone() error=what_said maxlength=1000 />
                    <Choice name="arrival" legend=t("way-in") options=arrival chosen=view.raw.arrival.clone() error=arrival_said />
                    <SlotSelect slots=view.slots.clone() chosen=view.raw.slot.clone() error=slot_said />
                    <Actions><Button kind=ButtonKind::Primary>{t("wrong-send")}</Button></Actions>
                </form>
            </Fold>
        </Card>
    }
    .into_any()
}

//! Harm that comes to a knife while it is with us: written down, decided, set right.

use leptos::prelude::*;
use shop::field::FieldErrors;
use shop::piece::{Harm, Mishap};
use shop::read::Piece;

use super::Complaints;
use crate::parts::{Actions, Button, ButtonKind, Choice, Fold, Notice, Opt, TextArea, Tone};

/// What was typed about harm to a piece, to be shown again.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct HarmTyped {
    /// The piece's number within the visit.
    pub number: u32,
    /// Which form: `harm` or `stop`.
    pub form: String,
    /// What happened, by its word.
    pub what: String,
    /// What the customer shall read.
    pub words: String,
}

impl HarmTyped {
    fn of(typed: Option<Self>, piece: &Piece, form: &str) -> Self {
        typed.filter(|t| t.number == piece.number && t.form == form).unwrap_or_default()
    }
}

/// Writes down that a piece is lost or damaged. No question whether one is sure: it can be taken back.
#[component]
pub(super) fn HarmForm(piece: Piece, typed: Option<HarmTyped>, errors: FieldErrors) -> impl IntoView {
    let number = piece.number;
    let (what, words) = (format!("harm[{number}][what]"), format!("harm[{number}][words]"));
    let errors = Complaints::new(errors);
    let (what_error, words_error) = (errors.of(&what), errors.of(&words));
    let typed = HarmTyped::of(typed, &piece, "harm");
    let options = vec![
        Opt::new("damaged", "It was damaged").note("it waits until you decide"),
        Opt::new("lost", "It cannot be found").note("it leaves the plan"),
    ];
    view! {
        <Fold summary="Lost or damaged here" open=what_error.is_some() || words_error.is_some()>
            <form method="post" action=format!("/desk/piece/{}/harm", piece.id) class="stack" novalidate>
                <input type="hidden" name="version" value=piece.version.to_string() />
                <Choice name=what legend="What happened to it while it was with us?" options=options chosen=typed.what error=what_error />
                <TextArea
                    name=words
                    label="What the customer reads"
                    hint="What happened and what you do about it, in a sentence or two."
                    value=typed.words
                    maxlength=1000
                    error=words_error
                />
                <Actions><Button name="do" value="tell">"Write it down and tell the customer"</Button></Actions>
            </form>
        </Fold>
    }
}

/// What happened to a piece and still stands, each with the way to set it right; and the decision about a damaged one.
#[component]
pub(super) fn Mishaps(piece: Piece, typed: Option<HarmTyped>, errors: FieldErrors) -> impl IntoView {
    let undecided = piece.awaits_decision() && piece.state.is_here();
    let told: Vec<_> = piece
        .mishaps
        .iter()
        .map(|mishap| view! { <OneMishap piece=piece.clone() mishap=mishap.clone() /> })
        .collect();
    let decision = undecided.then(|| view! { <Decision piece=piece.clone() typed=typed errors=errors /> });
    view! { {told} {decision} }
}

#[component]
fn OneMishap(piece: Piece, mishap: Mishap) -> impl IntoView {
    let (title, right) = match mishap.harm {
        Harm::Lost => ("Lost here", "It is found"),
        Harm::Damaged => ("Damaged here", "It was not damaged"),
    };
    view! {
        <Notice tone=Tone::Bad title=title>
            <p>{mishap.words}</p>
            <form method="post" action=format!("/desk/piece/{}/harm", piece.id)>
                <input type="hidden" name="version" value=piece.version.to_string() />
                <input type="hidden" name="entry" value=mishap.entry.to_string() />
                <Button name="do" value="right" kind=ButtonKind::Quiet>{right}</Button>
            </form>
        </Notice>
    }
}

/// The maker decides about a damaged piece: on with it, or not.
#[component]
fn Decision(piece: Piece, typed: Option<HarmTyped>, errors: FieldErrors) -> impl IntoView {
    let words = format!("stop[{}][words]", piece.number);
    let error = Complaints::new(errors).of(&words);
    let typed = HarmTyped::of(typed, &piece, "stop");
    let version = piece.version.to_string();
    view! {
        <p>"It waits for your decision."</p>
        <form method="post" action=format!("/desk/piece/{}/hold", piece.id)>
            <input type="hidden" name="version" value=version.clone() />
            <Actions><Button name="do" value="go">"The work goes on"</Button></Actions>
        </form>
        <Fold summary="Stop the work on it" open=error.is_some()>
            <form method="post" action=format!("/desk/piece/{}/harm", piece.id) class="stack" novalidate>
                <input type="hidden" name="version" value=version />
                <TextArea
                    name=words
                    label="Why, for the customer to read"
                    hint="Nothing is asked for the work. It goes home as it is now."
                    value=typed.words
                    maxlength=1000
                    error=error
                />
                <Actions><Button name="do" value="stop" kind=ButtonKind::Danger>"Stop, and tell the customer"</Button></Actions>
            </form>
        </Fold>
    }
}

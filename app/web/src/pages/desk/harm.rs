//! Harm that comes to a knife while it is with us: written down, decided, set right, settled with the customer.

use leptos::prelude::*;
use shop::field::FieldErrors;
use shop::piece::{Amends, Harm, Mishap, PieceState, Settlement};
use shop::read::Piece;

use super::Complaints;
use crate::parts::{
    Actions, Button, ButtonKind, Choice, Field, Fold, Input, Notice, Opt, TextArea, Tick, Tone,
};

/// What was typed about harm to a piece, to be shown again.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct HarmTyped {
    /// The piece's number within the visit.
    pub number: u32,
    /// Which form: `harm`, `stop` or `settle`.
    pub form: String,
    /// What happened or how it is settled, by its word.
    pub what: String,
    /// What the settlement comes to.
    pub amount: String,
    /// The knife does not go back.
    pub stays: bool,
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
pub(super) fn Mishaps(
    piece: Piece,
    currency: String,
    typed: Option<HarmTyped>,
    errors: FieldErrors,
) -> impl IntoView {
    let undecided = piece.awaits_decision() && piece.state.is_here();
    let told: Vec<_> = piece
        .mishaps
        .iter()
        .map(|mishap| view! { <OneMishap piece=piece.clone() mishap=mishap.clone() currency=currency.clone() /> })
        .collect();
    let next = if undecided {
        view! { <Decision piece=piece typed=typed errors=errors /> }.into_any()
    } else if piece.mishaps.is_empty() {
        ().into_any()
    } else {
        view! { <SettleForm piece=piece currency=currency typed=typed errors=errors /> }.into_any()
    };
    view! { {told} {next} }
}

#[component]
fn OneMishap(piece: Piece, mishap: Mishap, currency: String) -> impl IntoView {
    let (title, right) = match mishap.harm {
        Harm::Lost => ("Lost here", "It is found"),
        Harm::Damaged => ("Damaged here", "It was not damaged"),
    };
    let over = mishap.settled.is_some() || piece.state == PieceState::Settled;
    let settled = mishap.settled.map(|settled| view! { <p>{settled_words(&settled, &currency)}</p> });
    let set_right = (!over).then(|| {
        view! {
            <form method="post" action=format!("/desk/piece/{}/harm", piece.id)>
                <input type="hidden" name="version" value=piece.version.to_string() />
                <input type="hidden" name="entry" value=mishap.entry.to_string() />
                <Button name="do" value="right" kind=ButtonKind::Quiet>{right}</Button>
            </form>
        }
    });
    view! { <Notice tone=Tone::Bad title=title><p>{mishap.words}</p>{settled}{set_right}</Notice> }
}

/// A settlement in a line: how, what it comes to, and what the customer reads.
fn settled_words(settled: &Settlement, currency: &str) -> String {
    let how = match settled.amends {
        Amends::Replaced => "Settled: replaced",
        Amends::Paid => "Settled: paid",
        Amends::Other => "Settled",
    };
    let amount = settled.amount.map(|amount| format!(", {}", amount.show(currency))).unwrap_or_default();
    format!("{how}{amount}. {}", settled.words)
}

/// Writes down how it was settled with the customer; again, when something else was agreed later.
#[component]
fn SettleForm(
    piece: Piece,
    currency: String,
    typed: Option<HarmTyped>,
    errors: FieldErrors,
) -> impl IntoView {
    let at = |name: &str| format!("settle[{}][{name}]", piece.number);
    let (what, amount, words) = (at("what"), at("amount"), at("words"));
    let errors = Complaints::new(errors);
    let (what_error, amount_error, words_error) = (errors.of(&what), errors.of(&amount), errors.of(&words));
    let open = what_error.is_some() || amount_error.is_some() || words_error.is_some();
    let typed = HarmTyped::of(typed, &piece, "settle");
    let options = vec![
        Opt::new("replaced", "Replaced").note("by another knife"),
        Opt::new("paid", "Paid").note("its worth, or a part of it"),
        Opt::new("other", "Otherwise").note("the words say how"),
    ];
    let stays = (piece.state == PieceState::TurnedDown).then(|| {
        view! { <Tick name=at("stays") label="It does not go back to the customer" checked=typed.stays /> }
    });
    let again = piece.mishaps.last().is_some_and(|mishap| mishap.settled.is_some());
    let summary = if again { "Something else was agreed" } else { "Settle it with the customer" };
    view! {
        <Fold summary=summary open=open>
            <form method="post" action=format!("/desk/piece/{}/harm", piece.id) class="stack" novalidate>
                <input type="hidden" name="version" value=piece.version.to_string() />
                <Choice name=what legend="How was it settled?" options=options chosen=typed.what error=what_error />
                <Field
                    name=amount
                    label="What it comes to"
                    kind=Input::Figure
                    unit=currency
                    optional=true
                    hint="What is paid, or the worth of what is given."
                    value=typed.amount
                    error=amount_error
                />
                <TextArea
                    name=words
                    label="What was agreed, for the customer to read"
                    hint="In a sentence or two."
                    value=typed.words
                    maxlength=1000
                    error=words_error
                />
                {stays}
                <Actions><Button name="do" value="settle">"Write it down and tell the customer"</Button></Actions>
            </form>
        </Fold>
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

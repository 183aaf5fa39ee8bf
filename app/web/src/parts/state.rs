//! Where a piece stands, in a word and a drawing; never by colour alone.

use leptos::prelude::*;
use shop::piece::PieceState;

use super::{Pictogram, Picture};
use crate::say::book;

/// How something is meant.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Tone {
    /// To know.
    #[default]
    Plain,
    /// It went well.
    Good,
    /// Look at it, in time.
    Warn,
    /// It went wrong, or is late.
    Bad,
    /// Now, here: where work is.
    Now,
}

impl Tone {
    /// The class that gives the colours.
    pub fn class(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Good => "good",
            Self::Warn => "warn",
            Self::Bad => "bad",
            Self::Now => "now",
        }
    }

    /// The drawing that says the same without colour.
    pub fn picture(self) -> Picture {
        match self {
            Self::Plain => Picture::Know,
            Self::Good => Picture::Good,
            Self::Warn => Picture::Warn,
            Self::Bad => Picture::Bad,
            Self::Now => Picture::Spark,
        }
    }
}

impl From<PieceState> for Tone {
    fn from(state: PieceState) -> Self {
        match state {
            PieceState::AtBench => Self::Now,
            PieceState::Proven | PieceState::Finished | PieceState::Ready | PieceState::Home => Self::Good,
            PieceState::Measured | PieceState::Missing => Self::Warn,
            PieceState::TurnedDown | PieceState::Lost => Self::Bad,
            PieceState::Expected
            | PieceState::InHand
            | PieceState::Agreed
            | PieceState::InLine
            | PieceState::Withdrawn
            | PieceState::Settled
            | PieceState::Lapsed => Self::Plain,
        }
    }
}

/// A word that says how something stands, with a drawing of its own.
#[component]
pub fn Badge(
    /// The word.
    #[prop(into)]
    words: String,
    /// How it is meant.
    #[prop(optional)]
    tone: Tone,
    /// Its drawing; without one, the tone's.
    #[prop(optional, into)]
    picture: Option<Picture>,
) -> impl IntoView {
    let picture = picture.unwrap_or(tone.picture());
    view! { <span class=format!("state {}", tone.class())><Pictogram of=picture />{words}</span> }.into_any()
}

/// Where a piece stands.
#[component]
pub fn StateBadge(
    /// The state.
    state: PieceState,
) -> impl IntoView {
    let words = book(&["state"]).say(state.words());
    view! { <Badge words=words tone=Tone::from(state) picture=Picture::from(state) /> }.into_any()
}

/// One step of a way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// Behind us.
    Done,
    /// Here we are.
    Now,
    /// Still to come.
    Ahead,
}

/// A way with its steps: which are done, where we are, what comes.
#[component]
pub fn Steps(
    /// What the way is, for those who do not see it.
    #[prop(into)]
    label: String,
    /// The steps' names and how each stands.
    steps: Vec<(String, Step)>,
) -> impl IntoView {
    let phrases = book(&["state"]);
    let steps: Vec<_> = steps
        .into_iter()
        .map(|(name, step)| {
            let (class, said) = match step {
                Step::Done => ("done", phrases.say("done: ")),
                Step::Now => ("now", phrases.say("now: ")),
                Step::Ahead => ("ahead", phrases.say("to come: ")),
            };
            let current = (step == Step::Now).then_some("step");
            view! { <li class=class aria-current=current><span class="hidden">{said}</span><span>{name}</span></li> }
        })
        .collect();
    view! { <ol class="steps" aria-label=label>{steps}</ol> }.into_any()
}

/// The straight way of a piece, and how far this one is. Off the way, the badge of its state alone.
#[component]
pub fn PieceSteps(
    /// The state.
    state: PieceState,
) -> impl IntoView {
    const WAY: [PieceState; 10] = [
        PieceState::Expected,
        PieceState::InHand,
        PieceState::Measured,
        PieceState::Agreed,
        PieceState::InLine,
        PieceState::AtBench,
        PieceState::Proven,
        PieceState::Finished,
        PieceState::Ready,
        PieceState::Home,
    ];
    let Some(here) = WAY.iter().position(|s| *s == state) else {
        return view! { <StateBadge state=state /> }.into_any();
    };
    let phrases = book(&["state"]);
    let steps = WAY
        .iter()
        .enumerate()
        .map(|(i, s)| {
            let step = match i.cmp(&here) {
                std::cmp::Ordering::Less => Step::Done,
                std::cmp::Ordering::Equal => Step::Now,
                std::cmp::Ordering::Greater => Step::Ahead,
            };
            (phrases.say(s.words()), step)
        })
        .collect();
    view! { <Steps label=phrases.say("Where this knife is") steps=steps /> }.into_any()
}

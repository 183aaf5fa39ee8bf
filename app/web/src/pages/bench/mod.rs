//! The bench: which station next, its setup checks, and piece after piece. Everything is a plain form with large targets.

mod check;
mod floor;
mod piece;
mod setup;
mod station;

pub use floor::FloorPage;
pub use station::StationPage;

use leptos::prelude::*;
use shop::bench::StationKind;
use shop::field::FieldErrors;
use shop::safety::{Caution, Check, Danger};
use shop::work::{RawCheck, RawDone};

use crate::parts::Picture;

/// One station on the bench's first page.
#[derive(Debug, Clone, PartialEq)]
pub struct StationCard {
    /// Its page.
    pub href: String,
    /// What it is called.
    pub name: String,
    /// What kind of place it is.
    pub kind: StationKind,
    /// Who works on what there now.
    pub busy: Vec<String>,
    /// The next run: setup, number of pieces, when; `None`: nothing.
    pub next: Option<(String, usize, String)>,
    /// How many of them can be begun now.
    pub ready: usize,
    /// Out of order.
    pub closed: bool,
}

/// The bench's first page.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FloorView {
    /// The stations that have work, then the others.
    pub stations: Vec<StationCard>,
    /// Where the next run for whoever asks is: address and words.
    pub mine: Option<(String, String)>,
    /// The bench is not set up.
    pub bare: bool,
}

/// One piece of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct RunPiece {
    /// The operation's id.
    pub operation: String,
    /// The piece's id.
    pub piece: String,
    /// Tag, or reference and number.
    pub label: String,
    /// What it is called.
    pub name: String,
    /// What is done.
    pub work: String,
    /// What to do and how much.
    pub targets: Vec<String>,
    /// Why it is on the route.
    pub reason: String,
    /// Words that go with the piece: the customer's wish, the inspection's note.
    pub note: String,
    /// Planned minutes.
    pub minutes: u32,
    /// When it stands in the plan.
    pub when: String,
    /// Why it cannot be begun now.
    pub not_yet: Option<String>,
    /// Rush.
    pub rush: bool,
    /// How late it will be.
    pub late: Option<String>,
    /// Who began it, when (for people) and how many seconds ago.
    pub begun: Option<(String, String, i64)>,
    /// What kind of form ends it.
    pub ends: Ends,
    /// What may be done again, for a check that fails: code and words.
    pub again: Vec<(String, String)>,
    /// Its pictures' and sheet's page.
    pub href: String,
    /// How this shop measures the force of a cut, in its own words; may be empty.
    pub cut_test_text: String,
    /// The number of the cutting test before the work, as the inspection's sheet has it; empty: it has none.
    pub cut_before: String,
    /// Keys that make a double press act once.
    pub keys: Keys,
}

/// One key for each form of a piece.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Keys {
    /// Start.
    pub start: String,
    /// Done, or checked.
    pub done: String,
    /// Stop.
    pub stop: String,
    /// Needs more.
    pub more: String,
    /// Hand over.
    pub over: String,
    /// A picture.
    pub photo: String,
    /// The run is split here.
    pub split: String,
}

/// Which form ends an operation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// Done, with what was measured.
    Done,
    /// The check, with its verdict.
    Check,
    /// The inspection sheet, elsewhere.
    Sheet,
}

/// What was typed into one form and refused.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Typed {
    /// The operation (or piece, or station) the form belongs to.
    pub id: String,
    /// Which form: `done`, `check`, `photo`, `stop`, `more`, `setup`, `wheel`, `split`, `go-on`.
    pub form: String,
    /// The done form.
    pub done: RawDone,
    /// The check form.
    pub check: RawCheck,
    /// Reason of the stop form.
    pub reason: String,
    /// Words of the stop, more and go-on forms.
    pub words: String,
    /// Price of the more and go-on forms.
    pub price: String,
    /// Ticks of the setup form.
    pub ticks: Vec<String>,
    /// The wheel's diameter of the setup form.
    pub diameter: String,
    /// What is wrong.
    pub errors: FieldErrors,
}

impl Typed {
    /// What is wrong in this form of this thing.
    fn errors_of(&self, id: &str, form: &str) -> FieldErrors {
        if self.id == id && self.form == form { self.errors.clone() } else { FieldErrors::default() }
    }

    fn is(&self, id: &str, form: &str) -> bool {
        self.id == id && self.form == form
    }
}

/// The setup of a run.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SetupView {
    /// Its id, for the form.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// Facts about what runs there: word and fact.
    pub facts: Vec<(String, String)>,
    /// Why it must not be run.
    pub refusal: Option<String>,
    /// What is checked first.
    pub checks: Vec<Check>,
    /// What runs there has a diameter that wears.
    pub wears: bool,
    /// When and by whom it was checked today.
    pub checked: Option<String>,
    /// What runs there can be dressed.
    pub dresses: bool,
    /// The form's key.
    pub key: String,
    /// The key of the form for its wheel.
    pub wheel_key: String,
}

/// A piece that waits here.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// The piece's id.
    pub piece: String,
    /// Tag, or reference and number.
    pub label: String,
    /// What it is called.
    pub name: String,
    /// For what.
    pub what: String,
    /// The key of the form with which it goes on.
    pub key: String,
}

/// One station with its run.
#[derive(Debug, Clone, PartialEq)]
pub struct StationView {
    /// Its id.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// What kind of place it is.
    pub kind: StationKind,
    /// How many pieces go in together.
    pub room: u32,
    /// The setup of the next run; `None`: nothing is planned here.
    pub setup: Option<SetupView>,
    /// What to mind.
    pub cautions: Vec<Caution>,
    /// The pieces: begun first, then in order.
    pub pieces: Vec<RunPiece>,
    /// The runs after it: setup, number, when.
    pub later: Vec<(String, usize, String)>,
    /// Pieces that wait here.
    pub held: Vec<Held>,
    /// Until when the rest of a run may be put off: code and words.
    pub until: Vec<(String, String)>,
    /// Colleagues to hand over to: id and name.
    pub colleagues: Vec<(String, String)>,
    /// What was just done.
    pub said: Option<String>,
    /// Why something was not done.
    pub problem: Option<String>,
    /// What was typed and refused.
    pub typed: Typed,
}

/// Where `style/static/bench.js` says how the line is, what is not yet sent, and that others have changed something while
/// a hand is in the middle of a form.
#[component]
fn Strip(
    /// The page's own address.
    path: String,
) -> impl IntoView {
    view! {
        <div id="line-state" class="stack" role="status"></div>
        <p id="changed" class="notice plain" role="status" hidden>
            <span class="inside">"Something has changed at the bench. " <a href=path>"Show it"</a></span>
        </p>
    }
}

/// The drawing for a danger.
fn picture_of(danger: Danger, code: &str) -> Picture {
    match danger {
        Danger::Caught if code == "gloves" => Picture::GlovesOff,
        Danger::Caught => Picture::GlovesOff,
        Danger::Eye => Picture::Eye,
        Danger::Lung => Picture::Lung,
        Danger::Ear => Picture::Ear,
        Danger::Burst => Picture::Speed,
        Danger::Cut => Picture::Cut,
        Danger::Heat => Picture::Hot,
        Danger::Chemical => Picture::Chemical,
        Danger::Wet => Picture::WetFloor,
        Danger::Work => Picture::Know,
    }
}

//! The bench plan: drawn as runs in time, the same as a table, and why a piece stands where it stands.

mod drawing;
mod page;
mod piece;
pub mod what_if;

pub use page::PlanPage;
pub use piece::PlacePage;

/// A stretch of one day that is drawn. Minutes count from the first local midnight shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stretch {
    /// The day, for people: `Wed 25 Nov`.
    pub name: String,
    /// First minute drawn.
    pub from: i64,
    /// Minute after the last.
    pub to: i64,
    /// Breaks and closed hours within.
    pub closed: Vec<(i64, i64)>,
    /// Minutes at which a full hour begins, with what clocks show then.
    pub hours: Vec<(i64, String)>,
}

/// One operation in the plan.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Bar {
    /// The changeover before it begins here; equal to `start` without one.
    pub changeover_start: i64,
    /// It begins here.
    pub start: i64,
    /// And ends here.
    pub end: i64,
    /// Tag, or reference and number.
    pub label: String,
    /// What the piece is called.
    pub name: String,
    /// What is done.
    pub work: String,
    /// In which setup.
    pub setup: String,
    /// Who does it.
    pub person: String,
    /// Where the page of its place is.
    pub href: String,
    /// Start and end, for people.
    pub when: String,
    /// When it begins, as a clock on the wall shows it.
    pub begins: String,
    /// How late its piece will be, for people.
    pub late: Option<String>,
    /// Begun.
    pub begun: bool,
    /// Pinned by hand.
    pub pinned: bool,
    /// From the booking, not from the inspection.
    pub estimated: bool,
}

/// One station with its work.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Lane {
    /// What it is called.
    pub name: String,
    /// Its bench page.
    pub href: String,
    /// What is mounted, and what is wrong with it, if anything is.
    pub note: String,
    /// Its operations by start.
    pub bars: Vec<Bar>,
}

/// A piece in the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PieceLine {
    /// Tag, or reference and number.
    pub label: String,
    /// What it is called.
    pub name: String,
    /// Where the page of its place is.
    pub href: String,
    /// Promised, for people.
    pub promised: String,
    /// Finished by the plan, for people.
    pub finished: String,
    /// How late that is, for people.
    pub late: Option<String>,
}

/// A visit whose promise the plan breaks; nobody has been told yet.
#[derive(Debug, Clone, PartialEq)]
pub struct Broken {
    /// Its id.
    pub visit: String,
    /// Its reference.
    pub reference: String,
    /// Whose it is.
    pub customer: String,
    /// Promised, for people.
    pub promised: String,
    /// All of it finished by the plan, for people.
    pub finished: String,
    /// The day that could be promised instead: `2026-11-27`.
    pub proposed: String,
    /// Makes a double click tell once.
    pub key: String,
    /// What is wrong with what was typed.
    pub error: Option<String>,
}

/// What is not planned.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftLine {
    /// Tag, or reference and number.
    pub label: String,
    /// What it is called.
    pub name: String,
    /// Where the page of its place is.
    pub href: String,
    /// Why.
    pub why: String,
}

/// Everything the plan page shows.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PlanDays {
    /// The first day shown, for people.
    pub title: String,
    /// Addresses of the day before, the day after, today, and of one day or a week.
    pub before: String,
    /// See `before`.
    pub after: String,
    /// See `before`.
    pub today: Option<String>,
    /// The other zoom: its address and its words.
    pub zoom: (String, String),
    /// What is drawn.
    pub stretches: Vec<Stretch>,
    /// Now, if it is drawn.
    pub now: Option<i64>,
    /// The stations.
    pub lanes: Vec<Lane>,
    /// When the plan was made, for people; `None`: there is no plan yet.
    pub made: Option<String>,
    /// Figures: what, number, unit, note.
    pub figures: Vec<(String, String, String, String)>,
    /// The pieces: late ones first, then as they get ready.
    pub pieces: Vec<PieceLine>,
    /// Promises that would be broken.
    pub broken: Vec<Broken>,
    /// What is not planned.
    pub left_out: Vec<LeftLine>,
    /// Something that was just done.
    pub said: Option<String>,
    /// The plan that is shown, for the page to notice a newer one.
    pub plan_id: String,
}

/// One step of a piece with its place and the reason for it.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedStep {
    /// The operation's id, for the forms.
    pub operation: String,
    /// What is done.
    pub work: String,
    /// Station and setup.
    pub place: String,
    /// When, for people; empty when it has no place.
    pub when: String,
    /// Who.
    pub person: String,
    /// Why it stands there, and what would have to give.
    pub why: String,
    /// How it stands: `done`, `begun`, `open`.
    pub state: &'static str,
    /// Pinned by hand.
    pub pinned: bool,
}

/// Why a piece stands where it stands.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Place {
    /// The piece's id, for the forms.
    pub piece: String,
    /// Tag, or reference and number.
    pub label: String,
    /// What it is called.
    pub name: String,
    /// Where it stands, one sentence.
    pub stands: String,
    /// What the plan assumes about it, or why it is not planned.
    pub remark: Option<String>,
    /// Promised, for people.
    pub promised: String,
    /// Finished by the plan, for people.
    pub finished: Option<String>,
    /// How late that is.
    pub late: Option<String>,
    /// Rush.
    pub rush: bool,
    /// What it waits for.
    pub waits: Option<String>,
    /// It may still be planned and held.
    pub has_work: bool,
    /// Its steps.
    pub steps: Vec<PlacedStep>,
    /// What was just done, or why it was not.
    pub said: Option<String>,
    /// What is wrong with the hold form.
    pub hold_error: Option<String>,
    /// What is wrong with the go-on form.
    pub go_on_error: Option<String>,
}

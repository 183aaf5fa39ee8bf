//! What pages read: a visit with its pieces, a knife with its ledger, the plan, the bench.

use crate::booking::{Address, Arrival, BookedKnife};
use crate::ids::{CustomerId, KnifeId, OperationId, PhotoId, PieceId, StaffId, VisitId};
use crate::inspection::Inspection;
use crate::lang::Lang;
use crate::money::{Money, MoneyRange};
use crate::piece::{Mishap, PieceState, Waiting, WaitsOn};
use crate::price::Quote;
use crate::route::{OperationKind, RouteStep};
use crate::tag::{Reference, Tag};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

/// A customer as staff see them; erased people have empty fields.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Contact {
    /// Name.
    pub name: String,
    /// Mail address.
    pub email: String,
    /// Telephone.
    pub phone: String,
    /// Address back.
    pub address: Option<Address>,
}

/// What we said of a piece before (booked) or after (inspected) we had it in our hands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Verdict {
    /// Height the work takes, millimetres: least and most. Once measured, what the tools leave open.
    pub recession_mm: (f64, f64),
    /// Height it most likely takes, once measured.
    #[serde(default)]
    pub likely_recession_mm: Option<f64>,
    /// Services left now: cautious and hopeful; `None` when nothing limits.
    pub services_before: Option<(u32, u32)>,
    /// Services left after this one: cautious and hopeful.
    pub services_after: Option<(u32, u32)>,
    /// Years those services last at the customer's habit, cautious and hopeful, where it is known.
    #[serde(default)]
    pub years_after: Option<(u32, u32)>,
    /// What limits, in words; empty when nothing does.
    pub limited_by: String,
    /// Bench minutes: least and most.
    pub minutes: (u32, u32),
    /// The price.
    pub price: MoneyRange,
    /// The lines of the most likely work.
    pub quote: Quote,
    /// Cautions to show.
    pub cautions: Vec<String>,
    /// Why we say no, `(code, sentence)`.
    pub refusal: Option<(String, String)>,
    /// The maker's advice in one line; may be empty.
    pub advice: String,
    /// The proposed route.
    pub route: Vec<RouteStep>,
}

impl Verdict {
    /// Height the work most likely takes, millimetres; before measuring, the most it may.
    pub fn likely_mm(&self) -> f64 {
        self.likely_recession_mm.unwrap_or(self.recession_mm.1)
    }
}

/// One operation of a piece as it stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Operation {
    /// Its id.
    pub id: OperationId,
    /// Its piece.
    pub piece: PieceId,
    /// Place in the route, from 0.
    pub position: u32,
    /// What, where, how long.
    pub step: RouteStep,
    /// True until the piece has been inspected: taken from the booking.
    pub estimated: bool,
    /// How far it is.
    pub state: OperationState,
    /// When it began.
    pub started_at: Option<DateTime<Utc>>,
    /// When it ended.
    pub done_at: Option<DateTime<Utc>>,
    /// Who works or worked on it.
    pub by: Option<StaffId>,
    /// Pinned by hand to the place it has in the plan.
    pub pinned: bool,
    /// For optimistic writes.
    pub version: i64,
}

/// How far an operation is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OperationState {
    /// Not begun.
    Open,
    /// Begun.
    Started,
    /// Ended well.
    Done,
    /// No longer needed.
    Dropped,
}

impl OperationState {
    /// The word used in the store.
    pub fn code(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Started => "started",
            Self::Done => "done",
            Self::Dropped => "dropped",
        }
    }

    /// From the word used in the store.
    pub fn parse(code: &str) -> Option<Self> {
        [Self::Open, Self::Started, Self::Done, Self::Dropped].into_iter().find(|s| s.code() == code)
    }
}

/// One piece of a visit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Piece {
    /// Its id.
    pub id: PieceId,
    /// Its visit.
    pub visit: VisitId,
    /// The physical knife, once received (or known by its tag).
    pub knife: Option<KnifeId>,
    /// Number within the visit, from 1.
    pub number: u32,
    /// Its tag, once printed.
    pub tag: Option<Tag>,
    /// What it is called.
    pub name: String,
    /// Where it stands.
    pub state: PieceState,
    /// Why it does not move on.
    pub waiting: Option<Waiting>,
    /// What the customer said.
    pub booked: BookedKnife,
    /// What we said then.
    pub estimate: Verdict,
    /// What we measured.
    pub inspection: Option<Inspection>,
    /// What we say now.
    pub verdict: Option<Verdict>,
    /// The price agreed, once it is.
    pub agreed: Option<Money>,
    /// Why it was turned down, for the customer.
    pub turned_down: Option<String>,
    /// What happened to it here and still stands, oldest first.
    #[serde(default)]
    pub mishaps: Vec<Mishap>,
    /// Promised day and time.
    pub due_at: DateTime<Utc>,
    /// Rush.
    pub rush: bool,
    /// When it went home.
    pub home_at: Option<DateTime<Utc>>,
    /// Its pictures.
    pub photos: Vec<PhotoId>,
    /// For optimistic writes.
    pub version: i64,
}

impl Piece {
    /// What it costs as far as we know: agreed, measured or booked.
    pub fn price(&self) -> MoneyRange {
        match (self.agreed, &self.verdict) {
            (Some(total), _) => MoneyRange { low: total, high: total },
            (None, Some(v)) => v.price,
            (None, None) => self.estimate.price,
        }
    }

    /// True while it is damaged and the maker has not decided whether the work goes on.
    pub fn awaits_decision(&self) -> bool {
        self.waiting.as_ref().is_some_and(|w| w.on == WaitsOn::Decision)
    }
}

/// One visit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Visit {
    /// Its id.
    pub id: VisitId,
    /// Its reference.
    pub reference: Reference,
    /// Whose it is.
    pub customer: CustomerId,
    /// Who that is.
    pub contact: Contact,
    /// How it comes.
    pub arrival: Arrival,
    /// True when it goes back by post.
    pub back_by_post: bool,
    /// Declared value.
    pub declared: Money,
    /// Rush.
    pub rush: bool,
    /// A refused blade may be recycled.
    pub recycle_refused: bool,
    /// Promised day and time.
    pub promise_at: DateTime<Utc>,
    /// When it was booked.
    pub booked_at: DateTime<Utc>,
    /// When it was confirmed by mail or by us.
    pub confirmed_at: Option<DateTime<Utc>>,
    /// When it was called off.
    pub cancelled_at: Option<DateTime<Utc>>,
    /// When the first piece was received.
    pub received_at: Option<DateTime<Utc>>,
    /// When the ready notice left.
    pub ready_at: Option<DateTime<Utc>>,
    /// Carrier and number of the parcel back.
    pub parcel: Option<(String, String)>,
    /// Paid: how much and how.
    pub paid: Option<(Money, String)>,
    /// The language its customer booked in.
    #[serde(default)]
    pub language: Lang,
    /// It is a complaint about this earlier visit: what was our fault is put right without charge.
    #[serde(default)]
    pub complaint_of: Option<VisitId>,
    /// Its pieces in order.
    pub pieces: Vec<Piece>,
    /// For optimistic writes.
    pub version: i64,
}

impl Visit {
    /// Price of everything as far as we know, postage not counted.
    pub fn price(&self) -> MoneyRange {
        self.pieces.iter().filter(|p| p.state.is_charged()).map(Piece::price).sum()
    }
}

/// A knife over all its visits.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Knife {
    /// Its id.
    pub id: KnifeId,
    /// Its tag.
    pub tag: Tag,
    /// What it is called.
    pub name: String,
    /// Our model's mark, if it is ours.
    pub model_mark: Option<String>,
    /// Whose it is now.
    pub owner: Option<CustomerId>,
    /// Its latest measures.
    pub latest: Option<Inspection>,
    /// Height over time: `(when, height mm)`, oldest first.
    pub heights: Vec<(DateTime<Utc>, f64)>,
}

/// One bar of the plan: an operation at its station.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlanBar {
    /// The operation.
    pub operation: OperationId,
    /// Its piece.
    pub piece: PieceId,
    /// Tag or reference and number, for people.
    pub label: String,
    /// What the piece is called.
    pub name: String,
    /// What is done.
    pub kind: OperationKind,
    /// Where.
    pub station: String,
    /// In which setup.
    pub setup: String,
    /// Who.
    pub person: Option<String>,
    /// Changeover begins.
    pub changeover_start: DateTime<Utc>,
    /// Work begins.
    pub start: DateTime<Utc>,
    /// Work ends.
    pub end: DateTime<Utc>,
    /// When the piece is due.
    pub due: DateTime<Utc>,
    /// When the piece will be finished.
    pub finish: DateTime<Utc>,
    /// Begun or pinned.
    pub fixed: bool,
    /// From the booking, not from the inspection.
    pub estimated: bool,
}

/// The plan as pages show it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PlanView {
    /// When it was made.
    pub made_at: Option<DateTime<Utc>>,
    /// Its bars in order of start.
    pub bars: Vec<PlanBar>,
    /// What could not be planned, and why.
    pub left_out: Vec<(String, String)>,
    /// Minutes spent in changeovers and dressing.
    pub changeover_minutes: u64,
    /// Minutes of work.
    pub work_minutes: u64,
    /// Pieces that will be late, with minutes.
    pub late: Vec<(PieceId, String, u64)>,
    /// At most this share above the best possible, in per cent, if known.
    pub gap_percent: Option<f64>,
}

//! The ledger of a knife: facts in the order they happened, never edited, only corrected by a new entry.
//!
//! No names, addresses, free text or pictures stand here; they are referred to by id so that a person can be erased and
//! the knife's technical record stays.

use crate::edge::EdgeKind;
use crate::ids::{BillId, EntryId, NoteId, OperationId, PhotoId, StaffId, WheelId};
use crate::money::Money;
use crate::piece::{Amends, Harm, PieceState, WaitsOn};
use crate::route::OperationKind;
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

/// Who did it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "who", content = "id", rename_all = "snake_case")]
pub enum Who {
    /// A person who works here.
    Staff(StaffId),
    /// The customer of the visit.
    Customer,
    /// The program, by a rule.
    Program,
}

/// Measures taken of a blade. Millimetres, degrees, HRC; `None` where not taken.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Measures {
    /// Edge length.
    pub length_mm: Option<f64>,
    /// Height 20 mm before the heel.
    pub height_heel_mm: Option<f64>,
    /// Height at the middle.
    pub height_mm: Option<f64>,
    /// Height 40 mm behind the tip.
    pub height_tip_mm: Option<f64>,
    /// Thickness of the spine.
    pub spine_mm: Option<f64>,
    /// Thickness behind the edge.
    pub behind_edge_mm: Option<f64>,
    /// Half-angle (double) or angle from the back.
    pub angle_deg: Option<f64>,
    /// Flat worn on the edge.
    pub land_mm: Option<f64>,
    /// Deepest chip.
    pub chip_mm: Option<f64>,
    /// Pitch over many gullets.
    pub pitch_mm: Option<f64>,
    /// Bow.
    pub bow_mm: Option<f64>,
    /// Cutting test: force in newtons for plain edges, strokes for teeth.
    pub cut_test: Option<f64>,
}

/// What happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "fact", rename_all = "snake_case")]
pub enum Fact {
    /// Booked with a kind of edge and what the customer said.
    Booked {
        /// Kind of edge.
        edge: EdgeKind,
    },
    /// Confirmed by the customer or by us.
    Confirmed,
    /// Received and tagged.
    Received {
        /// The tag, plain.
        tag: String,
        /// True when it was not in the booking.
        unbooked: bool,
    },
    /// Not in the parcel.
    Missing,
    /// Freed because it never came.
    Lapsed,
    /// A picture was taken.
    Photographed {
        /// Which.
        photo: PhotoId,
    },
    /// Measured.
    Measured {
        /// The figures.
        measures: Measures,
        /// Height the work will take, millimetres.
        recession_mm: f64,
        /// Services left afterwards, cautious and middle; `None` when nothing limits.
        services_left: Option<(u32, u32)>,
        /// What limits.
        limited_by: String,
    },
    /// The price asked.
    Quoted {
        /// Total, tax included.
        total: Money,
    },
    /// The price agreed.
    Agreed {
        /// Total, tax included.
        total: Money,
        /// True when it lay within the booked range and needed no asking.
        within_range: bool,
    },
    /// The customer does not want it done.
    Withdrawn,
    /// We do not do it.
    TurnedDown {
        /// Our word for the reason, e.g. `crack`.
        code: String,
    },
    /// The route was changed from the proposed one.
    RouteChanged {
        /// Operations now on the route.
        operations: Vec<OperationKind>,
    },
    /// It has its place in the plan.
    LinedUp,
    /// The promised day was moved and the customer told.
    PromiseMoved {
        /// From.
        from: DateTime<Utc>,
        /// To.
        to: DateTime<Utc>,
    },
    /// It waits.
    Waits {
        /// On whom.
        on: WaitsOn,
    },
    /// It no longer waits.
    GoesOn,
    /// An operation began.
    Started {
        /// Which.
        operation: OperationId,
        /// What kind.
        kind: OperationKind,
        /// The wheel or stone used, where one is.
        #[serde(default)]
        wheel: Option<WheelId>,
    },
    /// An operation ended.
    Done {
        /// Which.
        operation: OperationId,
        /// What kind.
        kind: OperationKind,
        /// How long it took.
        minutes: u32,
        /// What was measured afterwards.
        #[serde(default)]
        measures: Measures,
    },
    /// An operation was stopped.
    Stopped {
        /// Which.
        operation: OperationId,
        /// Our word for the reason.
        code: String,
    },
    /// The check.
    Checked {
        /// Passed or not.
        passed: bool,
        /// What was looked at and how it was: burr, angle, straightness, colour.
        findings: Vec<String>,
        /// The measures of the check, its cutting test among them.
        measures: Measures,
        /// How the cutting test was made, by the code of [`crate::work::METHODS`].
        #[serde(default, skip_serializing_if = "Option::is_none")]
        method: Option<String>,
        /// The cutting test's number before the work, by the same method.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        before: Option<f64>,
        /// What is done again, when it did not pass.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        again: Vec<OperationKind>,
    },
    /// All done, told to the customer.
    Ready,
    /// Handed back or posted.
    Returned {
        /// By parcel, or over the counter.
        by_post: bool,
    },
    /// Paid.
    Paid {
        /// How much.
        amount: Money,
        /// On which bill.
        bill: Option<BillId>,
    },
    /// Moved from one state to another by hand.
    Moved {
        /// From.
        from: PieceState,
        /// To.
        to: PieceState,
    },
    /// It came to harm while it was with us; the note says what the customer was told.
    Harmed {
        /// What happened.
        harm: Harm,
        /// Where it stood.
        stood: PieceState,
    },
    /// The harm of an earlier entry is no more: it was found, or it was not damaged after all.
    SetRight {
        /// Which entry.
        entry: EntryId,
        /// What it had said.
        harm: Harm,
    },
    /// A harm is settled with the customer; the note says what was agreed. A later entry about the same harm takes the place
    /// of an earlier one.
    Settled {
        /// The entry of the harm.
        harm: EntryId,
        /// How it is made good.
        amends: Amends,
        /// What it came to, where there is a figure.
        amount: Option<Money>,
    },
    /// An earlier entry was wrong; this is how it is.
    Corrects {
        /// Which entry.
        entry: EntryId,
        /// The right figures.
        measures: Measures,
    },
}

/// One entry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Its id.
    pub id: EntryId,
    /// When, UTC.
    pub at: DateTime<Utc>,
    /// Who.
    pub who: Who,
    /// What.
    pub fact: Fact,
    /// Why: a note kept elsewhere.
    pub why: Option<NoteId>,
}

impl Fact {
    /// One sentence for people, without figures that have a place of their own.
    pub fn sentence(&self) -> String {
        match self {
            Self::Booked { edge } => format!("Booked: {edge}."),
            Self::Confirmed => "Booking confirmed.".into(),
            Self::Received { tag, unbooked: false } => format!("Received, tag {tag}."),
            Self::Received { tag, unbooked: true } => format!("Received though not booked, tag {tag}."),
            Self::Missing => "Not in the parcel.".into(),
            Self::Lapsed => "Never arrived; its place was freed.".into(),
            Self::Photographed { .. } => "Photographed.".into(),
            Self::Measured { recession_mm, .. } => {
                format!("Measured; the work takes {} mm of height.", crate::units::short(*recession_mm, 2))
            }
            Self::Quoted { .. } => "Price asked.".into(),
            Self::Agreed { within_range: true, .. } => {
                "Agreed by itself: the price lies within the booked range.".into()
            }
            Self::Agreed { within_range: false, .. } => "Agreed.".into(),
            Self::Withdrawn => "Withdrawn by the customer.".into(),
            Self::TurnedDown { code } => format!("Turned down: {code}."),
            Self::RouteChanged { operations } => {
                let names: Vec<_> = operations.iter().map(|o| o.words()).collect();
                format!("Route changed to: {}.", names.join(", "))
            }
            Self::LinedUp => "In line for the bench.".into(),
            Self::PromiseMoved { .. } => "The promised day was moved; the customer was told.".into(),
            Self::Waits { on: WaitsOn::Customer } => "Waits for the customer.".into(),
            Self::Waits { on: WaitsOn::Shop } => "Waits for us.".into(),
            Self::Waits { on: WaitsOn::Parts } => "Waits for parts.".into(),
            Self::Waits { on: WaitsOn::Decision } => "Waits for the maker's decision.".into(),
            Self::GoesOn => "Goes on.".into(),
            Self::Started { kind, .. } => format!("Begun: {kind}."),
            Self::Done { kind, minutes, .. } => format!("Done: {kind}, {minutes} min."),
            Self::Stopped { code, .. } => format!("Stopped: {code}."),
            Self::Checked { passed: true, .. } => "Checked: passed.".into(),
            Self::Checked { passed: false, .. } => "Checked: not yet good.".into(),
            Self::Ready => "Ready.".into(),
            Self::Returned { by_post: true } => "Sent back.".into(),
            Self::Returned { by_post: false } => "Handed back.".into(),
            Self::Paid { .. } => "Paid.".into(),
            Self::Moved { from, to } => format!("Moved by hand from {from} to {to}."),
            Self::Harmed { harm: Harm::Lost, .. } => "Lost while it was with us.".into(),
            Self::Harmed { harm: Harm::Damaged, .. } => "Damaged while it was with us.".into(),
            Self::SetRight { harm: Harm::Lost, .. } => {
                "Found again; the entry that it was lost no longer holds.".into()
            }
            Self::SetRight { harm: Harm::Damaged, .. } => {
                "Not damaged after all; the entry that it was no longer holds.".into()
            }
            Self::Settled { amends: Amends::Replaced, .. } => {
                "Settled: it is replaced by another knife.".into()
            }
            Self::Settled { amends: Amends::Paid, .. } => "Settled: it is paid for.".into(),
            Self::Settled { amends: Amends::Other, .. } => "Settled with the customer.".into(),
            Self::Corrects { .. } => "Corrects an earlier entry.".into(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn facts_keep_their_names_in_the_store() {
        let fact = Fact::Received { tag: "7KM2QX".into(), unbooked: false };
        assert_eq!(
            serde_json::to_string(&fact).unwrap(),
            r#"{"fact":"received","tag":"7KM2QX","unbooked":false}"#
        );
        let old = r#"{"fact":"started","operation":"00000000-0000-0000-0000-000000000000","kind":"bevel"}"#;
        assert!(matches!(serde_json::from_str::<Fact>(old).unwrap(), Fact::Started { wheel: None, .. }));
    }
}

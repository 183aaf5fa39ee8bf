//! Where a piece stands and which way it may go next.

use crate::ids::{CustomerId, EntryId, KnifeId, PieceId};
use crate::money::Money;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

macro_rules! states {
    ($($(#[$doc:meta])* $name:ident = $code:literal, $staff:literal, $customer:literal;)*) => {
        /// Where a piece stands.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum PieceState {
            $($(#[$doc])* $name,)*
        }

        impl PieceState {
            /// All states, the straight way first.
            pub const ALL: &'static [Self] = &[$(Self::$name,)*];

            /// The word used in JSON and the store.
            pub fn code(self) -> &'static str {
                match self { $(Self::$name => $code,)* }
            }

            /// What staff read.
            pub fn words(self) -> &'static str {
                match self { $(Self::$name => $staff,)* }
            }

            /// The sentence a customer reads.
            pub fn sentence(self) -> &'static str {
                match self { $(Self::$name => $customer,)* }
            }
        }
    };
}

states! {
    /// Booked, not here yet.
    Expected = "expected", "expected", "We are waiting for this knife to arrive.";
    /// Arrived and tagged.
    InHand = "in_hand", "in hand", "It has arrived and wears its tag; we measure it next.";
    /// Measured; the price is known.
    Measured = "measured", "measured", "We have measured it; the price waits for your answer.";
    /// Price agreed.
    Agreed = "agreed", "agreed", "The work is agreed; it is getting its place in the plan.";
    /// Has a place in the plan.
    InLine = "in_line", "in line", "It is in line for the bench.";
    /// Work has begun.
    AtBench = "at_bench", "at the bench", "It is being worked on.";
    /// Passed its check.
    Proven = "proven", "proven", "It is sharp and has passed its check; the finish comes next.";
    /// All work done.
    Finished = "finished", "finished", "All work on it is done.";
    /// Waiting to be fetched or sent.
    Ready = "ready", "ready", "It is ready.";
    /// Handed back.
    Home = "home", "home", "It is back with you.";
    /// We do not do this one.
    TurnedDown = "turned_down", "turned down", "We cannot do this one; the reason is below.";
    /// The customer took it back unground.
    Withdrawn = "withdrawn", "withdrawn", "You asked us not to do this one.";
    /// Was not in the parcel.
    Missing = "missing", "missing", "It was not in the parcel. We will ask you about it.";
    /// It cannot be found here.
    Lost = "lost", "lost here", "We cannot find it. It was lost while it was with us; we are looking for it.";
    /// It was lost or spoilt here, and that is settled with the customer: it does not go back.
    Settled = "settled", "settled", "It does not come back to you; we have settled that with you.";
    /// Never sent.
    Lapsed = "lapsed", "lapsed", "It never reached us, so we have freed its place.";
}

impl fmt::Display for PieceState {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

impl FromStr for PieceState {
    type Err = ();
    fn from_str(code: &str) -> Result<Self, ()> {
        Self::ALL.iter().copied().find(|s| s.code() == code).ok_or(())
    }
}

/// Something that happens to a piece and may change where it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Event {
    /// It came out of the parcel or over the counter.
    Arrive,
    /// The parcel was opened and it was not in it.
    Miss,
    /// It was never sent.
    Lapse,
    /// Its measures were taken (again).
    Measure,
    /// The price is agreed.
    Agree,
    /// The plan has a place for it.
    LineUp,
    /// The first operation begins.
    Start,
    /// The check was passed.
    Pass,
    /// The check failed, or more work is needed: back into line.
    Rework,
    /// The last operation is done.
    Finish,
    /// It may be told to the customer.
    Present,
    /// It was handed back or posted.
    Return,
    /// We do not do it.
    TurnDown,
    /// The customer does not want it done.
    Withdraw,
    /// It cannot be found in the shop.
    Lose,
    /// What it came to here is settled with the customer, and it does not go back.
    Settle,
}

/// An event that cannot happen to a piece where it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("a piece that is {from} cannot {}", verb(*.event))]
pub struct NotNow {
    /// Where the piece stands.
    pub from: PieceState,
    /// What was tried.
    pub event: Event,
}

fn verb(event: Event) -> &'static str {
    match event {
        Event::Arrive => "be received",
        Event::Miss => "be marked missing",
        Event::Lapse => "lapse",
        Event::Measure => "be measured",
        Event::Agree => "be agreed",
        Event::LineUp => "be put in line",
        Event::Start => "be started",
        Event::Pass => "pass its check",
        Event::Rework => "go back to the bench",
        Event::Finish => "be finished",
        Event::Present => "be presented",
        Event::Return => "be handed back",
        Event::TurnDown => "be turned down",
        Event::Withdraw => "be withdrawn",
        Event::Lose => "be lost here",
        Event::Settle => "be settled",
    }
}

impl PieceState {
    /// Where the piece stands after `event`.
    pub fn after(self, event: Event) -> Result<Self, NotNow> {
        use PieceState as S;
        let next = match (self, event) {
            (S::Expected | S::Missing | S::Lapsed, Event::Arrive) => S::InHand,
            (S::Expected, Event::Miss) => S::Missing,
            (S::Expected | S::Missing, Event::Lapse) => S::Lapsed,
            // Until the first operation begins a piece may be measured again; the quote is then new.
            (S::InHand | S::Measured | S::Agreed | S::InLine, Event::Measure) => S::Measured,
            (S::Measured, Event::Agree) => S::Agreed,
            (S::Agreed, Event::LineUp) => S::InLine,
            (S::Agreed | S::InLine | S::AtBench, Event::Start) => S::AtBench,
            (S::AtBench, Event::Pass) => S::Proven,
            (S::AtBench | S::Proven | S::Finished | S::Ready, Event::Rework) => S::InLine,
            (S::AtBench | S::Proven, Event::Finish) => S::Finished,
            (S::Finished, Event::Present) => S::Ready,
            // Work refused or withdrawn goes home as it is.
            (S::Ready | S::TurnedDown | S::Withdrawn, Event::Return) => S::Home,
            // Finished work is turned down only when it comes to harm here.
            (
                S::InHand
                | S::Measured
                | S::Agreed
                | S::InLine
                | S::AtBench
                | S::Proven
                | S::Finished
                | S::Ready,
                Event::TurnDown,
            ) => S::TurnedDown,
            (S::Expected | S::InHand | S::Measured | S::Agreed | S::InLine | S::Missing, Event::Withdraw) => {
                S::Withdrawn
            }
            (from, Event::Lose) if from.is_here() => S::Lost,
            (S::Lost | S::TurnedDown, Event::Settle) => S::Settled,
            (from, event) => return Err(NotNow { from, event }),
        };
        Ok(next)
    }

    /// True while the shop has the piece in its hands.
    pub fn is_here(self) -> bool {
        !matches!(
            self,
            Self::Expected | Self::Home | Self::Missing | Self::Lapsed | Self::Lost | Self::Settled
        )
    }

    /// True while there is still work to plan for it.
    pub fn has_work_ahead(self) -> bool {
        matches!(
            self,
            Self::Expected
                | Self::InHand
                | Self::Measured
                | Self::Agreed
                | Self::InLine
                | Self::AtBench
                | Self::Proven
        )
    }

    /// True where something may be asked for it: not for what never came, what we turn down, or what was lost or spoilt here.
    pub fn is_charged(self) -> bool {
        !matches!(self, Self::TurnedDown | Self::Missing | Self::Lapsed | Self::Lost | Self::Settled)
    }

    /// True when nothing more will happen to it in this visit.
    pub fn is_over(self) -> bool {
        Self::OVER.contains(&self)
    }

    /// Where a piece stands when nothing more will happen to it in its visit.
    pub const OVER: &'static [Self] = &[Self::Home, Self::Settled, Self::Lapsed];
}

/// On whom a piece waits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WaitsOn {
    /// The customer has to answer.
    Customer,
    /// The shop has to decide or find out.
    Shop,
    /// A wheel, stone or part has to come.
    Parts,
    /// It was damaged here: the maker decides whether the work goes on.
    Decision,
}

/// Why a piece does not move on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Waiting {
    /// On whom.
    pub on: WaitsOn,
    /// For what, in words.
    pub what: String,
}

/// What can happen to a customer's knife while it is with us.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Harm {
    /// It cannot be found.
    Lost,
    /// It was damaged.
    Damaged,
}

impl Harm {
    /// From the word in forms and at the bench.
    pub fn parse(code: &str) -> Option<Self> {
        match code {
            "lost" => Some(Self::Lost),
            "damaged" => Some(Self::Damaged),
            _ => None,
        }
    }
}

/// A harm that was recorded and still stands. What was corrected is in the ledger only.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mishap {
    /// What happened.
    pub harm: Harm,
    /// What the customer reads about it.
    pub words: String,
    /// The ledger's entry.
    pub entry: EntryId,
    /// Where the piece stood; it stands there again when it is found.
    pub stood: PieceState,
    /// What it waited for before.
    #[serde(default)]
    pub waited: Option<Waiting>,
    /// The notice that tells the customer, by its id in the outbox.
    #[serde(default)]
    pub notice: Option<uuid::Uuid>,
    /// How it was settled with the customer, once it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub settled: Option<Settlement>,
}

/// How a harm is made good.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Amends {
    /// The customer gets another knife for it.
    Replaced,
    /// The customer gets money for it.
    Paid,
    /// Something else was agreed; the words say what.
    Other,
}

impl Amends {
    /// From the word in forms.
    pub fn parse(code: &str) -> Option<Self> {
        match code {
            "replaced" => Some(Self::Replaced),
            "paid" => Some(Self::Paid),
            "other" => Some(Self::Other),
            _ => None,
        }
    }
}

/// What was agreed with the customer about a harm. A later one takes the place of an earlier one; the ledger has both.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settlement {
    /// How it is made good.
    pub amends: Amends,
    /// What it came to, where there is a figure: what was paid, or the worth of what was given.
    pub amount: Option<Money>,
    /// What the customer reads about it.
    pub words: String,
    /// The ledger's entry.
    pub entry: EntryId,
    /// The notice that tells the customer, by its id in the outbox.
    pub notice: Option<uuid::Uuid>,
}

/// Which knife of whom a piece is; what hand-back compares.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Belongs {
    /// The piece.
    pub piece: PieceId,
    /// The physical knife.
    pub knife: Option<KnifeId>,
    /// Whose visit it is in.
    pub customer: CustomerId,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_piece_goes_the_straight_way_home() {
        use Event::*;
        let mut at = PieceState::Expected;
        for (event, then) in [
            (Arrive, "in hand"),
            (Measure, "measured"),
            (Agree, "agreed"),
            (LineUp, "in line"),
            (Start, "at the bench"),
            (Pass, "proven"),
            (Finish, "finished"),
            (Present, "ready"),
            (Return, "home"),
        ] {
            at = at.after(event).unwrap();
            assert_eq!(at.words(), then);
        }
        assert!(at.is_over());
    }

    #[test]
    fn steel_once_ground_cannot_be_withdrawn_or_measured_as_new() {
        for event in [Event::Withdraw, Event::Measure] {
            let err = PieceState::AtBench.after(event).unwrap_err();
            assert_eq!(err.from, PieceState::AtBench);
        }
        assert_eq!(
            PieceState::Home.after(Event::Start).unwrap_err().to_string(),
            "a piece that is home cannot be started"
        );
    }

    #[test]
    fn a_failed_check_goes_back_into_line_and_a_late_parcel_is_still_received() {
        assert_eq!(PieceState::AtBench.after(Event::Rework), Ok(PieceState::InLine));
        assert_eq!(PieceState::Lapsed.after(Event::Arrive), Ok(PieceState::InHand));
        assert_eq!(PieceState::Missing.after(Event::Arrive), Ok(PieceState::InHand));
    }

    #[test]
    fn only_what_is_here_is_lost_here_and_what_is_lost_has_no_work_ahead() {
        for from in PieceState::ALL {
            assert_eq!(from.after(Event::Lose).is_ok(), from.is_here(), "{from}");
        }
        assert!(!PieceState::Lost.is_here() && !PieceState::Lost.has_work_ahead());
        assert_eq!(
            PieceState::Lost.after(Event::Return).unwrap_err().to_string(),
            "a piece that is lost here cannot be handed back"
        );
        assert_eq!(PieceState::Lost.after(Event::Settle), Ok(PieceState::Settled));
        assert!(PieceState::Settled.is_over() && !PieceState::Settled.is_here());
        assert!(PieceState::Ready.after(Event::Settle).is_err(), "sound work goes home");
    }

    #[test]
    fn every_state_has_its_own_code_and_words() {
        for (i, a) in PieceState::ALL.iter().enumerate() {
            assert_eq!(a.code().parse(), Ok(*a));
            assert!(PieceState::ALL[i + 1..].iter().all(|b| a.words() != b.words()));
        }
    }
}

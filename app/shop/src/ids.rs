//! Typed identifiers: a piece cannot be taken for a visit.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use uuid::Uuid;

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub Uuid);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = uuid::Error;
            fn from_str(s: &str) -> Result<Self, Self::Err> {
                Uuid::parse_str(s).map(Self)
            }
        }

        impl From<Uuid> for $name {
            fn from(id: Uuid) -> Self {
                Self(id)
            }
        }
    )*};
}

ids! {
    /// A person who brings or sends knives.
    CustomerId;
    /// A physical blade, over all its visits.
    KnifeId;
    /// A design the shop makes.
    ModelId;
    /// One booking.
    VisitId;
    /// One knife within one visit.
    PieceId;
    /// One step of a piece's route.
    OperationId;
    /// A person who works here.
    StaffId;
    /// A picture of a piece.
    PhotoId;
    /// A wheel, stone or belt.
    WheelId;
    /// A numbered bill.
    BillId;
    /// Free text, kept outside the ledger so that it can be erased.
    NoteId;
    /// An entry of the ledger.
    EntryId;
}

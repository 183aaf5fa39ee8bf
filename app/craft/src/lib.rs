//! Sharpening geometry, blade life, heat and grit: what grinding does to a knife, in numbers.
//!
//! The crate knows sections, teeth, hardness up the blade, steels, grains and wheels. It refuses to know prices,
//! people, time of day, files and sockets: values in, values out, the same digits in a server and in a browser.
//! Lengths are mm, angles degrees, temperatures °C, masses g, unless a name says otherwise.
//!
//! Where the meaning of a figure leaves a choice, the reading that is exact on the steel is taken:
//!
//! - A serrated blade's thickness is `behind_edge_mm` at the line through the *unworn* tooth tips and grows evenly to the spine, which stands λ
//!   higher above that line than above today's worn one. A primary grind given for such a blade is not used.
//! - Land and rounding wear a serrated edge everywhere alike; flats on the tips are cut level across the tooth.
//! - A chip in teeth is measured from today's local edge; chips beyond a missing tip are gone with it.
//! - The same wheel at a steeper angle cuts shallower teeth: the depth it no longer reaches counts as another wheel's mismatch.
//! - A broken tooth costs its depth, but its own metal is not deducted: one depth does not tell a fragment's shape.
//! - A row recut in step with the old one is told by one pitch, any other by the whole edge.
//! - `tip_mm3` moves a 45° point back by the length lost and counts only what the new bevel leaves.
//! - Percentiles of services: the least count whose chance of not being exceeded reaches 10, 50, 90 %.
//!
//! ```
//! let request = serde_json::from_str::<craft::Request>(
//!     r#"{"steel": "1.3505",
//!         "blade": {"edge_length_mm": 210, "height_mm": 46, "spine_mm": 2.4, "behind_edge_mm": 0.35},
//!         "edge": {"kind": "double", "half_angle_deg": 15},
//!         "target": {"allowance_mm": 0.5},
//!         "typical_recession_mm": {"median": 0.15}}"#,
//! )?;
//! let estimate = craft::estimate(&request, &craft::Rates::default())?;
//! assert!((estimate.removed.section_mm2 - 0.181171).abs() < 1e-6);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod advice;
mod answer;
pub mod booked;
mod checked;
pub mod checks;
mod chips;
pub mod curve;
pub mod drawing;
mod estimate;
mod figures;
pub mod grit;
mod ground;
pub mod hardness;
pub mod heat;
mod impossible;
pub mod kernel;
pub mod learn;
pub mod life;
mod line;
mod num;
mod pattern;
mod plain;
mod profile;
mod rates;
pub mod recut;
mod register;
mod request;
mod serrated;
mod steels;
mod steps;
pub mod wheel;

pub use answer::{After, Estimate, Limit, Note, Registered, Removed, ServicesLeft, YearsLeft, together};
pub use estimate::estimate;
pub use impossible::Impossible;
pub use line::line;
pub use num::sort_short;
pub use rates::{Ignored, Rates, RemovalRate};
pub use request::{
    Blade, Chip, Edge, EdgeKind, Form, Grind, GrindKind, Hardness, MissingTooth, Mode, More, Recession,
    Request, Target, ToothShape, Wear, WheelShape,
};
pub use steels::{Corrosion, Figure, Steel, steel, steels, unknown_steel};
pub use steps::{Cut, Operation, Step};

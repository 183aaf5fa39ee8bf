//! Sharpening geometry, blade life, heat and grit: what grinding does to a knife, in numbers.
//!
//! The crate knows sections, teeth, hardness up the blade, steels, grains and wheels. It refuses to know prices,
//! people, time of day, files and sockets: values in, values out, the same digits in a server and in a browser.
//! Lengths are mm, angles degrees, temperatures °C, masses g, unless a name says otherwise.
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

pub use answer::{After, Estimate, Limit, Note, Registered, Removed, ServicesLeft, YearsLeft};
pub use estimate::estimate;
pub use impossible::Impossible;
pub use line::line;
pub use rates::{Ignored, Rates, RemovalRate};
pub use request::{
    Blade, Chip, Edge, EdgeKind, Form, Grind, GrindKind, Hardness, MissingTooth, Mode, Recession, Request,
    Target, ToothShape, Wear, WheelShape,
};
pub use steels::{Corrosion, Figure, Steel, steel, steels, unknown_steel};
pub use steps::{Operation, Step};

//! Small drawings of our own: edges, damages, stations, states, cautions.
//!
//! All are drawn on 32 by 32 with a line of 2, cut square like steel, in the colour of the words beside them. Class `f` is
//! a soft fill, `a` a line and `af` a fill in the accent. They always stand beside words that say the same, so they are
//! silent to screen readers.

use leptos::prelude::*;
use shop::bench::StationKind;
use shop::edge::EdgeKind;
use shop::piece::PieceState;

macro_rules! pictures {
    ($($(#[$doc:meta])* $name:ident = $words:literal, $svg:literal;)*) => {
        /// What is drawn.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum Picture {
            $($(#[$doc])* $name,)*
        }

        impl Picture {
            /// All drawings, by kind.
            pub const ALL: &'static [Self] = &[$(Self::$name,)*];

            /// What it shows, in words.
            pub fn words(self) -> &'static str {
                match self { $(Self::$name => $words,)* }
            }

            fn lines(self) -> &'static str {
                match self { $(Self::$name => $svg,)* }
            }
        }
    };
}

pictures! {
    /// Section of a blade with two bevels.
    EdgeDouble = "double bevel", r#"<path class="f" d="M8 2h16l-4 19-4 9-4-9Z"/><path d="M12 21h8"/>"#;
    /// Section of a blade with one bevel and a flat back.
    EdgeSingle = "single bevel", r#"<path class="f" d="M9 2h14v28L13 18Z"/><path d="M13 18h10"/>"#;
    /// Teeth with round hollows.
    EdgeArc = "arc teeth", r#"<path class="f" d="M2 6h28v17a3.500 5 0 0 0-7 0 3.500 5 0 0 0-7 0 3.500 5 0 0 0-7 0 3.500 5 0 0 0-7 0Z"/><path d="M2 14h28"/>"#;
    /// A smooth wave.
    EdgeWavy = "wavy teeth", r#"<path class="f" d="M2 6h28v15c-2.300 0-2.300 4-4.700 4s-2.300-4-4.600-4-2.400 4-4.700 4-2.300-4-4.700-4-2.300 4-4.600 4-2.300-4-4.700-4Z"/><path d="M2 14h28"/>"#;
    /// Straight-sided teeth.
    EdgePointed = "pointed teeth", r#"<path class="f" d="M2 6h28v18l-3.500-6-3.500 6-3.500-6-3.500 6-3.500-6L9 24l-3.500-6L2 24Z"/><path d="M2 13h28"/>"#;

    /// An edge gone round.
    Dull = "dull", r#"<path class="f" d="M8 2h16l-4 19a4 4 0 0 1-8 0Z"/><path class="a" d="M6 23a10 7 0 0 0 20 0"/>"#;
    /// Pieces out of the edge.
    Chips = "chips", r#"<path class="f" d="M2 7h28v17h-8l-2-7-3 3-2 4h-3l-2-4-2 4H2Z"/><path d="M2 14h14m8 0h6"/>"#;
    /// The point is gone.
    TipMissing = "tip missing", r#"<path class="f" d="M30 9H12l2 4-3 3 2 5h17Z"/><path class="a" stroke-dasharray="2.500 2" d="M10 9c-4 1-7 4-8 9 3 2 6 3 9 3"/>"#;
    /// Teeth rubbed flat.
    TeethWorn = "teeth worn or missing", r#"<path class="f" d="M2 6h28v14c-2-1-5-1-7 0s-4 1-7 4a3.500 5 0 0 0-7 0 3.500 5 0 0 0-7 0Z"/><path class="a" stroke-dasharray="2.500 2" d="M29 25a3.500 4 0 0 0-6 0"/>"#;
    /// Not straight.
    Bent = "bent", r#"<path class="f" d="M2 17h10v7H2Z"/><path stroke-width="3" d="M12 20.500c8 0 14-4 17-13"/><path class="a" stroke-dasharray="2.500 2" d="M14 24h16"/>"#;
    /// Rust.
    Rust = "rust", r#"<path class="f" d="M2 7h28v18H2Z"/><path d="M2 20h28"/><path class="af" d="M6 11h5v3l-2 2H6Zm12-1h7l2 3-3 4h-4l-3-3Zm-6 6h3v2h-3Z"/>"#;
    /// Loose, swollen or dry handle.
    Handle = "handle", r#"<path class="f" d="M2 19h27v6H2Z"/><path d="M2 16h28"/><path class="f" d="M3 13 28 5l1 5"/><path fill="currentColor" stroke="none" d="M7 21h2v2H7Zm14 0h2v2h-2Z"/>"#;
    /// A crack in the blade.
    Crack = "crack", r#"<path class="f" d="M2 7h28v18H2Z"/><path d="M2 20h11m8 0h9"/><path class="a" d="m17 25-2-5 4-3-3-4 2-3"/>"#;
    /// A ceramic blade: not steel.
    Ceramic = "ceramic", r#"<path class="f" d="M2 22C4 12 9 9 15 9h15v13Z"/><path stroke-dasharray="1 3" d="M12 14h16M9 18h19"/>"#;

    /// A caliper.
    Inspection = "inspection", r#"<path class="f" d="M2 5h28v5H2Z"/><path d="M4 10v17l5-6V10m14 0v17l-5-6V10"/><path class="a" d="M11 16h5"/>"#;
    /// A grinding wheel with its rest.
    Wheel = "wheel", r#"<circle class="f" cx="13" cy="14" r="11"/><circle cx="13" cy="14" r="2.500"/><path d="M25 16h6v5m-18 4v4m-8 0h18"/>"#;
    /// A narrow disc on a long spindle.
    ToothSpindle = "tooth spindle", r#"<path d="M2 14h14m-14 4h14"/><path class="f" d="M16 7h4v18h-4Z"/><path class="a" d="m30 8-7 4 4 4-4 4 7 4"/>"#;
    /// A belt over two rollers.
    Belt = "belt", r#"<path class="f" d="M8 8h16a8 8 0 0 1 0 16H8A8 8 0 0 1 8 8Z"/><circle cx="8" cy="16" r="3"/><circle cx="24" cy="16" r="3"/>"#;
    /// A wheel that runs in water.
    WetWheel = "wet wheel", r#"<circle class="f" cx="16" cy="13" r="10"/><circle cx="16" cy="13" r="2.500"/><path d="M2 18v11h28V18"/><path class="a" d="m4 24 4-2 4 2 4-2 4 2 4-2 4 2"/>"#;
    /// A stone and a hand's work.
    Hand = "by hand", r#"<path class="f" d="M2 21h28v7H2Z"/><path d="M5 18 24 6l5 2-3 4-12 6Z"/>"#;
    /// Three-point pressing.
    Straighten = "straightening", r#"<path stroke-width="3" d="M2 18c9 3 19 3 28 0"/><path class="f" d="M4 23h5v5H4Zm19 0h5v5h-5Z"/><path class="a" d="M16 3v11m-4-4 4 4 4-4"/>"#;
    /// A handle with its pins.
    HandleWork = "handle work", r#"<path class="f" d="M2 10h25l3 3v6l-3 3H2Z"/><circle cx="9" cy="16" r="2.500"/><circle cx="21" cy="16" r="2.500"/>"#;
    /// A basin with a blade in it.
    Bath = "bath", r#"<path d="M3 12v16h26V12"/><path class="a" d="m5 17 3-2 4 2m8 0 4-2 3 2"/><path class="f" d="M13 3h6v16l-6 5Z"/>"#;
    /// A box.
    Parcel = "parcel", r#"<path class="f" d="M3 10 16 4l13 6v13l-13 6-13-6Z"/><path d="m3 10 13 6 13-6M16 16v13"/>"#;

    /// A tag not yet filled.
    Expected = "expected", r#"<path stroke-dasharray="3.500 2.500" d="M6 12 16 3l10 9v17H6Z"/>"#;
    /// A tag tied on.
    InHand = "in hand", r#"<path class="f" d="M6 12 16 3l10 9v17H6Z"/><circle cx="16" cy="13" r="2.500"/>"#;
    /// Between two jaws.
    Measured = "measured", r#"<path d="M3 5v22M29 5v22M7 16h18m-13-5-5 5 5 5m8-10 5 5-5 5"/>"#;
    /// A tag with a tick.
    Agreed = "agreed", r#"<path class="f" d="M6 12 16 3l10 9v17H6Z"/><path d="m10 19 5 5 7-10"/>"#;
    /// A queue.
    InLine = "in line", r#"<path d="M3 7h14M3 16h14M3 25h14m5-15 6 6-6 6"/>"#;
    /// A wheel that throws sparks.
    AtBench = "at the bench", r#"<circle class="f" cx="12" cy="18" r="9"/><circle cx="12" cy="18" r="2"/><path class="a" d="m20 9 5-6m-2 10 7-4m-6 8h7"/>"#;
    /// A tick over an edge.
    Proven = "proven", r#"<path d="m5 14 8 8L28 5M3 29h26"/>"#;
    /// All steps ticked.
    Finished = "finished", r#"<path d="m2 17 7 7L22 8m-9 14 2 2L30 8"/>"#;
    /// Out of the box.
    Ready = "ready", r#"<path d="M4 15v13h24V15M16 21V4m-7 7 7-7 7 7"/>"#;
    /// A house.
    Home = "home", r#"<path class="f" d="M4 14 16 4l12 10v15H4Z"/><path d="M12 29V19h8v10"/>"#;
    /// Struck out.
    TurnedDown = "turned down", r#"<circle cx="16" cy="16" r="12"/><path d="m8 24 16-16"/>"#;
    /// The way back.
    Withdrawn = "withdrawn", r#"<path d="m11 6-7 7 7 7m-7-7h17a7 7 0 0 1 0 14h-8"/>"#;
    /// A place where a knife should be.
    Missing = "missing", r#"<path stroke-dasharray="3.500 2.500" d="M3 3h26v26H3Z"/><path d="M12 13q0-4 4-4t4 3.500q0 2-2 3.500t-2 4"/><path fill="currentColor" stroke="none" d="M14.500 22h3v3h-3Z"/>"#;
    /// An empty place under a searching glass.
    Lost = "lost here", r#"<circle class="f" cx="13" cy="13" r="10"/><path stroke-width="3" d="m20 20 9 9"/><path stroke-dasharray="2.500 2" d="M8 16 17 8"/>"#;
    /// An empty place with a tick: closed.
    Settled = "settled", r#"<path stroke-dasharray="3.500 2.500" d="M3 3h26v26H3Z"/><path stroke-width="3" d="m9 16 5 6 9-12"/>"#;
    /// Time ran out.
    Lapsed = "lapsed", r#"<path d="M6 4h20M6 28h20"/><path class="f" d="M9 4v5l14 14v5H9v-5L23 9V4"/>"#;

    /// Safety glasses.
    Eye = "protect your eyes", r#"<path class="f" d="M3 11h26v8l-4 5h-5l-3-6h-2l-3 6H7l-4-5Z"/><path d="m3 12-2-3m28 3 2-3"/>"#;
    /// A dust mask.
    Lung = "protect your lungs", r#"<path class="f" d="M6 12 16 8l10 4v9l-10 7-10-7Z"/><path d="M6 13 1 9m25 4 5-4M11 17h10m-10 4h10"/>"#;
    /// Ear muffs.
    Ear = "protect your hearing", r#"<path d="M6 18v-3a10 10 0 0 1 20 0v3"/><path class="f" d="M3 18h6v9H3Zm20 0h6v9h-6Z"/>"#;
    /// No gloves by a turning wheel.
    GlovesOff = "gloves off", r#"<path class="f" d="M11 29v-7l-6-7 2-3 5 4V6h3v8h1V4h3v10h1V5h3v9h1V8h3v13l-3 8Z"/><path class="a" stroke-width="3" d="M3 3l26 26"/>"#;
    /// Cut-resistant gloves.
    GlovesOn = "gloves on", r#"<path class="f" d="M11 29v-7l-6-7 2-3 5 4V6h3v8h1V4h3v10h1V5h3v9h1V8h3v13l-3 8Z"/><path d="M11 25h14"/>"#;
    /// Hot steel.
    Hot = "hot steel", r#"<path class="f" d="M2 24h28v5H2Z"/><path class="a" d="M8 20c-4-5 4-8 0-14m8 14c-4-5 4-8 0-14m8 14c-4-5 4-8 0-14"/>"#;
    /// It cuts.
    Cut = "sharp edge", r#"<path class="f" d="M2 4h28l-6 9H2Z"/><path d="M2 10h24"/><path class="af" d="m16 17 4 6v3l-2 3h-4l-2-3v-3Z"/>"#;
    /// Slippery.
    WetFloor = "wet floor", r#"<path class="f" d="m16 3 6 9v3l-3 4h-6l-3-4v-3Z"/><path d="m2 27 5-3 4 3 5-3 5 3 4-3 5 3"/>"#;
    /// Never faster than marked.
    Speed = "marked speed", r#"<path class="f" d="M4 25a13 13 0 1 1 24 0Z"/><path class="a" d="m16 19 7-8"/><path d="M16 7v3m-9 9h3m12 0h3"/>"#;
    /// Dust and rags that burn by themselves.
    Fire = "fire", r#"<path class="f" d="M16 3q1 6 6 10t3 10l-5 6h-8l-5-6q-1-5 3-9l2 3q4-6 4-14Z"/><path class="a" d="m16 19-3 5 3 4 3-4Z"/>"#;
    /// Chemicals.
    Chemical = "chemicals", r#"<path d="M10 3h12M13 3v8L5 26l2 3h18l2-3-8-15V3"/><path class="f" d="m9 19-4 7 2 3h18l2-3-4-7Z"/>"#;

    /// To know.
    Know = "to know", r#"<circle cx="16" cy="16" r="13"/><path stroke-width="3" d="M16 14v9"/><path fill="currentColor" stroke="none" d="M14.500 8.500h3v3h-3Z"/>"#;
    /// It is well.
    Good = "good", r#"<circle cx="16" cy="16" r="13"/><path stroke-width="3" d="m9 16 5 5 9-10"/>"#;
    /// Look at it.
    Warn = "look at this", r#"<path d="M16 3 30 28H2Z"/><path stroke-width="3" d="M16 12v8"/><path fill="currentColor" stroke="none" d="M14.500 22.500h3v3h-3Z"/>"#;
    /// It is wrong.
    Bad = "wrong", r#"<path d="M11 3h10l8 8v10l-8 8H11l-8-8V11Z"/><path stroke-width="3" d="m11 11 10 10m0-10L11 21"/>"#;
    /// Work is going on.
    Spark = "now", r#"<path class="a" d="M16 2v9m0 10v9M2 16h9m10 0h9M6 6l6 6m8 8 6 6M26 6l-6 6m-8 8-6 6"/>"#;

    /// An empty rack.
    Rack = "empty rack", r#"<path class="f" d="M2 4h28v5H2Z"/><path stroke-dasharray="2 2" d="M5 9h6v14l-6 6Zm8 0h6v10l-6 6Zm8 0h6v13l-6 6Z"/>"#;
    /// A knife.
    Knife = "knife", r#"<path class="f" d="M2 20C4 13 9 10 15 10h6v10Z"/><path d="M21 11h9v6h-9Z"/>"#;
    /// Over the counter.
    Counter = "at the counter", r#"<path class="f" d="M2 17h28v5H2Z"/><path d="M5 22v7m22-7v7M12 17v-5h8v5"/><path class="a" d="M16 3v5m-3-3 3 3 3-3"/>"#;
    /// A photograph.
    Camera = "photo", r#"<path class="f" d="M3 9h7l2-4h8l2 4h7v18H3Z"/><circle cx="16" cy="17" r="5"/>"#;
    /// Paper.
    Print = "print", r#"<path class="f" d="M3 12h26v11H3Z"/><path d="M9 12V4h14v8M9 19h14v10H9Z"/>"#;
    /// A code to scan.
    Scan = "scan", r#"<path d="M3 10V3h7m12 0h7v7m0 12v7h-7m-12 0H3v-7"/><path class="f" d="M9 9h5v5H9Zm9 0h5v5h-5Zm-9 9h5v5H9Z"/><path class="a" d="M2 16h28"/>"#;
    /// Take back what was done.
    Undo = "undo", r#"<path d="M5 5v9h9"/><path d="M6 13a11 11 0 1 1 2 11"/>"#;
    /// Time.
    Clock = "time", r#"<circle class="f" cx="16" cy="16" r="13"/><path d="M16 8v8l6 4"/>"#;
    /// Kept where it stands.
    Hold = "on hold", r#"<path class="f" d="M8 5h5v22H8Zm11 0h5v22h-5Z"/>"#;
    /// Sooner than the rest.
    Rush = "rush", r#"<path d="m4 6 9 10-9 10m12-20 9 10-9 10"/><path class="a" d="M30 5v22"/>"#;
    /// Fixed in the plan.
    Pin = "pinned", r#"<path class="f" d="M9 3h14l-3 8 4 6H8l4-6Z"/><path d="M16 17v12"/>"#;
}

impl From<EdgeKind> for Picture {
    fn from(kind: EdgeKind) -> Self {
        match kind {
            EdgeKind::Double => Self::EdgeDouble,
            EdgeKind::Single => Self::EdgeSingle,
            EdgeKind::Arc => Self::EdgeArc,
            EdgeKind::Wavy => Self::EdgeWavy,
            EdgeKind::Pointed => Self::EdgePointed,
        }
    }
}

impl From<PieceState> for Picture {
    fn from(state: PieceState) -> Self {
        match state {
            PieceState::Expected => Self::Expected,
            PieceState::InHand => Self::InHand,
            PieceState::Measured => Self::Measured,
            PieceState::Agreed => Self::Agreed,
            PieceState::InLine => Self::InLine,
            PieceState::AtBench => Self::AtBench,
            PieceState::Proven => Self::Proven,
            PieceState::Finished => Self::Finished,
            PieceState::Ready => Self::Ready,
            PieceState::Home => Self::Home,
            PieceState::TurnedDown => Self::TurnedDown,
            PieceState::Withdrawn => Self::Withdrawn,
            PieceState::Missing => Self::Missing,
            PieceState::Lost => Self::Lost,
            PieceState::Settled => Self::Settled,
            PieceState::Lapsed => Self::Lapsed,
        }
    }
}

impl From<StationKind> for Picture {
    fn from(kind: StationKind) -> Self {
        match kind {
            StationKind::Inspection => Self::Inspection,
            StationKind::Wheel => Self::Wheel,
            StationKind::ToothSpindle => Self::ToothSpindle,
            StationKind::Belt => Self::Belt,
            StationKind::WetWheel => Self::WetWheel,
            StationKind::Hand => Self::Hand,
            StationKind::Straighten => Self::Straighten,
            StationKind::Handle => Self::HandleWork,
            StationKind::Bath => Self::Bath,
            StationKind::Pack => Self::Parcel,
        }
    }
}

/// Draws one picture, as large as the words beside it unless the sheet says otherwise.
#[component]
pub fn Pictogram(
    /// What.
    #[prop(into)]
    of: Picture,
) -> impl IntoView {
    view! {
        <svg
            class="pictogram"
            viewBox="0 0 32 32"
            width="24"
            height="24"
            fill="none"
            stroke="currentColor"
            stroke-width="2"
            aria-hidden="true"
            focusable="false"
            inner_html=of.lines()
        ></svg>
    }
    .into_any()
}

//! The parts pages are made of. Every one is drawn on the page `/style`.
//!
//! A part takes words and figures, never rows of the store, and writes plain HTML that works without JavaScript.
//! No part writes a `style` attribute or a `<style>` element: looks live in `style/*.css`, sizes of drawings in SVG
//! attributes. Parts may stand inside islands; what changes while one types ([`Said`]) may be a signal there.
//!
//! # A whole form
//!
//! ```
//! use leptos::prelude::*;
//! use shop::edge::EdgeKind;
//! use shop::field::FieldErrors;
//! use web::parts::*;
//!
//! # let owner = Owner::new(); owner.set();
//! let mut errors = FieldErrors::default();
//! errors.add("length", "Please give the length of the edge, such as 210 mm.");
//! let typed = "21o";
//! let edges = EdgeKind::ALL.map(|kind| Opt::new(kind.code(), kind.words()).drawn(kind)).to_vec();
//! let page = view! {
//!     <h1>"Book a knife in"</h1>
//!     <ErrorSummary errors=errors.clone() />
//!     <form method="post" novalidate>
//!         <Choice name="edge" legend="Which edge has it?" options=edges chosen="arc" error=errors.of("edge") />
//!         <Field name="length" label="Length of the edge" kind=Input::Figure unit="mm" value=typed
//!             hint="From heel to tip; inches are understood too." error=errors.of("length") />
//!         <Group legend="What is wrong with it?">
//!             <Tick name="chips" label="Chips" picture=Picture::Chips />
//!             <Tick name="rust" label="Rust" picture=Picture::Rust checked=true />
//!         </Group>
//!         <TextArea name="note" label="Anything else" optional=true />
//!         <Actions>
//!             <Button kind=ButtonKind::Primary>"Book"</Button>
//!             <Button name="do" value="more">"One more knife"</Button>
//!         </Actions>
//!     </form>
//! };
//! # #[cfg(feature = "ssr")] {
//! let html = page.to_html();
//! assert!(html.contains("href=\"#length\""), "the summary leads to the field");
//! assert!(html.contains("aria-describedby=\"length-hint length-error\""));
//! assert!(!html.contains("style="));
//! # }
//! ```
//!
//! Names of fields are form names (`knives[0][length]`); [`id_of`] makes the element's id of one (`knives-0-length`). Where a page has several
//! forms with the same names, each stands in a [`Within`].
//!
//! Classes a page may use by itself: `stack` (things under one another), `row` (beside one another, wrapping),
//! `columns` (as many equal columns as fit), `split` (main and side), `narrow`, `wide`, `quiet` (less important words),
//! `figures` (tabular), `hidden` (for screen readers only), `no-print`, `print-only`, `sheet-a4`, `sheet-a4 wide`,
//! `label-62`, `slip`, `fields` (short fields beside one another, their boxes level).
//!
//! Rules of one page go into `style/page-<name>.css`, inside `@layer pages { .. }`, in token colours only: `style/contrast.mjs`
//! measures those and refuses others. Sheets that only staff's pages need are named in `style/build.mjs`. SVG drawings carry the class `drawing` and inside it `steel`, `taken`, `left`,
//! `past`, `line`, `limit`, `axis`, `measure`, `band`, `spark`; for plans `run`, `run here`, `change`, `late`, `closed`.

pub mod button;
pub mod choice;
mod drawing;
pub mod field;
pub mod figure;
pub mod frame;
pub mod pictogram;
pub mod said;
pub mod say;
pub mod state;
pub mod table;

pub use button::{Actions, Button, ButtonKind, ButtonLink};
pub use choice::{Choice, Group, Opt, Tick};
pub use field::{Field, Input, Photos, Select, TextArea, Within, id_of};
pub use figure::{Amount, AmountRange, Figure, Range};
pub use frame::{Bench, Card, Crumbs, Facts, Fold, Tab, Tabs, Wordmark};
pub use pictogram::{Pictogram, Picture};
pub use said::Said;
pub use say::{Caution, Empty, ErrorSummary, Notice, Progress, Refusal};
pub use state::{Badge, PieceSteps, StateBadge, Step, Steps, Tone};
pub use table::{Column, DataTable, known};

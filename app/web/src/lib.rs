//! Pages, islands and drawings.
//!
//! A page is a component that takes its data as arguments: it has no router, asks no database and reads no
//! clock. The server renders it; everything works as plain forms. [`islands`] are the few parts that also run
//! in the browser, where a hand needs an instant answer; they call the same functions as the server.

#![allow(unreachable_pub, reason = "the component macro makes the arguments of private components public")]
// A page is one deep type of nested elements.
#![recursion_limit = "512"]

pub mod islands;
pub mod pages;
pub mod parts;
pub mod say;
pub mod shell;

/// Wakes the islands of the page that is open.
#[cfg(feature = "hydrate")]
#[wasm_bindgen::prelude::wasm_bindgen]
pub fn hydrate() {
    console_error_panic_hook::set_once();
    leptos::mount::hydrate_islands();
}

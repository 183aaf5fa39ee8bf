//! The part of Whetledger that touches the world: database, sockets, files, clock and dice.
//!
//! In reading order: [`cli`] starts things; [`http`] parses, calls a use case and renders; [`use_cases`] decide
//! and own the transaction; [`store`] remembers; [`post`] writes notices and sends them. The arrows are
//! `cli → http → use_cases → store` and `cli → post → store`, and a test reads the `use` lines to check them.

// Pages are deep types of nested elements.
#![recursion_limit = "512"]

pub mod album;
pub mod authority;
pub mod backup;
pub mod calendar;
pub mod cli;
pub mod clock;
pub mod config;
pub mod context;
pub mod http;
pub mod local;
pub mod neighbours;
pub mod passwords;
pub mod photos;
pub mod planning;
pub mod post;
pub mod qr;
pub mod second_step;
pub mod store;
pub mod tls;
pub mod token;
pub mod use_cases;
pub mod when;

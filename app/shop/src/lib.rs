//! The nouns of the shop and their rules: visits, pieces, routes, prices, tags, checked input and the words people read.
//!
//! This crate touches nothing: no clock, no dice, no database. It knows what a booking may contain, which way a piece may
//! go next, what a line costs and how a tag is checked. It refuses to know how steel is ground (`craft`) or when (`planner`).
//!
//! ```
//! use shop::tag::Tag;
//! let tag: Tag = "7km2-q".parse().unwrap_or_else(|_| Tag::from_serial(1));
//! assert_eq!(tag.to_string().parse::<Tag>().unwrap(), tag);
//! ```

pub mod asking;
pub mod bench;
pub mod booking;
pub mod draft;
pub mod edge;
pub mod field;
pub mod habit;
pub mod hours;
pub mod ids;
pub mod inspection;
pub mod lang;
pub mod ledger;
pub mod money;
pub mod owner;
pub mod packing;
pub mod phrasebook;
pub mod piece;
pub mod prefill;
pub mod price;
pub mod profile;
pub mod read;
pub mod route;
pub mod safety;
pub mod tag;
pub mod units;
pub mod work;

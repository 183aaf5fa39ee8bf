//! Notices: what they say, and how they leave the house.
//!
//! [`notice`] names every notice and writes it in the customer's language ([`words`]); [`sheet`] makes plain text and HTML out of the same words;
//! [`message`] makes a mail out of a stored notice; [`transport`] hands it on (`smtp` to a mail host); [`worker`] takes
//! them from the outbox, a few at a time. A notice is written once, in the transaction that makes the fact true, and every copy of
//! it that leaves the house is that text.

pub mod bench;
pub mod desk;
pub mod message;
pub mod notice;
pub mod sheet;
mod smtp;
pub mod transport;
pub mod visit;
pub mod words;
pub mod worker;

//! The rows, one file per table. They never leave the store.

#![allow(unreachable_pub, reason = "the derive makes every generated item public")]

pub(super) mod bill;
pub(super) mod customer;
pub(super) mod knife;
pub(super) mod lease;
pub(super) mod ledger;
pub(super) mod link;
pub(super) mod message;
pub(super) mod model;
pub(super) mod note;
pub(super) mod operation;
pub(super) mod outbox;
pub(super) mod photo;
pub(super) mod piece;
pub(super) mod plan;
pub(super) mod request;
pub(super) mod setting;
pub(super) mod setup_check;
pub(super) mod shop_change;
pub(super) mod staff;
pub(super) mod staff_session;
pub(super) mod visit;
pub(super) mod wheel;

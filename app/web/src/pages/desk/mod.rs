//! The desk: what needs a hand, receiving, tags, measuring, handing back, bills.

pub mod bill;
pub mod hand_back;
pub mod harm;
pub mod inspect;
pub mod letters;
pub mod list;
pub mod sheet;
pub mod tags;
pub mod visit;

use leptos::prelude::*;
use shop::field::FieldErrors;

/// What is wrong with a form, to be handed to every part of it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Complaints(StoredValue<FieldErrors>);

impl Complaints {
    pub(crate) fn new(errors: FieldErrors) -> Self {
        Self(StoredValue::new(errors))
    }

    /// What is wrong with one field.
    pub(crate) fn of(self, field: &str) -> Option<String> {
        self.0.with_value(|errors| errors.of(field).map(str::to_owned))
    }

    /// Whether anything is wrong with one of these.
    pub(crate) fn any(self, fields: &[&str]) -> bool {
        fields.iter().any(|field| self.of(field).is_some())
    }
}

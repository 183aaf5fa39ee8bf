//! Documents inside rows: the shop's own types as JSON columns.

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::{Result, StoreError};

/// A value as a JSON column.
pub(super) fn write<T: Serialize>(what: &'static str, value: &T) -> Result<serde_json::Value> {
    serde_json::to_value(value).map_err(|error| StoreError::Unreadable { what, why: error.to_string() })
}

/// A value from a JSON column.
pub(super) fn read<T: DeserializeOwned>(what: &'static str, value: serde_json::Value) -> Result<T> {
    serde_json::from_value(value).map_err(|error| StoreError::Unreadable { what, why: error.to_string() })
}

/// An optional value as a nullable JSON column.
pub(super) fn write_some<T: Serialize>(
    what: &'static str,
    value: Option<&T>,
) -> Result<Option<serde_json::Value>> {
    value.map(|value| write(what, value)).transpose()
}

/// An optional value from a nullable JSON column.
pub(super) fn read_some<T: DeserializeOwned>(
    what: &'static str,
    value: Option<serde_json::Value>,
) -> Result<Option<T>> {
    value.filter(|value| !value.is_null()).map(|value| read(what, value)).transpose()
}

/// A code column parsed into one of our words.
pub(super) fn word<T: std::str::FromStr>(what: &'static str, code: &str) -> Result<T> {
    code.parse().map_err(|_| StoreError::Unreadable { what, why: format!("unknown word {code:?}") })
}

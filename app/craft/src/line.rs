//! One record of a stream.

use crate::estimate::estimate;
use crate::impossible::Impossible;
use crate::rates::Rates;
use crate::request::Request;

/// One JSON request in, one JSON answer out, both on one line.
///
/// # Errors
/// What cannot be read or cannot be true, with the path of the key it is about.
pub fn line(json: &str, rates: &Rates) -> Result<String, Impossible> {
    let mut reader = serde_json::Deserializer::from_str(json);
    let request: Request = serde_path_to_error::deserialize(&mut reader).map_err(|error| {
        let path = error.path().to_string();
        named(&path, &error.into_inner().to_string())
    })?;
    reader.end().map_err(|error| Impossible::new("", error.to_string()))?;
    let answer = estimate(&request, rates)?;
    serde_json::to_string(&answer).map_err(|error| Impossible::new("", error.to_string()))
}

/// A reader's complaint, with the key a missing one should have had at the end of its path.
fn named(path: &str, message: &str) -> Impossible {
    let path = if path == "." { "" } else { path };
    // "at line 1 column 57" is the reader's own place in one line of JSON; the path says it better.
    let plain = message.split(" at line ").next().unwrap_or(message);
    let at = match plain.strip_prefix("missing field `").and_then(|rest| rest.split('`').next()) {
        Some(field) if path.is_empty() => field.to_owned(),
        Some(field) => format!("{path}.{field}"),
        None => path.to_owned(),
    };
    Impossible::new(at, plain)
}

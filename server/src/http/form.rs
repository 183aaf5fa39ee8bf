//! Reads a posted form into raw text; checking it is the shop's business.

use axum::body::Bytes;
use axum::extract::{FromRequest, Request};
use axum::http::{StatusCode, header};
use serde::de::DeserializeOwned;

use super::problem::Problem;

/// A posted form. Names may nest (`order[knives][0][length_mm]`), five deep. Fields that may be missing need
/// `#[serde(default)]`, and whatever a person types should be a `String`, so that nothing typed is ever lost.
#[derive(Debug, Clone)]
pub struct Posted<T>(pub T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequest<S> for Posted<T> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &S) -> Result<Self, Problem> {
        let kind = request.headers().get(header::CONTENT_TYPE).and_then(|value| value.to_str().ok());
        if !kind.is_some_and(|kind| kind.starts_with("application/x-www-form-urlencoded")) {
            return Err(Problem::BadRequest("The request is not a form.".to_owned()));
        }
        let bytes = Bytes::from_request(request, state).await.map_err(|rejection| {
            if rejection.status() == StatusCode::PAYLOAD_TOO_LARGE {
                Problem::TooLarge
            } else {
                Problem::BadRequest("The form did not arrive whole.".to_owned())
            }
        })?;
        read(&bytes).map(Self)
    }
}

/// Reads the bytes of a form or of an address's query.
pub fn read<T: DeserializeOwned>(bytes: &[u8]) -> Result<T, Problem> {
    serde_qs::Config::new(5, false)
        .deserialize_bytes(bytes)
        .map_err(|error| Problem::BadRequest(format!("The form could not be read ({error}).")))
}

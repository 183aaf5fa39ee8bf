//! What is wrong with an instance or a plan, said so that somebody can put it right.

use serde::{Deserialize, Serialize};

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, thiserror::Error)]
#[error("{at}: {error}")]
pub struct Complaint {
    /// The sentence: what is wrong, naming what it concerns.
    pub error: String,
    /// Where: a path such as `jobs[3].operations[0].on[1].setup`.
    pub at: String,
    /// The line of the text it was read from, when it was read from one; counted from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// The job it concerns, when leaving that job out would help.
    #[serde(skip)]
    pub job: Option<String>,
}

impl Complaint {
    pub(crate) fn new(at: impl Into<String>, error: impl Into<String>) -> Self {
        Self { error: error.into(), at: at.into(), line: None, job: None }
    }

    pub(crate) fn of_job(job: &str, at: impl Into<String>, error: impl Into<String>) -> Self {
        Self { job: Some(job.to_owned()), ..Self::new(at, error) }
    }
}

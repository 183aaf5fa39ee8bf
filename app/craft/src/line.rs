//! One record of a stream.

use serde::Serialize;

use crate::answer::Estimate;
use crate::checks::{Bench, Check, checks};
use crate::curve::{AlongTheBlade, EdgeLine, along};
use crate::estimate::estimate;
use crate::impossible::Impossible;
use crate::rates::Rates;
use crate::recut::{Choice, choices};
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
    let written = if request.more.is_none() {
        serde_json::to_string(&answer)
    } else {
        serde_json::to_string(&with_more(answer, &request, rates)?)
    };
    written.map_err(|error| Impossible::new("", error.to_string()))
}

/// An estimate and what else was asked.
#[derive(Debug, Serialize)]
struct Full {
    #[serde(flatten)]
    estimate: Estimate,
    #[serde(skip_serializing_if = "Option::is_none")]
    along: Option<AlongTheBlade>,
    #[serde(skip_serializing_if = "Option::is_none")]
    checks: Option<Vec<Check>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    choices: Option<Vec<Choice>>,
}

/// More stations or points than anybody measures along one blade; enough to keep a hostile record from stalling a stream.
const MOST_POINTS: usize = 200;

fn with_more(estimate: Estimate, request: &Request, rates: &Rates) -> Result<Full, Impossible> {
    let more = &request.more;
    for (at, n) in [("more.stations", more.stations.len()), ("more.edge_line", more.edge_line.len())] {
        if n > MOST_POINTS {
            return Err(Impossible::new(at, format!("{n} points; at most {MOST_POINTS} are taken")));
        }
    }
    let inside = |no: Impossible| Impossible { at: format!("more.{}", no.at), ..no };
    // What is wrong with the stations themselves is theirs; a section that cannot be keeps its own place.
    let placed = |no: Impossible| if no.at.starts_with("stations") { inside(no) } else { no };
    let edge_line = match more.edge_line.as_slice() {
        [] => None,
        points => Some(EdgeLine::through(points).map_err(inside)?),
    };
    let along = if edge_line.is_some() || !more.stations.is_empty() {
        Some(along(request, &more.stations, edge_line.as_ref(), rates).map_err(placed)?)
    } else {
        None
    };
    let checks = match more.bench {
        Some(bench) => {
            bench.check().map_err(inside)?;
            let measured =
                edge_line.as_ref().map(EdgeLine::least_radius_mm).filter(|radius| radius.is_finite());
            Some(checks(request, &Bench { edge_radius_mm: bench.edge_radius_mm.or(measured), ..bench })?)
        }
        None => None,
    };
    let choices = if more.wheels { Some(choices(request, rates)?) } else { None };
    Ok(Full { estimate, along, checks, choices })
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

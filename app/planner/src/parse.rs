//! From text to a checked [`Instance`].

use crate::model::Shop;
use crate::{Complaint, Instance};

/// Read one instance and check it; every complaint says where in the instance, and on which line of the text.
///
/// # Errors
/// The text is not an instance (one complaint), or it is one that nobody could plan (one complaint for each bad record).
pub fn parse(text: &str) -> Result<Instance, Vec<Complaint>> {
    let mut reader = serde_json::Deserializer::from_str(text);
    let read: Result<Instance, _> = serde_path_to_error::deserialize(&mut reader);
    let instance = read.map_err(|e| {
        let (path, inner) = (e.path().to_string(), e.inner());
        let said = inner.to_string();
        // The sentence without serde's own "at line 1 column 2": line has its own place.
        let error = said.split(" at line ").next().unwrap_or(&said).to_owned();
        vec![Complaint { line: Some(inner.line()), ..Complaint::new(path, error) }]
    })?;
    reader.end().map_err(|e| {
        vec![Complaint { line: Some(e.line()), ..Complaint::new(".", "something follows the instance") }]
    })?;
    match Shop::new(&instance) {
        Ok(_) => Ok(instance),
        Err(mut complaints) => {
            for c in &mut complaints {
                c.line = Some(line_of(text, &instance, c));
            }
            Err(complaints)
        }
    }
}

/// The line where the record that a complaint concerns begins: the first place its name stands in the text.
fn line_of(text: &str, instance: &Instance, complaint: &Complaint) -> usize {
    let name = complaint.job.clone().or_else(|| named(instance, &complaint.at));
    let place = name.and_then(|n| text.find(&serde_json::Value::String(n).to_string()));
    1 + text[..place.unwrap_or(0)].matches('\n').count()
}

/// The name of the record a path points into.
fn named(instance: &Instance, at: &str) -> Option<String> {
    let (list, rest) = at.split_once('[')?;
    let index: usize = rest.split(']').next()?.parse().ok()?;
    match list {
        "stations" => instance.stations.get(index).map(|s| s.id.clone()),
        "changeovers" => instance.changeovers.get(index).map(|c| c.station.clone()),
        "people" => instance.people.as_ref()?.get(index).map(|p| p.id.clone()),
        "jobs" => instance.jobs.get(index).map(|j| j.id.clone()),
        "standing" => instance.standing.get(index).map(|s| s.job.clone()),
        _ => None,
    }
}

//! Why a piece stands where it stands, in the shop's own words.

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use planner::Cause;

use super::body::Body;
use crate::local;

/// One or two sentences: what holds an operation, and what would have to give for it to be earlier. Empty when the plan
/// does not hold it.
pub fn why(body: &Body, job: &str, index: usize, zone: Tz) -> String {
    let Some(reasons) = planner::explain(&body.instance, &body.plan, job, index) else {
        return String::new();
    };
    let Some(first) = reasons.waits.first() else { return String::new() };
    let label = |job: &str| body.jobs.get(job).map_or_else(|| job.to_owned(), |of| of.label.clone());
    let at = |minute| shown(zone, body.at(minute));
    let work_before = |index: usize| {
        body.jobs
            .get(job)
            .and_then(|of| of.operations.get(index)?.as_ref())
            .map_or_else(|| "the work before".to_owned(), |op| format!("“{}”", op.kind))
    };
    let said = match &first.cause {
        Cause::Pinned => {
            let begun = body.jobs.get(job).and_then(|of| of.operations.get(index)?.as_ref()).is_some_and(|o| o.begun);
            if begun {
                return "It has begun.".to_owned();
            }
            "It is pinned here by hand. Let it go, and it moves to where it fits best.".to_owned()
        }
        Cause::Now => "It starts as soon as the plan begins. Nothing could make it earlier.".to_owned(),
        Cause::Release => body.jobs.get(job).and_then(|of| of.assumed.clone()).map_or_else(
            || "It is not here before.".to_owned(),
            |assumed| format!("{assumed} It can be earlier only if that comes earlier."),
        ),
        Cause::Piece { index } => {
            format!("It waits for {} before it. That would have to end earlier.", work_before(*index))
        }
        Cause::Drying { index, minutes } => {
            format!("It rests {minutes} minutes after {}. That would have to end earlier.", work_before(*index))
        }
        Cause::Station { station, job: other, changeover } => {
            let change = if *changeover > 0 {
                format!(", and the change of setup takes {changeover} minutes")
            } else {
                String::new()
            };
            format!(
                "The {} does {} first{change}. To be earlier it would have to go before {}.",
                body.name(station),
                label(other),
                label(other)
            )
        }
        Cause::StationClosed { station } => {
            format!("The {} is closed until {}. Longer hours would make it earlier.", body.name(station), at(first.until))
        }
        Cause::Person { person, job: other } => format!(
            "{} works on {} until then. Somebody else would have to do it, or {} wait.",
            body.name(person),
            label(other),
            label(other)
        ),
        Cause::PersonAway { person } => format!(
            "{} is there from {} on. More hours, or somebody else, would make it earlier.",
            body.name(person),
            at(first.until)
        ),
        Cause::Load { job: other } => format!(
            "It goes in together with {}, which is not there before. It would need a load of its own.",
            label(other)
        ),
        Cause::NextTooLate { index } => format!(
            "It starts late so that it does not wait too long, bare and wet, for {}.",
            work_before(*index)
        ),
        Cause::Choice => {
            "It could start earlier; it stands here to share a setup, to let others go first, or to keep the place people know."
                .to_owned()
        }
    };
    let gain = reasons.waits.get(1).map_or(0, |second| reasons.start - second.until);
    let moves = !matches!(first.cause, Cause::Now | Cause::Choice);
    if moves && gain > 0 { format!("{said} That alone would gain {} at most.", length(gain)) } else { said }
}

/// A length of time for people: `35 min`, `4 h 10 min`, `2 days`.
pub fn length(minutes: i64) -> String {
    match minutes {
        m if m < 60 => format!("{m} min"),
        m if m < 1440 && m % 60 == 0 => format!("{} h", m / 60),
        m if m < 1440 => format!("{} h {} min", m / 60, m % 60),
        m if m < 2880 => "1 day".to_owned(),
        m => format!("{} days", m / 1440),
    }
}

/// An instant for people: `Wed 25 Nov, 14:05`.
pub fn shown(zone: Tz, at: DateTime<Utc>) -> String {
    local::shown(zone, at).format("%a %-d %b, %-H:%M").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_said_as_people_say_them() {
        let said: Vec<_> = [5, 60, 250, 1440, 4400].map(length).into();
        assert_eq!(said, ["5 min", "1 h", "4 h 10 min", "1 day", "3 days"]);
    }
}

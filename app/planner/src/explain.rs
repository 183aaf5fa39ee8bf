//! Why a piece stands where it stands, and what would have to give for it to be earlier.

use serde::{Deserialize, Serialize};

use crate::hours::{FAR, Hours};
use crate::{Instance, Minute, Placed, Plan};

/// Why one operation starts when it does.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reasons {
    /// When it starts.
    pub start: Minute,
    /// What holds it, the strongest first: each with the minute from which it would no longer hold.
    pub waits: Vec<Wait>,
    /// The same in plain words, one sentence for what holds it and one for what would have to give.
    pub sentence: String,
}

/// One thing an operation waits for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Wait {
    /// What it is.
    pub cause: Cause,
    /// The earliest start this alone allows.
    pub until: Minute,
}

/// What an operation can wait for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// It has begun or is pinned.
    Pinned,
    /// The plan begins now.
    Now,
    /// The piece is not released before.
    Release,
    /// The operation before it in its route ends then.
    Piece {
        /// The index of the operation before.
        index: usize,
    },
    /// It has to rest (dry, cool, cure) after the operation before.
    Drying {
        /// The index of the operation before.
        index: usize,
        /// The minutes it rests at least.
        minutes: Minute,
    },
    /// The station is busy with another piece.
    Station {
        /// Which station.
        station: String,
        /// The job that is on it before.
        job: String,
        /// Minutes of changeover between the two.
        changeover: Minute,
    },
    /// The station is closed.
    StationClosed {
        /// Which station.
        station: String,
    },
    /// Whoever attends it is busy elsewhere.
    Person {
        /// Who.
        person: String,
        /// The job they are busy with.
        job: String,
    },
    /// Whoever attends it is not there.
    PersonAway {
        /// Who.
        person: String,
    },
    /// It goes into the basin together with another piece that is there no earlier.
    Load {
        /// The other job.
        job: String,
    },
    /// Started earlier it would wait too long for its next operation.
    NextTooLate {
        /// The index of the next operation.
        index: usize,
    },
    /// Nothing holds it: it stands late by choice, to keep its place in the plan people know or to let others go first.
    Choice,
}

/// Explain an operation's place; `None` when the plan or the instance does not hold it.
pub fn explain(instance: &Instance, plan: &Plan, job: &str, index: usize) -> Option<Reasons> {
    let placed = plan.find(job, index)?;
    let model = instance.jobs.iter().find(|j| j.id == job)?;
    let operation = model.operations.get(index)?;
    let changeover = placed.start - placed.changeover_start;
    let mut waits = Vec::new();
    if operation.fixed.is_some() {
        waits.push(Wait { cause: Cause::Pinned, until: placed.start });
        return Some(finish(placed, waits));
    }
    waits.push(Wait { cause: Cause::Now, until: instance.now + changeover });
    waits.extend(of_piece(instance, plan, placed)?);
    let load: Vec<&Placed> = plan
        .operations
        .iter()
        .filter(|o| {
            o.station == placed.station
                && o.start == placed.start
                && o.end == placed.end
                && (&o.job, o.index) != (&placed.job, placed.index)
        })
        .collect();
    for other in &load {
        let theirs = of_piece(instance, plan, other)?.into_iter().map(|w| w.until).max().unwrap_or(-FAR);
        waits.push(Wait { cause: Cause::Load { job: other.job.clone() }, until: theirs });
    }
    if let Some(before) = last_before(plan, placed, |o| o.station == placed.station, |o| o.end) {
        let cause = Cause::Station { station: placed.station.clone(), job: before.job.clone(), changeover };
        waits.push(Wait { cause, until: before.end + changeover });
    }
    if let Some(person) = &placed.person {
        let until = |o: &Placed| o.start + attended(instance, o);
        if let Some(before) = last_before(plan, placed, |o| o.person.as_ref() == Some(person), until) {
            let cause = Cause::Person { person: person.clone(), job: before.job.clone() };
            waits.push(Wait { cause, until: until(before) + changeover });
        }
    }
    waits.extend(closed(instance, placed, &waits));
    let held = waits.iter().map(|w| w.until).max().unwrap_or(-FAR);
    if held < placed.start {
        let too_late = plan
            .find(job, index + 1)
            .zip(operation.max_lag)
            .filter(|(next, most)| next.start - placed.end == *most);
        let cause = if too_late.is_some() { Cause::NextTooLate { index: index + 1 } } else { Cause::Choice };
        waits.push(Wait { cause, until: placed.start });
    }
    waits.sort_by_key(|w| std::cmp::Reverse(w.until));
    Some(finish(placed, waits))
}

/// What the piece itself waits for: its release, or the operation before and the rest after it.
fn of_piece(instance: &Instance, plan: &Plan, placed: &Placed) -> Option<Vec<Wait>> {
    let job = instance.jobs.iter().find(|j| j.id == placed.job)?;
    let Some(index) = placed.index.checked_sub(1) else {
        return Some(vec![Wait { cause: Cause::Release, until: job.release }]);
    };
    let end = plan.find(&placed.job, index)?.end;
    let minutes = job.operations.get(index)?.lag;
    let mut waits = vec![Wait { cause: Cause::Piece { index }, until: end }];
    if minutes > 0 {
        waits.insert(0, Wait { cause: Cause::Drying { index, minutes }, until: end + minutes });
    }
    Some(waits)
}

/// The closing times that push the start past what everything else allows.
fn closed(instance: &Instance, placed: &Placed, waits: &[Wait]) -> Vec<Wait> {
    let mut found = Vec::new();
    let changeover = placed.start - placed.changeover_start;
    let from = waits.iter().map(|w| w.until).max().unwrap_or(-FAR);
    let open =
        |windows: Option<&[[Minute; 2]]>, length| Hours::new(windows).fit(from, changeover, length, &mut 0);
    let station = instance.stations.iter().find(|s| s.id == placed.station);
    if let Some(start) =
        station.and_then(|s| open(s.windows.as_deref(), placed.end - placed.start)).filter(|&s| s > from)
    {
        found.push(Wait { cause: Cause::StationClosed { station: placed.station.clone() }, until: start });
    }
    let person = instance.people.iter().flatten().find(|p| Some(&p.id) == placed.person.as_ref());
    if let Some((p, start)) = person
        .and_then(|p| open(p.windows.as_deref(), attended(instance, placed)).map(|s| (p, s)))
        .filter(|&(_, s)| s > from)
    {
        found.push(Wait { cause: Cause::PersonAway { person: p.id.clone() }, until: start });
    }
    found
}

fn last_before<'a>(
    plan: &'a Plan,
    placed: &Placed,
    mine: impl Fn(&Placed) -> bool,
    until: impl Fn(&Placed) -> Minute,
) -> Option<&'a Placed> {
    plan.operations
        .iter()
        .filter(|o| mine(o) && o.start < placed.start && until(o) <= placed.changeover_start)
        .max_by_key(|o| until(o))
}

fn attended(instance: &Instance, placed: &Placed) -> Minute {
    let operation =
        instance.jobs.iter().find(|j| j.id == placed.job).and_then(|j| j.operations.get(placed.index));
    let on =
        operation.and_then(|o| o.on.iter().find(|a| a.station == placed.station && a.setup == placed.setup));
    on.map_or(0, crate::Alternative::attended_minutes)
}

fn finish(placed: &Placed, waits: Vec<Wait>) -> Reasons {
    let second = waits.get(1).map(|w| placed.start - w.until);
    let sentence = waits.first().map_or_else(String::new, |w| {
        let job = &placed.job;
        match &w.cause {
            Cause::Pinned => format!("{job} has begun or is pinned here. It moves only if the pin is taken out."),
            Cause::Now => format!("{job} starts as soon as the plan begins. Nothing could make it earlier."),
            Cause::Release => format!("{job} is not here before. It can be earlier only if it arrives earlier."),
            Cause::Piece { .. } => format!("{job} waits for its own operation before this one. That one would have to end earlier."),
            Cause::Drying { minutes, .. } => format!("{job} has to rest for {minutes} minutes after the operation before. That one would have to end earlier."),
            Cause::Station { station, job: other, changeover } => {
                let change = if *changeover > 0 { format!(", and the changeover takes {changeover} minutes") } else { String::new() };
                format!("{job} waits for {station}, where {other} is done first{change}. To be earlier it would have to go before {other}.")
            }
            Cause::StationClosed { station } => format!("{job} waits until {station} opens. It would be earlier with longer hours there."),
            Cause::Person { person, job: other } => format!("{job} waits for {person}, who is busy with {other}. {other} would have to wait, or somebody else attend."),
            Cause::PersonAway { person } => format!("{job} waits until {person} is there. It would be earlier with more hours, or with somebody else."),
            Cause::Load { job: other } => format!("{job} goes into the basin together with {other}, which is not there before. It would need a load of its own."),
            Cause::NextTooLate { .. } => format!("{job} starts late so that it does not wait too long for what comes next. The next operation would have to be earlier."),
            Cause::Choice => format!("{job} could start earlier and stands here to keep its known place or to let others go first."),
        }
    });
    let gain = match second {
        Some(minutes)
            if minutes > 0
                && waits
                    .first()
                    .is_some_and(|w| !matches!(w.cause, Cause::Pinned | Cause::Now | Cause::Choice)) =>
        {
            format!(" At most {minutes} minutes would be gained by that alone.")
        }
        _ => String::new(),
    };
    Reasons { start: placed.start, waits, sentence: sentence + &gain }
}

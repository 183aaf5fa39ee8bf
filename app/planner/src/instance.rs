//! What is to be planned: the shop as it stands and the work in it, exactly as the `plan` command reads it.

use serde::{Deserialize, Serialize};

/// Whole minutes from an origin the caller chooses (usually local midnight of the plan's first day). May be negative.
pub type Minute = i64;

/// One planning question: stations, tables, people and jobs. Build it by hand or with [`crate::parse`].
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Instance {
    /// Nothing that is not fixed may begin (changeover included) before this minute.
    #[serde(default)]
    pub now: Minute,
    /// Where work happens.
    pub stations: Vec<Station>,
    /// Changeover tables, at most one for a station; a station without one changes over in no time.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub changeovers: Vec<Changeover>,
    /// Who can attend; `None` means that there is always somebody.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub people: Option<Vec<Person>>,
    /// The work.
    pub jobs: Vec<Job>,
    /// Where operations stood in the plan people have already seen.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub standing: Vec<StandingStart>,
    /// What is to be least.
    #[serde(default)]
    pub objective: Weights,
}

/// A place that does one load at a time.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Station {
    /// Its name.
    pub id: String,
    /// The setup mounted at the beginning, if any.
    #[serde(default)]
    pub setup: Option<String>,
    /// Opening windows `[from, to]`; `None` is always open, an empty list never. Touching windows do not merge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub windows: Option<Vec<[Minute; 2]>>,
    /// How many pieces of one setup fit in at once; 1 is an ordinary station.
    #[serde(default = "one_piece")]
    pub basin: u32,
}

/// How long it takes to change a station from one setup to the next.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Changeover {
    /// The station it belongs to.
    pub station: String,
    /// Every setup used or mounted there.
    pub setups: Vec<String>,
    /// `minutes[from][to]`; the diagonal is charged too, between two loads of one setup.
    pub minutes: Vec<Vec<Minute>>,
    /// Minutes when nothing is mounted yet; zeros when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first: Option<Vec<Minute>>,
    /// Dressing for each setup; none when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dress: Option<Vec<Option<Dress>>>,
}

/// After `every` loads in one setup the next of that setup is preceded by `minutes` of dressing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Dress {
    /// Loads between two dressings, at least 1.
    pub every: u32,
    /// Minutes one dressing takes.
    pub minutes: Minute,
}

/// Somebody who can stand at a station.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Person {
    /// Their name in the plan.
    pub id: String,
    /// Their hours; `None` is always there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub windows: Option<Vec<[Minute; 2]>>,
    /// The skills they have.
    #[serde(default)]
    pub may: Vec<String>,
}

/// One piece of work with its route.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Job {
    /// Its name.
    pub id: String,
    /// The first operation may not start earlier.
    #[serde(default)]
    pub release: Minute,
    /// Ending the last operation after this minute is late.
    pub due: Minute,
    /// How bad a minute of lateness is; rush is weight.
    #[serde(default = "one")]
    pub weight: f64,
    /// The route, in order; at least one operation.
    pub operations: Vec<Operation>,
}

/// One step of a route.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Operation {
    /// The ways to do it, each (station, setup) once.
    pub on: Vec<Alternative>,
    /// Least minutes between its end and the start of the next.
    #[serde(default)]
    pub lag: Minute,
    /// Most minutes between its end and the start of the next (wet carbon steel rusts).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_lag: Option<Minute>,
    /// Begun or pinned: it stands in the plan exactly so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fixed: Option<Fixed>,
}

/// One way to do an operation.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Alternative {
    /// Where.
    pub station: String,
    /// What must be mounted there.
    pub setup: String,
    /// How long it takes, at least 1.
    pub minutes: Minute,
    /// For how long from its start somebody must be there; all of it when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub attended: Option<Minute>,
    /// The skill that person needs, if any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub skill: Option<String>,
}

/// Where and when begun or pinned work stands.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fixed {
    /// Where.
    pub station: String,
    /// In which setup.
    pub setup: String,
    /// When its changeover began (equal to `start` without one).
    pub changeover_start: Minute,
    /// When it starts.
    pub start: Minute,
    /// When it ends.
    pub end: Minute,
    /// Who attends; needed when the instance lists people.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub person: Option<String>,
}

/// Where an operation stood in the plan people have seen.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StandingStart {
    /// The job's name.
    pub job: String,
    /// The operation's place in its route, from 0.
    pub index: usize,
    /// Its start then.
    pub start: Minute,
}

/// What one minute of each kind costs; the weighted sum is to be least.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Weights {
    /// Per weighted minute late.
    #[serde(default = "one")]
    pub tardiness: f64,
    /// Per minute of changeover and dressing.
    #[serde(default)]
    pub changeover: f64,
    /// Per minute between release and completion.
    #[serde(default)]
    pub flow: f64,
    /// Per minute an operation's start differs from its standing start.
    #[serde(default)]
    pub moved: f64,
}

impl Default for Weights {
    fn default() -> Self {
        Self { tardiness: 1.0, changeover: 0.0, flow: 0.0, moved: 0.0 }
    }
}

impl Alternative {
    /// Minutes somebody must be there from the start.
    pub fn attended_minutes(&self) -> Minute {
        self.attended.unwrap_or(self.minutes)
    }
}

fn one() -> f64 {
    1.0
}

fn one_piece() -> u32 {
    1
}

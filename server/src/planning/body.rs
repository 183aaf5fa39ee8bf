//! The document a published plan is kept as: instance, answer, and whose they are. It is enough to draw the plan and to
//! explain it without planning again.

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};
use planner::{Instance, Minute, Placed, Plan};
use serde::{Deserialize, Serialize};
use shop::ids::{OperationId, PieceId, VisitId};
use shop::read::{PlanBar, PlanView};
use shop::route::OperationKind;

use super::instance::Give;
use crate::store::plans::StoredPlan;
use crate::store::{self, StoreError};

/// What is kept of a published plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Body {
    /// The instant of minute 0.
    pub origin: DateTime<Utc>,
    /// What was planned.
    pub instance: Instance,
    /// The answer.
    pub plan: Plan,
    /// Whose each job is; the key is the job's id.
    pub jobs: BTreeMap<String, JobOf>,
    /// Names of stations, setups (`station/setup`) and people, by their ids in the instance.
    pub names: BTreeMap<String, String>,
    /// What is not planned, and why.
    pub left_out: Vec<LeftOut>,
    /// Changes when what there is to plan changes, and not when time merely passes.
    pub fingerprint: String,
    /// What had to give for this plan; asked again in the same way when the fingerprint is compared.
    #[serde(default)]
    pub given: Give,
}

/// Whose a job is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JobOf {
    /// The piece.
    pub piece: PieceId,
    /// Its visit.
    pub visit: VisitId,
    /// Tag, or reference and number.
    pub label: String,
    /// What the piece is called.
    pub name: String,
    /// When it is due.
    pub due: DateTime<Utc>,
    /// Rush.
    pub rush: bool,
    /// What the plan assumes about it, one sentence, where it assumes something.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub assumed: Option<String>,
    /// Its operations, in the order of the job's; `None` where the job has a rest that has begun.
    pub operations: Vec<Option<OperationOf>>,
}

/// Whose an operation is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OperationOf {
    /// The operation.
    pub id: OperationId,
    /// What is done.
    pub kind: OperationKind,
    /// From the booking, not from the inspection.
    pub estimated: bool,
    /// Begun or pinned.
    pub fixed: bool,
    /// Begun.
    pub begun: bool,
}

/// A piece that is not planned.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeftOut {
    /// The piece.
    pub piece: PieceId,
    /// Tag, or reference and number.
    pub label: String,
    /// What the piece is called.
    pub name: String,
    /// Why, one sentence.
    pub why: String,
}

impl Body {
    /// Reads a stored plan.
    pub fn read(stored: &StoredPlan) -> store::Result<Self> {
        serde_json::from_value(stored.body.clone())
            .map_err(|error| StoreError::Unreadable { what: "plan.body", why: error.to_string() })
    }

    /// As a document for the store.
    pub fn write(&self) -> store::Result<serde_json::Value> {
        serde_json::to_value(self)
            .map_err(|error| StoreError::Unreadable { what: "plan.body", why: error.to_string() })
    }

    /// The instant of a minute of this plan.
    pub fn at(&self, minute: Minute) -> DateTime<Utc> {
        self.origin + TimeDelta::minutes(minute)
    }

    /// The minute of an instant, rounded down.
    pub fn minute(&self, at: DateTime<Utc>) -> Minute {
        (at - self.origin).num_seconds().div_euclid(60)
    }

    /// The name of a station, setup or person; its id where it has none.
    pub fn name<'a>(&'a self, id: &'a str) -> &'a str {
        self.names.get(id).map_or(id, String::as_str)
    }

    /// What a setup of a station is called.
    pub fn setup_name<'a>(&'a self, station: &str, setup: &'a str) -> &'a str {
        self.names.get(&format!("{station}/{setup}")).map_or(setup, String::as_str)
    }

    /// Whose a placed operation is; `None` for a rest that has begun before the plan.
    pub fn of<'a>(&'a self, placed: &Placed) -> Option<(&'a JobOf, &'a OperationOf)> {
        let job = self.jobs.get(&placed.job)?;
        Some((job, job.operations.get(placed.index)?.as_ref()?))
    }

    /// Where an operation stands: its job's name and its place there.
    pub fn find(&self, operation: OperationId) -> Option<(&str, usize)> {
        self.jobs.iter().find_map(|(job, of)| {
            let index = of.operations.iter().position(|o| o.as_ref().is_some_and(|o| o.id == operation))?;
            Some((job.as_str(), index))
        })
    }

    /// When the last operation of each job ends.
    pub fn finishes(&self) -> BTreeMap<&str, DateTime<Utc>> {
        let mut ends: BTreeMap<&str, Minute> = BTreeMap::new();
        for placed in &self.plan.operations {
            let end = ends.entry(placed.job.as_str()).or_insert(placed.end);
            *end = placed.end.max(*end);
        }
        ends.into_iter().map(|(job, end)| (job, self.at(end))).collect()
    }

    /// The plan as pages show it.
    pub fn view(&self, made_at: DateTime<Utc>) -> PlanView {
        let finishes = self.finishes();
        let mut bars: Vec<PlanBar> = self
            .plan
            .operations
            .iter()
            .filter_map(|placed| {
                let (job, operation) = self.of(placed)?;
                Some(PlanBar {
                    operation: operation.id,
                    piece: job.piece,
                    label: job.label.clone(),
                    name: job.name.clone(),
                    kind: operation.kind,
                    station: placed.station.clone(),
                    setup: placed.setup.clone(),
                    person: placed.person.as_deref().map(|id| self.name(id).to_owned()),
                    changeover_start: self.at(placed.changeover_start),
                    start: self.at(placed.start),
                    end: self.at(placed.end),
                    due: job.due,
                    finish: finishes.get(placed.job.as_str()).copied().unwrap_or_else(|| self.at(placed.end)),
                    fixed: operation.fixed,
                    estimated: operation.estimated,
                })
            })
            .collect();
        bars.sort_by(|a, b| (a.start, &a.station, a.operation).cmp(&(b.start, &b.station, b.operation)));
        let mut late: Vec<_> = self
            .jobs
            .iter()
            .filter_map(|(id, job)| {
                let minutes = (*finishes.get(id.as_str())? - job.due).num_minutes();
                (minutes > 0).then(|| (job.piece, job.label.clone(), minutes.unsigned_abs()))
            })
            .collect();
        late.sort_by_key(|(_, _, minutes)| std::cmp::Reverse(*minutes));
        let left_out =
            self.left_out.iter().map(|l| (format!("{} ({})", l.label, l.name), l.why.clone())).collect();
        PlanView {
            made_at: Some(made_at),
            work_minutes: bars.iter().map(|b| (b.end - b.start).num_minutes().unsigned_abs()).sum(),
            bars,
            left_out,
            changeover_minutes: self.plan.objective.changeover.unsigned_abs(),
            late,
            gap_percent: self.plan.at_most_pct_from_best(),
        }
    }
}

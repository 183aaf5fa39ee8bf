//! Somebody looks at the bench: what stands at each station, and the next run.

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, Utc};
use shop::bench::{Bench, Setup, Station, Wheel};
use shop::ids::{PieceId, StaffId};
use shop::piece::PieceState;
use shop::profile::Profile;
use shop::read::{Operation, OperationState, Piece, Visit};
use shop::route::OperationKind;
use shop::safety::{self, Check};

use crate::context::Ctx;
use crate::local;
use crate::planning::Body;
use crate::store::setup_checks::SetupCheck;
use crate::store::{self, operations, plans, settings, setup_checks, staff, visits, wheels};

/// One operation with its piece, as the bench meets it.
#[derive(Debug, Clone)]
pub struct Work {
    /// The operation.
    pub operation: Operation,
    /// Its piece.
    pub piece: Piece,
    /// Its visit.
    pub visit: Visit,
    /// When the plan begins and ends it.
    pub planned: Option<(DateTime<Utc>, DateTime<Utc>)>,
    /// When the plan has the piece finished.
    pub finish: Option<DateTime<Utc>>,
    /// Why it cannot be begun now; `None`: it can.
    pub not_yet: Option<String>,
    /// The kinds of work already done on the piece.
    pub done: Vec<OperationKind>,
}

/// The whole bench at one moment.
#[derive(Debug, Clone)]
pub struct Floor {
    /// The shop.
    pub profile: Profile,
    /// Its stations.
    pub bench: Bench,
    /// What people are called, those who have left excepted.
    pub names: BTreeMap<StaffId, String>,
    /// Work that is begun, and work ahead in the order of the plan, by station.
    pub work: HashMap<String, Vec<Work>>,
    /// The id of the plan it is in the order of.
    pub plan: Option<uuid::Uuid>,
}

/// A run: consecutive pieces in one setup.
#[derive(Debug, Clone)]
pub struct Run {
    /// In which setup.
    pub setup: Setup,
    /// Its work: begun first, then in order.
    pub work: Vec<Work>,
}

/// One station with its next run.
#[derive(Debug, Clone)]
pub struct AtStation {
    /// The whole bench around it.
    pub floor: Floor,
    /// The station.
    pub station: Station,
    /// The next run; `None`: nothing is planned here.
    pub run: Option<Run>,
    /// The runs after it: setup and number of pieces.
    pub later: Vec<(String, usize, Option<DateTime<Utc>>)>,
    /// What runs there.
    pub wheel: Option<Wheel>,
    /// The checks of the run's setup, or why it must not be run.
    pub checks: Result<Vec<Check>, String>,
    /// The last checklist, if it is of this setup and of today.
    pub checked: Option<SetupCheck>,
    /// Pieces whose next step is here and that wait for something.
    pub held: Vec<Work>,
}

/// The bench as it stands. `None` until the owner has set it up.
pub async fn show_floor(ctx: &Ctx) -> store::Result<Option<Floor>> {
    let db = ctx.store.read();
    let now = ctx.now();
    let (Some(profile), Some(bench)) =
        (settings::get::<Profile>(db).await?, settings::get::<Bench>(db).await?)
    else {
        return Ok(None);
    };
    let (profile, bench) = (profile.value, bench.value);
    let people = staff::list(db).await?;
    let names = people.into_iter().filter(|p| p.left_at.is_none()).map(|p| (StaffId(p.id), p.full_name));
    let stored = plans::latest(db).await?;
    let plan = stored.as_ref().map(|s| s.id);
    let body = stored.and_then(|s| Body::read(&s).ok());
    let places = body.as_ref().map(places).unwrap_or_default();
    let finishes = body.as_ref().map(Body::finishes).unwrap_or_default();
    let mut routes: HashMap<PieceId, Vec<Operation>> = HashMap::new();
    for (operation, _) in operations::ahead(db).await? {
        routes.entry(operation.piece).or_default().push(operation);
    }
    let mut work: HashMap<String, Vec<Work>> = HashMap::new();
    for visit in visits::open(db).await? {
        for piece in &visit.pieces {
            let Some(route) = routes.get(&piece.id).filter(|_| piece.state.is_here()) else { continue };
            let done: Vec<_> =
                route.iter().filter(|o| o.state == OperationState::Done).map(|o| o.step.kind).collect();
            for operation in route {
                if !matches!(operation.state, OperationState::Open | OperationState::Started) {
                    continue;
                }
                work.entry(operation.step.station.clone()).or_default().push(Work {
                    not_yet: not_yet(piece, operation, route, &profile, now),
                    planned: places.get(&operation.id).copied(),
                    finish: finishes.get(piece.id.to_string().as_str()).copied(),
                    operation: operation.clone(),
                    piece: piece.clone(),
                    visit: visit.clone(),
                    done: done.clone(),
                });
            }
        }
    }
    for list in work.values_mut() {
        list.sort_by_key(|w| {
            let open = w.operation.state == OperationState::Open;
            // What has no place in the plan comes last, by its day.
            (open, w.planned.is_none(), w.planned.map_or(w.piece.due_at, |p| p.0), w.operation.id)
        });
    }
    Ok(Some(Floor { profile, bench, names: names.collect(), work, plan }))
}

fn places(body: &Body) -> HashMap<shop::ids::OperationId, (DateTime<Utc>, DateTime<Utc>)> {
    let place = |p: &planner::Placed| Some((body.of(p)?.1.id, (body.at(p.start), body.at(p.end))));
    body.plan.operations.iter().filter_map(place).collect()
}

/// Why an operation cannot be begun now, as far as the piece is concerned.
fn not_yet(
    piece: &Piece,
    operation: &Operation,
    route: &[Operation],
    profile: &Profile,
    now: DateTime<Utc>,
) -> Option<String> {
    if operation.state == OperationState::Started {
        return None;
    }
    if let Some(waiting) = &piece.waiting {
        return Some(format!("waits: {}", waiting.what));
    }
    let before: Vec<_> = route.iter().filter(|o| o.position < operation.position).collect();
    if let Some(open) = before.iter().find(|o| o.state != OperationState::Done) {
        return Some(format!("first: {}", open.step.kind));
    }
    if let Some((last, done_at)) = before.last().and_then(|o| Some((o, o.done_at?))) {
        let rested = done_at + chrono::TimeDelta::minutes(i64::from(last.step.lag));
        if rested > now {
            let zone = local::zone(profile);
            return Some(format!("rests until {}", local::shown(zone, rested).format("%-H:%M")));
        }
    }
    let harmless = matches!(operation.step.kind, OperationKind::Inspect | OperationKind::Clean);
    match piece.state {
        PieceState::InHand if !harmless => Some("not inspected yet".into()),
        PieceState::Measured if !harmless => Some("its price is not agreed yet".into()),
        _ => None,
    }
}

impl Floor {
    /// The work at a station whose piece could be worked on there next: its earlier steps are done or in this same run.
    fn runs(&self, station: &str) -> (Vec<&Work>, Vec<&Work>) {
        let all = self.work.get(station).map_or(&[][..], Vec::as_slice);
        all.iter().partition(|w| w.piece.waiting.is_none() || w.operation.state == OperationState::Started)
    }

    /// The next run at a station.
    pub fn next_run(&self, station: &Station) -> Option<Run> {
        let (line, _) = self.runs(&station.id);
        let first = line.first()?;
        let setup = station.setups.iter().find(|s| s.id == first.operation.step.setup)?.clone();
        let work: Vec<Work> =
            line.iter().take_while(|w| w.operation.step.setup == setup.id).map(|w| (*w).clone()).collect();
        Some(Run { setup, work })
    }
}

/// One station with its next run, or with the work of another setup when one is asked for.
pub async fn show_run(ctx: &Ctx, id: &str) -> store::Result<Option<AtStation>> {
    let Some(floor) = show_floor(ctx).await? else { return Ok(None) };
    let Some(station) = floor.bench.station(id).cloned() else { return Ok(None) };
    let db = ctx.store.read();
    let run = floor.next_run(&station);
    let (line, held) = floor.runs(id);
    let held: Vec<Work> = held
        .into_iter()
        // Only what would be next here; a piece waits once, not at every later step.
        .filter(|w| !w.done.contains(&OperationKind::Pack) && is_next(w))
        .cloned()
        .collect();
    let n = run.as_ref().map_or(0, |r| r.work.len());
    let later = line[n..]
        .chunk_by(|a, b| a.operation.step.setup == b.operation.step.setup)
        .map(|run| {
            let setup = &run[0].operation.step.setup;
            let name = station.setups.iter().find(|s| s.id == *setup);
            let name = name.map_or(setup.as_str(), |s| if s.name.is_empty() { &s.id } else { &s.name });
            (name.to_owned(), run.len(), run[0].planned.map(|p| p.0))
        })
        .collect();
    let mut wheel = None;
    let mut checks = Ok(Vec::new());
    let mut checked = None;
    if let Some(run) = &run {
        wheel = wheels::for_setup(db, id, &run.setup.id).await?.into_iter().next().map(|k| k.wheel);
        checks = safety::setup_checks(&station, &run.setup, wheel.as_ref());
        let zone = local::zone(&floor.profile);
        let today = local::date(zone, ctx.now());
        checked = setup_checks::latest(db, id)
            .await?
            .filter(|c| c.setup == run.setup.id && local::date(zone, c.at) == today);
    }
    Ok(Some(AtStation { station, run, later, wheel, checks, checked, held, floor }))
}

/// Whether the operation is the piece's next one, apart from what it waits for.
fn is_next(work: &Work) -> bool {
    work.not_yet.as_deref().is_some_and(|why| why.starts_with("waits"))
        && work.done.len() as u32 >= work.operation.position
}

//! What the owner's figures are made of: compact rows over a stretch of time, counted and drawn elsewhere.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use chrono::{DateTime, Utc};
use sea_orm::sea_query::ExprTrait as _;
use sea_orm::{
    ColumnTrait, ConnectionTrait, EntityTrait, PaginatorTrait, QueryFilter, QueryOrder, QuerySelect,
};
use shop::edge::EdgeKind;
use shop::ids::OperationId;
use shop::ledger::Fact;
use shop::money::Money;
use shop::piece::{Harm, PieceState};
use shop::route::{Cut, OperationKind, RouteStep};
use uuid::Uuid;

use super::entities::{bill, customer, ledger, operation, outbox, piece, plan, setup_check, visit};
use super::{Result, json};

/// One operation that was done.
#[derive(Debug, Clone, PartialEq)]
pub struct DoneWork {
    /// What was done.
    pub kind: OperationKind,
    /// The station it was done at.
    pub station: String,
    /// In which setup of it.
    pub setup: String,
    /// Minutes that were estimated.
    pub estimated: u32,
    /// Minutes it took, by the ledger.
    pub took: u32,
    /// The steel it was to grind away.
    pub cut: Option<Cut>,
    /// The steel as written on the piece's sheet, if it is known.
    pub steel: Option<String>,
}

/// One visit that was promised and is ready.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Promise {
    /// Promised for.
    pub promised: DateTime<Utc>,
    /// The first piece arrived.
    pub received: Option<DateTime<Utc>>,
    /// The customer was told that it is ready.
    pub ready: DateTime<Utc>,
}

/// The height one service took from one knife, read off the ledger: before it was ground, and after.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// Kind of edge.
    pub edge: EdgeKind,
    /// Millimetres of height.
    pub recession_mm: f64,
    /// The steel as written on the sheet, if it is known.
    pub steel: Option<String>,
    /// Station and setup the edge was ground on last.
    pub ground_on: Option<(String, String)>,
}

/// One check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Checked {
    /// It passed.
    pub passed: bool,
    /// It was the piece's first.
    pub first: bool,
    /// What was done again when it did not pass.
    pub again: Vec<OperationKind>,
}

/// A knife that was lost or damaged here, and is not found or well after all.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mishap {
    /// What happened.
    pub harm: Harm,
    /// Settled with the customer, as agreed last: what it came to, where there is a figure.
    pub settled: Option<Option<Money>>,
}

/// One change of setup at a station, as long as the ledger lets it have lasted.
#[derive(Debug, Clone, PartialEq)]
pub struct ChangedOver {
    /// The station.
    pub station: String,
    /// The setup that was worked in before.
    pub from: String,
    /// The one that was worked in next.
    pub to: String,
    /// From the end of the piece before to the beginning of the next, minutes. It began no earlier than that, nor before whoever
    /// began the next had ended what they had in hand elsewhere.
    pub minutes: f64,
}

/// A bill's amounts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Billed {
    /// When it was issued.
    pub at: DateTime<Utc>,
    /// Total, tax included; negative where it cancels.
    pub total: Money,
    /// The tax in it.
    pub tax: Money,
}

/// What the ledger says since an instant, gathered in one reading.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FromLedger {
    /// Operations done.
    pub work: Vec<DoneWork>,
    /// Heights taken.
    pub taken: Vec<Taken>,
    /// Checks made.
    pub checks: Vec<Checked>,
    /// Knives that came to harm.
    pub mishaps: Vec<Mishap>,
    /// Changes of setup without a dressing in them.
    pub changed_over: Vec<ChangedOver>,
}

/// Reads the ledger since an instant.
pub async fn from_ledger(db: &impl ConnectionTrait, since: DateTime<Utc>) -> Result<FromLedger> {
    let rows = ledger::Entity::find()
        .filter(ledger::Column::At.gte(since))
        .filter(ledger::Column::PieceId.is_not_null())
        .order_by_asc(ledger::Column::Seq)
        .all(db)
        .await?;
    let mut took: Vec<Took> = Vec::new();
    let mut heights: BTreeMap<Uuid, (f64, Option<f64>)> = BTreeMap::new();
    let mut ground: HashMap<Uuid, Uuid> = HashMap::new();
    let mut checks = Vec::new();
    let mut checked: HashSet<Uuid> = HashSet::new();
    let mut mishaps: BTreeMap<Uuid, Mishap> = BTreeMap::new();
    let mut turns: Vec<Turn> = Vec::new();
    for row in rows {
        let Some(piece) = row.piece_id else { continue };
        let (at, who) = (row.at, row.who);
        let mut turn = |operation: OperationId, begins| {
            turns.push(Turn { operation: operation.0, at, who: who.to_string(), begins });
        };
        match json::read::<Fact>("ledger.fact", row.fact)? {
            Fact::Measured { measures, .. } => {
                if let Some(height) = measures.height_mm {
                    // Measured again before grinding: the later figure counts. After grinding: what was there before stays.
                    let known = heights.entry(piece).or_insert((height, None));
                    if known.1.is_none() {
                        known.0 = height;
                    }
                }
            }
            Fact::Started { operation, .. } => turn(operation, true),
            Fact::Stopped { operation, .. } => turn(operation, false),
            Fact::Done { operation, kind, minutes, measures } => {
                turn(operation, false);
                took.push(Took { piece, operation: operation.0, kind, minutes });
                if matches!(kind, OperationKind::Bevel | OperationKind::Serrate | OperationKind::Tooth) {
                    ground.insert(piece, operation.0);
                }
                after(&mut heights, piece, measures.height_mm);
            }
            Fact::Checked { passed, measures, again, .. } => {
                after(&mut heights, piece, measures.height_mm);
                checks.push(Checked { passed, first: checked.insert(piece), again });
            }
            Fact::Harmed { harm, .. } => {
                mishaps.insert(row.id, Mishap { harm, settled: None });
            }
            Fact::SetRight { entry, .. } => {
                mishaps.remove(&entry.0);
            }
            Fact::Settled { harm, amount, .. } => {
                if let Some(mishap) = mishaps.get_mut(&harm.0) {
                    mishap.settled = Some(amount);
                }
            }
            _ => {}
        }
    }
    let taken: Vec<(Uuid, f64)> = heights
        .into_iter()
        .filter_map(|(piece, (before, after))| Some((piece, before - after?)))
        .filter(|(_, recession)| *recession > 0.0)
        .collect();
    let pieces: BTreeSet<Uuid> = took.iter().map(|one| one.piece).chain(taken.iter().map(|t| t.0)).collect();
    let sheets = sheets(db, &pieces).await?;
    Ok(FromLedger {
        work: estimated(db, took, &sheets).await?,
        taken: grounds(db, taken, &ground, &sheets).await?,
        checks,
        mishaps: mishaps.into_values().collect(),
        changed_over: changed_over(db, turns, since).await?,
    })
}

/// Somebody begins or ends a step.
struct Turn {
    operation: Uuid,
    at: DateTime<Utc>,
    who: String,
    begins: bool,
}

async fn changed_over(
    db: &impl ConnectionTrait,
    turns: Vec<Turn>,
    since: DateTime<Utc>,
) -> Result<Vec<ChangedOver>> {
    let ids: BTreeSet<Uuid> = turns.iter().map(|turn| turn.operation).collect();
    let ids: Vec<Uuid> = ids.into_iter().collect();
    let mut places: HashMap<Uuid, (String, String)> = HashMap::new();
    for ids in ids.chunks(AT_ONCE) {
        places.extend(places_of(db, ids.iter().copied()).await?);
    }
    let checks = setup_check::Entity::find()
        .filter(setup_check::Column::At.gte(since))
        .order_by_asc(setup_check::Column::At)
        .all(db)
        .await?;
    // A dressing takes minutes of its own, which the plan counts apart.
    let dressed = |station: &str, from: DateTime<Utc>, to: DateTime<Utc>| {
        let first = checks.partition_point(|check| check.at < from);
        let between = checks[first..].iter().take_while(|check| check.at <= to);
        let mut here = between.filter(|check| check.station == station);
        here.any(|check| check.ticks.as_array().is_some_and(|ticks| ticks.iter().any(|t| t == "dressed")))
    };
    let mut last_there: HashMap<&str, (&str, DateTime<Utc>)> = HashMap::new();
    let mut last_of: HashMap<&str, DateTime<Utc>> = HashMap::new();
    let mut found = Vec::new();
    for turn in &turns {
        let Some((station, setup)) = places.get(&turn.operation) else { continue };
        if turn.begins {
            if let Some((from, ended)) = last_there.get(station.as_str()).copied()
                && from != setup
                && !dressed(station, ended, turn.at)
            {
                let free = std::cmp::max(last_of.get(turn.who.as_str()).copied().unwrap_or(ended), ended);
                let minutes = (turn.at - free).as_seconds_f64() / 60.0;
                let (station, from, to) = (station.clone(), from.to_owned(), setup.clone());
                found.push(ChangedOver { station, from, to, minutes });
            }
        } else {
            last_of.insert(&turn.who, turn.at);
        }
        last_there.insert(station, (setup, turn.at));
    }
    Ok(found)
}

/// Station and setup of operations.
async fn places_of(
    db: &impl ConnectionTrait,
    ids: impl Iterator<Item = Uuid>,
) -> Result<HashMap<Uuid, (String, String)>> {
    let rows: Vec<(Uuid, String, String)> = operation::Entity::find()
        .select_only()
        .column(operation::Column::Id)
        .column(operation::Column::Station)
        .column(operation::Column::Setup)
        .filter(operation::Column::Id.is_in(ids))
        .into_tuple()
        .all(db)
        .await?;
    Ok(rows.into_iter().map(|(id, station, setup)| (id, (station, setup))).collect())
}

/// An operation that was done, as the ledger has it.
struct Took {
    piece: Uuid,
    operation: Uuid,
    kind: OperationKind,
    minutes: u32,
}

fn after(heights: &mut BTreeMap<Uuid, (f64, Option<f64>)>, piece: Uuid, height: Option<f64>) {
    if let (Some(known), Some(height)) = (heights.get_mut(&piece), height) {
        known.1 = Some(height);
    }
}

/// How many ids one question to the database may name; SQLite takes 32 766 values.
const AT_ONCE: usize = 5_000;

/// Kind of edge and steel of pieces: as on the sheet, else as booked.
async fn sheets(
    db: &impl ConnectionTrait,
    pieces: &BTreeSet<Uuid>,
) -> Result<HashMap<Uuid, (EdgeKind, Option<String>)>> {
    let pieces: Vec<Uuid> = pieces.iter().copied().collect();
    let mut sheets = HashMap::new();
    for ids in pieces.chunks(AT_ONCE) {
        let rows: Vec<(Uuid, serde_json::Value, Option<serde_json::Value>)> = piece::Entity::find()
            .select_only()
            .column(piece::Column::Id)
            .column(piece::Column::Booked)
            .column(piece::Column::Inspection)
            .filter(piece::Column::Id.is_in(ids.iter().copied()))
            .into_tuple()
            .all(db)
            .await?;
        sheets.extend(rows.into_iter().filter_map(|(id, booked, inspection)| {
            let said = |name: &str| {
                let written = inspection.as_ref().and_then(|sheet| sheet.get(name)).or(booked.get(name))?;
                written.as_str().map(str::to_owned)
            };
            Some((id, (said("edge")?.parse().ok()?, said("steel"))))
        }));
    }
    Ok(sheets)
}

async fn estimated(
    db: &impl ConnectionTrait,
    took: Vec<Took>,
    sheets: &HashMap<Uuid, (EdgeKind, Option<String>)>,
) -> Result<Vec<DoneWork>> {
    let mut steps: HashMap<Uuid, RouteStep> = HashMap::new();
    for ids in took.chunks(AT_ONCE) {
        let rows: Vec<(Uuid, serde_json::Value)> = operation::Entity::find()
            .select_only()
            .column(operation::Column::Id)
            .column(operation::Column::Step)
            .filter(operation::Column::Id.is_in(ids.iter().map(|one| one.operation)))
            .into_tuple()
            .all(db)
            .await?;
        for (id, step) in rows {
            steps.insert(id, json::read::<RouteStep>("operation.step", step)?);
        }
    }
    Ok(took
        .into_iter()
        .filter_map(|Took { piece, operation, kind, minutes: took }| {
            let RouteStep { station, setup, minutes: estimated, cut, .. } = steps.remove(&operation)?;
            let steel = sheets.get(&piece).and_then(|(_, steel)| steel.clone());
            Some(DoneWork { kind, station, setup, estimated, took, cut, steel })
        })
        .collect())
}

/// Pieces with what was taken from them: what they were, and where they were ground.
async fn grounds(
    db: &impl ConnectionTrait,
    found: Vec<(Uuid, f64)>,
    ground: &HashMap<Uuid, Uuid>,
    sheets: &HashMap<Uuid, (EdgeKind, Option<String>)>,
) -> Result<Vec<Taken>> {
    let mut taken = Vec::new();
    for ids in found.chunks(AT_ONCE) {
        let mut places = places_of(db, ids.iter().filter_map(|(id, _)| ground.get(id)).copied()).await?;
        taken.extend(ids.iter().filter_map(|(id, recession_mm)| {
            let (edge, steel) = sheets.get(id)?.clone();
            let ground_on = ground.get(id).and_then(|operation| places.remove(operation));
            Some(Taken { edge, recession_mm: *recession_mm, steel, ground_on })
        }));
    }
    Ok(taken)
}

/// Visits that became ready since an instant, in that order.
pub async fn promises(db: &impl ConnectionTrait, since: DateTime<Utc>) -> Result<Vec<Promise>> {
    let rows: Vec<(DateTime<Utc>, Option<DateTime<Utc>>, Option<DateTime<Utc>>)> = visit::Entity::find()
        .select_only()
        .column(visit::Column::PromiseAt)
        .column(visit::Column::ReceivedAt)
        .column(visit::Column::ReadyAt)
        .filter(visit::Column::ReadyAt.gte(since))
        .order_by_asc(visit::Column::ReadyAt)
        .into_tuple()
        .all(db)
        .await?;
    Ok(rows
        .into_iter()
        .filter_map(|(promised, received, ready)| Some(Promise { promised, received, ready: ready? }))
        .collect())
}

/// Bills issued since an instant, oldest first.
pub async fn billed(db: &impl ConnectionTrait, since: DateTime<Utc>) -> Result<Vec<Billed>> {
    let rows: Vec<(DateTime<Utc>, i64, i64)> = bill::Entity::find()
        .select_only()
        .column(bill::Column::IssuedAt)
        .column(bill::Column::TotalMinor)
        .column(bill::Column::TaxMinor)
        .filter(bill::Column::IssuedAt.gte(since))
        .order_by_asc(bill::Column::IssuedAt)
        .into_tuple()
        .all(db)
        .await?;
    Ok(rows.into_iter().map(|(at, total, tax)| Billed { at, total: Money(total), tax: Money(tax) }).collect())
}

/// How many pieces stand in each state; states without any are left out.
pub async fn pieces_by_state(db: &impl ConnectionTrait) -> Result<Vec<(PieceState, u64)>> {
    let rows: Vec<(String, i64)> = piece::Entity::find()
        .select_only()
        .column(piece::Column::State)
        .column_as(piece::Column::Id.count(), "n")
        .group_by(piece::Column::State)
        .into_tuple()
        .all(db)
        .await?;
    let mut counts: Vec<(PieceState, u64)> = rows
        .into_iter()
        .filter_map(|(state, n)| {
            let state = PieceState::ALL.iter().copied().find(|known| known.code() == state)?;
            Some((state, n.cast_unsigned()))
        })
        .collect();
    counts.sort_unstable_by_key(|(state, _)| *state as u8);
    Ok(counts)
}

/// When the oldest notice that still waits was to leave.
pub async fn oldest_waiting(db: &impl ConnectionTrait) -> Result<Option<DateTime<Utc>>> {
    Ok(outbox::Entity::find()
        .select_only()
        .column(outbox::Column::DueAt)
        .filter(outbox::Column::SentAt.is_null())
        .filter(outbox::Column::DeadAt.is_null())
        .order_by_asc(outbox::Column::DueAt)
        .limit(1)
        .into_tuple()
        .one(db)
        .await?)
}

/// When the standing plan was made.
pub async fn planned_at(db: &impl ConnectionTrait) -> Result<Option<DateTime<Utc>>> {
    Ok(plan::Entity::find()
        .select_only()
        .column(plan::Column::MadeAt)
        .order_by_desc(plan::Column::MadeAt)
        .limit(1)
        .into_tuple()
        .one(db)
        .await?)
}

/// Work that has not begun or not ended in one setup of a station; it would lose its place with the setup.
pub async fn work_ahead_in(db: &impl ConnectionTrait, station: &str, setup: Option<&str>) -> Result<u64> {
    let mut query = operation::Entity::find()
        .filter(operation::Column::Station.eq(station))
        .filter(operation::Column::State.eq("open").or(operation::Column::State.eq("started")));
    if let Some(setup) = setup {
        query = query.filter(operation::Column::Setup.eq(setup));
    }
    Ok(query.count(db).await?)
}

/// How many people the shop remembers.
pub async fn people(db: &impl ConnectionTrait) -> Result<u64> {
    Ok(customer::Entity::find().filter(customer::Column::ErasedAt.is_null()).count(db).await?)
}

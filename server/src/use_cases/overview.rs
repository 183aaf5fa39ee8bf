//! The owner looks at the shop as a whole: what needs attention, and how much there is of everything.

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use shop::bench::Bench;
use shop::ids::WheelId;
use shop::profile::Profile;

use super::nightly_backup;
use super::set_up::{Remembered, remembered};
use crate::config::Post;
use crate::context::Ctx;
use crate::local;
use crate::store::documents::Crew;
use crate::store::outbox::{self, Which};
use crate::store::{self, Engine, figures, knives, settings, staff, wheels};

/// A nightly backup this old means that one night at least was left out.
const OLD_BACKUP: TimeDelta = TimeDelta::hours(36);
/// A notice that should have left this long ago does not leave by itself.
const LATE_NOTICE: TimeDelta = TimeDelta::hours(1);
/// The carrier's rule on blades is asked for again after a year.
const CARRIER_RULE_HOLDS: TimeDelta = TimeDelta::days(365);

/// Something the owner should look at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Warning {
    /// There is no backup yet.
    NoBackup,
    /// The last backup is old.
    OldBackup(DateTime<Utc>),
    /// Backups by itself are switched off, or not for this database.
    BackupElsewhere {
        /// True when the books are in PostgreSQL.
        postgres: bool,
    },
    /// Notices wait because no post is set up.
    PostHeld(u64),
    /// Notices should have left, and have not.
    PostLate(DateTime<Utc>),
    /// Notices were given up.
    PostGivenUp(u64),
    /// A wheel must not be run: its mark's id and the reason.
    Unfit(WheelId, String),
    /// A setup has no wheel in use though something turns there.
    NoWheel(String),
    /// The carrier's rule was last checked on this day.
    CarrierUnchecked(NaiveDate),
    /// Nobody is at the bench.
    NobodyAtBench,
}

/// What the owner's first page shows.
#[derive(Debug, Clone)]
pub struct Overview {
    /// The shop; `None` until it is set up.
    pub profile: Option<Profile>,
    /// What to look at, most pressing first.
    pub warnings: Vec<Warning>,
    /// When the last backup was made.
    pub backed_up_at: Option<DateTime<Utc>>,
    /// Models made now, and all of them.
    pub models: (usize, usize),
    /// Wheels in use.
    pub n_wheels: usize,
    /// Stations.
    pub n_stations: usize,
    /// People who work here.
    pub n_people: usize,
    /// The latest changes.
    pub changes: Vec<Remembered>,
}

/// Gathers it.
pub async fn overview(ctx: &Ctx) -> store::Result<Overview> {
    let db = ctx.store.read();
    let now = ctx.now();
    let profile = settings::get::<Profile>(db).await?.map(|found| found.value);
    let bench = settings::get_or_default::<Bench>(db).await?.value;
    let crew = settings::get_or_default::<Crew>(db).await?.value;
    let in_use = wheels::in_use(db).await?;
    let models = knives::models(db).await?;
    let backed_up_at = nightly_backup::latest(&ctx.config.backup_folder).unwrap_or_default();
    let mut warnings = Vec::new();
    for known in &in_use {
        if let Err(why) = known.wheel.fit_to_run() {
            warnings.push(Warning::Unfit(known.wheel.id, why));
        }
    }
    warnings.extend(backup_warning(ctx, backed_up_at, now));
    warnings.extend(post_warnings(ctx, now).await?);
    for station in bench.stations.iter().filter(|station| station.kind.turns() && !station.closed) {
        for setup in &station.setups {
            if !in_use.iter().any(|k| k.wheel.station == station.id && k.wheel.setup == setup.id) {
                warnings.push(Warning::NoWheel(bench.setup_name(&station.id, &setup.id)));
            }
        }
    }
    if let Some(profile) = &profile {
        let today = local::date(local::zone(profile), now);
        if today - profile.carrier_checked > CARRIER_RULE_HOLDS {
            warnings.push(Warning::CarrierUnchecked(profile.carrier_checked));
        }
        if crew.hands.is_empty() {
            warnings.push(Warning::NobodyAtBench);
        }
    }
    Ok(Overview {
        warnings,
        backed_up_at,
        models: (models.iter().filter(|model| model.current).count(), models.len()),
        n_wheels: in_use.len(),
        n_stations: bench.stations.len(),
        n_people: staff::list(db).await?.iter().filter(|person| person.left_at.is_none()).count(),
        changes: remembered(ctx, None, None, 12).await?,
        profile,
    })
}

fn backup_warning(ctx: &Ctx, last: Option<DateTime<Utc>>, now: DateTime<Utc>) -> Option<Warning> {
    let postgres = ctx.store.engine() == Engine::Postgres;
    if postgres || ctx.config.backup_hour.is_none() {
        return Some(Warning::BackupElsewhere { postgres });
    }
    match last {
        None => Some(Warning::NoBackup),
        Some(at) => (now - at > OLD_BACKUP).then_some(Warning::OldBackup(at)),
    }
}

async fn post_warnings(ctx: &Ctx, now: DateTime<Utc>) -> store::Result<Vec<Warning>> {
    let db = ctx.store.read();
    let mut found = Vec::new();
    let waiting = outbox::count(db, Which::Waiting).await?;
    if matches!(ctx.config.post, Post::Hold) {
        found.push(Warning::PostHeld(waiting));
    } else if let Some(due) = figures::oldest_waiting(db).await?.filter(|due| now - *due > LATE_NOTICE) {
        found.push(Warning::PostLate(due));
    }
    let given_up = outbox::count(db, Which::GivenUp).await?;
    if given_up > 0 {
        found.push(Warning::PostGivenUp(given_up));
    }
    Ok(found)
}

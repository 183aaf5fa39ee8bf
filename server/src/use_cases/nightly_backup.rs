//! The nightly backup, by itself: at an hour of the shop's own clock, into a folder, so many of them kept.

use std::path::{Path, PathBuf};
use std::time::Duration;

use chrono::{DateTime, Days, NaiveDateTime, Utc};
use chrono_tz::Tz;
use shop::profile::Profile;

use crate::backup;
use crate::context::Ctx;
use crate::local;
use crate::store::{Engine, settings};

/// How often it is looked whether one is due. Also how long after the start the first one may be made, so that a shop that is
/// opened for a moment only is left alone.
const EVERY: Duration = Duration::from_mins(10);

/// How the names of our files begin and end; only such files are ever counted or deleted.
const NAME: (&str, &str) = ("whetledger-", ".tar");
const STAMP: &str = "%Y%m%dT%H%M%SZ";

/// Makes backups until the program stops.
pub async fn run(ctx: Ctx) {
    if ctx.config.backup_hour.is_none() || ctx.store.engine() == Engine::Postgres {
        tracing::info!("no nightly backup by itself");
        return;
    }
    loop {
        tokio::select! {
            () = tokio::time::sleep(EVERY) => {}
            () = ctx.stop.cancelled() => return,
        }
        match back_up_if_due(&ctx).await {
            Ok(None) => {}
            Ok(Some(file)) => tracing::info!(file = %file.display(), "backed up"),
            Err(error) => tracing::error!("the nightly backup failed: {error:#}"),
        }
    }
}

/// Makes a backup if the hour has struck since the last one, and takes the oldest away. Says which file it wrote.
pub async fn back_up_if_due(ctx: &Ctx) -> anyhow::Result<Option<PathBuf>> {
    let now = ctx.now();
    let Some(hour) = ctx.config.backup_hour else { return Ok(None) };
    let profile = settings::get::<Profile>(ctx.store.read()).await?;
    let zone = profile.map_or(Tz::UTC, |found| local::zone(&found.value));
    if latest(&ctx.config.backup_folder)?.is_some_and(|last| last >= last_strike(zone, hour, now)) {
        return Ok(None);
    }
    let folder = &ctx.config.backup_folder;
    std::fs::create_dir_all(folder)?;
    let file = folder.join(format!("{}{}{}", NAME.0, now.format(STAMP), NAME.1));
    backup::write(ctx, &file).await?;
    let keep = usize::try_from(ctx.config.backup_keep).unwrap_or(usize::MAX);
    for (_, old) in files(folder)?.into_iter().rev().skip(keep) {
        std::fs::remove_file(&old)?;
    }
    Ok(Some(file))
}

/// When the newest backup in a folder was made; `None` when there is none.
pub fn latest(folder: &Path) -> std::io::Result<Option<DateTime<Utc>>> {
    Ok(files(folder)?.last().map(|(at, _)| *at))
}

/// Our backups in a folder, oldest first. A folder that is not there holds none.
fn files(folder: &Path) -> std::io::Result<Vec<(DateTime<Utc>, PathBuf)>> {
    let entries = match std::fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(error),
    };
    let mut found = Vec::new();
    for entry in entries {
        let path = entry?.path();
        let stamp = path
            .file_name()
            .and_then(|name| name.to_str())
            .and_then(|name| name.strip_prefix(NAME.0)?.strip_suffix(NAME.1))
            .and_then(|stamp| NaiveDateTime::parse_from_str(stamp, STAMP).ok());
        if let Some(stamp) = stamp {
            found.push((stamp.and_utc(), path));
        }
    }
    found.sort_unstable();
    Ok(found)
}

/// The last instant at which clocks in `zone` showed that hour.
fn last_strike(zone: Tz, hour: u8, now: DateTime<Utc>) -> DateTime<Utc> {
    let today = local::date(zone, now);
    let strike = |date| local::at_minute(zone, date, u16::from(hour) * 60);
    let at = strike(today);
    if at <= now { at } else { today.checked_sub_days(Days::new(1)).map_or(at, strike) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hour_strikes_by_the_shops_own_clock() {
        let utc = |text: &str| text.parse::<DateTime<Utc>>().unwrap();
        // Lisbon is at UTC+1 in July.
        let strike = |now| last_strike(Tz::Europe__Lisbon, 3, utc(now));
        assert_eq!(strike("2026-07-02T01:59:00Z"), utc("2026-07-01T02:00:00Z"));
        assert_eq!(strike("2026-07-02T02:00:00Z"), utc("2026-07-02T02:00:00Z"));
    }

    #[test]
    fn only_our_own_files_are_counted() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(latest(&folder.path().join("nowhere")).unwrap(), None);
        for name in [
            "whetledger-20260302T030000Z.tar",
            "whetledger-20260301T030000Z.tar",
            "whetledger-old.tar",
            "x.tar",
        ] {
            std::fs::write(folder.path().join(name), "").unwrap();
        }
        assert_eq!(files(folder.path()).unwrap().len(), 2);
        assert_eq!(latest(folder.path()).unwrap().unwrap().to_rfc3339(), "2026-03-02T03:00:00+00:00");
    }
}

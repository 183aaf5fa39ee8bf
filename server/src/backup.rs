//! A whole shop in one file, and back again.
//!
//! The file is a plain tar: `whetledger.db` (a snapshot that SQLite itself makes while everybody goes on working),
//! `photos/...`, and at the end `backup.json` with the size and SHA-256 of each. Nothing in it is compressed:
//! photos are already, and a file that any tool can open is worth more on a bad day.
//!
//! A PostgreSQL shop is backed up with PostgreSQL's own tools; this module says so.

use std::fs::{self, File};
use std::io::{self, BufReader, BufWriter, Read, Write};
use std::path::{Component, Path, PathBuf};

use anyhow::{Context as _, bail, ensure};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};
use tokio::runtime::Handle;

use crate::album::Album;
use crate::config::Config;
use crate::context::Ctx;
use crate::store::{Engine, Store};

/// The database's name inside a backup.
const DATABASE: &str = "whetledger.db";
/// The folder of photos, inside a backup and inside the data folder.
const PHOTOS: &str = "photos";
/// The list of contents, the last file of a backup.
const CONTENTS: &str = "backup.json";
/// This program reads and writes this format.
const FORMAT: u32 = 1;
/// The list of contents of a shop with a million photos has a tenth of this.
const MOST_CONTENTS_BYTES: u64 = 1 << 30;

/// What a backup holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Contents {
    /// How the file is laid out.
    pub format: u32,
    /// When the snapshot was made.
    pub made_at: DateTime<Utc>,
    /// The version of the program that made it.
    pub program: String,
    /// Every file.
    pub files: Vec<Entry>,
}

/// One file of a backup.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// Its path, with forward slashes.
    pub path: String,
    /// Its length.
    pub n_bytes: u64,
    /// Its SHA-256, in hexadecimal.
    pub sha256: String,
}

impl Contents {
    /// The length of all files together.
    pub fn n_bytes(&self) -> u64 {
        self.files.iter().map(|file| file.n_bytes).sum()
    }

    /// How many photos there are.
    pub fn n_photos(&self) -> usize {
        self.files.iter().filter(|file| file.path != DATABASE).count()
    }
}

/// Writes a backup while the shop goes on working. The file appears whole or not at all; one of the same name is
/// replaced.
pub async fn write(ctx: &Ctx, to: &Path) -> anyhow::Result<Contents> {
    if ctx.store.engine() == Engine::Postgres {
        bail!(
            "this shop's books are in PostgreSQL: back them up with pg_dump --format=custom, and copy {} \
             afterwards (in this order: then no photo that the books name is missing)",
            ctx.album.place()
        );
    }
    let made_at = ctx.now();
    let snapshot = tempfile::tempdir_in(&ctx.config.data).context("cannot write into the data folder")?;
    // The snapshot first, the photos afterwards: a photo is stored before the row that names it, so none is missing.
    ctx.store
        .snapshot(&snapshot.path().join(DATABASE))
        .await
        .context("cannot make a snapshot of the database")?;
    let names = ctx.album.names().await?;
    let (to, album, runtime) = (to.to_path_buf(), ctx.album.clone(), Handle::current());
    tokio::task::spawn_blocking(move || {
        let folder = to.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let unfinished = tempfile::NamedTempFile::new_in(folder)
            .with_context(|| format!("cannot write into {}", folder.display()))?;
        // One after the other: a picture is small, all of them together are not.
        let photos = names.into_iter().map(|name| {
            let bytes = runtime.block_on(album.read(&name))?;
            Ok(bytes.map(|bytes| (name, bytes)))
        });
        let contents = pack(unfinished.as_file(), snapshot.path(), photos, made_at)?;
        unfinished.as_file().sync_all()?;
        unfinished.persist(&to).with_context(|| format!("cannot write {}", to.display()))?;
        Ok(contents)
    })
    .await?
}

fn pack(
    file: &File,
    snapshot: &Path,
    photos: impl Iterator<Item = anyhow::Result<Option<(String, Vec<u8>)>>>,
    made_at: DateTime<Utc>,
) -> anyhow::Result<Contents> {
    let mut tar = tar::Builder::new(BufWriter::new(file));
    let mtime = u64::try_from(made_at.timestamp()).unwrap_or(0);
    let database = File::open(snapshot.join(DATABASE)).context("cannot read the snapshot")?;
    let n_bytes = database.metadata()?.len();
    let mut files =
        vec![append(&mut tar, BufReader::new(database).take(n_bytes), n_bytes, DATABASE.to_owned(), mtime)?];
    for photo in photos {
        // One that was erased meanwhile is rightly not there.
        let Some((name, bytes)) = photo? else { continue };
        files.push(append(
            &mut tar,
            bytes.as_slice(),
            bytes.len() as u64,
            format!("{PHOTOS}/{name}"),
            mtime,
        )?);
    }
    let program = env!("CARGO_PKG_VERSION").to_owned();
    let contents = Contents { format: FORMAT, made_at, program, files };
    let json = serde_json::to_vec_pretty(&contents)?;
    tar.append_data(&mut header(json.len() as u64, mtime), CONTENTS, json.as_slice())?;
    tar.into_inner()?.into_inner().map_err(io::IntoInnerError::into_error)?;
    Ok(contents)
}

fn append(
    tar: &mut tar::Builder<impl Write>,
    from: impl Read,
    n_bytes: u64,
    path: String,
    mtime: u64,
) -> anyhow::Result<Entry> {
    let mut reader = Hashing { inner: from, hash: Sha256::new() };
    tar.append_data(&mut header(n_bytes, mtime), &path, &mut reader)
        .with_context(|| format!("cannot pack {path}"))?;
    Ok(Entry { path, n_bytes, sha256: hex::encode(reader.hash.finalize()) })
}

fn header(n_bytes: u64, mtime: u64) -> tar::Header {
    let mut header = tar::Header::new_gnu();
    header.set_size(n_bytes);
    header.set_mode(0o600);
    header.set_mtime(mtime);
    header
}

/// Puts a backup in place of what is in the data folder. What was there is set aside, not deleted, and the answer
/// says where. Everything is checked before anything is touched: every hash, and the database by itself.
///
/// The caller makes sure that nobody works on the data folder.
pub async fn restore(
    config: &Config,
    from: &Path,
    now: DateTime<Utc>,
) -> anyhow::Result<(Contents, PathBuf)> {
    let url = config.database_url.reveal();
    let Some(database) = Store::sqlite_file(url).map(Path::to_path_buf) else {
        bail!(
            "WHETLEDGER_DATABASE_URL names PostgreSQL: restore with pg_restore, and put the photos back by hand"
        );
    };
    fs::create_dir_all(&config.data)?;
    let unpacked = tempfile::tempdir_in(&config.data).context("cannot write into the data folder")?;
    let (archive, folder) = (from.to_path_buf(), unpacked.path().to_path_buf());
    let contents = tokio::task::spawn_blocking(move || unpack(&archive, &folder)).await??;
    let fresh = unpacked.path().join(DATABASE);
    let store = Store::open(&format!("sqlite:{}", fresh.display()), 1).await?;
    let complaint = store.complaint().await?;
    store.close().await?;
    ensure!(complaint.is_none(), "the database in the backup is damaged: {}", complaint.unwrap_or_default());

    let stamp = now.format("%Y%m%dT%H%M%SZ");
    let aside = config.data.join(format!("before-restore-{stamp}"));
    fs::create_dir(&aside).with_context(|| format!("cannot make {}", aside.display()))?;
    let album = Album::open(&config.photos)?;
    if let Some(folder) = album.folder() {
        // Beside itself when it is not in the data folder: a move goes no further than the disk.
        let beside = || folder.with_file_name(format!("photos-before-restore-{stamp}"));
        let into = if folder.starts_with(&config.data) { aside.join(PHOTOS) } else { beside() };
        set_photos_aside(folder, &into)?;
    }
    // Elsewhere pictures cannot be set aside; but none ever changes under its name, so those that are there may stay.
    for entry in &contents.files {
        if let Some(name) = entry.path.strip_prefix(&format!("{PHOTOS}/")) {
            album.write(name, fs::read(unpacked.path().join(&entry.path))?).await?;
        }
    }
    for ending in ["", "-wal", "-shm"] {
        let mut name = database.clone().into_os_string();
        name.push(ending);
        move_if_there(Path::new(&name), &aside)?;
    }
    if let Some(folder) = database.parent() {
        fs::create_dir_all(folder)?;
    }
    // A copy and a rename: the database may lie on another disk than the data folder.
    let beside = database.with_extension("restoring.tmp");
    fs::copy(&fresh, &beside)?;
    File::open(&beside)?.sync_all()?;
    // The database last: until it is there, nothing names the photos.
    fs::rename(&beside, &database)?;
    Ok((contents, aside))
}

/// Moves what lies in the folder of pictures into another; the folder itself stays, somebody may have mounted it.
fn set_photos_aside(folder: &Path, into: &Path) -> anyhow::Result<()> {
    fs::create_dir(into).with_context(|| format!("cannot make {}", into.display()))?;
    for entry in fs::read_dir(folder).with_context(|| format!("cannot read {}", folder.display()))? {
        let from = entry?.path();
        let Some(name) = from.file_name() else { continue };
        fs::rename(&from, into.join(name))
            .with_context(|| format!("cannot set {} aside: move it away by hand first", from.display()))?;
    }
    Ok(())
}

fn move_if_there(path: &Path, into: &Path) -> anyhow::Result<()> {
    let Some(name) = path.file_name() else { return Ok(()) };
    if !path.exists() {
        return Ok(());
    }
    let target = into.join(name);
    if fs::rename(path, &target).is_err() {
        // Another disk.
        fs::copy(path, &target).with_context(|| format!("cannot set {} aside", path.display()))?;
        fs::remove_file(path)?;
    }
    Ok(())
}

/// Unpacks and checks. Only what the list of contents names may be there, whole and unchanged.
fn unpack(archive: &Path, folder: &Path) -> anyhow::Result<Contents> {
    let file = File::open(archive).with_context(|| format!("cannot read {}", archive.display()))?;
    let mut found = Vec::new();
    let mut contents: Option<Contents> = None;
    for entry in tar::Archive::new(BufReader::new(file)).entries()? {
        let mut entry = entry.context("this is no backup of ours, or it is cut off")?;
        let path = entry.path()?.to_str().context("a name that is no text")?.to_owned();
        ensure!(entry.header().entry_type().is_file(), "{path} is no plain file");
        if path == CONTENTS {
            let json = entry.by_ref().take(MOST_CONTENTS_BYTES);
            contents = Some(serde_json::from_reader(json).context("the list of contents cannot be read")?);
            continue;
        }
        ensure!(is_ours(&path), "{path} does not belong into a backup");
        let target = folder.join(&path);
        if let Some(parent) = target.parent() {
            fs::create_dir_all(parent)?;
        }
        let mut reader = Hashing { inner: entry, hash: Sha256::new() };
        let mut written = File::create_new(&target).with_context(|| format!("{path} is there twice"))?;
        let n_bytes = io::copy(&mut reader, &mut written).context("the backup is cut off")?;
        written.sync_all()?;
        found.push(Entry { path, n_bytes, sha256: hex::encode(reader.hash.finalize()) });
    }
    let contents =
        contents.context("the list of contents is missing: the backup is cut off or none of ours")?;
    ensure!(
        contents.format == FORMAT,
        "the backup has format {}, this program reads {FORMAT}",
        contents.format
    );
    for (expected, found) in contents.files.iter().zip(&found) {
        ensure!(expected == found, "{} is not what was backed up", expected.path);
    }
    ensure!(contents.files.len() == found.len(), "the backup does not hold what its list of contents names");
    ensure!(contents.files.iter().any(|file| file.path == DATABASE), "there is no database in the backup");
    Ok(contents)
}

/// Whether a path inside a backup is the database or lies under the photos, without any detour.
fn is_ours(path: &str) -> bool {
    let plain = Path::new(path).components().all(|part| matches!(part, Component::Normal(_)));
    plain
        && (path == DATABASE
            || path.strip_prefix(PHOTOS).is_some_and(|rest| rest.len() > 1 && rest.starts_with('/')))
}

/// Hashes whatever is read through it.
struct Hashing<R> {
    inner: R,
    hash: Sha256,
}

impl<R: Read> Read for Hashing<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let n = self.inner.read(buffer)?;
        self.hash.update(&buffer[..n]);
        Ok(n)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_outside_the_shop_can_be_unpacked() {
        for good in ["whetledger.db", "photos/a.jpg", "photos/ab/c.webp"] {
            assert!(is_ours(good), "{good}");
        }
        for bad in
            ["photos", "photos/", "photos/../x", "/photos/x", "../whetledger.db", "photosx/a", "other.db", ""]
        {
            assert!(!is_ours(bad), "{bad}");
        }
    }
}

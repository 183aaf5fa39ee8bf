//! A customer asks what is kept about them: everything, in one archive that any program can open.

use serde::Serialize;
use shop::ids::CustomerId;
use shop::ledger::Entry;
use shop::read::{Contact, Knife, Visit};

use super::set_up::NotSaved;
use crate::context::Ctx;
use crate::store::changes::{self, Subject};
use crate::store::persons::{self, Text};
use crate::store::staff::Person;
use crate::store::{customers, knives, ledger, outbox, visits};

/// Everything that is kept about one person, as it is written into `data.json`.
#[derive(Debug, Serialize)]
struct Everything {
    exported_at: chrono::DateTime<chrono::Utc>,
    contact: Contact,
    visits: Vec<Visit>,
    texts: Vec<Text>,
    notices: Vec<Notice>,
    knives: Vec<KnifeRecord>,
    photos: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Notice {
    written_at: chrono::DateTime<chrono::Utc>,
    to: String,
    subject: String,
    text: String,
}

#[derive(Debug, Serialize)]
struct KnifeRecord {
    knife: Knife,
    ledger: Vec<Entry>,
}

/// A plain tar with `data.json` and the pictures under `photos/`. That it was made is written down, not what was in it.
pub async fn export_customer(ctx: &Ctx, by: &Person, id: CustomerId) -> Result<Vec<u8>, NotSaved> {
    let now = ctx.now();
    let db = ctx.store.read();
    let contact = customers::get(db, id).await?.ok_or(NotSaved::Gone)?;
    let visits = visits::of_customer(db, id).await?;
    let mut notices = Vec::new();
    for visit in &visits {
        for kept in outbox::about(db, visit.id.0).await? {
            notices.push(Notice {
                written_at: kept.queued_at,
                to: kept.to_address,
                subject: kept.subject,
                text: kept.text,
            });
        }
    }
    let mut records = Vec::new();
    for knife in knives::of_owner(db, id).await? {
        let ledger = ledger::of_knife(db, knife.id).await?;
        records.push(KnifeRecord { knife, ledger });
    }
    let photos = persons::photos(db, id).await?;
    let everything = Everything {
        exported_at: now,
        contact,
        visits,
        texts: persons::texts(db, id).await?,
        notices,
        knives: records,
        photos: photos.iter().map(|photo| format!("photos/{photo}.jpg")).collect(),
    };
    let json = serde_json::to_vec_pretty(&everything)
        .map_err(|error| NotSaved::field("reference", format!("It cannot be written down: {error}.")))?;
    let mut files = Vec::new();
    for id in photos {
        let found = ctx.album.get(id).await;
        let found = found.map_err(|error| {
            NotSaved::field("reference", format!("The pictures cannot be read: {error}."))
        })?;
        // A picture that is gone is named in data.json and missing here.
        files.extend(found.map(|bytes| (format!("photos/{id}.jpg"), bytes)));
    }
    let archive = tokio::task::spawn_blocking(move || pack(&json, files, now)).await;
    let archive = archive
        .map_err(std::io::Error::other)
        .flatten()
        .map_err(|error| NotSaved::field("reference", format!("The archive cannot be written: {error}.")))?;
    let tx = ctx.store.begin_write().await?;
    changes::add(&tx, Subject::Customer, Some(id.0), &["exported".to_owned()], Some(by.id), now).await?;
    tx.commit().await?;
    Ok(archive)
}

fn pack(
    json: &[u8],
    photos: Vec<(String, Vec<u8>)>,
    now: chrono::DateTime<chrono::Utc>,
) -> std::io::Result<Vec<u8>> {
    let mut tar = tar::Builder::new(Vec::new());
    let mut add = |name: &str, bytes: &[u8]| {
        let mut header = tar::Header::new_gnu();
        header.set_size(bytes.len() as u64);
        header.set_mode(0o600);
        header.set_mtime(u64::try_from(now.timestamp()).unwrap_or(0));
        tar.append_data(&mut header, name, bytes)
    };
    add("data.json", json)?;
    for (name, bytes) in photos {
        add(&name, &bytes)?;
    }
    tar.into_inner()
}

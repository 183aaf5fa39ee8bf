//! Where pictures are kept: a folder of this machine, or a store elsewhere that speaks S3, so that several servers share them.
//!
//! A picture is written whole and through to the disk before the row that names it, and never changed under its name. So no row
//! is without its picture, and a picture without a row is litter that is swept out ([`crate::use_cases::housekeeping`]).

use std::fmt;
use std::path::Path as FilePath;
use std::sync::Arc;
use std::time::Duration;

use anyhow::Context as _;
use futures::{StreamExt as _, TryStreamExt as _};
use object_store::aws::AmazonS3Builder;
use object_store::local::LocalFileSystem;
use object_store::path::Path;
use object_store::prefix::PrefixStore;
use object_store::{ClientOptions, Error, ObjectStore, ObjectStoreExt as _, RetryConfig};
use shop::ids::PhotoId;

use crate::config::Photos;
use crate::tls;

/// A store that does not answer is given up before the request that waits for it is.
const MOST_WAIT: Duration = Duration::from_secs(15);

/// All pictures. Cheap to clone.
#[derive(Clone)]
pub struct Album {
    store: Arc<dyn ObjectStore>,
    place: Photos,
}

impl fmt::Debug for Album {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Album({})", self.place)
    }
}

impl Album {
    /// Opens the place that the settings name; a folder is made when it is not there.
    ///
    /// # Errors
    /// When the folder cannot be made or the address of the store is none. A store that is only silent shows later.
    pub fn open(place: &Photos) -> anyhow::Result<Self> {
        let store: Arc<dyn ObjectStore> = match place {
            Photos::Folder(folder) => {
                std::fs::create_dir_all(folder)
                    .with_context(|| format!("cannot make {}", folder.display()))?;
                Arc::new(LocalFileSystem::new_with_prefix(folder)?.with_fsync(true))
            }
            Photos::S3(s3) => {
                // The one that is set already does as well: it is the same.
                let _ = tls::provider().install_default();
                let client = ClientOptions::new()
                    .with_allow_http(s3.endpoint.starts_with("http://"))
                    .with_connect_timeout(Duration::from_secs(5))
                    .with_timeout(MOST_WAIT);
                let retry =
                    RetryConfig { max_retries: 3, retry_timeout: MOST_WAIT, ..RetryConfig::default() };
                let mut builder = AmazonS3Builder::new()
                    .with_bucket_name(&s3.bucket)
                    .with_region(&s3.region)
                    .with_access_key_id(&s3.key_id)
                    .with_secret_access_key(s3.secret.reveal())
                    .with_client_options(client)
                    .with_retry(retry);
                if !s3.endpoint.is_empty() {
                    builder = builder.with_endpoint(&s3.endpoint);
                }
                let bucket = builder.build().context("WHETLEDGER_PHOTOS: this store cannot be opened")?;
                Arc::new(PrefixStore::new(bucket, s3.folder.as_str()))
            }
        };
        Ok(Self { store, place: place.clone() })
    }

    /// Keeps a picture, whole or not at all.
    ///
    /// # Errors
    /// When the disk is full or the store does not take it.
    pub async fn put(&self, id: PhotoId, jpeg: Vec<u8>) -> anyhow::Result<()> {
        self.write(&name(id), jpeg).await
    }

    /// A picture's bytes; `None`: it is not there.
    ///
    /// # Errors
    /// When the disk or the store does not answer.
    pub async fn get(&self, id: PhotoId) -> anyhow::Result<Option<Vec<u8>>> {
        self.read(&name(id)).await
    }

    /// Takes pictures away; one that is not there is gone already. One that cannot be taken away is named in the log: it has to go
    /// by hand.
    pub async fn remove(&self, ids: Vec<PhotoId>) {
        let paths = futures::stream::iter(ids.into_iter().map(|id| Ok(Path::from(name(id))))).boxed();
        let mut done = self.store.delete_stream(paths);
        while let Some(gone) = done.next().await {
            match gone {
                Ok(_) | Err(Error::NotFound { .. }) => {}
                Err(error) => tracing::error!("a picture cannot be deleted: {error}"),
            }
        }
    }

    /// The names of all pictures, in order. Anything else that lies there is passed over.
    ///
    /// # Errors
    /// When the disk or the store does not answer.
    pub async fn names(&self) -> anyhow::Result<Vec<String>> {
        let all = self.store.list(None).map_ok(|found| found.location.to_string());
        let mut names: Vec<String> = all
            .try_filter(|name| {
                std::future::ready(FilePath::new(name).extension().is_some_and(|kind| kind == "jpg"))
            })
            .try_collect()
            .await
            .with_context(|| format!("cannot read {}", self.place))?;
        names.sort_unstable();
        Ok(names)
    }

    /// The bytes under a name of [`Self::names`]; `None`: it is gone meanwhile.
    ///
    /// # Errors
    /// When the disk or the store does not answer.
    pub async fn read(&self, name: &str) -> anyhow::Result<Option<Vec<u8>>> {
        let found = match self.store.get(&Path::from(name)).await {
            Ok(found) => found,
            Err(Error::NotFound { .. }) => return Ok(None),
            Err(error) => return Err(error.into()),
        };
        Ok(Some(found.bytes().await?.to_vec()))
    }

    /// Writes bytes under a name of [`Self::names`], as a restore does.
    ///
    /// # Errors
    /// As [`Self::put`].
    pub async fn write(&self, name: &str, bytes: Vec<u8>) -> anyhow::Result<()> {
        self.store
            .put(&Path::from(name), bytes.into())
            .await
            .with_context(|| format!("cannot write a picture into {}", self.place))?;
        Ok(())
    }

    /// Where they are, for people.
    pub fn place(&self) -> String {
        self.place.to_string()
    }

    /// The folder they lie in, if it is one of this machine.
    pub fn folder(&self) -> Option<&FilePath> {
        match &self.place {
            Photos::Folder(folder) => Some(folder),
            Photos::S3(_) => None,
        }
    }
}

/// The name a picture is kept under.
pub fn name(id: PhotoId) -> String {
    let id = id.to_string();
    // Ids grow with time; their last two characters spread them over folders.
    format!("{}/{id}.jpg", &id[id.len() - 2..])
}

/// Whose name it is; `None`: none of ours.
pub fn id_of(name_of: &str) -> Option<PhotoId> {
    let id = name_of.rsplit('/').next()?.strip_suffix(".jpg")?.parse().ok()?;
    (name(id) == name_of).then_some(id)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_picture_is_kept_under_its_id() {
        let folder = tempfile::tempdir().unwrap();
        let album = Album::open(&Photos::Folder(folder.path().join("photos"))).unwrap();
        let id = PhotoId(uuid::Uuid::from_u128(0x2ab));
        assert_eq!(album.get(id).await.unwrap(), None);
        album.put(id, b"x".to_vec()).await.unwrap();
        let file = "photos/ab/00000000-0000-0000-0000-0000000002ab.jpg";
        assert_eq!(std::fs::read(folder.path().join(file)).unwrap(), b"x");
        assert_eq!(album.get(id).await.unwrap().unwrap(), b"x");
        std::fs::write(folder.path().join("photos/ab/half.jpg.tmp"), "y").unwrap();
        let names = album.names().await.unwrap();
        assert_eq!(names.iter().map(|name| id_of(name)).collect::<Vec<_>>(), [Some(id)]);
        for other in ["ab/one.jpg", "00/00000000-0000-0000-0000-0000000002ab.jpg", "x"] {
            assert_eq!(id_of(other), None, "{other}");
        }
        album.remove(vec![id, PhotoId(uuid::Uuid::from_u128(7))]).await;
        assert!(album.names().await.unwrap().is_empty());
    }
}

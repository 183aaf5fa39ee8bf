//! What a use case may reach: the store, the clock, fresh ids, the settings, and bells to ring.

use std::borrow::Cow;
use std::sync::{Arc, Mutex, PoisonError};

use assess::Knowledge;
use chrono::{DateTime, TimeDelta, Utc};
use shop::profile::Profile;
use tokio::sync::{Notify, broadcast};
use tokio_util::sync::CancellationToken;
use uuid::{ContextV7, Timestamp, Uuid};

use crate::album::Album;
use crate::clock::Clock;
use crate::config::Config;
use crate::store::Store;

/// Everything a use case may reach. Cheap to clone; all clones are the same shop.
#[derive(Debug, Clone)]
pub struct Ctx {
    /// What the shop remembers.
    pub store: Store,
    /// Where the present comes from.
    pub clock: Clock,
    /// The settings the program was started with.
    pub config: Arc<Config>,
    /// Where pictures are kept.
    pub album: Album,
    /// The shop's documents as they were read last.
    pub known: Known,
    /// Rung after a commit that queued a notice.
    pub post: Bell,
    /// Rung after a commit that changed what there is to plan.
    pub planner: Bell,
    /// Tells the staff pages that are open that something changed.
    pub live: Live,
    /// This server among several on one database, for as long as it runs.
    pub server: Uuid,
    /// Cancelled when the program is asked to stop.
    pub stop: CancellationToken,
    ids: Arc<Mutex<ContextV7>>,
}

impl Ctx {
    /// Puts a shop together.
    ///
    /// # Errors
    /// When the place for pictures cannot be opened.
    pub fn new(store: Store, clock: Clock, config: Config) -> anyhow::Result<Self> {
        Ok(Self {
            store,
            clock,
            album: Album::open(&config.photos)?,
            config: Arc::new(config),
            known: Known::default(),
            post: Bell::default(),
            planner: Bell::default(),
            live: Live::default(),
            server: Uuid::new_v4(),
            stop: CancellationToken::new(),
            ids: Arc::new(Mutex::new(ContextV7::new())),
        })
    }

    /// The same shop under another clock: for living through the past of a demo.
    #[must_use]
    pub fn under(&self, clock: Clock) -> Self {
        Self { clock, ..self.clone() }
    }

    /// The present: UTC, whole microseconds.
    pub fn now(&self) -> DateTime<Utc> {
        self.clock.now()
    }

    /// A fresh id. Ids grow with time (UUID version 7, RFC 9562), by the shop's own clock.
    pub fn new_id(&self) -> Uuid {
        let now = self.now();
        let seconds = u64::try_from(now.timestamp()).unwrap_or(0);
        let ids = self.ids.lock().unwrap_or_else(PoisonError::into_inner);
        Uuid::new_v7(Timestamp::from_unix(&*ids, seconds, now.timestamp_subsec_nanos()))
    }

    /// Until when a one-time password that is given now opens anything.
    pub fn one_time_until(&self) -> DateTime<Utc> {
        self.now() + TimeDelta::hours(i64::from(self.config.one_time_hours))
    }

    /// A whole address of one of our pages. `path` starts with a slash.
    pub fn url(&self, path: &str) -> String {
        format!("{}{path}", self.config.public_url)
    }
}

/// Wakes a background worker. A ring before anybody listens is remembered, one of them.
#[derive(Debug, Clone, Default)]
pub struct Bell(Arc<Notify>);

impl Bell {
    /// Wakes the worker. Call it after the commit, never before.
    pub fn ring(&self) {
        self.0.notify_one();
    }

    /// Waits for the next ring.
    pub async fn rung(&self) {
        self.0.notified().await;
    }
}

/// Something changed that an open page may show.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Change {
    /// What kind of thing: `visit`, `plan`, `post`, ...
    pub what: Cow<'static, str>,
    /// Which one, when it is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<Uuid>,
    /// Another server told us; it need not be told again.
    #[serde(skip)]
    pub from_afar: bool,
}

impl Change {
    /// Something may have changed that was missed: look at all of it again.
    pub const fn everything() -> Self {
        Self { what: Cow::Borrowed("everything"), id: None, from_afar: false }
    }
}

/// The shop's documents as they were read last, and the stamp they were read at.
#[derive(Debug, Clone, Default)]
pub struct Known(Arc<Mutex<Option<(i64, Documents)>>>);

/// Its rules, and what it knows of knives.
type Documents = Arc<(Profile, Knowledge)>;

impl Known {
    /// The documents, if they are still those of this stamp.
    pub fn at(&self, stamp: i64) -> Option<Documents> {
        let kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.as_ref().filter(|(at, _)| *at == stamp).map(|(_, documents)| documents.clone())
    }

    /// Keeps what was read at a stamp.
    pub fn keep(&self, stamp: i64, documents: &Documents) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = Some((stamp, documents.clone()));
    }
}

/// Sends changes to whoever has a staff page open. Nobody listening is no error; a listener that lags is told
/// to look at everything again.
#[derive(Debug, Clone)]
pub struct Live(broadcast::Sender<Change>);

impl Default for Live {
    fn default() -> Self {
        // Small: a page that is more than this many changes behind reloads anyway.
        Self(broadcast::channel(64).0)
    }
}

impl Live {
    /// Tells about a change. Call it after the commit.
    pub fn tell(&self, what: &'static str, id: Option<Uuid>) {
        let _ = self.0.send(Change { what: Cow::Borrowed(what), id, from_afar: false });
    }

    /// Passes on what another server told.
    pub fn hear(&self, change: Change) {
        let _ = self.0.send(Change { from_afar: true, ..change });
    }

    /// Listens from now on.
    pub fn listen(&self) -> broadcast::Receiver<Change> {
        self.0.subscribe()
    }
}

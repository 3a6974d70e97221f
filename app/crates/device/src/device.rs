//! The device: one handle for everything the screens need.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use futures::future::{try_join, try_join3};
use futures::lock::Mutex;
use shared_types::api::Me;
use shared_types::change::Unreadable;
use shared_types::check::Problem;
use shared_types::ids::{DeviceId, JobId, LogId, ShopId, UserId};
use shared_types::job::JobState;
use shared_types::json;
use shared_types::rules::Denied;
use shared_types::shop::ShopState;
use shared_types::status::JobSummary;
use shared_types::time::UtcMillis;
use uuid::Uuid;

use crate::call::Access;
use crate::event::{Ears, Event, Listening, News, SyncState};
use crate::log::Cache;
use crate::photo::NotAPhoto;
use crate::rows::{LogRow, SIGNED_IN, SignedIn, USED, log_of_key, user_prefix};
use crate::state::State;
use crate::store::{Batch, LocalStore, StoreError, Table, from_row};
use crate::surroundings::{KeyError, Storage, Surroundings};
use crate::transport::Transport;
use crate::trouble::Trouble;
use crate::upload::Progress;
use crate::wake::{Signal, Wake};

/// Everything a phone holds and does. Clones are handles to the same device.
pub struct Device<S, T, E> {
    pub(crate) inner: Rc<Inner<S, T, E>>,
}

pub(crate) struct Inner<S, T, E> {
    pub store: S,
    pub transport: T,
    pub surroundings: E,
    /// What is known without asking the store; never borrowed across an await.
    pub now: RefCell<Now>,
    /// One writer at a time; other tabs are kept off by [`Batch::require`].
    pub writing: Mutex<()>,
    /// One round of sync at a time.
    pub syncing: Mutex<()>,
    pub wake: Wake,
    /// Given when a round of sync went through.
    pub contact: Signal,
    pub ears: Rc<Ears>,
}

/// What the device knows without asking its store.
#[derive(Default)]
pub(crate) struct Now {
    pub signed_in: Option<SignedIn>,
    pub access: Access,
    /// What the server's clock is ahead of this device's, in milliseconds.
    pub skew: i64,
    pub cache: Cache,
    pub sync: SyncState,
    /// Logs that the server takes nothing into, and why.
    pub held: BTreeMap<LogId, String>,
    /// Logs and photos that failed by themselves.
    pub trouble: BTreeMap<String, Trouble>,
    pub progress: Progress,
    pub lost_work: Option<usize>,
    /// Does this tab send? Other tabs tell it what they made.
    pub sender: bool,
}

impl<S, T, E> Clone for Device<S, T, E> {
    fn clone(&self) -> Self {
        Self { inner: Rc::clone(&self.inner) }
    }
}

/// A job in the list.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct JobRow {
    /// Its shop.
    pub shop: ShopId,
    /// The job.
    pub job: JobId,
    /// All that the list, its search and its groups need.
    pub summary: JobSummary,
    /// Its changes that the server has not acknowledged.
    pub unsent_changes: usize,
    /// Its photos whose bytes are not on the server.
    pub unsent_photos: usize,
}

/// Work of one person that only this device holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct UnsentWork {
    /// Whose: the sign-in name.
    pub login: String,
    /// Changes not acknowledged.
    pub changes: usize,
    /// Photos not on the server.
    pub photos: usize,
    /// The bytes of those photos.
    pub bytes: u64,
    /// Items in the refused tray that nobody has dealt with.
    pub refused: usize,
    /// Others' changes that the server lost and this device kept.
    pub strays: usize,
}

impl UnsentWork {
    /// Nothing is held here alone.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.changes == 0 && self.photos == 0 && self.refused == 0 && self.strays == 0
    }
}

/// Why the device could not do it by itself.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LocalError {
    /// Nobody is signed in on this device.
    #[error("sign in first")]
    NotSignedIn,
    /// Fields are out of limits.
    #[error("{}", .0.first().map_or_else(|| "out of limits".to_owned(), ToString::to_string))]
    OutOfLimits(Vec<Problem>),
    /// Not this person's to do.
    #[error(transparent)]
    Denied(#[from] Denied),
    /// The change is too long to be sent.
    #[error("this is too long: {bytes} bytes; at most {limit} can be sent")]
    TooLong {
        /// Its length.
        bytes: usize,
        /// The most that is taken.
        limit: usize,
    },
    /// The bytes are not a photo that is taken.
    #[error(transparent)]
    Photo(#[from] NotAPhoto),
    /// Too little room for the photo; notes and readings can still be saved.
    #[error("too little room for this photo: it needs {needed} bytes, {free} are left")]
    NoSpace {
        /// What the photo and a reserve for text need.
        needed: u64,
        /// What is left.
        free: u64,
    },
    /// The store failed: nothing was saved.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Signing failed: nothing was saved.
    #[error(transparent)]
    Key(#[from] KeyError),
    /// The change was made by a newer version of the app.
    #[error("update the app first: {0}")]
    Newer(#[from] Unreadable),
    /// No such item.
    #[error("it is not here any more")]
    Gone,
}

impl<S, T, E> Device<S, T, E>
where
    S: LocalStore + 'static,
    T: Transport + 'static,
    E: Surroundings + 'static,
{
    /// Opens the device on its store. Reads a handful of rows; the network is not asked.
    ///
    /// # Errors
    /// When the store can't be read.
    pub async fn open(store: S, transport: T, surroundings: E) -> Result<Self, StoreError> {
        // A row that can't be read means signing in again: nothing hangs on it.
        let (signed_in, used) =
            try_join(store.get(Table::Meta, SIGNED_IN), store.get(Table::Meta, USED)).await?;
        let signed_in = signed_in.and_then(|row| from_row(Table::Meta, SIGNED_IN, &row).ok());
        let lost_work = match used {
            Some(_) => None,
            None => {
                let mut batch = Batch::default();
                batch.put(Table::Meta, USED, &true)?;
                store.commit(batch).await?;
                surroundings.keepsake().and_then(|words| words.parse().ok()).filter(|items| *items > 0)
            }
        };
        let now = Now { signed_in, lost_work, ..Now::default() };
        let inner = Rc::new(Inner {
            store,
            transport,
            surroundings,
            now: RefCell::new(now),
            writing: Mutex::default(),
            syncing: Mutex::default(),
            wake: Wake::default(),
            contact: Signal::default(),
            ears: Rc::default(),
        });
        let device = Self { inner };
        device.hear_other_tabs();
        device.recount().await?;
        device.tell(&News::Opened);
        Ok(device)
    }

    /// Who is signed in, offline too.
    #[must_use]
    pub fn me(&self) -> Option<Me> {
        self.inner.now.borrow().signed_in.as_ref().map(|signed_in| signed_in.me.clone())
    }

    /// This device's id for the person signed in: what their changes name.
    #[must_use]
    pub fn id(&self) -> Option<DeviceId> {
        self.inner.now.borrow().signed_in.as_ref().map(|signed_in| signed_in.device)
    }

    /// How many items were unsent when this device's storage was emptied (by the browser, or by
    /// hand); `None` when it was not.
    #[must_use]
    pub fn lost_work(&self) -> Option<usize> {
        self.inner.now.borrow().lost_work
    }

    /// Now, by the device's clock, corrected by the server's when it has answered.
    #[must_use]
    pub fn now(&self) -> UtcMillis {
        let skew = self.inner.now.borrow().skew;
        UtcMillis(self.inner.surroundings.now().0.saturating_add(skew))
    }

    /// A fresh id (UUIDv7) for a job, a step, a reading, …
    #[must_use]
    pub fn uuid(&self) -> Uuid {
        self.uuid_at(self.now())
    }

    pub(crate) fn uuid_at(&self, moment: UtcMillis) -> Uuid {
        let [random @ .., _, _, _, _, _, _] = self.inner.surroundings.random().to_be_bytes();
        let millis = u64::try_from(moment.0).unwrap_or_default();
        uuid::Builder::from_unix_timestamp_millis(millis, &random).into_uuid()
    }

    /// The jobs of all shops, from stored summaries: quick for hundreds of them. Retired ones included.
    ///
    /// # Errors
    /// When the store can't be read.
    pub async fn jobs(&self) -> Result<Vec<JobRow>, StoreError> {
        let Some(me) = self.me() else {
            return Ok(Vec::new());
        };
        let mine = user_prefix(me.user);
        let store = &self.inner.store;
        let (changes, photos, logs) = try_join3(
            store.keys(Table::Outbox, &mine),
            store.keys(Table::Uploads, &mine),
            store.rows(Table::Logs, "", None, usize::MAX),
        )
        .await?;
        let (changes, photos) = (per_log(&changes), per_log(&photos));
        let mut jobs = Vec::new();
        for (key, row) in logs {
            let Ok(log @ LogId::Job(shop, job)) = key.parse() else {
                continue;
            };
            if !me.shops.iter().any(|membership| membership.shop == shop) {
                continue;
            }
            let row = LogRow::read(&row);
            let summary = match row.summary {
                Some(summary) => summary,
                None => self.job(shop, job).await?.summary(),
            };
            let unsent_changes = changes.get(&log).copied().unwrap_or_default();
            let unsent_photos = photos.get(&log).copied().unwrap_or_default();
            jobs.push(JobRow { shop, job, summary, unsent_changes, unsent_photos });
        }
        Ok(jobs)
    }

    /// A job's state, with what is not sent yet. Empty for a job that isn't here.
    ///
    /// # Errors
    /// When the store can't be read.
    pub async fn job(&self, shop: ShopId, job: JobId) -> Result<Rc<JobState>, StoreError> {
        match self.load(LogId::Job(shop, job)).await?.shown {
            State::Job(state) => Ok(state),
            State::Shop(_) => Ok(Rc::default()),
        }
    }

    /// A shop's state, with what is not sent yet.
    ///
    /// # Errors
    /// When the store can't be read.
    pub async fn shop(&self, shop: ShopId) -> Result<Rc<ShopState>, StoreError> {
        match self.load(LogId::Shop(shop)).await?.shown {
            State::Shop(state) => Ok(state),
            State::Job(_) => Ok(Rc::default()),
        }
    }

    /// Calls back on every event until the subscription is dropped. Calls come from inside
    /// other calls to the device: set a signal and return.
    pub fn listen(&self, listener: impl Fn(&Event) + 'static) -> Listening {
        self.inner.ears.add(listener)
    }

    /// Where sync stands.
    #[must_use]
    pub fn sync_state(&self) -> SyncState {
        self.inner.now.borrow().sync.clone()
    }

    /// Room on this device, and whether the browser promised to keep what is stored.
    pub async fn storage(&self) -> Storage {
        self.inner.surroundings.storage().await
    }

    /// Asks the browser to keep what is stored, and says whether it will.
    pub async fn ask_to_persist(&self) -> bool {
        self.inner.surroundings.ask_to_persist().await
    }

    /// The person signed in.
    pub(crate) fn signed_in(&self) -> Result<SignedIn, LocalError> {
        self.inner.now.borrow().signed_in.clone().ok_or(LocalError::NotSignedIn)
    }

    pub(crate) fn user(&self) -> Option<UserId> {
        self.inner.now.borrow().signed_in.as_ref().map(|signed_in| signed_in.me.user)
    }

    /// Tells this tab's screens and the other tabs.
    pub(crate) fn emit(&self, event: Event) {
        self.inner.ears.tell(&event);
        self.tell(&News::Event(event));
    }

    /// Tells the other tabs.
    pub(crate) fn tell(&self, news: &News) {
        if let Ok(words) = json::write(news) {
            self.inner.surroundings.tell(&words);
        }
    }

    /// Follows what other tabs do. Holds no device alive: the tab may close at any time.
    fn hear_other_tabs(&self) {
        let device = Rc::downgrade(&self.inner);
        self.inner.surroundings.hear(Box::new(move |words| {
            let (Some(inner), Ok(news)) = (device.upgrade(), json::read(words.as_bytes())) else {
                return;
            };
            Self { inner }.heard(news);
        }));
    }

    fn heard(&self, news: News) {
        match news {
            News::Wake => self.try_everything(),
            News::Made => self.inner.wake.made(),
            News::Opened => {
                if self.inner.now.borrow().sender {
                    self.tell(&News::Event(Event::Sync(self.sync_state())));
                }
            }
            News::SignedIn(signed_in) => {
                let mut now = self.inner.now.borrow_mut();
                let other =
                    signed_in.as_ref().map(|it| it.me.user) != now.signed_in.as_ref().map(|it| it.me.user);
                if other {
                    now.cache = Cache::default();
                    now.held.clear();
                    now.trouble.clear();
                    now.progress = Progress::default();
                }
                now.access = Access::default();
                now.signed_in = signed_in;
                drop(now);
                self.inner.ears.tell(&Event::Session(self.me()));
                self.inner.ears.tell(&Event::Jobs);
                self.inner.wake.urgently();
            }
            News::Event(event) => {
                match &event {
                    Event::Log(log) => drop(self.inner.now.borrow_mut().cache.forget(*log)),
                    Event::Sync(sync) => self.inner.now.borrow_mut().sync = sync.clone(),
                    Event::Photos(_) | Event::Jobs | Event::Session(_) => {}
                }
                self.inner.ears.tell(&event);
            }
        }
    }
}

fn per_log(keys: &[String]) -> BTreeMap<LogId, usize> {
    let mut counts = BTreeMap::new();
    for log in keys.iter().filter_map(|key| log_of_key(key)) {
        *counts.entry(log).or_default() += 1;
    }
    counts
}

//! The one store: what the screens read, and the only way to write.
//!
//! Signals are written here and nowhere else. Views read them and call
//! [`Store::dispatch`]; the device signs, keeps and folds the changes, tells
//! what changed, and that returns through the signals.
//!
//! Start reading at [`Store`]; opening and listening are in `start`.

mod photos;
mod start;
mod ticker;
mod toasts;
mod update;

use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;

use device::web::{Shrinker, WebDevice};
use device::{JobRow, LocalError, SyncState, Upload};
use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::api::Me;
use shared_types::body::{Body, Known};
use shared_types::digest::Digest;
use shared_types::entity::Entity as _;
use shared_types::ids::{Author, JobId, LogId, ShopId, UserId};
use shared_types::job::JobState;
use shared_types::rules::permit;
use shared_types::shop::{Role, Roles, ShopState};
use uuid::Uuid;

pub use photos::{Capture, CaptureState, PhotoSource, Shot, blob_of, use_photo};
pub use ticker::use_ticking_now;
pub use toasts::{Done, Toast};
pub use update::NewVersion;

use ticker::Ticker;
use toasts::Toasts;

/// Something that is read from the device's own store.
#[derive(Clone, Debug, PartialEq)]
pub enum Loaded<T> {
    /// Being read.
    Loading,
    /// Not on this device.
    Absent,
    /// It can't be read; why, for people.
    Failed(String),
    /// Here it is.
    Here(Arc<T>),
}

impl<T> Loaded<T> {
    /// What was read, if it is here.
    #[must_use]
    pub fn here(&self) -> Option<&Arc<T>> {
        match self {
            Self::Here(it) => Some(it),
            Self::Loading | Self::Absent | Self::Failed(_) => None,
        }
    }
}

type JobSignal = RwSignal<Loaded<JobState>>;
type ShopSignal = RwSignal<Arc<ShopState>>;
type UnsentSignal = RwSignal<Arc<BTreeMap<Digest, Upload>>>;

/// The one store. A handle: copies are the same store.
#[derive(Clone, Copy)]
pub struct Store {
    me: RwSignal<Option<Me>>,
    sync: RwSignal<SyncState>,
    rows: RwSignal<Loaded<Vec<JobRow>>>,
    lost_work: RwSignal<Option<usize>>,
    new_version: RwSignal<NewVersion>,
    forms: RwSignal<Vec<Signal<bool>>>,
    captures: RwSignal<Vec<Capture>>,
    toasts: Toasts,
    ticker: Ticker,
    device: StoredValue<WebDevice, LocalStorage>,
    shrinker: StoredValue<Option<Rc<Shrinker>>, LocalStorage>,
    jobs: StoredValue<BTreeMap<(ShopId, JobId), JobSignal>>,
    shops: StoredValue<BTreeMap<ShopId, ShopSignal>>,
    unsent_photos: StoredValue<BTreeMap<LogId, UnsentSignal>>,
    rows_asked_for: StoredValue<bool>,
    // Signals that are made while some page is shown must outlive that page.
    owner: StoredValue<Owner>,
}

impl Store {
    /// The store of an opened device. Listens to it for the page's life.
    #[must_use]
    pub fn new(device: WebDevice) -> Self {
        let store = Self {
            me: RwSignal::new(device.me()),
            sync: RwSignal::new(device.sync_state()),
            rows: RwSignal::new(Loaded::Loading),
            lost_work: RwSignal::new(device.lost_work()),
            new_version: RwSignal::new(NewVersion::None),
            forms: RwSignal::default(),
            captures: RwSignal::default(),
            toasts: Toasts::default(),
            ticker: Ticker::default(),
            device: StoredValue::new_local(device),
            shrinker: StoredValue::new_local(None),
            jobs: StoredValue::default(),
            shops: StoredValue::default(),
            unsent_photos: StoredValue::default(),
            rows_asked_for: StoredValue::new(false),
            owner: StoredValue::new(Owner::current().unwrap_or_default()),
        };
        store.start();
        store
    }
}

/// Reading.
impl Store {
    /// Who is signed in on this device, offline too.
    #[must_use]
    pub fn me(self) -> Signal<Option<Me>> {
        self.me.into()
    }

    /// Where sync stands.
    #[must_use]
    pub fn sync(self) -> Signal<SyncState> {
        self.sync.into()
    }

    /// The jobs of all shops that this device knows, those taken out of use included.
    #[must_use]
    pub fn rows(self) -> Signal<Loaded<Vec<JobRow>>> {
        self.rows.into()
    }

    /// How many unsent items were lost when the browser emptied this device's storage.
    #[must_use]
    pub fn lost_work(self) -> Signal<Option<usize>> {
        self.lost_work.into()
    }

    /// The loss was read and understood.
    pub fn dismiss_lost_work(self) {
        self.lost_work.set(None);
    }

    /// A job's state, read from the device at the first call and kept up to date from then on.
    #[must_use]
    pub fn job(self, shop: ShopId, job: JobId) -> Signal<Loaded<JobState>> {
        if let Some(signal) = self.jobs.with_value(|jobs| jobs.get(&(shop, job)).copied()) {
            return signal.into();
        }
        let signal = self.outliving(|| RwSignal::new(Loaded::Loading));
        self.jobs.update_value(|jobs| {
            jobs.insert((shop, job), signal);
        });
        self.reload(LogId::Job(shop, job));
        signal.into()
    }

    /// A shop's state, as [`Store::job`]; empty until it has been read.
    #[must_use]
    pub fn shop(self, shop: ShopId) -> Signal<Arc<ShopState>> {
        if let Some(signal) = self.shops.with_value(|shops| shops.get(&shop).copied()) {
            return signal.into();
        }
        let signal = self.outliving(RwSignal::default);
        self.shops.update_value(|shops| {
            shops.insert(shop, signal);
        });
        self.reload(LogId::Shop(shop));
        signal.into()
    }

    /// The photos of a log that are only on this device, with how far each has come, as [`Store::job`].
    #[must_use]
    pub fn unsent_photos(self, log: LogId) -> Signal<Arc<BTreeMap<Digest, Upload>>> {
        if let Some(signal) = self.unsent_photos.with_value(|all| all.get(&log).copied()) {
            return signal.into();
        }
        let signal = self.outliving(RwSignal::default);
        self.unsent_photos.update_value(|all| {
            all.insert(log, signal);
        });
        self.reload_unsent_photos(log);
        signal.into()
    }

    /// The roles that the person signed in holds in a shop.
    #[must_use]
    pub fn roles(self, shop: ShopId) -> Roles {
        self.me.with(|me| {
            let Some(me) = me else { return Roles::new() };
            let state = self.shop(shop).get();
            if state.members.contains_key(&me.user) {
                return state.roles(me.user);
            }
            // The shop's log is not here yet: what the server said at sign-in.
            me.shops.iter().find(|it| it.shop == shop).map(|it| it.roles.clone()).unwrap_or_default()
        })
    }

    /// The same in a log: on a job, those that the person holds on it alone count too.
    #[must_use]
    pub fn roles_in(self, log: LogId) -> Roles {
        let mut roles = self.roles(log.shop());
        self.me.with(|me| {
            let jobs = me.iter().flat_map(|me| &me.jobs);
            let here = jobs.filter(|it| LogId::Job(it.shop, it.job) == log);
            roles.extend(here.flat_map(|it| &it.roles).copied());
        });
        roles
    }

    /// Is the person signed in an inspector anywhere, be it on one job alone?
    #[must_use]
    pub fn inspects(self) -> bool {
        self.me.with(|me| {
            me.as_ref().is_some_and(|me| {
                me.shops.iter().any(|it| self.roles(it.shop).contains(&Role::Inspector))
                    || me.jobs.iter().any(|it| it.roles.contains(&Role::Inspector))
            })
        })
    }

    /// Would this be taken from the person signed in? Screens show only what would.
    #[must_use]
    pub fn may(self, log: LogId, body: Known) -> bool {
        let user = self.me.with(|me| me.as_ref().map(|me| me.user));
        user.is_some_and(|user| {
            permit(&self.roles_in(log), Author::Person(user), log, &Body::Known(body)).is_ok()
        })
    }

    /// An author's name as the shop knows it.
    #[must_use]
    pub fn name_of(self, shop: ShopId, author: Author) -> String {
        let Author::Person(user) = author else { return "the server".to_owned() };
        self.name_of_user(shop, user)
    }

    /// A person's name as the shop knows it; else as one of its jobs does, which they are a guest on; else, for
    /// a guest, as the server told it.
    #[must_use]
    pub fn name_of_user(self, shop: ShopId, user: UserId) -> String {
        let told = self.me.with(|me| {
            let me = me.as_ref()?;
            if me.user == user {
                return Some(me.name.clone());
            }
            me.jobs.iter().find_map(|job| job.people.name_of(user)).map(str::to_owned)
        });
        let in_shop = || self.shop(shop).read().members.get(&user).map(|member| member.name.or_empty().0);
        let name = told.or_else(in_shop).or_else(|| self.guest_name(shop, user));
        name.filter(|name| !name.is_empty()).unwrap_or_else(|| "somebody".to_owned())
    }

    /// A guest's name, as the jobs that were opened so far know it.
    fn guest_name(self, shop: ShopId, user: UserId) -> Option<String> {
        let name = |state: &JobState| state.members.get(&user).map(|member| member.name.or_empty().0);
        self.jobs.with_value(|jobs| {
            let of_shop = jobs.iter().filter(|((of, _), _)| *of == shop);
            // Not tracked: a page that tells a name is not drawn anew at every change of every job.
            of_shop.map(|(_, job)| *job).find_map(|job| job.with_untracked(|job| name(job.here()?)))
        })
    }

    /// The device: for calls that need the server at once, such as signing in. Changes go
    /// through [`Store::dispatch`].
    #[must_use]
    pub fn device(self) -> WebDevice {
        self.device.with_value(Clone::clone)
    }

    /// A fresh id (UUIDv7) for a job, a step, a reading, …
    #[must_use]
    pub fn uuid(self) -> Uuid {
        self.device.with_value(|device| device.uuid())
    }

    fn outliving<T>(self, make: impl FnOnce() -> T) -> T {
        self.owner.with_value(Clone::clone).with(make)
    }
}

/// Writing.
impl Store {
    /// Makes changes. `done` says in a few words what was done ("Reading added"): it is
    /// shown with the way to take it back. What can't be saved is said, loudly.
    pub fn dispatch(self, log: LogId, bodies: Vec<Known>, done: impl Into<String>) {
        self.dispatch_then(log, bodies, done, || ());
    }

    /// As [`Store::dispatch`], and calls `then` once it is saved on this device: to close
    /// a sheet, to forget a draft, to go on. Not called when it can't be saved.
    pub fn dispatch_then(
        self,
        log: LogId,
        bodies: Vec<Known>,
        done: impl Into<String>,
        then: impl FnOnce() + 'static,
    ) {
        self.dispatch_told(log, bodies, done, |saved| {
            if saved {
                then();
            }
        });
    }

    /// As [`Store::dispatch`], and tells whether it was saved on this device: for a page that
    /// shows a tap's outcome ahead of the saving.
    pub fn dispatch_told(
        self,
        log: LogId,
        bodies: Vec<Known>,
        done: impl Into<String>,
        told: impl FnOnce(bool) + 'static,
    ) {
        let device = self.device();
        let done = done.into();
        spawn_local(async move {
            let saved = device.change(log, bodies).await;
            let is_saved = saved.is_ok();
            match saved {
                Ok(undo) => self.toasts.done(done, log, undo),
                Err(error) => self.not_saved(&error),
            }
            told(is_saved);
        });
    }

    /// Takes something back.
    pub fn undo(self, done: Done) {
        self.toasts.forget(done.id);
        self.dispatch(done.log, done.undo, format!("Taken back: {}", done.text));
    }

    /// Says something that needs no answer.
    pub fn say(self, text: impl Into<String>) {
        self.toasts.say(text.into());
    }

    /// Says that something went wrong.
    pub fn warn(self, text: impl Into<String>) {
        self.toasts.warn(text.into());
    }

    /// What is being said now.
    #[must_use]
    pub fn toasts(self) -> Signal<Vec<Toast>> {
        self.toasts.shown()
    }

    /// What was done on this device since it was opened, latest first, with the way to take it back.
    #[must_use]
    pub fn recent(self) -> Signal<Vec<Done>> {
        self.toasts.recent()
    }

    /// Stops saying something.
    pub fn dismiss(self, toast: u64) {
        self.toasts.dismiss(toast);
    }

    fn not_saved(self, error: &LocalError) {
        self.toasts.warn(format!("Not saved: {error}"));
    }
}

/// Is this entity there at all, on this device?
fn is_known(state: &JobState) -> bool {
    state.job.created().is_some()
}

/// The store, from any view.
///
/// # Panics
/// Outside of [`crate::app::App`], which provides it.
#[must_use]
pub fn use_store() -> Store {
    expect_context()
}

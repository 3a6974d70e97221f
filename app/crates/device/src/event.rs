//! What the screens are told.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::rc::{Rc, Weak};

use serde::{Deserialize, Serialize};
use shared_types::api::Me;
use shared_types::ids::LogId;
use shared_types::time::UtcMillis;

use crate::rows::SignedIn;

/// Where sync stands, in one line at all times.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SyncState {
    /// In a word.
    pub line: SyncLine,
    /// Changes that the server has not acknowledged.
    pub changes_to_send: usize,
    /// Photos whose bytes are not on the server.
    pub photos_to_send: usize,
    /// The bytes of those photos.
    pub bytes_to_send: u64,
    /// How many of those bytes are there already.
    pub bytes_sent: u64,
    /// Items in the refused tray that nobody has dealt with.
    pub refused: usize,
    /// Others' changes that the server lost and this device kept.
    #[serde(default)]
    pub strays: usize,
    /// When the server last answered.
    pub last_contact: Option<UtcMillis>,
}

/// Sync in a word.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "line", content = "detail")]
pub enum SyncLine {
    /// The server has not answered yet since the app started.
    #[default]
    Starting,
    /// No contact.
    Offline,
    /// Sending or fetching.
    Sending,
    /// Nothing is left to send.
    AllSent,
    /// The session is over; work goes on, sending waits.
    SignInNeeded,
    /// The server or the store has a fault; sending is tried again by itself.
    Problem(String),
}

/// Something changed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Event {
    /// Where sync stands.
    Sync(SyncState),
    /// A log has other content than before: here or in another tab.
    Log(LogId),
    /// Photos of a log came to this device, or reached the server.
    Photos(LogId),
    /// The list of jobs has other content than before.
    Jobs,
    /// Another person is signed in, or nobody is.
    Session(Option<Me>),
}

/// What tabs of one device tell each other.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum News {
    /// Something changed.
    Event(Event),
    /// Another person is signed in, or nobody is.
    SignedIn(Option<SignedIn>),
    /// The sending tab should send what was made.
    Made,
    /// The sending tab should try everything.
    Wake,
    /// A tab was opened and asks where sync stands.
    Opened,
}

type Listener = Rc<dyn Fn(&Event)>;

/// Who listens to events.
#[derive(Default)]
pub(crate) struct Ears {
    listeners: RefCell<BTreeMap<u64, Listener>>,
    next: Cell<u64>,
}

impl Ears {
    pub(crate) fn add(self: &Rc<Self>, listener: impl Fn(&Event) + 'static) -> Listening {
        let id = self.next.get();
        self.next.set(id + 1);
        self.listeners.borrow_mut().insert(id, Rc::new(listener));
        Listening { ears: Rc::downgrade(self), id }
    }

    pub(crate) fn tell(&self, event: &Event) {
        // A listener may subscribe or end a subscription: the list is not borrowed meanwhile.
        let listeners: Vec<_> = self.listeners.borrow().values().cloned().collect();
        for listener in listeners {
            listener(event);
        }
    }
}

/// A subscription to events; dropping it ends it.
#[must_use = "dropping it ends the subscription"]
pub struct Listening {
    ears: Weak<Ears>,
    id: u64,
}

impl Drop for Listening {
    fn drop(&mut self) {
        if let Some(ears) = self.ears.upgrade() {
            ears.listeners.borrow_mut().remove(&self.id);
        }
    }
}

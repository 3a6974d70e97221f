//! What the screens are told.

use serde::{Deserialize, Serialize};
use shared_types::api::Me;
use shared_types::ids::LogId;
use shared_types::time::UtcMillis;

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
    /// The list of jobs has other content than before.
    Jobs,
    /// Another person is signed in, or nobody is.
    Session(Option<Me>),
}

/// A subscription to events; dropping it ends it.
pub struct Listening {
    pub(crate) end: Option<Box<dyn FnOnce()>>,
}

impl Drop for Listening {
    fn drop(&mut self) {
        if let Some(end) = self.end.take() {
            end();
        }
    }
}

//! The stored rows and their keys.
//!
//! A key's parts are separated by `|`, which occurs in none of them; numbers are
//! written in fixed width, so that the order of keys is the order of numbers.

use serde::{Deserialize, Deserializer, Serialize};
use shared_types::api::{Logged, Me, RefusalReason};
use shared_types::change::{Change, SignedChange};
use shared_types::check::Problem;
use shared_types::countersign::{first_link, mark, next_link};
use shared_types::digest::Digest;
use shared_types::fold;
use shared_types::ids::{ChangeId, DeviceId, LogId, UserId};
use shared_types::json;
use shared_types::stamp::{Clock, Stamp};
use shared_types::status::JobSummary;
use shared_types::time::UtcMillis;

use crate::photo::{PhotoSize, PictureType};
use crate::store::Key;

/// `Meta`: who is signed in.
pub(crate) const SIGNED_IN: &str = "signed-in";
/// `Meta`: the clock.
pub(crate) const CLOCK: &str = "clock";
/// `Meta`: a sign-out that the server has not been told of.
pub(crate) const OWES_SIGN_OUT: &str = "owes-sign-out";
/// `Meta`: present once the store was used.
pub(crate) const USED: &str = "used";

/// `Meta`: the device id of a sign-in name on this phone. One person, one id, one key.
pub(crate) fn identity_key(login: &str) -> Key {
    format!("identity|{}", login.trim().to_lowercase())
}

/// `Meta`: the sign-in name of a person, to name the owner of locked work.
pub(crate) fn person_key(user: UserId) -> Key {
    format!("person|{user}")
}

/// `Meta`: digest of a device id's latest change in a log.
pub(crate) fn chain_key(device: DeviceId, log: LogId) -> Key {
    format!("chain|{device}|{log}")
}

/// `Meta`: a change of another device that was made anew here.
pub(crate) fn imported_key(id: ChangeId) -> Key {
    format!("imported|{id}")
}

/// `Logs`, `Snapshots`.
pub(crate) fn log_key(log: LogId) -> Key {
    log.to_string()
}

/// `Logged`: one generation of a log.
pub(crate) fn generation_prefix(log: LogId, generation: u32) -> Key {
    format!("{log}|{generation:08x}|")
}

/// `Logged`.
pub(crate) fn logged_key(log: LogId, generation: u32, seq: u64) -> Key {
    format!("{log}|{generation:08x}|{seq:016x}")
}

/// `Outbox`, `Uploads`, `Refused`, `Drafts`: one person's rows.
pub(crate) fn user_prefix(user: UserId) -> Key {
    format!("{user}|")
}

/// `Outbox`, `Uploads`: one person's rows of one log.
pub(crate) fn user_log_prefix(user: UserId, log: LogId) -> Key {
    format!("{user}|{log}|")
}

/// `Outbox`: in the order made.
pub(crate) fn outbox_key(user: UserId, change: &Change) -> Key {
    let Stamp(UtcMillis(millis), counter) = change.stamp;
    let sortable = millis.cast_unsigned() ^ (1 << 63);
    format!("{user}|{}|{sortable:016x}{counter:08x}|{}", change.log, change.id)
}

/// `Uploads`.
pub(crate) fn upload_key(user: UserId, log: LogId, digest: Digest) -> Key {
    format!("{user}|{log}|{digest}")
}

/// The log in a key of `Outbox` or `Uploads`.
pub(crate) fn log_of_key(key: &str) -> Option<LogId> {
    key.split('|').nth(1)?.parse().ok()
}

/// `Refused`: a change.
pub(crate) fn refused_change_key(user: UserId, id: ChangeId) -> Key {
    format!("{user}|change|{id}")
}

/// `Refused`: a photo.
pub(crate) fn refused_photo_key(user: UserId, log: LogId, digest: Digest) -> Key {
    format!("{user}|photo|{log}|{digest}")
}

/// `Refused`: a row that can't be read.
pub(crate) fn unreadable_key(user: UserId, row: Digest) -> Key {
    format!("{user}|row|{row}")
}

/// `Parts`: all of a photo.
pub(crate) fn parts_prefix(digest: Digest) -> Key {
    format!("{digest}|")
}

/// `Parts`: one size of a photo.
pub(crate) fn size_prefix(digest: Digest, size: PhotoSize) -> Key {
    format!("{digest}|{}|", size.word())
}

/// `Parts`.
pub(crate) fn part_key(digest: Digest, size: PhotoSize, index: usize) -> Key {
    format!("{digest}|{}|{index:08x}", size.word())
}

/// `Wanted`.
pub(crate) fn wanted_key(log: LogId, digest: Digest) -> Key {
    format!("{log}|{digest}")
}

/// `Strays`: of one log.
pub(crate) fn strays_prefix(log: LogId) -> Key {
    format!("{log}|")
}

/// `Strays`.
pub(crate) fn stray_key(log: LogId, id: ChangeId) -> Key {
    format!("{log}|{id}")
}

/// `Drafts`.
pub(crate) fn draft_key(user: UserId, name: &str) -> Key {
    format!("{user}|{name}")
}

/// Who is signed in on this device, and as which device.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct SignedIn {
    pub me: Me,
    pub device: DeviceId,
}

/// The highest stamps seen (as they count) and made (as they were signed).
///
/// Kept apart, because a clock that was a year fast must not stay so for a year:
/// once everything made is received, only what counts is left.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct ClockRow {
    pub seen: Stamp,
    pub made: Stamp,
}

impl ClockRow {
    pub(crate) fn clock(&self) -> Clock {
        Clock::after(self.seen.max(self.made))
    }
}

/// One log on this device.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct LogRow {
    /// Grows with every write: what a writer read must still hold when it writes.
    pub version: u64,
    /// The highest place that a change of this device got: it may be beyond `pulled`, with others' between.
    #[serde(default)]
    pub ahead: u64,
    /// The server's epoch that `pulled` belongs to; `None` while nothing was pulled.
    #[serde(default)]
    pub epoch: Option<String>,
    /// Which rows of `Logged` count.
    pub generation: u32,
    /// All changes up to this sequence number are here.
    pub pulled: u64,
    /// The link of the change there; `None` while it is not known: the log was opened by its state.
    #[serde(default)]
    pub link: Option<Digest>,
    /// Up to which sequence number the snapshot goes; 0 when there is none.
    #[serde(default)]
    pub snapshot: u64,
    /// Up to which sequence number the changes are here as the snapshot's state alone; 0 when each is.
    #[serde(default)]
    pub base: u64,
    /// The fold that made that state; empty when it can't be read.
    #[serde(default)]
    pub fold: String,
    /// How far the changes before it were fetched after all, from the log's beginning on.
    #[serde(default)]
    pub fetched: u64,
    /// The next generation, while it is being fetched because the server went back in time.
    #[serde(default)]
    pub rebuild: Option<Rebuild>,
    /// A job's row in the list. What an older version wrote and this one can't read is made anew.
    #[serde(default, deserialize_with = "readable")]
    pub summary: Option<JobSummary>,
}

impl LogRow {
    /// Reads a stored row. One that can't be read begins anew: the server has all of it but the
    /// outbox, which is kept apart.
    pub(crate) fn read(row: &[u8]) -> Self {
        json::read(row).unwrap_or_default()
    }

    /// Takes note of the change at the next place.
    pub(crate) fn go_on(&mut self, log: LogId, next: &Logged) {
        let before = if self.pulled == 0 { Some(first_link(log)) } else { self.link };
        self.link = before.map(|link| next_link(link, next.seq, next.change.digest(), next.received));
        self.pulled = next.seq;
    }

    /// The log has at least so many changes.
    pub(crate) fn least(&self) -> u64 {
        self.pulled.max(self.ahead)
    }

    /// Is the server as far, and has it another past? The database can be put back without a new epoch.
    pub(crate) fn has_another_past(&self, head: u64, marked: Option<u32>) -> bool {
        let differs = |(link, marked)| mark(link) != marked;
        head == self.pulled && self.link.zip(marked).is_some_and(differs)
    }

    /// Was the log opened by a snapshot that another version of the app, or of the server, folded?
    pub(crate) fn is_outdated(&self) -> bool {
        self.base > 0 && self.fold != fold::name()
    }
}

/// How far the next generation was fetched.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Rebuild {
    pub epoch: String,
    pub pulled: u64,
}

fn readable<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<JobSummary>, D::Error> {
    let value = Option::<serde_json::Value>::deserialize(deserializer)?;
    Ok(value.and_then(|value| serde_json::from_value(value).ok()))
}

/// A folded state with the place in the log up to which it goes.
#[derive(Serialize, Deserialize)]
pub(crate) struct SnapshotRow<S> {
    /// Which fold made it.
    pub fold: String,
    pub generation: u32,
    pub seq: u64,
    pub state: S,
}

/// What is known of a photo.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct PhotoRow {
    /// The original's media type, when it is known.
    #[serde(default)]
    pub media_type: Option<String>,
    /// Has the server said that it has the original whole?
    #[serde(default)]
    pub on_server: bool,
    /// Bytes held here, by size.
    #[serde(default)]
    pub thumb: u64,
    #[serde(default)]
    pub screen: u64,
    #[serde(default)]
    pub original: u64,
    /// When it was last fetched or taken.
    pub at: UtcMillis,
}

impl PhotoRow {
    /// Can browsers in general show the original?
    pub(crate) fn is_showable(&self) -> bool {
        self.media_type.as_deref() != Some(PictureType::Heic.media_type())
    }

    pub(crate) fn held(&mut self, size: PhotoSize) -> &mut u64 {
        match size {
            PhotoSize::Thumb => &mut self.thumb,
            PhotoSize::Screen => &mut self.screen,
            PhotoSize::Original => &mut self.original,
        }
    }
}

/// A photo on its way to the server.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct UploadRow {
    pub log: LogId,
    pub digest: Digest,
    pub bytes: u64,
    pub media_type: String,
    /// Where the server wants the parts; `None` while it was not asked.
    #[serde(default)]
    pub place: Option<String>,
}

/// A thumbnail to be fetched.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct WantedRow {
    pub tries: u32,
    /// Not before.
    pub next: UtcMillis,
}

/// An item of the refused tray.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct RefusedRow {
    pub log: LogId,
    pub what: RefusedWhat,
    pub reason: RefusalReason,
    pub detail: String,
    #[serde(default)]
    pub problems: Vec<Problem>,
    pub at: UtcMillis,
    #[serde(default)]
    pub dropped: bool,
}

/// What was refused.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum RefusedWhat {
    Change(SignedChange),
    Photo(UploadRow),
    Unreadable(UnreadableRow),
}

/// A row that this version can't read, kept to the letter.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct UnreadableRow {
    /// Where it stood.
    pub key: Key,
    /// Its text; in base64 after `base64:` if it is none.
    pub text: String,
}

impl UnreadableRow {
    /// Tells it from others.
    pub(crate) fn digest(&self) -> Digest {
        Digest::of(format!("{}|{}", self.key, self.text).as_bytes())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    /// What it took off the shelf can't be guessed: such a row's summary is made anew from its job.
    #[test]
    fn a_row_of_before_there_was_stock_is_read_without_its_summary() {
        let summary = json!({
            "title": "Tip fairing", "registration": "", "aircraft_type": "", "part": "", "discrepancy": "",
            "status": "open", "steps": 1, "settled": 0, "waiting": 0, "returned": 0, "opened": 0, "retired": false,
        });
        let mut row = json!({ "version": 3, "generation": 1, "pulled": 7, "summary": summary });
        let read = LogRow::read(row.to_string().as_bytes());
        assert_eq!((read.pulled, read.summary), (7, None));
        row["summary"]["taken"] = json!([["01900000-0000-7000-8000-0000000000dd", "12"]]);
        row["summary"]["due"] = json!([]);
        let read = LogRow::read(row.to_string().as_bytes()).summary.unwrap();
        assert_eq!(read.taken[0].1, "12");
    }
}

//! Verifying a bundle on a machine that never saw the server: what holds, and what does not.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::io::{self, Read, Seek};

use serde::de::DeserializeOwned;
use serde_json::Value;
use sha2::{Digest as _, Sha256};
use shared_types::api::{DeviceKey, Logged};
use shared_types::change::{Change, Entry};
use shared_types::digest::Digest;
use shared_types::fold::Folded as _;
use shared_types::ids::{Author, DeviceId};
use shared_types::job::JobState;
use zip::ZipArchive;

use super::names;
use crate::auth::signing::PublicKey;

/// The most bytes of one file that is read into memory; photos are not.
const MOST_READ: u64 = 512 * 1024 * 1024;
/// The most bytes of all files together.
const MOST_UNPACKED: u64 = 64 * 1024 * 1024 * 1024;

/// The file is no bundle at all.
#[derive(Debug, thiserror::Error)]
pub enum NotABundle {
    /// It can't be read.
    #[error("the file can't be read")]
    Read(#[from] io::Error),
    /// No zip file, or a damaged one.
    #[error("the file is not a zip file, or damaged: {0}")]
    Zip(#[from] zip::result::ZipError),
    /// Not one bag.
    #[error("the file does not hold one bag: {0}")]
    Layout(String),
}

/// One thing that was checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checked {
    /// Does it hold?
    pub holds: bool,
    /// What, in words.
    pub what: String,
}

/// Everything that was checked.
#[derive(Debug, Default)]
pub struct Report(pub Vec<Checked>);

impl Report {
    /// Does everything hold?
    #[must_use]
    pub fn holds(&self) -> bool {
        self.0.iter().all(|checked| checked.holds)
    }

    fn say(&mut self, holds: bool, what: impl Into<String>) {
        self.0.push(Checked { holds, what: what.into() });
    }

    /// One line for many things: how many hold, and each one that does not.
    fn tally(&mut self, what: &str, faults: &[String], count: usize) {
        if faults.is_empty() {
            self.say(true, format!("{what}: all {count}"));
        }
        for fault in faults {
            self.say(false, format!("{what}: {fault}"));
        }
    }
}

/// Checks a bundle.
///
/// # Errors
/// When the file is no bundle at all.
pub fn verify(file: impl Read + Seek) -> Result<Report, NotABundle> {
    let bag = UnpackedBag::read(file)?;
    let mut report = Report::default();
    bag.check_digests(&mut report);
    let Some(logged) = bag.changes(&mut report) else { return Ok(report) };
    let Some(changes) = read_all(&logged, &mut report) else { return Ok(report) };
    check_sequence(&logged, &changes, &mut report);
    bag.check_signatures(&logged, &changes, &mut report);
    bag.check_chains(&logged, &changes, &mut report);
    bag.check_fold(&logged, &changes, &mut report);
    Ok(report)
}

/// A bag with every file's digest, and the small files' contents.
struct UnpackedBag {
    digests: BTreeMap<String, Digest>,
    contents: BTreeMap<String, Vec<u8>>,
}

impl UnpackedBag {
    fn read(file: impl Read + Seek) -> Result<Self, NotABundle> {
        let mut archive = ZipArchive::new(file)?;
        let mut bag = Self { digests: BTreeMap::new(), contents: BTreeMap::new() };
        let mut folder: Option<String> = None;
        let mut unpacked = 0;
        for index in 0..archive.len() {
            let mut entry = archive.by_index(index)?;
            if entry.is_dir() {
                continue;
            }
            let path = entry.name()?.into_owned();
            let Some((top, name)) = path.split_once('/') else {
                return Err(NotABundle::Layout(format!("{path} lies outside of the bag")));
            };
            if folder.get_or_insert_with(|| top.to_owned()).as_str() != top {
                return Err(NotABundle::Layout(format!("{path} lies in another folder")));
            }
            unpacked += entry.size();
            if unpacked > MOST_UNPACKED || bag.digests.contains_key(name) {
                return Err(NotABundle::Layout(format!("{path} is there twice, or the whole is too large")));
            }
            let name = name.to_owned();
            let keep = !name.starts_with(names::PHOTOS);
            let (digest, content) = digest_and_content(&mut entry, keep)?;
            if keep {
                bag.contents.insert(name.clone(), content);
            }
            bag.digests.insert(name, digest);
        }
        if bag.contents.contains_key(names::BAG) {
            Ok(bag)
        } else {
            Err(NotABundle::Layout(format!("there is no {}", names::BAG)))
        }
    }

    fn text(&self, name: &str) -> Option<&str> {
        self.contents.get(name).and_then(|content| std::str::from_utf8(content).ok())
    }

    fn json<T: DeserializeOwned>(&self, name: &str, report: &mut Report) -> Option<T> {
        let Some(content) = self.contents.get(name) else {
            report.say(false, format!("{name} is missing"));
            return None;
        };
        match serde_json::from_slice(content) {
            Ok(value) => Some(value),
            Err(error) => {
                report.say(false, format!("{name} can't be read: {error}"));
                None
            }
        }
    }

    fn check_digests(&self, report: &mut Report) {
        let payload = |name: &str| name.starts_with("data/");
        self.check_manifest(names::MANIFEST, payload, report);
        self.check_manifest(
            names::TAG_MANIFEST,
            |name| !payload(name) && name != names::TAG_MANIFEST,
            report,
        );
    }

    fn check_manifest(&self, manifest: &str, covers: impl Fn(&str) -> bool, report: &mut Report) {
        let Some(text) = self.text(manifest) else {
            report.say(false, format!("{manifest} is missing or is no text"));
            return;
        };
        let mut faults = Vec::new();
        let mut listed = BTreeSet::new();
        for line in text.lines() {
            let Some((digest, name)) = line.split_once("  ") else {
                faults.push(format!("a line can't be read: {line}"));
                continue;
            };
            match self.digests.get(name) {
                _ if !listed.insert(name.to_owned()) => faults.push(format!("{name} is listed twice")),
                None => faults.push(format!("{name} is missing")),
                Some(actual) if actual.to_string() != digest => {
                    faults.push(format!("{name} was altered: its digest is {actual}, not {digest}"));
                }
                Some(_) => {}
            }
        }
        let unlisted = self.digests.keys().filter(|name| covers(name) && !listed.contains(*name));
        faults.extend(unlisted.map(|name| format!("{name} is not listed")));
        report.tally(&format!("digests in {manifest}"), &faults, listed.len());
    }

    fn changes(&self, report: &mut Report) -> Option<Vec<Logged>> {
        let Some(text) = self.text(names::CHANGES) else {
            report.say(false, format!("{} is missing or is no text", names::CHANGES));
            return None;
        };
        let lines: Result<Vec<Logged>, _> = text.lines().map(serde_json::from_str).collect();
        match lines {
            Ok(lines) => Some(lines),
            Err(error) => {
                report.say(false, format!("a line of {} can't be read: {error}", names::CHANGES));
                None
            }
        }
    }

    fn check_signatures(&self, logged: &[Logged], changes: &[Change], report: &mut Report) {
        let Some(keys) = self.json::<Vec<DeviceKey>>(names::KEYS, report) else { return };
        let keys: HashMap<DeviceId, DeviceKey> = keys.into_iter().map(|key| (key.device, key)).collect();
        let mut faults = Vec::new();
        for (logged, change) in logged.iter().zip(changes) {
            let (seq, device) = (logged.seq, change.device);
            let Some(known) = keys.get(&device) else {
                faults.push(format!("change {seq}: the key of device {device} is missing"));
                continue;
            };
            let signed = PublicKey::read(&known.public_key).is_ok_and(|key| key.signed(&logged.change));
            if !signed {
                faults.push(format!("change {seq}: the signature does not match"));
            }
            // A shared device is known by its first user, so a person's key may be another person's;
            // the server's key signs for the server alone.
            if (change.author == Author::Server) != known.user.is_none() {
                faults.push(format!("change {seq}: signed with a key of another kind of author"));
            }
        }
        report.tally("signatures", &faults, changes.len());
    }

    fn check_chains(&self, logged: &[Logged], changes: &[Change], report: &mut Report) {
        let Some(refused) = self.json::<BTreeSet<Digest>>(names::REFUSALS, report) else { return };
        let mut last: HashMap<DeviceId, Digest> = HashMap::new();
        let mut faults = Vec::new();
        for (logged, change) in logged.iter().zip(changes) {
            let before = last.insert(change.device, logged.change.digest());
            let explained = change.previous.is_some_and(|previous| refused.contains(&previous));
            if change.previous != before && !explained {
                faults.push(format!(
                    "change {}: its device's change before it is not the one that it names",
                    logged.seq
                ));
            }
        }
        report.tally("chains of the devices' changes", &faults, changes.len());
    }

    fn check_fold(&self, logged: &[Logged], changes: &[Change], report: &mut Report) {
        let mut state = JobState::default();
        for (logged, change) in logged.iter().zip(changes) {
            state.fold(&Entry { change: change.clone(), received: Some(logged.received) });
        }
        self.check_photos(&state, report);
        let Some(stored) = self.json::<Value>(names::STATE, report) else { return };
        let folded = serde_json::to_value(&state).unwrap_or_default();
        report.say(folded == stored, format!("{} is the fold of the log", names::STATE));
    }

    fn check_photos(&self, state: &JobState, report: &mut Report) {
        let Some(absent) = self.json::<BTreeSet<Digest>>(names::ABSENT, report) else { return };
        let named: BTreeSet<Digest> =
            state.photos.values().filter_map(|photo| photo.it.digest.get().copied()).collect();
        let mut faults = Vec::new();
        let mut there = BTreeSet::new();
        for (name, digest) in self.digests.iter().filter(|(name, _)| name.starts_with(names::PHOTOS)) {
            let said = name.trim_start_matches(names::PHOTOS).split('.').next().unwrap_or_default();
            if said == digest.to_string() {
                there.insert(*digest);
            } else {
                faults.push(format!("{name} holds another picture: its digest is {digest}"));
            }
        }
        let missing = named.iter().filter(|digest| !there.contains(*digest) && !absent.contains(*digest));
        faults.extend(missing.map(|digest| format!("photo {digest} is missing")));
        report.tally("photos", &faults, there.len());
        if !absent.is_empty() {
            report.say(true, format!("{} photos had not arrived when this was made", absent.len()));
        }
    }
}

fn digest_and_content(entry: &mut impl Read, keep: bool) -> io::Result<(Digest, Vec<u8>)> {
    let mut hasher = Sha256::new();
    let mut content = Vec::new();
    let mut piece = vec![0; 64 * 1024];
    loop {
        let read = entry.read(&mut piece)?;
        if read == 0 {
            return Ok((Digest::from(<[u8; 32]>::from(hasher.finalize())), content));
        }
        hasher.update(&piece[..read]);
        if keep {
            content.extend_from_slice(&piece[..read]);
            if content.len() as u64 > MOST_READ {
                return Err(io::Error::other("a file in it is too large"));
            }
        }
    }
}

fn read_all(logged: &[Logged], report: &mut Report) -> Option<Vec<Change>> {
    let mut changes = Vec::with_capacity(logged.len());
    for it in logged {
        match it.change.read() {
            Ok(change) => changes.push(change),
            Err(error) => {
                report.say(false, format!("change {} can't be read: {error}", it.seq));
                return None;
            }
        }
    }
    Some(changes)
}

fn check_sequence(logged: &[Logged], changes: &[Change], report: &mut Report) {
    let mut faults = Vec::new();
    let mut ids = BTreeSet::new();
    for (place, (it, change)) in logged.iter().zip(changes).enumerate() {
        if it.seq != place as u64 + 1 {
            faults.push(format!("change {} stands in place {}", it.seq, place + 1));
        }
        if !ids.insert(change.id) {
            faults.push(format!("change {} is there twice", it.seq));
        }
        if change.log != changes[0].log {
            faults.push(format!("change {} belongs to another log", it.seq));
        }
    }
    report.tally("order of the log", &faults, logged.len());
}

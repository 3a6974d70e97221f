//! Verifying a bundle on a machine that never saw the server: what holds, and what does not.

use std::collections::{BTreeSet, HashMap};
use std::io::{self, Read};

use serde::de::DeserializeOwned;
use serde_json::Value;
use shared_types::api::{DeviceKey, Logged};
use shared_types::change::{Change, Entry};
use shared_types::digest::Digest;
use shared_types::fold::{self, Folded as _};
use shared_types::ids::{Author, DeviceId};
use shared_types::job::JobState;

use super::contents::FoldedState;
use super::names;
use super::statements;
use super::unpack::{Unpacked, unpack};
use super::write::{BAG_IT, manifest, payload_oxum};
use crate::auth::signing::PublicKey;

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

    pub(super) fn say(&mut self, holds: bool, what: impl Into<String>) {
        self.0.push(Checked { holds, what: what.into() });
    }

    /// One line for many things: how many hold, and each one that does not.
    pub(super) fn tally(&mut self, what: &str, faults: &[String], count: usize) {
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
/// When the file can't be read. A file that is no bundle is a report in which that fails.
pub fn verify(file: impl Read) -> io::Result<Report> {
    let bag = unpack(file)?;
    let mut report = Report::default();
    report.tally("files of the zip, as they were written", &bag.faults, bag.digests.len());
    bag.check_tags(&mut report);
    bag.check_digests(&mut report);
    let Some(logged) = bag.changes(&mut report) else { return Ok(report) };
    let Some(changes) = read_all(&logged, &mut report) else { return Ok(report) };
    check_sequence(&logged, &changes, &mut report);
    bag.check_signatures(&logged, &changes, &mut report);
    bag.check_chains(&logged, &changes, &mut report);
    bag.check_vouched(&logged, &changes, &mut report);
    bag.check_fold(&logged, &changes, &mut report);
    Ok(report)
}

impl Unpacked {
    fn text(&self, name: &str) -> Option<&str> {
        self.contents.get(name).and_then(|content| std::str::from_utf8(content).ok())
    }

    pub(super) fn json<T: DeserializeOwned>(&self, name: &str, report: &mut Report) -> Option<T> {
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

    /// It says that it is a bag, and how large its payload is (RFC 8493, 2.1.1 and 2.2.2).
    fn check_tags(&self, report: &mut Report) {
        report.say(self.text(names::BAG) == Some(BAG_IT), format!("{} says that this is a bag", names::BAG));
        let payload = || self.lengths.iter().filter(|(name, _)| name.starts_with("data/"));
        let said = self.text(names::INFO).and_then(|info| {
            info.lines().find_map(|line| line.strip_prefix("Payload-Oxum: ").map(str::to_owned))
        });
        let counted = payload_oxum(payload().map(|(_, length)| length).sum(), payload().count());
        report.say(
            said.as_deref() == Some(&counted),
            format!("{} says how much the bag holds: {counted} (bytes and files)", names::INFO),
        );
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
        let covered = self.digests.iter().filter(|(name, _)| covers(name));
        if faults.is_empty()
            && text != self::manifest(&covered.map(|(name, it)| (name.clone(), *it)).collect())
        {
            faults.push("it is not written as a manifest of these files is".to_owned());
        }
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
        let received = logged.iter().map(|it| Some(it.received));
        let entries: Vec<Entry> = changes
            .iter()
            .cloned()
            .zip(received)
            .map(|(change, received)| Entry { change, received })
            .collect();
        let mut state = JobState::default();
        entries.iter().for_each(|entry| state.fold(entry));
        self.check_photos(&state, report);
        statements::tell(&state, &entries, report);
        let Some(stored) = self.json::<FoldedState<Value>>(names::STATE, report) else { return };
        if stored.fold != fold::name() {
            // What is signed is the log: it folds here, and its pictures and statements are told of above.
            report.say(true, format!(
                "{} was folded by another version ({}) and is not compared: what counts is the log, folded anew",
                names::STATE, stored.fold
            ));
            return;
        }
        let folded = serde_json::to_value(&state).unwrap_or_default();
        report.say(folded == stored.state, format!("{} is the fold of the log", names::STATE));
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

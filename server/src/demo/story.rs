//! Telling a story as changes: each by somebody, on a device of theirs, at a time.

use std::collections::BTreeMap;

use shared_types::body::Body;
use shared_types::change::{Change, Entry, SignedChange};
use shared_types::digest::Digest;
use shared_types::fold::Folded;
use shared_types::ids::{Author, ChangeId, LogId, StockId, UserId};
use shared_types::stamp::Clock;
use shared_types::text::ShortText;
use shared_types::time::UtcMillis;
use uuid::{NoContext, Timestamp, Uuid};

use super::people::{Person, Who};
use super::shelf::Shelf;
use crate::fault::{Fault, Result};

/// A log as it grows, change by change.
pub struct Story<'a, S> {
    log: LogId,
    people: &'a BTreeMap<Who, Person>,
    /// The log's fold so far.
    pub state: S,
    told: Vec<(Who, SignedChange)>,
    clocks: BTreeMap<Who, Clock>,
    previous: BTreeMap<Who, Digest>,
    now: UtcMillis,
    shelf: Shelf,
}

impl<'a, S: Folded + Default> Story<'a, S> {
    /// A story in a log, as it began.
    pub fn new(log: LogId, people: &'a BTreeMap<Who, Person>, begin: UtcMillis) -> Self {
        let (clocks, previous) = (BTreeMap::new(), BTreeMap::new());
        let (state, told, shelf) = (S::default(), Vec::new(), Shelf::new());
        Self { log, people, state, told, clocks, previous, now: begin, shelf }
    }

    /// The same with a shelf to take from.
    pub fn taking_from(self, shelf: &Shelf) -> Self {
        Self { shelf: shelf.clone(), ..self }
    }

    /// The shelf item that a batch is of.
    pub fn on_shelf(&self, batch: Option<&ShortText>) -> Option<StockId> {
        self.shelf.get(&batch?.0).copied()
    }

    /// Some minutes pass.
    pub fn wait(&mut self, minutes: i64) {
        self.now = self.now.plus_minutes(minutes);
    }

    /// Somebody does something; a minute passes with each deed.
    ///
    /// # Errors
    /// When a change can't be signed.
    pub fn tell(&mut self, who: Who, body: impl Into<Body>) -> Result<()> {
        self.wait(1);
        let body = body.into();
        let person = self.people.get(&who).ok_or(Fault::NotFound)?;
        let replaces = if let Body::Known(known) = &body { self.state.seen(known) } else { Vec::new() };
        let change = Change {
            id: ChangeId(self.id()),
            log: self.log,
            author: Author::Person(person.id),
            device: person.device.id,
            stamp: self.clocks.entry(who).or_default().next(self.now),
            previous: self.previous.get(&who).copied(),
            replaces,
            body,
        };
        let signed = person.device.sign(&change).map_err(Fault::internal)?;
        self.previous.insert(who, signed.digest());
        self.told.push((who, signed));
        self.state.fold(&Entry::from(change));
        Ok(())
    }

    /// Somebody's account.
    ///
    /// # Errors
    /// When the story has no such person.
    pub fn user(&self, who: Who) -> Result<UserId> {
        self.people.get(&who).map(|person| person.id).ok_or(Fault::NotFound)
    }

    /// The log it is told in.
    pub const fn log(&self) -> LogId {
        self.log
    }

    /// How many changes were told so far.
    pub const fn count(&self) -> usize {
        self.told.len()
    }

    /// The time it is in the story.
    pub const fn now(&self) -> UtcMillis {
        self.now
    }

    /// An id made at this time.
    pub fn id(&self) -> Uuid {
        let (seconds, rest) = (self.now.0.div_euclid(1000), self.now.0.rem_euclid(1000));
        let seconds = u64::try_from(seconds).unwrap_or_default();
        let nanos = u32::try_from(rest).unwrap_or_default() * 1_000_000;
        Uuid::new_v7(Timestamp::from_unix(NoContext, seconds, nanos))
    }

    /// What was told, in runs of one person: as their devices would push it.
    pub fn runs(self) -> Vec<(Who, Vec<SignedChange>)> {
        let mut runs: Vec<(Who, Vec<SignedChange>)> = Vec::new();
        for (who, change) in self.told {
            match runs.last_mut() {
                Some((last, run)) if *last == who => run.push(change),
                _ => runs.push((who, vec![change])),
            }
        }
        runs
    }
}

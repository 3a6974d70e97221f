//! Which faults befell a run: one that never strikes shows nothing.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// A fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "each is told where it strikes: the wire, the servers' writes, the phones")]
pub enum Blow {
    RequestLost,
    AnswerLost,
    SentTwice,
    ArrivesAgainLater,
    BodyCut,
    ServerKilledOverABody,
    PhotoGarbled,
    Silence,
    Portal,
    NoticesBreakOff,
    NoticesFallSilent,
    ServerDiesBeforeAWrite,
    ServerDiesAfterAWrite,
    ServerIsFull,
    StatementFails,
    ServerClockJumps,
    PhoneClockJumps,
    SessionIsOver,
    AppDies,
    NoRoomForPhotos,
    NoRoomAtAll,
    PhoneChangesHands,
    NewerVersionWrites,
}

impl Blow {
    /// All of them.
    pub const ALL: [Self; 23] = [
        Self::RequestLost,
        Self::AnswerLost,
        Self::SentTwice,
        Self::ArrivesAgainLater,
        Self::BodyCut,
        Self::ServerKilledOverABody,
        Self::PhotoGarbled,
        Self::Silence,
        Self::Portal,
        Self::NoticesBreakOff,
        Self::NoticesFallSilent,
        Self::ServerDiesBeforeAWrite,
        Self::ServerDiesAfterAWrite,
        Self::ServerIsFull,
        Self::StatementFails,
        Self::ServerClockJumps,
        Self::PhoneClockJumps,
        Self::SessionIsOver,
        Self::AppDies,
        Self::NoRoomForPhotos,
        Self::NoRoomAtAll,
        Self::PhoneChangesHands,
        Self::NewerVersionWrites,
    ];
}

/// How often each fault struck.
pub type Count = BTreeMap<Blow, u64>;

/// Counts faults. A clone counts into the same.
#[derive(Clone, Debug, Default)]
pub struct Struck(Arc<Mutex<Count>>);

impl Struck {
    pub fn note(&self, blow: Blow) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner).entry(blow).or_default() += 1;
    }

    pub fn count(&self) -> Count {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

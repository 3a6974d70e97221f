//! The server's own changes: memberships by invitation, answers to worksheets.

use std::sync::{Arc, Mutex, PoisonError};

use shared_types::body::Body;
use shared_types::change::Change;
use shared_types::digest::Digest;
use shared_types::ids::{Author, ChangeId, LogId};
use shared_types::stamp::Clock as StampClock;
use shared_types::time::UtcMillis;
use storage::{OwnChanges, Place, PreparedChange};
use uuid::Uuid;

use crate::auth::signing::SigningDevice;
use crate::fault::{Fault, Result};

/// One change that the server wants to make.
#[derive(Clone, Debug)]
pub struct Wish {
    /// The change's id.
    pub id: ChangeId,
    /// What it does.
    pub body: Body,
    /// Changes whose values it replaces.
    pub replaces: Vec<ChangeId>,
}

impl Wish {
    /// A change with a fresh id that replaces nothing.
    pub fn new(body: impl Into<Body>) -> Self {
        Self { id: ChangeId(Uuid::now_v7()), body: body.into(), replaces: Vec::new() }
    }
}

/// Changes on their way into a log: signed once the log tells what comes before them.
pub struct Writing {
    /// What the store takes.
    pub changes: OwnChanges,
    failed: Arc<Mutex<Option<serde_json::Error>>>,
}

/// Writes the server's wishes down, later than everything in the log, each chained on the one before.
#[must_use]
pub fn write(server: SigningDevice, log: LogId, wishes: Vec<Wish>, now: UtcMillis) -> Writing {
    let failed = Arc::new(Mutex::new(None));
    let report = Arc::clone(&failed);
    let build = move |place: &Place| match sign_all(&server, place, &wishes, now) {
        Ok(changes) => changes,
        Err(error) => {
            *report.lock().unwrap_or_else(PoisonError::into_inner) = Some(error);
            Vec::new()
        }
    };
    Writing { changes: OwnChanges { log, received: now, build: Arc::new(build) }, failed }
}

impl Writing {
    /// Splits what the store takes from what tells whether it could be written.
    #[must_use]
    pub fn split(self) -> (OwnChanges, Written) {
        (self.changes, Written(self.failed))
    }
}

/// Tells whether the changes could be written.
pub struct Written(Arc<Mutex<Option<serde_json::Error>>>);

impl Written {
    /// To be asked once the store has taken them.
    ///
    /// # Errors
    /// When a change has no JSON form, which is a fault of ours.
    pub fn check(self) -> Result<()> {
        let failed = self.0.lock().unwrap_or_else(PoisonError::into_inner).take();
        failed.map_or(Ok(()), |error| Err(Fault::internal(error)))
    }
}

fn sign_all(
    server: &SigningDevice,
    place: &Place,
    wishes: &[Wish],
    now: UtcMillis,
) -> Result<Vec<PreparedChange>, serde_json::Error> {
    let mut clock = StampClock::after(place.highest);
    let mut previous: Option<Digest> = place.previous;
    let mut changes = Vec::with_capacity(wishes.len());
    for wish in wishes {
        let change = Change {
            id: wish.id,
            log: place.log,
            author: Author::Server,
            device: server.id,
            stamp: clock.next(now),
            previous,
            replaces: wish.replaces.clone(),
            body: wish.body.clone(),
        };
        let signed = server.sign(&change)?;
        previous = Some(signed.digest());
        changes.push(PreparedChange::new(change, signed));
    }
    Ok(changes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::auth::secret::Secret;
    use shared_types::body::The;
    use shared_types::ids::ShopId;
    use shared_types::shop::ShopPatch;
    use shared_types::stamp::Stamp;

    #[test]
    fn own_changes_come_after_everything_and_chain() {
        let server = SigningDevice::of_server(&Secret::fleeting().unwrap());
        let place = Place {
            log: LogId::Shop(ShopId(Uuid::from_u128(1))),
            previous: Some(Digest::of(b"before")),
            highest: Stamp(UtcMillis(5_000), 7),
        };
        let body = || The { set: ShopPatch::default() };
        let wishes = [Wish::new(body()), Wish::new(body())];
        let changes = sign_all(&server, &place, &wishes, UtcMillis(1_000)).unwrap();
        let [first, second] = &changes[..] else { panic!("two changes") };
        assert!(place.highest < first.change().stamp && first.change().stamp < second.change().stamp);
        assert_eq!(first.change().previous, place.previous);
        assert_eq!(second.change().previous, Some(first.digest()));
    }
}

//! An offer is not taken while a hold point ahead of its step holds it back: work that nobody accepted would be
//! hidden by it. The app says so before; this is for whoever's log was not up to date, or goes by another app.

use shared_types::body::{Body, Known, OnStep};
use shared_types::change::{Change, Entry};
use shared_types::entity::Entity as _;
use shared_types::fold::{self, Folded as _};
use shared_types::ids::{LogId, OfferId, StepId};
use shared_types::job::{JobState, OfferPatch};
use shared_types::time::UtcMillis;

use super::snapshots;
use crate::deps::Deps;
use crate::fault::{Fault, Result};

/// Does a change offer a step? Withdrawing an offer is no offering.
#[must_use]
pub fn offers(body: &Body) -> bool {
    offered(body).is_some()
}

fn offered(body: &Body) -> Option<(&OnStep<OfferId, OfferPatch>, StepId)> {
    let Body::Known(Known::Offer(body)) = body else { return None };
    body.step.filter(|_| body.set.retired != Some(true)).map(|step| (body, step))
}

/// Which of the changes of a push are offers of steps that are held back, by their places, each with why.
/// Each is held against the log and what the push brings ahead of it: a lead's override among it counts.
///
/// # Errors
/// When the store can't be read.
pub async fn among(
    deps: &Deps,
    log: LogId,
    received: UtcMillis,
    changes: Vec<Option<Change>>,
) -> Result<Vec<(usize, String)>> {
    let storage = deps.storage.as_ref();
    // Of a long log, a snapshot is made once and kept: whoever offers next folds little.
    match deps.snapshots.latest(storage, log, &fold::name()).await {
        Ok(_) | Err(Fault::NotFound) => {}
        Err(fault) => return Err(fault),
    }
    let state = match snapshots::job_now(storage, log).await {
        Ok((state, _)) => state,
        // The push opens the job.
        Err(Fault::NotFound) => JobState::default(),
        Err(fault) => return Err(fault),
    };
    let look = move || refused(state, received, changes);
    tokio::task::spawn_blocking(look).await.map_err(Fault::internal)
}

fn refused(mut state: JobState, received: UtcMillis, changes: Vec<Option<Change>>) -> Vec<(usize, String)> {
    let mut refused = Vec::new();
    for (place, change) in changes.into_iter().enumerate() {
        let Some(change) = change else { continue };
        match fault(&state, &change) {
            Some(why) => refused.push((place, why)),
            None => state.fold(&Entry { change, received: Some(received) }),
        }
    }
    refused
}

fn fault(state: &JobState, change: &Change) -> Option<String> {
    let (body, step) = offered(&change.body)?;
    if let Some(known) = state.offers.get(&body.id).map(|offer| &offer.it) {
        let says_more = body.set.coverage.is_none() && body.set.retired.is_none() && !known.is_retired();
        // What was taken once is answered alike for ever, however often a phone sends it.
        let made = known.created().is_some_and(|mark| mark.change == change.id);
        if says_more || made || known.coverage.knows(change.id) || known.retired.knows(change.id) {
            return None;
        }
    }
    let holder = state.holder_of(step)?;
    let words = state.holder_words(&holder);
    Some(format!(
        "Held back: {words}. Send this again once an inspector has accepted it, or a lead has overridden it."
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::body::On;
    use shared_types::coverage::Coverage;
    use shared_types::ids::{Author, ChangeId, DeviceId, JobId, ShopId, UserId};
    use shared_types::job::StepPatch;
    use shared_types::order::OrderKey;
    use shared_types::stamp::Stamp;
    use uuid::Uuid;

    fn change(number: u128, body: impl Into<Body>) -> Option<Change> {
        Some(Change {
            id: ChangeId(Uuid::from_u128(number)),
            log: LogId::Job(ShopId::default(), JobId::default()),
            author: Author::Person(UserId::default()),
            device: DeviceId::default(),
            stamp: Stamp(UtcMillis(1), u32::try_from(number).unwrap()),
            previous: None,
            replaces: Vec::new(),
            body: body.into(),
        })
    }

    fn step(number: u128, hold: bool) -> Option<Change> {
        let order = Some(OrderKey(format!("8{number}")));
        let set = StepPatch { order, hold_point: hold.then_some(true), ..StepPatch::default() };
        change(number, On { id: StepId(Uuid::from_u128(number)), set })
    }

    fn offer(number: u128, step: u128, set: OfferPatch) -> Option<Change> {
        let (id, step) = (OfferId(Uuid::from_u128(9)), Some(StepId(Uuid::from_u128(step))));
        change(number, OnStep { id, step, set })
    }

    fn again() -> OfferPatch {
        OfferPatch { retired: Some(false), ..OfferPatch::default() }
    }

    const NONE: [usize; 0] = [];

    fn withdrawn() -> OfferPatch {
        OfferPatch { retired: Some(true), ..OfferPatch::default() }
    }

    fn places(changes: Vec<Option<Change>>) -> Vec<usize> {
        refused(JobState::default(), UtcMillis(1), changes).into_iter().map(|(place, _)| place).collect()
    }

    #[test]
    fn what_is_not_taken_counts_for_nothing_and_what_comes_later_neither() {
        let new = OfferPatch::default;
        assert_eq!(places(vec![step(1, true), step(2, false), offer(3, 2, new())]), [2]);
        assert_eq!(places(vec![None, step(2, false), offer(3, 2, new())]), NONE);
        assert_eq!(places(vec![step(2, false), offer(3, 2, new()), step(1, true)]), NONE);
        assert_eq!(places(vec![step(1, true), offer(3, 1, new())]), NONE, "the hold point itself");
    }

    #[test]
    fn an_offer_that_was_taken_is_withdrawn_and_said_more_about_but_not_made_anew() {
        let before = vec![step(2, false), offer(3, 2, OfferPatch::default()), step(1, true)];
        let then = |set| {
            let mut all = before.clone();
            all.push(offer(4, 2, set));
            all
        };
        let note = OfferPatch { note: Some("by the window".into()), ..OfferPatch::default() };
        assert_eq!(places(then(note)), NONE);
        assert_eq!(places(then(withdrawn())), NONE);
        let covered = OfferPatch { coverage: Some(Coverage::default()), ..OfferPatch::default() };
        assert_eq!(places(then(covered)), [3]);
        let mut all = then(withdrawn());
        all.push(offer(5, 2, again()));
        assert_eq!(places(all), [4], "the withdrawal taken back");
    }

    #[test]
    fn an_offer_that_a_phone_sends_again_is_no_new_one() {
        let mut all = vec![step(2, false), offer(3, 2, OfferPatch::default()), offer(4, 2, withdrawn())];
        all.extend([offer(5, 2, again()), step(1, true)]);
        let state = {
            let mut state = JobState::default();
            for change in all.iter().flatten() {
                state.fold(&Entry { change: change.clone(), received: Some(UtcMillis(1)) });
            }
            state
        };
        assert!(refused(state.clone(), UtcMillis(1), all).is_empty());
        assert_eq!(refused(state, UtcMillis(1), vec![offer(6, 2, again())]).len(), 1);
    }
}

//! What a state would be after some changes, before anybody makes them.

use std::sync::atomic::{AtomicU64, Ordering};

use shared_types::body::{Body, Known};
use shared_types::change::{Change, Entry};
use shared_types::entity::Entity;
use shared_types::field::Mark;
use shared_types::fold::Folded;
use shared_types::ids::{Author, ChangeId, DeviceId, LogId, ShopId};
use shared_types::stamp::Stamp;
use shared_types::time::UtcMillis;
use uuid::Uuid;

/// A mark later than every real one.
pub const MARK: Mark = Mark {
    stamp: Stamp(UtcMillis(i64::MAX), u32::MAX),
    device: DeviceId(Uuid::max()),
    change: ChangeId(Uuid::max()),
    author: Author::Server,
};

/// An entity as a patch alone makes it: for the verdict on a reading that is still being typed.
#[must_use]
pub fn entity<T: Entity>(patch: &T::Patch) -> T {
    let mut entity = T::default();
    entity.apply(patch, &MARK, &[]);
    entity
}

/// Applies a patch over all that was applied before, previews included.
pub fn apply_over<T: Entity>(entity: &mut T, patch: &T::Patch) {
    let seen = entity.seen(patch);
    entity.apply(patch, &Mark { change: next_change(), ..MARK }, &seen);
}

/// A change replaces others by id: two previews, one upon the other, must not share any.
fn next_change() -> ChangeId {
    static NUMBER: AtomicU64 = AtomicU64::new(0);
    ChangeId(Uuid::from_u64_pair(u64::MAX, NUMBER.fetch_add(1, Ordering::Relaxed)))
}

/// The state after some changes: to cover with a digest what will count a moment later.
#[must_use]
pub fn after<S: Folded + Clone>(state: &S, bodies: &[Known]) -> S {
    let mut after = state.clone();
    for body in bodies {
        let change = Change {
            id: next_change(),
            log: LogId::Shop(ShopId::default()),
            author: MARK.author,
            device: MARK.device,
            stamp: MARK.stamp,
            previous: None,
            replaces: after.seen(body),
            body: Body::Known(body.clone()),
        };
        after.fold(&Entry::from(change));
    }
    after
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::body::On;
    use shared_types::ids::StepId;
    use shared_types::job::{JobState, StepPatch};

    #[test]
    fn the_last_change_counts_whatever_was_there() {
        let step = |title: &str| {
            Known::Step(On {
                id: StepId::default(),
                set: StepPatch { title: Some(title.into()), ..StepPatch::default() },
            })
        };
        let state = after(&JobState::default(), &[step("first"), step("second")]);
        let title = |state: &JobState| state.steps[&StepId::default()].title.or_empty().0;
        assert_eq!(title(&state), "second");
        assert_eq!(title(&after(&state, &[step("third")])), "third");
    }
}

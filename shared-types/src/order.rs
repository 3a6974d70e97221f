//! Fractional order: a step moved between two others gets a key between
//! theirs, and no other step changes.

use fractional_index::FractionalIndex;
use serde::{Deserialize, Serialize};

/// A place in an order. Compare keys as text; equal keys are told apart by id.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct OrderKey(pub String);

impl OrderKey {
    /// The most characters in a key; a thousand moves into the same gap stay below it.
    pub const MAX: usize = 2_000;

    /// A key after `before` and ahead of `after`; `None` stands for the end of the list.
    ///
    /// When no key fits between (two devices made the same key, or a key is
    /// damaged), the new one goes right after `before`.
    #[must_use]
    pub fn between(before: Option<&Self>, after: Option<&Self>) -> Self {
        let read = |key: &Self| FractionalIndex::from_string(&key.0).ok();
        let (before, after) = (before.and_then(read), after.and_then(read));
        let key = FractionalIndex::new(before.as_ref(), after.as_ref())
            .or_else(|| before.as_ref().map(FractionalIndex::new_after))
            .unwrap_or_default();
        Self(key.to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_key_lies_between_its_neighbours(places in prop::collection::vec(any::<prop::sample::Index>(), 1..100)) {
            let mut keys: Vec<OrderKey> = vec![OrderKey::between(None, None)];
            for place in places {
                let at = place.index(keys.len() + 1);
                let before = at.checked_sub(1).and_then(|index| keys.get(index));
                let key = OrderKey::between(before, keys.get(at));
                keys.insert(at, key);
                prop_assert!(keys.is_sorted_by(|a, b| a < b));
            }
        }
    }

    #[test]
    fn equal_or_damaged_neighbours_still_give_a_key_after_the_first() {
        let key = OrderKey::between(None, None);
        assert!(OrderKey::between(Some(&key), Some(&key)) > key);
        let damaged = OrderKey("~".to_owned());
        assert!(!OrderKey::between(Some(&damaged), None).0.is_empty());
    }
}

//! Sorting, and sets, for code that a phone downloads.
//!
//! The standard sort is compiled anew for each type of item, four kilobytes each; collecting into a
//! `BTreeMap` or a `BTreeSet` sorts too. Here places are sorted, which is compiled once, and the
//! items are put there.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Map, Value};

/// Puts items in order; those that compare equal stay as they are.
pub fn by<T>(items: &mut Vec<T>, mut compare: impl FnMut(&T, &T) -> Ordering) {
    let order = places(items.len(), &mut |one, other| compare(&items[one], &items[other]));
    let mut taken: Vec<Option<T>> = items.drain(..).map(Some).collect();
    items.extend(order.into_iter().filter_map(|at| taken[at].take()));
}

/// Puts items in order by a key; those with equal keys stay as they are.
pub fn by_key<T, K: Ord>(items: &mut Vec<T>, key: impl Fn(&T) -> K) {
    by(items, |one, other| key(one).cmp(&key(other)));
}

/// A set, item by item.
pub fn set<T: Ord>(items: impl IntoIterator<Item = T>) -> BTreeSet<T> {
    let mut set = BTreeSet::new();
    set.extend(items);
    set
}

/// A map, entry by entry.
pub fn map<K: Ord, V>(entries: impl IntoIterator<Item = (K, V)>) -> BTreeMap<K, V> {
    let mut map = BTreeMap::new();
    map.extend(entries);
    map
}

/// A JSON object, field by field.
pub fn object(fields: impl IntoIterator<Item = (String, Value)>) -> Map<String, Value> {
    let mut object = Map::new();
    object.extend(fields);
    object
}

fn places(count: usize, compare: &mut dyn FnMut(usize, usize) -> Ordering) -> Vec<usize> {
    let mut places: Vec<usize> = (0..count).collect();
    places.sort_by(|one, other| compare(*one, *other));
    places
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn items_are_sorted_as_the_standard_sort_does(items in prop::collection::vec((0..5_u8, any::<u16>()), 0..60)) {
            let (mut ours, mut theirs) = (items.clone(), items.clone());
            by_key(&mut ours, |it| it.0);
            theirs.sort_by_key(|it| it.0);
            prop_assert_eq!(ours, theirs);
            prop_assert_eq!(set(items.clone()), items.into_iter().collect::<BTreeSet<_>>());
        }
    }
}

//! The entities of one kind in a state.

use std::collections::BTreeMap;
use std::collections::btree_map;
use std::ops::Index;
use std::sync::Arc;

use serde::de::{DeserializeOwned, Error as _};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::{Map, Value};

/// Entities by id. Each is shared until it is altered, so that a state is cloned for the price of
/// its ids; and since the map itself only holds pointers, a phone downloads its code once and not
/// once per kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Entities<I, T>(BTreeMap<I, Arc<T>>);

impl<I, T> Default for Entities<I, T> {
    fn default() -> Self {
        Self(BTreeMap::new())
    }
}

impl<I: Ord, T> Entities<I, T> {
    /// The entity of an id.
    #[must_use]
    pub fn get(&self, id: &I) -> Option<&T> {
        self.0.get(id).map(|it| &**it)
    }

    /// Is there one of this id?
    #[must_use]
    pub fn contains_key(&self, id: &I) -> bool {
        self.0.contains_key(id)
    }

    /// Puts an entity in the place of its id.
    pub fn insert(&mut self, id: I, entity: T) {
        self.0.insert(id, Arc::new(entity));
    }

    /// How many there are, those taken out of use included.
    #[must_use]
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Is there none?
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// All of them by id, which is the order they were made in: ids are UUIDv7.
    pub fn iter(&self) -> Iter<'_, I, T> {
        self.0.iter().map(|(id, it)| (id, &**it))
    }

    /// All ids, in order.
    pub fn keys(&self) -> btree_map::Keys<'_, I, Arc<T>> {
        self.0.keys()
    }

    /// All of them, in the order of their ids.
    pub fn values(&self) -> impl DoubleEndedIterator<Item = &T> + Clone {
        self.0.values().map(|it| &**it)
    }
}

impl<I: Ord, T: Clone + Default> Entities<I, T> {
    /// The entity of an id, to be altered; an empty one if there is none.
    pub fn alter(&mut self, id: I) -> &mut T {
        Arc::make_mut(self.0.entry(id).or_default())
    }
}

/// Entities with their ids.
pub type Iter<'a, I, T> =
    std::iter::Map<btree_map::Iter<'a, I, Arc<T>>, fn((&'a I, &'a Arc<T>)) -> (&'a I, &'a T)>;

impl<'a, I: Ord, T> IntoIterator for &'a Entities<I, T> {
    type Item = (&'a I, &'a T);
    type IntoIter = Iter<'a, I, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl<I: Ord, T> Index<&I> for Entities<I, T> {
    type Output = T;

    /// # Panics
    /// When there is none of this id.
    fn index(&self, id: &I) -> &T {
        &self.0[id]
    }
}

impl<I: Ord + Serialize, T: Serialize> Serialize for Entities<I, T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.iter())
    }
}

impl<'de, I: Ord + DeserializeOwned, T: DeserializeOwned> Deserialize<'de> for Entities<I, T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let rows: Map<String, Value> = Deserialize::deserialize(deserializer)?;
        let mut all = Self::default();
        for (id, row) in rows {
            let id = serde_json::from_value(Value::String(id)).map_err(D::Error::custom)?;
            all.insert(id, serde_json::from_value(row).map_err(D::Error::custom)?);
        }
        Ok(all)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn an_altered_clone_leaves_the_first_as_it_was() {
        let mut first = Entities::<u32, String>::default();
        first.insert(2, "two".to_owned());
        let mut second = first.clone();
        second.alter(2).push('!');
        second.alter(1).push('?');
        assert_eq!(first.iter().collect::<Vec<_>>(), [(&2, &"two".to_owned())]);
        assert_eq!(second.values().collect::<Vec<_>>(), ["?", "two!"]);
        assert_eq!((second.len(), second[&2].as_str(), second.get(&3)), (2, "two!", None));
    }

    #[test]
    fn they_are_written_as_an_object_and_read_back() {
        let mut all = Entities::<String, u8>::default();
        all.insert("b".to_owned(), 2);
        all.insert("a".to_owned(), 1);
        assert_eq!(serde_json::to_string(&all).unwrap(), r#"{"a":1,"b":2}"#);
        assert_eq!(serde_json::from_value::<Entities<String, u8>>(json!({"b": 2, "a": 1})).unwrap(), all);
        assert!(serde_json::from_value::<Entities<String, u8>>(json!({"a": "x"})).is_err());
    }
}

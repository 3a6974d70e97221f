//! The entities of one kind in a state.

use std::collections::BTreeMap;
use std::collections::btree_map;
use std::fmt::Display;
use std::ops::Index;
use std::str::FromStr;
use std::sync::Arc;

use serde::de::Error as _;
use serde_json::Error;

use crate::fields::{Fielded, Fields};

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

/// Entities of whatever kind, so that they are read and written by code that a phone downloads once.
trait Rows {
    fn row(&mut self, id: &str) -> Result<&mut dyn Fielded, Error>;
    fn rows(&self) -> Vec<(String, &dyn Fielded)>;
}

impl<I: Ord + Display + FromStr<Err: Display>, T: Fielded + Clone + Default> Rows for Entities<I, T> {
    fn row(&mut self, id: &str) -> Result<&mut dyn Fielded, Error> {
        Ok(self.alter(id.parse().map_err(Error::custom)?))
    }

    fn rows(&self) -> Vec<(String, &dyn Fielded)> {
        self.iter().map(|(id, it)| (id.to_string(), it as &dyn Fielded)).collect()
    }
}

impl<I: Ord + Display + FromStr<Err: Display>, T: Fielded + Clone + Default> Fielded for Entities<I, T> {
    fn write(&self, fields: &mut Fields) -> Result<(), Error> {
        write_rows(self, fields)
    }

    fn read(&mut self, fields: &mut Fields) -> Result<(), Error> {
        read_rows(self, fields)
    }
}

fn write_rows(all: &dyn Rows, fields: &mut Fields) -> Result<(), Error> {
    all.rows().into_iter().try_for_each(|(id, it)| fields.put_object(&id, it))
}

fn read_rows(all: &mut dyn Rows, fields: &mut Fields) -> Result<(), Error> {
    let ids: Vec<String> = fields.0.keys().cloned().collect();
    ids.iter().try_for_each(|id| fields.fill_object(id, all.row(id)?))
}

#[cfg(test)]
mod tests {
    use super::*;

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

    #[derive(Clone, Debug, Default, PartialEq)]
    struct Count(u8);

    impl Fielded for Count {
        fn write(&self, fields: &mut Fields) -> Result<(), Error> {
            fields.put("count", &self.0)
        }

        fn read(&mut self, fields: &mut Fields) -> Result<(), Error> {
            self.0 = fields.take("count")?;
            Ok(())
        }
    }

    #[test]
    fn they_are_written_as_an_object_and_read_back() {
        let mut all = Entities::<u32, Count>::default();
        all.insert(2, Count(20));
        all.insert(1, Count(10));
        let mut fields = Fields::default();
        all.write(&mut fields).unwrap();
        assert_eq!(serde_json::to_string(&fields.0).unwrap(), r#"{"1":{"count":10},"2":{"count":20}}"#);
        let mut read = Entities::default();
        read.read(&mut fields).unwrap();
        assert_eq!(read, all);
        let mut wrong = Fields::default();
        wrong.put("1", &7).unwrap();
        assert_eq!(read.read(&mut wrong).unwrap_err().to_string(), "1: not an object");
    }
}

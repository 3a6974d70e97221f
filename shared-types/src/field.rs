//! A field: the last writer's value, and every value that nobody has replaced.
//!
//! A change names the changes whose values its author saw ([`Change::replaces`]).
//! What is left over are values entered at the same time by people who could not
//! see each other. The latest stamp wins; the others stay readable as "also
//! entered" until somebody who saw them writes again.
//!
//! [`Change::replaces`]: crate::change::Change::replaces

use std::collections::BTreeSet;

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::{Error, Value};

use crate::entity::Kept;
use crate::fields::Fields;
use crate::ids::{Author, ChangeId, DeviceId};
use crate::stamp::Stamp;

/// Who wrote a value, when, and in which change.
///
/// Marks are ordered by counted stamp, then device, then change: the same order everywhere.
///
/// Written as the list of its four parts, because a state holds thousands; read from their names too, as
/// rows of before have them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(into = "(Stamp, DeviceId, ChangeId, Author)")]
pub struct Mark {
    /// The stamp as it counts.
    pub stamp: Stamp,
    /// The device that made the change.
    pub device: DeviceId,
    /// The change.
    pub change: ChangeId,
    /// The person, or the server.
    pub author: Author,
}

impl From<Mark> for (Stamp, DeviceId, ChangeId, Author) {
    fn from(mark: Mark) -> Self {
        (mark.stamp, mark.device, mark.change, mark.author)
    }
}

/// A value with its mark.
#[derive(Clone, Debug, PartialEq)]
pub struct Entered<T> {
    /// What was entered.
    pub value: T,
    /// By whom and when.
    pub mark: Mark,
}

/// One field of an entity.
#[derive(Clone, Debug, PartialEq)]
pub struct Field<T> {
    /// Values that nobody has replaced, latest first.
    heads: Vec<Entered<T>>,
    /// Changes whose value was replaced, kept so that a late or repeated delivery stays replaced.
    replaced: BTreeSet<ChangeId>,
}

impl<T> Default for Field<T> {
    fn default() -> Self {
        Self { heads: Vec::new(), replaced: BTreeSet::new() }
    }
}

/// A field of any type, as its entity's row holds it. Nearly all fields hold what the entity was made
/// with and nothing beside: of those, the row holds `[value]` alone. A long job is opened in half the time.
#[derive(Serialize, Deserialize)]
struct Row {
    heads: Vec<(Value, Mark)>,
    #[serde(default, skip_serializing_if = "BTreeSet::is_empty")]
    replaced: BTreeSet<ChangeId>,
}

impl Fields {
    /// A field of the entity that was made by the change of this mark.
    fn row_of_field(&mut self, name: &str, created: Option<&Mark>) -> Result<Option<Row>, Error> {
        match (self.0.remove(name), created) {
            (None, _) => Ok(None),
            (Some(Value::Array(only)), Some(mark)) if only.len() == 1 => {
                let heads = only.into_iter().map(|value| (value, *mark)).collect();
                Ok(Some(Row { heads, replaced: BTreeSet::new() }))
            }
            (Some(row), _) => serde_json::from_value(row).map(Some),
        }
    }
}

impl<T: Clone + PartialEq + Default + Serialize + DeserializeOwned> Kept for Field<T> {
    fn write(&self, name: &str, created: Option<&Mark>, fields: &mut Fields) -> Result<(), Error> {
        if self.heads.is_empty() && self.replaced.is_empty() {
            return Ok(());
        }
        if let [only] = &self.heads[..]
            && self.replaced.is_empty()
            && created == Some(&only.mark)
        {
            return fields.put(name, &[&only.value]);
        }
        let mut heads = Vec::new();
        for head in &self.heads {
            heads.push((serde_json::to_value(&head.value)?, head.mark));
        }
        fields.put(name, &Row { heads, replaced: self.replaced.clone() })
    }

    fn read(&mut self, name: &str, created: Option<&Mark>, fields: &mut Fields) -> Result<(), Error> {
        let Some(row) = fields.row_of_field(name, created)? else { return Ok(()) };
        self.replaced = row.replaced;
        for (value, mark) in row.heads {
            self.heads.push(Entered { value: serde_json::from_value(value)?, mark });
        }
        Ok(())
    }

    fn shown(&self) -> Option<(Value, Mark)> {
        self.entered().map(shown)
    }

    fn shown_or_empty(&self) -> Value {
        json(&self.or_empty())
    }

    fn also_shown(&self) -> Vec<(Value, Mark)> {
        self.also_entered().map(shown).collect()
    }

    fn marks(&self) -> Vec<ChangeId> {
        self.heads.iter().map(|head| head.mark.change).collect()
    }
}

fn shown<T: Serialize>(entered: &Entered<T>) -> (Value, Mark) {
    (json(&entered.value), entered.mark)
}

/// A value as JSON. The types of this crate always have a JSON form, but for a
/// float that is not a number: that one becomes `null`.
fn json<T: Serialize>(value: &T) -> Value {
    serde_json::to_value(value).unwrap_or(Value::Null)
}

impl<T: Clone + PartialEq> Field<T> {
    /// Folds one value in. Any order and any repetition give the same field.
    pub fn set(&mut self, value: &T, mark: &Mark, replaces: &[ChangeId]) {
        self.heads.retain(|head| !replaces.contains(&head.mark.change));
        self.replaced.extend(replaces);
        if self.replaced.contains(&mark.change) {
            return;
        }
        let at = self.heads.partition_point(|head| head.mark > *mark);
        if self.heads.get(at).is_none_or(|head| head.mark.change != mark.change) {
            self.heads.insert(at, Entered { value: value.clone(), mark: *mark });
        }
    }

    /// The value that counts, if any was entered.
    #[must_use]
    pub fn get(&self) -> Option<&T> {
        self.heads.first().map(|head| &head.value)
    }

    /// The value that counts, with its mark.
    #[must_use]
    pub fn entered(&self) -> Option<&Entered<T>> {
        self.heads.first()
    }

    /// Is a change's value here, or was it replaced? Then the change was folded in before.
    #[must_use]
    pub fn knows(&self, change: ChangeId) -> bool {
        self.replaced.contains(&change) || self.heads.iter().any(|head| head.mark.change == change)
    }

    /// Values entered by people who could not see the one that counts, and that differ from it.
    pub fn also_entered(&self) -> impl Iterator<Item = &Entered<T>> {
        let winner = self.get();
        self.heads.iter().skip(1).filter(move |head| Some(&head.value) != winner)
    }
}

impl<T: Clone + PartialEq + Default> Field<T> {
    /// The value that counts, or the empty value.
    #[must_use]
    pub fn or_empty(&self) -> T {
        self.get().cloned().unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn a_row_of_before_is_read_as_one_of_now() {
        let [device, change, author] = [
            "01900000-0000-7000-8000-0000000000d1",
            "01900000-0000-7000-8000-0000000000c1",
            "01900000-0000-7000-8000-0000000000a1",
        ];
        let named = json!({ "stamp": [1, 0], "device": device, "change": change, "author": author });
        let listed = json!([[1, 0], device, change, author]);
        let mark: Mark = serde_json::from_value(named.clone()).unwrap();
        assert_eq!(serde_json::from_value::<Mark>(listed.clone()).unwrap(), mark);
        assert_eq!(json!(mark), listed);

        let read = |field: Value| {
            let mut fields = Fields::default();
            fields.0.insert("text".to_owned(), field);
            let mut text = Field::<String>::default();
            text.read("text", Some(&mark), &mut fields).map(|()| text)
        };
        let before = read(json!({ "heads": [["ground down", named]] })).unwrap();
        assert_eq!(read(json!(["ground down"])).unwrap(), before);
        assert_eq!(before.get().map(String::as_str), Some("ground down"));
        assert!(read(json!(["ground down", "and more"])).is_err());
    }
}

//! What every entity of a log has in common, and the macro that declares one.
//!
//! An entity is declared once, field by field; the macro makes its state (each
//! field a [`Field`](crate::field::Field)) and its patch (each field optional)
//! out of that, with the fold, the undo and the canonical content.

use serde::{Serialize, de::DeserializeOwned};
use serde_json::{Map, Value};

use crate::check::Problem;
use crate::field::Mark;
use crate::ids::ChangeId;

/// Values of one field that were entered side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct Contested {
    /// The field's name on the wire.
    pub field: &'static str,
    /// The value that counts.
    pub counts: (Value, Mark),
    /// The others, latest first.
    pub also_entered: Vec<(Value, Mark)>,
}

/// What a change may set on an entity.
pub trait Patch: Clone + Default + PartialEq + Serialize + DeserializeOwned {
    /// Every value that is out of its limits.
    fn problems(&self) -> Vec<Problem>;
}

/// The state of one entity.
pub trait Entity: Clone + Default + PartialEq + Serialize + DeserializeOwned {
    /// What a change may set.
    type Patch: Patch;

    /// Folds one patch in.
    fn apply(&mut self, patch: &Self::Patch, mark: &Mark, replaces: &[ChangeId]);

    /// The mark of the earliest change of this entity.
    fn created(&self) -> Option<&Mark>;

    /// Was it taken out of use? It stays in history.
    fn is_retired(&self) -> bool;

    /// The changes whose values a patch would replace.
    fn seen(&self, patch: &Self::Patch) -> Vec<ChangeId>;

    /// The patch that takes `patch` back; for an entity that isn't there yet, its retirement.
    fn undo(&self, patch: &Self::Patch) -> Self::Patch;

    /// The patch that retires the entity, or takes it back into use.
    fn retirement(retired: bool) -> Self::Patch;

    /// Fields that were entered side by side with different values.
    fn contested(&self) -> Vec<Contested>;

    /// The values that count, by field name; fields never entered are left out.
    fn content(&self) -> Map<String, Value>;
}

macro_rules! entity {
    (
        $(#[$meta:meta])*
        $state:ident / $patch:ident {
            $( $(#[$field_meta:meta])* $field:ident : $ty:ty ),* $(,)?
        }
    ) => {
        $(#[$meta])*
        #[derive(Clone, Debug, Default, PartialEq)]
        pub struct $state {
            $( $(#[$field_meta])* pub $field: $crate::field::Field<$ty>, )*
            /// Taken out of use; kept in history.
            pub retired: $crate::field::Field<bool>,
            created: Option<$crate::field::Mark>,
        }

        #[doc = concat!("What a change may set on a [`", stringify!($state), "`]: absent fields stay as they are.")]
        #[derive(Clone, Debug, Default, PartialEq)]
        pub struct $patch {
            $( $(#[$field_meta])* pub $field: Option<$ty>, )*
            /// Take out of use, or back into it.
            pub retired: Option<bool>,
        }

        impl $crate::fields::Fielded for $state {
            fn write(&self, fields: &mut $crate::fields::Fields) -> Result<(), serde_json::Error> {
                $( self.$field.write(stringify!($field), fields)?; )*
                self.retired.write("retired", fields)?;
                fields.put("created", &self.created)
            }

            fn read(fields: &mut $crate::fields::Fields) -> Result<Self, serde_json::Error> {
                let mut it = Self::default();
                $( it.$field.read(stringify!($field), fields)?; )*
                it.retired.read("retired", fields)?;
                it.created = fields.take("created")?;
                Ok(it)
            }
        }
        $crate::fields::serde_by_fields!($state);

        impl $crate::fields::Fielded for $patch {
            fn write(&self, fields: &mut $crate::fields::Fields) -> Result<(), serde_json::Error> {
                $( fields.put_some(stringify!($field), &self.$field)?; )*
                fields.put_some("retired", &self.retired)
            }

            fn read(fields: &mut $crate::fields::Fields) -> Result<Self, serde_json::Error> {
                let mut patch = Self::default();
                $( fields.fill_some(stringify!($field), &mut patch.$field)?; )*
                fields.fill_some("retired", &mut patch.retired)?;
                fields.nothing_left().map(|()| patch)
            }
        }
        $crate::fields::serde_by_fields!($patch);

        impl $crate::entity::Entity for $state {
            type Patch = $patch;

            fn apply(&mut self, patch: &$patch, mark: &$crate::field::Mark, replaces: &[$crate::ids::ChangeId]) {
                if self.created.is_none_or(|created| *mark < created) {
                    self.created = Some(*mark);
                }
                $( if let Some(value) = &patch.$field { self.$field.set(value, mark, replaces); } )*
                if let Some(value) = &patch.retired { self.retired.set(value, mark, replaces); }
            }

            fn created(&self) -> Option<&$crate::field::Mark> {
                self.created.as_ref()
            }

            fn is_retired(&self) -> bool {
                self.retired.or_empty()
            }

            fn seen(&self, patch: &$patch) -> Vec<$crate::ids::ChangeId> {
                let mut seen = std::collections::BTreeSet::new();
                $( if patch.$field.is_some() { seen.extend(self.$field.seen()); } )*
                if patch.retired.is_some() { seen.extend(self.retired.seen()); }
                seen.into_iter().collect()
            }

            fn undo(&self, patch: &$patch) -> $patch {
                if self.created.is_none() {
                    return Self::retirement(true);
                }
                $patch {
                    $( $field: patch.$field.as_ref().map(|_| self.$field.or_empty()), )*
                    retired: patch.retired.map(|_| self.is_retired()),
                }
            }

            fn retirement(retired: bool) -> $patch {
                $patch { retired: Some(retired), ..Default::default() }
            }

            fn contested(&self) -> Vec<$crate::entity::Contested> {
                let mut contested = Vec::new();
                $( contested.extend($crate::entity::contest(stringify!($field), &self.$field)); )*
                contested.extend($crate::entity::contest("retired", &self.retired));
                contested
            }

            fn content(&self) -> serde_json::Map<String, serde_json::Value> {
                let mut content = serde_json::Map::new();
                $( $crate::entity::put(&mut content, stringify!($field), self.$field.get()); )*
                content
            }
        }

        impl $crate::entity::Patch for $patch {
            fn problems(&self) -> Vec<$crate::check::Problem> {
                let mut problems = Vec::new();
                $( problems.extend($crate::check::problem(stringify!($field), &self.$field)); )*
                problems
            }
        }
    };
}
pub(crate) use entity;

/// Values entered side by side in one field, if there are any.
pub(crate) fn contest<T: Clone + PartialEq + Serialize>(
    field: &'static str,
    values: &crate::field::Field<T>,
) -> Option<Contested> {
    let shown = |entered: &crate::field::Entered<T>| (json(&entered.value), entered.mark);
    let also_entered: Vec<_> = values.also_entered().map(shown).collect();
    let counts = values.entered().map(shown)?;
    (!also_entered.is_empty()).then_some(Contested { field, counts, also_entered })
}

/// Adds a field's value to a canonical content.
pub(crate) fn put<T: Serialize>(content: &mut Map<String, Value>, field: &str, value: Option<&T>) {
    if let Some(value) = value {
        content.insert(field.to_owned(), json(value));
    }
}

/// A value as JSON. The types of this crate always have a JSON form, but for a
/// float that is not a number: that one becomes `null`.
fn json<T: Serialize>(value: &T) -> Value {
    serde_json::to_value(value).unwrap_or(Value::Null)
}

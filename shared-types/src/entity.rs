//! What every entity of a log has in common, and the macro that declares one.
//!
//! An entity is declared once, field by field; the macro makes its state (each
//! field a [`Field`](crate::field::Field)) and its patch (each field optional)
//! out of that, with the fold, the undo and the canonical content.

use serde::{Serialize, de::DeserializeOwned};
use serde_json::{Error, Map, Value};

use crate::check::{Checked, Problem, problem};
use crate::field::Mark;
use crate::fields::{Fielded, Fields};
use crate::ids::ChangeId;
use crate::sorted;

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

/// A field of an entity, whatever its type.
pub trait Kept {
    /// Writes the field among those of its entity, which was made by the change of this mark; one that
    /// nobody ever set is left out.
    ///
    /// # Errors
    /// When a value has no JSON form.
    fn write(&self, name: &str, created: Option<&Mark>, fields: &mut Fields) -> Result<(), Error>;

    /// Takes the field from among those of its entity; one that isn't there stays as it is.
    ///
    /// # Errors
    /// When it is of another type.
    fn read(&mut self, name: &str, created: Option<&Mark>, fields: &mut Fields) -> Result<(), Error>;

    /// The value that counts, if any was entered.
    fn shown(&self) -> Option<(Value, Mark)>;

    /// The value that counts, or the empty value.
    fn shown_or_empty(&self) -> Value;

    /// Values entered by people who could not see the one that counts, latest first.
    fn also_shown(&self) -> Vec<(Value, Mark)>;

    /// What a new value replaces.
    fn marks(&self) -> Vec<ChangeId>;
}

/// A value that a change may set, whatever its type.
pub trait Said {
    /// Writes the value among those of its patch, if the patch sets it.
    ///
    /// # Errors
    /// When it has no JSON form.
    fn write(&self, name: &str, fields: &mut Fields) -> Result<(), Error>;

    /// Takes the value from among those of its patch, if it is there.
    ///
    /// # Errors
    /// When it is of another type.
    fn read(&mut self, name: &str, fields: &mut Fields) -> Result<(), Error>;

    /// Does the patch set it?
    fn is_set(&self) -> bool;

    /// Why it can't be taken, if so.
    fn problem(&self, name: &str) -> Option<Problem>;
}

impl<T: Serialize + DeserializeOwned + Checked> Said for Option<T> {
    fn write(&self, name: &str, fields: &mut Fields) -> Result<(), Error> {
        self.as_ref().map_or(Ok(()), |value| fields.put(name, value))
    }

    fn read(&mut self, name: &str, fields: &mut Fields) -> Result<(), Error> {
        *self = fields.take_any(name)?;
        Ok(())
    }

    fn is_set(&self) -> bool {
        self.is_some()
    }

    fn problem(&self, name: &str) -> Option<Problem> {
        problem(name, self)
    }
}

/// Named fields, to be looked at.
pub type Each<'a, T> = Vec<(&'static str, &'a T)>;
/// Named fields, to be filled.
pub type EachMut<'a, T> = Vec<(&'static str, &'a mut T)>;

/// What a change may set on an entity.
pub trait Patch: Clone + Default + PartialEq + Fielded {
    /// All that it may set.
    fn each(&self) -> Each<'_, dyn Said>;

    /// Every value that is out of its limits.
    fn problems(&self) -> Vec<Problem> {
        problems(&self.each())
    }
}

/// The state of one entity.
pub trait Entity: Clone + Default + PartialEq + Fielded {
    /// What a change may set.
    type Patch: Patch;

    /// Folds one patch in.
    fn apply(&mut self, patch: &Self::Patch, mark: &Mark, replaces: &[ChangeId]);

    /// The mark of the earliest change of this entity.
    fn created(&self) -> Option<&Mark>;

    /// Its fields, by the names that a patch has for them.
    fn each(&self) -> Each<'_, dyn Kept>;

    /// Was it taken out of use? It stays in history.
    fn is_retired(&self) -> bool;

    /// The patch that retires the entity, or takes it back into use.
    fn retirement(retired: bool) -> Self::Patch;

    /// The changes whose values a patch would replace.
    fn seen(&self, patch: &Self::Patch) -> Vec<ChangeId> {
        seen(&self.each(), &patch.each())
    }

    /// What takes `patch` back, by field name; for an entity that isn't there yet, its retirement.
    fn undo(&self, patch: &Self::Patch) -> Map<String, Value> {
        undo(self.created().is_some(), &self.each(), &patch.each())
    }

    /// Fields that were entered side by side with different values.
    fn contested(&self) -> Vec<Contested> {
        contested(&self.each())
    }

    /// The values that count, by field name; fields never entered are left out.
    fn content(&self) -> Map<String, Value> {
        content(&self.each())
    }
}

/// The name of the field that takes an entity out of use.
const RETIRED: &str = "retired";
/// The name of the mark of an entity's earliest change, in a row.
const CREATED: &str = "created";

pub(crate) fn problems(said: &Each<dyn Said>) -> Vec<Problem> {
    said.iter().filter_map(|(name, value)| value.problem(name)).collect()
}

fn set<'a>(
    kept: &'a Each<dyn Kept>,
    said: &'a Each<dyn Said>,
) -> impl Iterator<Item = (&'static str, &'a dyn Kept)> {
    // A patch lists its fields as its entity does.
    kept.iter().zip(said).filter(|(_, (_, value))| value.is_set()).map(|((name, field), _)| (*name, *field))
}

fn seen(kept: &Each<dyn Kept>, said: &Each<dyn Said>) -> Vec<ChangeId> {
    let all = sorted::set(set(kept, said).flat_map(|(_, field)| field.marks()));
    all.into_iter().collect()
}

fn undo(is_there: bool, kept: &Each<dyn Kept>, said: &Each<dyn Said>) -> Map<String, Value> {
    if !is_there {
        return sorted::object([(RETIRED.to_owned(), true.into())]);
    }
    sorted::object(set(kept, said).map(|(name, field)| (name.to_owned(), field.shown_or_empty())))
}

/// Whether an entity is in use is no content of it.
fn content(kept: &Each<dyn Kept>) -> Map<String, Value> {
    let shown = |(name, field): &(&'static str, &dyn Kept)| Some(((*name).to_owned(), field.shown()?.0));
    sorted::object(kept.iter().filter(|(name, _)| *name != RETIRED).filter_map(shown))
}

fn contested(kept: &Each<dyn Kept>) -> Vec<Contested> {
    let beside = |(field, kept): &(&'static str, &dyn Kept)| {
        let also_entered = kept.also_shown();
        (!also_entered.is_empty()).then_some(Contested { field, counts: kept.shown()?, also_entered })
    };
    kept.iter().filter_map(beside).collect()
}

/// Writes an entity's row.
pub(crate) fn write_kept(
    kept: &Each<dyn Kept>,
    created: Option<Mark>,
    fields: &mut Fields,
) -> Result<(), Error> {
    for (name, field) in kept {
        field.write(name, created.as_ref(), fields)?;
    }
    fields.put(CREATED, &created)
}

/// Reads an entity's row.
pub(crate) fn read_kept(
    kept: EachMut<dyn Kept>,
    created: &mut Option<Mark>,
    fields: &mut Fields,
) -> Result<(), Error> {
    *created = fields.take(CREATED)?;
    for (name, field) in kept {
        field.read(name, created.as_ref(), fields)?;
    }
    Ok(())
}

/// Writes what a patch sets.
pub(crate) fn write_said(said: &Each<dyn Said>, fields: &mut Fields) -> Result<(), Error> {
    said.iter().try_for_each(|(name, value)| value.write(name, fields))
}

/// Reads what a patch sets; it may set nothing else.
pub(crate) fn read_said(said: EachMut<dyn Said>, fields: &mut Fields) -> Result<(), Error> {
    for (name, value) in said {
        value.read(name, fields)?;
    }
    fields.nothing_left()
}

/// Declares an entity. What can be done by the list of its fields is done there, once for all
/// entities: a phone downloads all of it. Behind `also` stands what finds fault with values beside each other.
macro_rules! entity {
    (
        $(#[$meta:meta])*
        $state:ident / $patch:ident {
            $( $(#[$field_meta:meta])* $field:ident : $ty:ty ),* $(,)?
        }
        $(also $check:path)?
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
                $crate::entity::write_kept(&$crate::entity::Entity::each(self), self.created, fields)
            }

            fn read(&mut self, fields: &mut $crate::fields::Fields) -> Result<(), serde_json::Error> {
                let kept: $crate::entity::EachMut<dyn $crate::entity::Kept> =
                    vec![$( (stringify!($field), &mut self.$field), )* ("retired", &mut self.retired)];
                $crate::entity::read_kept(kept, &mut self.created, fields)
            }
        }
        $crate::fields::serde_by_fields!($state);
        impl $crate::fields::Fielded for $patch {
            fn write(&self, fields: &mut $crate::fields::Fields) -> Result<(), serde_json::Error> {
                $crate::entity::write_said(&$crate::entity::Patch::each(self), fields)
            }

            fn read(&mut self, fields: &mut $crate::fields::Fields) -> Result<(), serde_json::Error> {
                let said: $crate::entity::EachMut<dyn $crate::entity::Said> =
                    vec![$( (stringify!($field), &mut self.$field), )* ("retired", &mut self.retired)];
                $crate::entity::read_said(said, fields)
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

            fn each(&self) -> $crate::entity::Each<'_, dyn $crate::entity::Kept> {
                vec![$( (stringify!($field), &self.$field), )* ("retired", &self.retired)]
            }

            fn is_retired(&self) -> bool {
                self.retired.or_empty()
            }

            fn retirement(retired: bool) -> $patch {
                $patch { retired: Some(retired), ..Default::default() }
            }
        }

        impl $crate::entity::Patch for $patch {
            fn each(&self) -> $crate::entity::Each<'_, dyn $crate::entity::Said> {
                vec![$( (stringify!($field), &self.$field), )* ("retired", &self.retired)]
            }

            $(
                fn problems(&self) -> Vec<$crate::check::Problem> {
                    let mut problems = $crate::entity::problems(&$crate::entity::Patch::each(self));
                    problems.extend($check(self));
                    problems
                }
            )?
        }
    };
}
pub(crate) use entity;

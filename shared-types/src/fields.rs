//! Reading and writing types by the names of their fields, by way of a JSON object.
//!
//! What serde derives is compiled anew for each type and each form of input; a phone
//! downloads all of it. Here a field costs one call. The code behind the call is shared
//! by all fields of the same type, and by all types whose form is an object.

use serde::Serialize;
use serde::de::{DeserializeOwned, Error as _};
use serde_json::{Error, Map, Value};

/// A JSON object while it is read or written.
#[derive(Default)]
pub struct Fields(pub Map<String, Value>);

/// Something whose JSON form is an object.
pub trait Fielded {
    /// Writes its fields.
    ///
    /// # Errors
    /// When a value has no JSON form.
    fn write(&self, fields: &mut Fields) -> Result<(), Error>;

    /// Takes its fields into itself, which is empty before. Into itself and not out: each value
    /// that is carried past a possible error costs code to drop it there.
    ///
    /// # Errors
    /// When a field is missing, unknown, or not of its type; the message names it.
    fn read(&mut self, fields: &mut Fields) -> Result<(), Error>;
}

impl Fields {
    /// Writes a field.
    ///
    /// # Errors
    /// When the value has no JSON form.
    pub fn put(&mut self, name: &str, value: &impl Serialize) -> Result<(), Error> {
        self.0.insert(name.to_owned(), serde_json::to_value(value)?);
        Ok(())
    }

    /// Writes a field that is an object itself.
    ///
    /// # Errors
    /// When one of its values has no JSON form.
    pub fn put_object(&mut self, name: &str, object: &dyn Fielded) -> Result<(), Error> {
        let mut fields = Self::default();
        object.write(&mut fields)?;
        self.0.insert(name.to_owned(), Value::Object(fields.0));
        Ok(())
    }

    /// Takes a field that is an object itself; a missing one leaves it as it is.
    ///
    /// # Errors
    /// When the field is no object, or not such a one.
    pub fn fill_object(&mut self, name: &str, object: &mut dyn Fielded) -> Result<(), Error> {
        match self.0.remove(name) {
            None => Ok(()),
            Some(Value::Object(fields)) => {
                object.read(&mut Self(fields)).map_err(|error| named(name, &error))
            }
            Some(_) => Err(Error::custom(format_args!("{name}: not an object"))),
        }
    }

    /// Takes a field that is an object itself and must be there.
    ///
    /// # Errors
    /// When it is missing, no object, or not such a one.
    pub fn take_object(&mut self, name: &str, object: &mut dyn Fielded) -> Result<(), Error> {
        if self.0.contains_key(name) { self.fill_object(name, object) } else { Err(missing(name)) }
    }

    /// Takes a field that must be there.
    ///
    /// # Errors
    /// When it is missing, or of another type.
    pub fn take<T: DeserializeOwned>(&mut self, name: &str) -> Result<T, Error> {
        match self.take_any(name)? {
            Some(value) => Ok(value),
            None => Err(missing(name)),
        }
    }

    /// Takes a field if it is there, `null` included.
    ///
    /// # Errors
    /// When it is of another type.
    pub fn take_any<T: DeserializeOwned>(&mut self, name: &str) -> Result<Option<T>, Error> {
        match self.0.remove(name) {
            None => Ok(None),
            Some(value) => serde_json::from_value(value).map(Some).map_err(|error| named(name, &error)),
        }
    }

    /// Takes a field into its place; a missing one leaves the place as it is. Into its place and
    /// not out: each value that is carried past a possible error costs code to drop it there.
    ///
    /// # Errors
    /// When it is of another type.
    #[inline(never)]
    pub fn fill<T: DeserializeOwned>(&mut self, name: &str, place: &mut T) -> Result<(), Error> {
        if let Some(value) = self.take_any(name)? {
            *place = value;
        }
        Ok(())
    }

    /// Holds that every field was taken.
    ///
    /// # Errors
    /// Names one that is left.
    pub fn nothing_left(&self) -> Result<(), Error> {
        match self.0.keys().next() {
            None => Ok(()),
            Some(name) => Err(Error::custom(format_args!("unknown field `{name}`"))),
        }
    }
}

fn missing(name: &str) -> Error {
    Error::custom(format_args!("missing field `{name}`"))
}

fn named(name: &str, error: &Error) -> Error {
    Error::custom(format_args!("{name}: {error}"))
}

/// Gives [`Fielded`] types their serde forms.
macro_rules! serde_by_fields {
    ($type:ident) => {
        impl serde::Serialize for $type {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                let mut fields = $crate::fields::Fields::default();
                $crate::fields::Fielded::write(self, &mut fields).map_err(serde::ser::Error::custom)?;
                fields.0.serialize(serializer)
            }
        }

        impl<'de> serde::Deserialize<'de> for $type {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let fields = serde::Deserialize::deserialize(deserializer)?;
                let mut it = Self::default();
                $crate::fields::Fielded::read(&mut it, &mut $crate::fields::Fields(fields))
                    .map_err(serde::de::Error::custom)?;
                Ok(it)
            }
        }
    };
}
pub(crate) use serde_by_fields;

/// Makes a struct [`Fielded`], each of its fields by its own name: those that are objects
/// themselves, and the others. What is missing is empty.
macro_rules! fielded {
    ($type:ident { objects: $($object:ident),+; others: $($other:ident),+ $(,)? }) => {
        impl $crate::fields::Fielded for $type {
            fn write(&self, fields: &mut $crate::fields::Fields) -> Result<(), serde_json::Error> {
                let objects: &[(&str, &dyn $crate::fields::Fielded)] =
                    &[$( (stringify!($object), &self.$object) ),+];
                for (name, object) in objects {
                    fields.put_object(name, *object)?;
                }
                $( fields.put(stringify!($other), &self.$other)?; )+
                Ok(())
            }

            fn read(&mut self, fields: &mut $crate::fields::Fields) -> Result<(), serde_json::Error> {
                let objects: Vec<(&str, &mut dyn $crate::fields::Fielded)> =
                    vec![$( (stringify!($object), &mut self.$object) ),+];
                for (name, object) in objects {
                    fields.fill_object(name, object)?;
                }
                $( fields.fill(stringify!($other), &mut self.$other)?; )+
                Ok(())
            }
        }
        $crate::fields::serde_by_fields!($type);
    };
}
pub(crate) use fielded;

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn an_error_names_its_field() {
        let Value::Object(map) = json!({"a": "x", "b": 1}) else { unreachable!() };
        let mut fields = Fields(map);
        let wrong = fields.take::<u8>("a").unwrap_err().to_string();
        assert!(wrong.starts_with("a: ") && wrong.contains("invalid type"), "{wrong}");
        assert_eq!(fields.take::<u8>("c").unwrap_err().to_string(), "missing field `c`");
        assert_eq!(fields.nothing_left().unwrap_err().to_string(), "unknown field `b`");
        assert_eq!(fields.take::<u8>("b").unwrap(), 1);
        assert!(fields.nothing_left().is_ok());
        assert_eq!(fields.take_any::<u8>("b").unwrap(), None);
    }
}

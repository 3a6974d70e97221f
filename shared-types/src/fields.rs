//! Reading and writing types by the names of their fields, by way of a JSON object.
//!
//! What serde derives is compiled anew for each type and each form of input; a phone
//! downloads all of it. Here a field costs one call, and the code behind the call is
//! shared by all fields of the same type.

use serde::Serialize;
use serde::de::{DeserializeOwned, Error as _};
use serde_json::{Error, Map, Value};

/// A JSON object while it is read or written.
#[derive(Default)]
pub struct Fields(pub Map<String, Value>);

/// A type whose JSON form is an object.
pub trait Fielded: Sized {
    /// Writes its fields.
    ///
    /// # Errors
    /// When a value has no JSON form.
    fn write(&self, fields: &mut Fields) -> Result<(), Error>;

    /// Takes its fields out.
    ///
    /// # Errors
    /// When a field is missing, unknown, or not of its type; the message names it.
    fn read(fields: &mut Fields) -> Result<Self, Error>;
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

    /// Takes a field that must be there.
    ///
    /// # Errors
    /// When it is missing, or of another type.
    pub fn take<T: DeserializeOwned>(&mut self, name: &str) -> Result<T, Error> {
        match self.take_any(name)? {
            Some(value) => Ok(value),
            None => Err(Error::custom(format_args!("missing field `{name}`"))),
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

fn named(name: &str, error: &Error) -> Error {
    Error::custom(format_args!("{name}: {error}"))
}

/// Gives [`Fielded`] types their serde forms.
macro_rules! serde_by_fields {
    ($type:ident $(<$($parameter:ident),+>)?) => {
        impl $(<$($parameter: serde::Serialize),+>)? serde::Serialize for $type $(<$($parameter),+>)? {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                let mut fields = $crate::fields::Fields::default();
                $crate::fields::Fielded::write(self, &mut fields).map_err(serde::ser::Error::custom)?;
                fields.0.serialize(serializer)
            }
        }

        impl<'de $($(, $parameter: serde::de::DeserializeOwned)+)?> serde::Deserialize<'de>
            for $type $(<$($parameter),+>)?
        {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let fields = serde::Deserialize::deserialize(deserializer)?;
                $crate::fields::Fielded::read(&mut $crate::fields::Fields(fields))
                    .map_err(serde::de::Error::custom)
            }
        }
    };
}
pub(crate) use serde_by_fields;

/// Makes a struct [`Fielded`], each of its fields by its own name; what is missing is empty.
macro_rules! fielded {
    ($type:ident { $($field:ident),+ $(,)? }) => {
        impl $crate::fields::Fielded for $type {
            fn write(&self, fields: &mut $crate::fields::Fields) -> Result<(), serde_json::Error> {
                $( fields.put(stringify!($field), &self.$field)?; )+
                Ok(())
            }

            fn read(fields: &mut $crate::fields::Fields) -> Result<Self, serde_json::Error> {
                let mut it = Self::default();
                $( fields.fill(stringify!($field), &mut it.$field)?; )+
                Ok(it)
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

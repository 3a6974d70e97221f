//! What belongs to a step, as a job's state holds it; as a change tells it, it is [`crate::body::OnStep`].

use serde::de::Error as _;
use serde::ser::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::Error;

use crate::fields::{Fielded, Fields};
use crate::ids::StepId;

/// The step's name among an entity's fields.
const STEP: &str = "step";

/// An entity that belongs to a step. In JSON, the step stands among the entity's own fields.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OnStep<T> {
    /// The step it belongs to; `None` for the discrepancy itself (photos, notes, readings as found).
    pub step: Option<StepId>,
    /// The entity.
    pub it: T,
}

impl<T: Fielded> Fielded for OnStep<T> {
    fn write(&self, fields: &mut Fields) -> Result<(), Error> {
        self.it.write(fields)?;
        fields.put(STEP, &self.step)
    }

    fn read(fields: &mut Fields) -> Result<Self, Error> {
        Ok(Self { step: fields.take(STEP)?, it: T::read(fields)? })
    }
}

impl<T: Fielded> Serialize for OnStep<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = Fields::default();
        self.write(&mut fields).map_err(S::Error::custom)?;
        fields.0.serialize(serializer)
    }
}

impl<'de, T: Fielded> Deserialize<'de> for OnStep<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Self::read(&mut Fields(Deserialize::deserialize(deserializer)?)).map_err(D::Error::custom)
    }
}

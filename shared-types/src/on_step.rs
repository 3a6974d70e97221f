//! What belongs to a step, as a job's state holds it; as a change tells it, it is [`crate::body::OnStep`].

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

    fn read(&mut self, fields: &mut Fields) -> Result<(), Error> {
        self.step = fields.take(STEP)?;
        self.it.read(fields)
    }
}

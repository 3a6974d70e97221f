//! Inspection: the queue, and one step of it.

mod decide;
mod photos;
mod pin;
mod queue;
mod since;
mod step;

pub use queue::{InspectPage, read_what_waits};
pub use step::InspectStepPage;

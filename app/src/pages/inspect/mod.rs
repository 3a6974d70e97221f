//! Inspection: the queue, and one step of it.

mod decide;
mod photos;
mod pin;
mod queue;
mod since;
mod step;

pub use queue::InspectPage;
pub use step::InspectStepPage;

//! Inspection: the queue, and one step of it.

mod decide;
mod photos;
mod queue;
mod step;

pub use queue::InspectPage;
pub use step::InspectStepPage;

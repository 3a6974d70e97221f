//! Inspection: the queue, and one step of it.

mod comparison;
mod decide;
mod drafts;
mod photos;
mod pin;
mod queue;
mod recorded;
mod register;
mod since;
mod step;

pub use queue::{InspectPage, read_what_waits};
pub use step::InspectStepPage;

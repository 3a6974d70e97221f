//! Worksheets: asking for one, and one with its working.
//!
//! [`forms`] is a table: what each form asks and how the answers become the
//! engine's input. The preview is worked out here with the engine's own crate;
//! the server's answer takes its place once there has been a connection.

mod answer;
mod form;
mod forms;
mod general;
mod keep;
mod page;
mod row;

pub use page::{AlterWorksheetPage, FillInPage, NewWorksheetPage, WorksheetPage};

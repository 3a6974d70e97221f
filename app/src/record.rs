//! The job's record: one page with everything, for paper as much as for the screen.
//!
//! [`view::RecordView`] knows no store: the server renders it without script
//! from its own fold, the app renders it offline from the device's.

pub mod closing;
pub mod document;
pub mod hours;
pub mod joint;
pub mod layup;
pub mod step;
#[cfg(feature = "ssr")]
pub mod still;
pub mod view;

//! The job's record: one page with everything, for paper as much as for the screen.
//!
//! [`view::RecordView`] knows no store: the server renders it without script
//! from its own fold, the app renders it offline from the device's.

pub mod closing;
pub mod document;
pub mod facts;
pub mod hours;
pub mod joint;
pub mod layup;
pub mod lists;
mod over_all;
pub mod sheets;
pub mod signed;
pub mod step;
#[cfg(feature = "ssr")]
pub mod still;
pub mod tell;
pub mod view;

#[cfg(test)]
mod tests {
    use shared_types::job::JobState;

    use super::document::in_utc;
    use super::tell::Tell;

    /// A job told of by people without names.
    pub fn tell(state: &JobState) -> Tell<'_> {
        Tell { state, name: &|_| "somebody".to_owned(), moment: in_utc, today: "2026-11-28".parse().unwrap() }
    }
}

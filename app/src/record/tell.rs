//! How the record tells of people, moments and days, on the page and on paper alike.

use shared_types::entity::Entity;
use shared_types::field::{Field, Mark};
use shared_types::ids::{Author, StepId};
use shared_types::job::JobState;
use shared_types::sorted;
use shared_types::time::{Day, UtcMillis};

use crate::clock::day_of;

/// A job, and what it takes to tell of it.
#[derive(Clone, Copy)]
pub struct Tell<'a> {
    /// The job's fold.
    pub state: &'a JobState,
    /// What an author is called.
    pub name: &'a dyn Fn(Author) -> String,
    /// How a moment is written.
    pub moment: fn(UtcMillis) -> String,
    /// The day the record is made.
    pub today: Day,
}

impl Tell<'_> {
    /// What an author is called.
    #[must_use]
    pub fn name(&self, author: Author) -> String {
        (self.name)(author)
    }

    /// `NAME, 2026-11-25 12:42:00 UTC`.
    #[must_use]
    pub fn by(&self, mark: &Mark) -> String {
        format!("{}, {}", self.name(mark.author), (self.moment)(mark.stamp.0))
    }

    /// Who entered it, and when; nothing for what nobody entered.
    #[must_use]
    pub fn by_any(&self, mark: Option<&Mark>) -> String {
        mark.map(|mark| self.by(mark)).unwrap_or_default()
    }

    /// The day a line was entered, which is taken for the day of use.
    #[must_use]
    pub fn used(&self, mark: Option<&Mark>) -> Day {
        mark.map_or(self.today, |mark| day_of(mark.stamp.0))
    }

    /// That something was taken back, by whom and when; nothing for what is in force.
    #[must_use]
    pub fn taken_back(&self, retired: &Field<bool>) -> Option<String> {
        let retired = retired.entered().filter(|it| it.value)?;
        Some(format!("taken back by {}", self.by(&retired.mark)))
    }

    /// A step with its number: `3. Drill out the rivets`.
    #[must_use]
    pub fn step(&self, step: StepId) -> String {
        let steps = self.state.steps_in_order();
        let at = steps.iter().position(|(id, _)| *id == step);
        at.map(|at| format!("{}. {}", at + 1, steps[at].1.title.or_empty())).unwrap_or_default()
    }
}

/// What is in use, by when it was entered.
pub fn in_use<'a, T: Entity + 'a>(all: impl Iterator<Item = &'a T>) -> Vec<&'a T> {
    let mut all: Vec<&T> = all.filter(|it| !it.is_retired()).collect();
    sorted::by_key(&mut all, |it| it.created().copied());
    all
}

/// Texts that say something, joined.
pub fn joined(parts: impl IntoIterator<Item = String>, with: &str) -> String {
    parts.into_iter().filter(|part| !part.trim().is_empty()).collect::<Vec<_>>().join(with)
}

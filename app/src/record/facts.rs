//! What stands at the head of the record: aircraft and part, from when to when, and who worked on it.

use shared_types::coverage::on;
use shared_types::entity::Entity as _;
use shared_types::ids::{Author, StepId};
use shared_types::sorted;
use shared_types::status::JobStatus;
use shared_types::working_time::TimeEntry;

use super::tell::{Tell, in_use, joined};
use crate::clock;

const fn word(status: JobStatus) -> &'static str {
    match status {
        JobStatus::Returned => "returned by an inspector",
        JobStatus::Waiting => "waiting for inspection",
        JobStatus::Open => "open",
        JobStatus::Done => "closed",
    }
}

/// The facts, those that there are.
#[must_use]
pub fn facts(tell: Tell<'_>) -> Vec<(&'static str, String)> {
    let (job, summary) = (&tell.state.job, tell.state.summary());
    let closed = job
        .closed_at
        .entered()
        .and_then(|it| Some(format!("{} by {}", (tell.moment)(it.value?), tell.name(it.mark.author))));
    let rows = [
        ("Registration", job.registration.or_empty().0),
        ("Aircraft type", job.aircraft_type.or_empty().0),
        ("Aircraft serial", job.aircraft_serial.or_empty().0),
        ("Part", job.part.or_empty().0),
        ("Part number", job.part_number.or_empty().0),
        ("Part serial", job.part_serial.or_empty().0),
        ("Opened", tell.by_any(job.created())),
        ("Closed", closed.unwrap_or_else(|| "not closed; what follows may still change".to_owned())),
        (
            "Stands at",
            format!("{}; {} of {} steps settled", word(summary.status), summary.settled, summary.steps),
        ),
        ("Working time", clock::stretch(tell.state.hours().all.worked)),
        ("Worked on it", people(tell)),
    ];
    rows.into_iter().filter(|(_, value)| !value.is_empty()).collect()
}

/// Whoever recorded anything on the job, worked on it or decided on it.
fn people(tell: Tell<'_>) -> String {
    let state = tell.state;
    let created = [
        authors(state.readings.values().map(|it| &it.it)),
        authors(state.notes.values().map(|it| &it.it)),
        authors(state.photos.values().map(|it| &it.it)),
        authors(state.decisions.values().map(|it| &it.it)),
    ];
    let finished = state.steps.values().filter_map(|it| it.finished_at.entered()).map(|it| it.mark.author);
    let clocked = in_use(state.times.values().map(|it| &it.it)).into_iter().filter_map(worker);
    let all = created.into_iter().flatten().chain(finished).chain(clocked);
    joined(sorted::set(all.map(|author| tell.name(author))), ", ")
}

fn authors<'a, T: shared_types::entity::Entity + 'a>(all: impl Iterator<Item = &'a T>) -> Vec<Author> {
    all.filter_map(|it| it.created().map(|mark| mark.author)).collect()
}

/// Whose time it is: of the person named, else of who entered it.
fn worker(it: &TimeEntry) -> Option<Author> {
    it.person.or_empty().map(Author::Person).or_else(|| it.created().map(|mark| mark.author))
}

/// Stretches of working time of a step: who, from, to, on what.
#[must_use]
pub fn stretches(tell: Tell<'_>, step: Option<StepId>) -> Vec<[String; 4]> {
    let times = in_use(on(&tell.state.times, step).map(|(_, it)| it)).into_iter();
    let row = |it: &TimeEntry| {
        let moment = |at: Option<_>| at.map(|at| (tell.moment)(at));
        [
            worker(it).map(|author| tell.name(author)).unwrap_or_default(),
            moment(it.started_at.or_empty()).unwrap_or_default(),
            moment(it.stopped_at.or_empty()).unwrap_or_else(|| "running".to_owned()),
            it.note.or_empty().0,
        ]
    };
    times.map(row).collect()
}

/// What the stretches' columns are called.
pub const STRETCHES: [&str; 4] = ["Who", "From", "To", "On"];

/// When a step was begun and finished, and by whom.
#[must_use]
pub fn begun_and_finished(tell: Tell<'_>, step: StepId) -> Vec<String> {
    let Some(step) = tell.state.steps.get(&step) else { return Vec::new() };
    let told = |(word, field): (&str, &shared_types::field::Field<Option<shared_types::time::UtcMillis>>)| {
        let it = field.entered()?;
        Some(format!("{word} {} by {}", (tell.moment)(it.value?), tell.name(it.mark.author)))
    };
    [("begun", &step.started_at), ("finished", &step.finished_at)].into_iter().filter_map(told).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::tests::tell;
    use shared_types::job::JobState;

    #[test]
    fn nothing_is_left_empty_where_something_is_missing() {
        let state = JobState::default();
        let facts = facts(tell(&state));
        assert!(facts.iter().all(|(_, value)| !value.is_empty()));
        assert!(
            facts.iter().any(|(name, value)| *name == "Closed" && value.starts_with("not closed")),
            "{facts:?}"
        );
    }
}

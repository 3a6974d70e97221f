//! The job's plate: which aircraft, which part, where it stands.

use leptos::prelude::*;
use shared_types::body::{Known, OnStep, The};
use shared_types::entity::Entity as _;
use shared_types::ids::{LogId, NoteId};
use shared_types::job::{JobPatch, JobState, NotePatch};
use shared_types::status::JobStatus;
use shared_types::working_time::TimePatch;

use crate::clock;
use crate::entry::form::EntrySheet;
use crate::entry::{Subject, specs};
use crate::pages::parts::{JobSignal, of_job};
use crate::routes::Route;
use crate::store::{Store, use_store};
use crate::ui::{Button, ButtonKind, Icon, JobBadge, LinkButton, Plate};

/// What the plate says.
#[derive(Clone, Debug, Default, PartialEq)]
struct Shown {
    title: String,
    over: String,
    facts: Vec<(&'static str, String)>,
    status: Option<JobStatus>,
    retired: bool,
}

impl Shown {
    fn of(store: Store, log: LogId, state: &JobState) -> Self {
        let job = &state.job;
        let title =
            [job.title.or_empty().0, job.part.or_empty().0].into_iter().find(|text| !text.trim().is_empty());
        let over = [
            job.registration.or_empty().0,
            job.aircraft_type.or_empty().0,
            serial(&job.aircraft_serial.or_empty().0),
        ];
        let part =
            [job.part.or_empty().0, job.part_number.or_empty().0, serial(&job.part_serial.or_empty().0)];
        let opened = job.created().map(|mark| {
            format!("{} by {}", clock::moment(mark.stamp.0), store.name_of(log.shop(), mark.author))
        });
        let facts = [
            ("Part", joined(part)),
            ("Opened", opened.unwrap_or_default()),
            ("Closed", job.closed_at.or_empty().map(clock::moment).unwrap_or_default()),
            ("Time", time_total(state)),
        ];
        Self {
            title: title.unwrap_or_else(|| "A job without a title".to_owned()),
            over: joined(over),
            facts: facts.into_iter().filter(|(_, fact)| !fact.is_empty()).collect(),
            status: Some(state.status()),
            retired: job.is_retired(),
        }
    }
}

fn serial(number: &str) -> String {
    if number.trim().is_empty() { String::new() } else { format!("s/n {number}") }
}

fn joined<const N: usize>(parts: [String; N]) -> String {
    parts.into_iter().filter(|part| !part.trim().is_empty()).collect::<Vec<_>>().join(" · ")
}

/// Working time recorded so far; empty when there is none.
fn time_total(state: &JobState) -> String {
    let total = state.hours().all.worked;
    if total == 0 { String::new() } else { clock::stretch(total) }
}

/// The plate.
#[component]
pub fn Facts(log: LogId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let shown = of_job(state, move |state| Shown::of(store, log, state));
    let open = RwSignal::new(false);
    let aircraft = of_job(state, |state| state.job.aircraft.or_empty());
    let subject = move |()| {
        let content =
            state.with_untracked(|state| state.here().map(|state| state.job.content()).unwrap_or_default());
        Subject { id: None, ..Subject::altered("job.v1", "", content) }
    };
    view! {
        <Plate over=Signal::derive(move || shown.read().over.clone()) title=Signal::derive(move || shown.read().title.clone())>
            <div class="cluster">
                {move || shown.read().status.map(|status| view! { <JobBadge status/> })}
                {move || shown.read().retired.then_some("taken out of use")}
            </div>
            <dl class="facts">
                {move || shown.get().facts.into_iter().map(|(name, fact)| view! { <dt>{name}</dt><dd>{fact}</dd> }).collect_view()}
            </dl>
            <div class="cluster plate-foot">
                {may_work(store, log).then(|| view! {
                    <Button label="Edit the facts" kind=ButtonKind::Quiet icon=Icon::Edit on_press=move |()| open.set(true)/>
                })}
                {move || aircraft.get().map(|id| view! {
                    <LinkButton label="The aircraft" kind=ButtonKind::Quiet icon=Icon::ChevronRight href=Route::Aircraft(log.shop(), id).to_string()/>
                })}
            </div>
            {may_work(store, log).then(|| view! {
                <EntrySheet title="The job's facts" open log specs=specs::JOB subject draft="job" done="Job's facts saved"/>
            })}
        </Plate>
    }
}

/// May the person signed in do the work of a mechanic here?
#[must_use]
pub fn may_work(store: Store, log: LogId) -> bool {
    store.may(log, Known::Time(OnStep { id: Default::default(), step: None, set: TimePatch::default() }))
}

/// May they add notes and photos?
#[must_use]
pub fn may_note(store: Store, log: LogId) -> bool {
    store.may(log, Known::Note(OnStep { id: NoteId::default(), step: None, set: NotePatch::default() }))
}

/// May they close the job?
#[must_use]
pub fn may_close(store: Store, log: LogId) -> bool {
    let set = JobPatch { closed_at: Some(None), ..JobPatch::default() };
    store.may(log, Known::Job(The { set }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use shared_types::ids::TimeId;
    use shared_types::on_step::OnStep as StateOnStep;
    use shared_types::time::UtcMillis;
    use uuid::Uuid;

    #[test]
    fn working_time_adds_up_without_what_still_runs_or_was_taken_out() {
        let mut state = JobState::default();
        let minutes = |minutes: i64| Some(Some(UtcMillis(minutes * 60_000)));
        let times = [
            TimePatch { started_at: minutes(0), stopped_at: minutes(50), ..TimePatch::default() },
            TimePatch { started_at: minutes(60), stopped_at: minutes(90), ..TimePatch::default() },
            TimePatch { started_at: minutes(100), ..TimePatch::default() },
            TimePatch {
                started_at: minutes(0),
                stopped_at: minutes(9),
                retired: Some(true),
                ..TimePatch::default()
            },
        ];
        for (number, patch) in (0_u128..).zip(times) {
            let it = StateOnStep { step: None, it: entity(&patch) };
            state.times.insert(TimeId(Uuid::from_u128(number)), it);
        }
        assert_eq!(time_total(&state), "1 h 20 min");
        assert_eq!(time_total(&JobState::default()), "");
    }
}

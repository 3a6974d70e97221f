//! Hours planned and worked, step by step.

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::check::Problem;
use shared_types::entity::Entity as _;
use shared_types::ids::{LogId, StepId};
use shared_types::job::JobState;
use shared_types::status::read_number;
use shared_types::working_time::{EstimatePatch, StepHours};

use super::sheets;
use crate::clock;
use crate::entry::form::{EntrySheet, Form};
use crate::entry::{Subject, specs};
use crate::page;
use crate::pages::parts::{JobSignal, of_job};
use crate::record::hours::{difference, planned as in_words};
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, Icon, Section};
use crate::words;

/// A step's hours under its name.
#[derive(Clone, Debug, Default, PartialEq)]
struct Row {
    name: String,
    hours: StepHours,
}

/// All of them, and their sums.
#[derive(Clone, Debug, Default, PartialEq)]
struct Rows {
    rows: Vec<Row>,
    all: StepHours,
    planned: StepHours,
}

fn rows(state: &JobState) -> Rows {
    let hours = state.hours();
    let name = |hours: &StepHours| match hours.step {
        Some(step) => state.steps.get(&step).map(|step| step.title.or_empty().0).unwrap_or_default(),
        None => "On no step".to_owned(),
    };
    let rows = hours.steps.into_iter().map(|hours| Row { name: name(&hours), hours }).collect();
    Rows { rows, all: hours.all, planned: hours.planned }
}

/// The hours of a job, with the plan to be filled in.
#[component]
pub fn Hours(log: LogId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let shown = of_job(state, rows);
    let editing = RwSignal::new(None::<StepId>);
    let may_plan =
        store.may(log, Known::Estimate(On { id: StepId::default(), set: EstimatePatch::default() }));
    let save = move |()| {
        let bytes = state.with_untracked(|state| {
            state.here().map(|state| sheets::times(state, |author| store.name_of(log.shop(), author)))
        });
        match bytes {
            Some(Ok(bytes)) => page::save_as("time.csv", vec![bytes]),
            Some(Err(error)) => store.warn(format!("The file could not be made: {error}")),
            None => {}
        }
    };
    view! {
        <Section title="Time">
            {move || {
                let Rows { rows, all, planned } = shown.get();
                if rows.is_empty() {
                    return view! { <p class="muted">"The job has no steps yet, and nobody has recorded time."</p> }.into_any();
                }
                view! {
                    <ul class="lines">
                        {rows.into_iter().map(|row| view! { <Line row may_plan editing/> }).collect_view()}
                    </ul>
                    <Sum all planned/>
                    <Button label="Save time.csv" kind=ButtonKind::Quiet icon=Icon::Download on_press=save/>
                }.into_any()
            }}
            <PlanSheet log state editing/>
        </Section>
    }
}

#[component]
fn Line(row: Row, may_plan: bool, editing: RwSignal<Option<StepId>>) -> impl IntoView {
    let Row { name, hours } = row;
    let label = format!("Plan hours for {name}");
    let step = hours.step.filter(|_| may_plan);
    view! {
        <li class="spread">
            <span class="found">
                <strong>{name}</strong>
                <span class="small">{said(&hours)}</span>
                {(hours.running > 0).then(|| view! { <span class="small muted">{words::count(hours.running, "clock still runs", "clocks still run")}</span> })}
            </span>
            {step.map(|step| view! {
                <Button label icon=Icon::Edit icon_only=true kind=ButtonKind::Quiet on_press=move |()| editing.set(Some(step))/>
            })}
        </li>
    }
}

/// What was planned and worked, in one line: `planned 2 h, worked 2 h 30 min: 30 min more`.
fn said(hours: &StepHours) -> String {
    let worked = if hours.worked > 0 {
        format!("worked {}", clock::stretch(hours.worked))
    } else {
        "nothing worked yet".to_owned()
    };
    match (hours.planned, hours.over()) {
        (Some(planned), Some(over)) => {
            format!("planned {}, {worked}: {}", in_words(planned), difference(over))
        }
        _ => worked,
    }
}

#[component]
fn Sum(all: StepHours, planned: StepHours) -> impl IntoView {
    view! {
        <dl class="facts">
            {all.planned.map(|hours| view! { <dt>"Planned"</dt><dd class="figures">{in_words(hours)}</dd> })}
            <dt>"Worked"</dt><dd class="figures">{clock::stretch(all.worked)}</dd>
            {planned.over().map(|over| view! { <dt>"Steps with a plan"</dt><dd>{difference(over)}</dd> })}
        </dl>
    }
}

#[component]
fn PlanSheet(log: LogId, state: JobSignal, editing: RwSignal<Option<StepId>>) -> impl IntoView {
    let open = RwSignal::new(false);
    Effect::new(move |_| {
        if editing.read().is_some() {
            open.set(true);
        }
    });
    Effect::new(move |_| {
        // The same step may be asked for again.
        if !open.get() {
            editing.set(None);
        }
    });
    let subject = move |()| {
        let step = editing.get_untracked().unwrap_or_default();
        let content = state.with_untracked(|state| {
            state
                .here()
                .and_then(|state| state.estimates.get(&step))
                .map(|it| it.content())
                .unwrap_or_default()
        });
        Subject::altered("estimate.v1", step, content)
    };
    let draft =
        Signal::derive(move || editing.get().map(|step| format!("estimate|{step}")).unwrap_or_default());
    let check = Callback::new(|form: Form| {
        let below = read_number(form.text("hours").read_untracked().trim()).is_some_and(|hours| hours < 0.0);
        if below {
            form.object(Problem::new("hours", "is below zero", "0 or more"));
        }
        !below
    });
    view! { <EntrySheet title="Planned hours" open log specs=specs::ESTIMATE subject draft done="Hours planned" check/> }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_says_how_it_stands_against_its_plan() {
        let hours =
            |planned, minutes: i64| StepHours { planned, worked: minutes * 60_000, ..StepHours::default() };
        let cases = [
            (hours(Some(2.0), 150), "planned 2 h 00 min, worked 2 h 30 min: 30 min more"),
            (hours(Some(2.0), 90), "planned 2 h 00 min, worked 1 h 30 min: 30 min less"),
            (hours(Some(1.5), 90), "planned 1 h 30 min, worked 1 h 30 min: as planned"),
            (hours(Some(0.75), 0), "planned 45 min, nothing worked yet: 45 min less"),
            (hours(None, 20), "worked 20 min"),
            (hours(None, 0), "nothing worked yet"),
            (
                hours(Some(1e12), 0),
                "planned 1000000000000 h 00 min, nothing worked yet: 1000000000000 h 00 min less",
            ),
        ];
        for (hours, wanted) in cases {
            assert_eq!(said(&hours), wanted);
        }
    }
}

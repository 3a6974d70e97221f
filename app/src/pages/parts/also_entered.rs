//! Values that two people entered side by side. One counts; the other is shown, one tap to take it.

use std::fmt::Display;

use leptos::prelude::*;
use serde_json::Value;
use shared_types::entity::{Contested, Entity as _};
use shared_types::field::Mark;
use shared_types::ids::{LogId, StepId};
use shared_types::job::JobState;
use shared_types::sorted;
use shared_types::time::UtcMillis;

use crate::clock;
use crate::differences::item_name;
use crate::entry::{Subject, specs};
use crate::store::use_store;
use crate::ui::{Banner, Button, Icon, Tone};
use crate::words::count;

/// A field in which people entered different values at the same time.
#[derive(Clone, Debug, PartialEq)]
pub struct SideBySide {
    /// Of what.
    pub subject: Subject,
    /// What it is called.
    pub name: String,
    /// The values.
    pub contested: Contested,
}

/// What was entered side by side on some things, each by its kind and id.
#[must_use]
pub fn sides_of(state: &JobState, things: impl Iterator<Item = (&'static str, String)>) -> Vec<SideBySide> {
    let things = sorted::set(things);
    let is_one = |it: &SideBySide| {
        it.subject.id.as_ref().is_some_and(|id| things.contains(&(it.subject.kind, id.clone())))
    };
    side_by_side(state, None).into_iter().filter(is_one).collect()
}

/// Everything in a job that was entered side by side: on one step, or anywhere.
#[must_use]
pub fn side_by_side(state: &JobState, step: Option<StepId>) -> Vec<SideBySide> {
    let mut found = Vec::new();
    // Names are made for what is contested only: nearly nothing is.
    let mut add = |kind: &'static str, id: &dyn Display, on: Option<StepId>, contested: Vec<Contested>| {
        if contested.is_empty() {
            return;
        }
        let item = kind.trim_end_matches(".v1");
        let name = item_name(state, &format!("{item}/{id}"));
        let subject = match item {
            "job" => Subject { id: None, ..Subject::new(kind, "") },
            _ => Subject::new(kind, id).on(on),
        };
        let one = |contested| SideBySide { subject: subject.clone(), name: name.clone(), contested };
        found.extend(contested.into_iter().map(one));
    };
    macro_rules! of_job {
        ($($all:ident $kind:literal)+) => { $(
            for (id, it) in &state.$all {
                add($kind, id, None, it.contested());
            }
        )+ };
    }
    if step.is_none() {
        add("job.v1", &"", None, state.job.contested());
        of_job! {
            data_references "data-reference.v1"
            joints "joint.v1"
            holes "hole.v1"
            layups "layup.v1"
            plies "ply.v1"
            damages "damage.v1"
            entries "entry.v1"
            screenings "screening.v1"
            promises "promise.v1"
            estimates "estimate.v1"
        }
    }
    for (id, it) in state.steps.iter().filter(|(id, _)| step.is_none_or(|step| step == **id)) {
        add("step.v1", id, None, it.contested());
    }
    macro_rules! on_steps {
        ($($all:ident $kind:literal)+) => { $(
            for (id, it) in state.$all.iter().filter(|(_, it)| step.is_none() || it.step == step) {
                add($kind, id, it.step, it.it.contested());
            }
        )+ };
    }
    on_steps! {
        photos "photo.v1"
        notes "note.v1"
        readings "reading.v1"
        hardware "hardware.v1"
        materials "material.v1"
        tools "tool-use.v1"
        times "time.v1"
        worksheets "worksheet.v1"
        offers "offer.v1"
        decisions "decision.v1"
        findings "finding.v1"
    }
    found
}

/// What a field is called on screens.
fn field_label(field: &str) -> String {
    let known = [
        specs::JOB,
        specs::CLOSING,
        specs::DATA_REFERENCE,
        specs::STEP,
        specs::PHOTO,
        specs::NOTE,
        specs::READING,
        specs::HARDWARE,
        specs::MATERIAL,
        specs::TOOL_USE,
        specs::TIME,
        specs::ANSWER,
        specs::JOINT,
        specs::HOLE,
        specs::LAYUP,
        specs::PLY,
        specs::DAMAGE,
        specs::STOCK_MATERIAL,
    ];
    let spec = known.into_iter().flatten().find(|spec| spec.name == field);
    let other = || match field {
        "order" => "Place among the steps".to_owned(),
        "retired" => "Taken out of use".to_owned(),
        "skipped" => "Skipped, because".to_owned(),
        other => other.replace('_', " "),
    };
    spec.map_or_else(other, |spec| spec.label.to_owned())
}

/// A value as people read it.
fn words(field: &str, value: &Value) -> String {
    match value {
        Value::Null => "nothing".to_owned(),
        Value::String(text) if text.is_empty() => "nothing".to_owned(),
        Value::String(_) if field == "order" => "another place".to_owned(),
        Value::String(text) => format!("“{text}”"),
        Value::Bool(true) => "yes".to_owned(),
        Value::Bool(false) => "no".to_owned(),
        Value::Number(number) if field.ends_with("_at") => {
            number.as_i64().map_or_else(|| number.to_string(), |millis| clock::moment(UtcMillis(millis)))
        }
        Value::Array(list) => count(list.len(), "answer", "answers"),
        other => other.to_string(),
    }
}

/// How many notices stand before what they are about; the rest is a tap away.
const AT_ONCE: usize = 5;

/// The notices, each with one tap to take the other value, and one to keep this.
#[component]
pub fn AlsoEntered(log: LogId, #[prop(into)] all: Signal<Vec<SideBySide>>) -> impl IntoView {
    let every = RwSignal::new(false);
    let shown = move || if every.get() { usize::MAX } else { AT_ONCE };
    let more = move || all.read().len().saturating_sub(shown());
    view! {
        {move || all.get().into_iter().take(shown()).map(|it| view! { <Notice log it/> }).collect_view()}
        {move || (more() > 0).then(|| view! {
            <Button
                label=format!("Show {} more entered side by side", more())
                icon=Icon::Team
                on_press=move |()| every.set(true)
            />
        })}
    }
}

#[component]
fn Notice(log: LogId, it: SideBySide) -> impl IntoView {
    let store = use_store();
    let field = it.contested.field;
    let label = field_label(field);
    let by = move |mark: &Mark| {
        format!("{}, {}", store.name_of(log.shop(), mark.author), clock::moment(mark.stamp.0))
    };
    let subject = StoredValue::new(it.subject);
    let take = move |value: Value, done: String| {
        if let Some(body) = subject.with_value(|subject| subject.setting([(field, value)])) {
            store.dispatch(log, vec![body], done);
        }
    };
    let (counts, mark) = it.contested.counts;
    let keep = counts.clone();
    let kept = format!("{label}: kept");
    view! {
        <Banner tone=Tone::Close icon=Icon::Team>
            <p>
                <strong>{label.clone()}</strong> " of " {it.name} ": " {words(field, &counts)}
                " counts (" {by(&mark)} ")."
            </p>
            {it.contested.also_entered.into_iter().map(|(value, mark)| {
                let shown = words(field, &value);
                let done = format!("{label}: {shown} taken");
                view! {
                    <div class="spread">
                        <span>"Also entered: " {shown} " (" {by(&mark)} ")"</span>
                        <Button label="Take this" on_press=move |()| take(value.clone(), done.clone())/>
                    </div>
                }
            }).collect_view()}
            <div class="cluster">
                <Button label="Keep what counts" icon=Icon::Check on_press=move |()| take(keep.clone(), kept.clone())/>
            </div>
        </Banner>
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::closing::{Entry, EntryPatch};
    use shared_types::ids::{EntryId, ReadingId};
    use shared_types::job::{Reading, ReadingPatch};
    use shared_types::on_step::OnStep;
    use uuid::Uuid;

    #[test]
    fn two_values_entered_side_by_side_are_both_shown_and_can_be_taken() {
        let mark = |number: u128| Mark {
            change: shared_types::ids::ChangeId(Uuid::from_u128(number)),
            stamp: shared_types::stamp::Stamp(UtcMillis(i64::try_from(number).unwrap()), 0),
            ..crate::entry::preview::MARK
        };
        let value = |value: &str| ReadingPatch { value: Some(value.into()), ..ReadingPatch::default() };
        let mut reading = Reading::default();
        reading.apply(&value("0.129"), &mark(1), &[]);
        reading.apply(&value("0.131"), &mark(2), &[]);
        let mut state = JobState::default();
        let step = Some(StepId(Uuid::from_u128(7)));
        state.readings.insert(ReadingId::default(), OnStep { step, it: reading });

        let found = side_by_side(&state, step);
        assert_eq!(found.len(), 1);
        assert_eq!(words("value", &found[0].contested.counts.0), "“0.131”");
        let other = found[0].contested.also_entered[0].0.clone();
        let taken = found[0].subject.setting([("value", other)]).unwrap();
        let after = crate::entry::preview::after(&state, &[taken]);
        assert_eq!(after.readings[&ReadingId::default()].it.value.or_empty().0, "0.129");
        assert!(side_by_side(&after, None).is_empty());
        assert!(side_by_side(&state, Some(StepId::default())).is_empty());
    }

    #[test]
    fn a_paper_that_closes_the_job_is_told_of_under_its_name() {
        let mark = |number: u128| Mark {
            change: shared_types::ids::ChangeId(Uuid::from_u128(number)),
            ..crate::entry::preview::MARK
        };
        let text = |text: &str| EntryPatch { text: Some(text.into()), ..EntryPatch::default() };
        let mut state = JobState::default();
        let things = || std::iter::once(("entry.v1", EntryId::default().to_string()));
        let mut entry = Entry::default();
        entry.apply(&text("one"), &mark(1), &[]);
        state.entries.insert(EntryId::default(), entry.clone());
        assert!(sides_of(&state, things()).is_empty());
        entry.apply(&text("other"), &mark(2), &[]);
        state.entries.insert(EntryId::default(), entry);
        let found = sides_of(&state, things());
        assert_eq!((found.len(), found[0].contested.field), (1, "text"));
        assert_eq!(found[0].name, "maintenance-record entry");
    }
}

//! A worksheet's form with its preview.

use leptos::prelude::*;
use serde_json::Value;
use shared_types::job::AnswerOutcome;
use shared_types::worksheet::{BadInput, WorksheetResult};

use super::answer::Answered;
use super::forms::{Form, FormField, Typed};
use crate::engine::{Preview, use_engine};
use crate::ui::{Banner, Choice, NumberField, Section, SelectField, TextField, Tone};

/// The fields, each a signal of its own, and what the engine makes of them.
#[derive(Clone)]
pub struct Filled {
    /// The form.
    pub form: &'static Form,
    fields: Vec<(&'static FormField, RwSignal<String>)>,
    outcome: Memo<Preview>,
}

impl Filled {
    /// A form that holds what was typed before.
    #[must_use]
    pub fn new(form: &'static Form, typed: &Typed) -> Self {
        let text = |field: &FormField| typed.get(field.path).cloned().unwrap_or_default();
        let fields: Vec<_> = form.fields.iter().map(|field| (field, RwSignal::new(text(field)))).collect();
        let read = fields.clone();
        let engine = use_engine();
        let outcome = Memo::new(move |_| engine.work_out(form.kind, &form.build(&typed_in(&read))));
        Self { form, fields, outcome }
    }

    /// What is typed now.
    #[must_use]
    pub fn typed(&self) -> Typed {
        typed_in(&self.fields)
    }

    /// The engine's input.
    #[must_use]
    pub fn input(&self) -> Value {
        self.form.build(&self.typed())
    }

    /// May it be saved? Without an engine on this device the server's decides.
    #[must_use]
    pub fn is_good(&self) -> bool {
        may_be_saved(&self.outcome.read())
    }

    fn error_of(&self, path: &'static str) -> Signal<Option<String>> {
        let (outcome, form) = (self.outcome, self.form);
        Signal::derive(move || {
            let outcome = outcome.read();
            let Preview::Answer(AnswerOutcome::Refused(problems)) = &*outcome else { return None };
            let problem = problems.iter().find(|it| (form.blamed)(&it.field) == path)?;
            Some(format!("{}; accepted: {}", problem.reason, problem.accepted))
        })
    }
}

/// May an input be saved? Without an engine on this device the server's decides.
#[must_use]
pub const fn may_be_saved(outcome: &Preview) -> bool {
    match outcome {
        Preview::Answer(AnswerOutcome::Result(_)) | Preview::NoEngine | Preview::UnknownKind => true,
        Preview::Answer(AnswerOutcome::Refused(_)) | Preview::Fetching => false,
    }
}

fn typed_in(fields: &[(&'static FormField, RwSignal<String>)]) -> Typed {
    fields.iter().map(|(field, text)| (field.path.to_owned(), text.get())).collect()
}

/// The form's fields.
#[component]
pub fn FormFields(filled: Filled) -> impl IntoView {
    let shown = filled.fields.clone();
    let one = move |(field, text): (&'static FormField, RwSignal<String>)| {
        let error = quiet_while_empty(text, filled.error_of(field.path));
        if field.choices.is_empty() {
            if field.unit.is_empty() && !field.number {
                return view! { <TextField label=field.label value=text hint=field.hint error/> }.into_any();
            }
            return view! { <NumberField label=field.label value=text unit=field.unit.to_owned() hint=field.hint error/> }.into_any();
        }
        let options: Vec<_> =
            field.choices.iter().map(|(value, word)| ((*value).to_owned(), (*word).to_owned())).collect();
        if options.len() <= 2 {
            view! { <Choice label=field.label value=text options/> }.into_any()
        } else {
            view! { <SelectField label=field.label value=text options error/> }.into_any()
        }
    };
    view! { <div class="fields fields--two">{shown.into_iter().map(one).collect_view()}</div> }
}

/// A field that nobody has filled yet is not wrong: the preview says what is still missing.
fn quiet_while_empty(text: RwSignal<String>, error: Signal<Option<String>>) -> Signal<Option<String>> {
    Signal::derive(move || if text.read().trim().is_empty() { None } else { error.get() })
}

/// What the engine makes of the form, marked as a preview.
#[component]
pub fn FormPreview(filled: Filled) -> impl IntoView {
    let (outcome, form) = (filled.outcome, filled.form);
    let shown = move |result| view! { <Answered form result/> }.into_any();
    let missing = move |problems: Vec<BadInput>| missing(form, &problems);
    view! { <WorkedOutHere outcome shown missing/> }
}

/// What the engine makes of an input, marked as a preview.
#[component]
pub fn WorkedOutHere(
    outcome: Memo<Preview>,
    /// The result's figures and working.
    #[prop(into)]
    shown: Callback<WorksheetResult, AnyView>,
    /// What is said while the input is refused.
    #[prop(into)]
    missing: Callback<Vec<BadInput>, String>,
) -> impl IntoView {
    view! {
        <Section title="Preview">
            {move || match outcome.get() {
                Preview::Answer(AnswerOutcome::Result(result)) => view! {
                    <Banner tone=Tone::Close>
                        <p>"Worked out on this device. The server's result, which is the one of record, takes its place once
                        it is saved and there has been a connection."</p>
                    </Banner>
                    {shown.run(*result)}
                }.into_any(),
                Preview::Fetching => view! { <p class="muted" role="status">"Fetching the calculation engine"</p> }.into_any(),
                Preview::NoEngine | Preview::UnknownKind => view! {
                    <p class="muted">"This device can't work it out by itself just now. Save it: the server answers at the next connection."</p>
                }.into_any(),
                Preview::Answer(AnswerOutcome::Refused(problems)) => view! {
                    <p class="muted">{missing.run(problems)}</p>
                }.into_any(),
            }}
        </Section>
    }
}

fn missing(form: &Form, problems: &[BadInput]) -> String {
    let name = |path: &str| {
        let path = (form.blamed)(path);
        form.fields
            .iter()
            .find(|field| field.path == path)
            .map_or_else(|| path.to_owned(), |field| field.label.to_owned())
    };
    let mut lines: Vec<_> = problems.iter().map(|it| format!("{}: {}", name(&it.field), it.reason)).collect();
    lines.dedup();
    format!("Not enough for a result yet. {}.", lines.join("; "))
}

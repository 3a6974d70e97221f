//! A worksheet's form with its preview.

use calculations::CalcError;
use leptos::prelude::*;
use serde_json::Value;
use shared_types::worksheet::{BadInput, WorksheetResult};

use super::answer::Answered;
use super::forms::{Form, FormField, Typed};
use crate::ui::{Banner, Choice, NumberField, Section, SelectField, TextField, Tone};

/// The fields, each a signal of its own, and what the engine makes of them.
#[derive(Clone)]
pub struct Filled {
    /// The form.
    pub form: &'static Form,
    fields: Vec<(&'static FormField, RwSignal<String>)>,
    outcome: Memo<Result<WorksheetResult, Vec<BadInput>>>,
}

impl Filled {
    /// A form that holds what was typed before.
    #[must_use]
    pub fn new(form: &'static Form, typed: &Typed) -> Self {
        let text = |field: &FormField| typed.get(field.path).cloned().unwrap_or_default();
        let fields: Vec<_> = form.fields.iter().map(|field| (field, RwSignal::new(text(field)))).collect();
        let read = fields.clone();
        let outcome = Memo::new(move |_| work_out(form, &typed_in(&read)));
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

    /// Does the engine take it?
    #[must_use]
    pub fn is_good(&self) -> bool {
        self.outcome.read().is_ok()
    }

    fn error_of(&self, path: &'static str) -> Signal<Option<String>> {
        let (outcome, form) = (self.outcome, self.form);
        Signal::derive(move || {
            let outcome = outcome.read();
            let problem = outcome.as_ref().err()?.iter().find(|it| (form.blamed)(&it.field) == path)?;
            Some(format!("{}; accepted: {}", problem.reason, problem.accepted))
        })
    }
}

fn typed_in(fields: &[(&'static FormField, RwSignal<String>)]) -> Typed {
    fields.iter().map(|(field, text)| (field.path.to_owned(), text.get())).collect()
}

fn work_out(form: &Form, typed: &Typed) -> Result<WorksheetResult, Vec<BadInput>> {
    calculations::calculate(form.kind, &form.build(typed)).map_err(|error| match error {
        CalcError::BadInput(problems) => problems,
        CalcError::UnknownKind(_) => Vec::new(),
    })
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
pub fn Preview(filled: Filled) -> impl IntoView {
    let (outcome, form) = (filled.outcome, filled.form);
    view! {
        <Section title="Preview">
            {move || match outcome.get() {
                Ok(result) => view! {
                    <Banner tone=Tone::Close>
                        <p>"Worked out on this device. The server's result, which is the one of record, takes its place once
                        it is saved and there has been a connection."</p>
                    </Banner>
                    <Answered form result/>
                }.into_any(),
                Err(problems) => view! {
                    <p class="muted">{missing(form, &problems)}</p>
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

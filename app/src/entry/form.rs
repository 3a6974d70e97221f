//! An entry on the screen: its fields, its faults, and a draft that survives a killed tab.

use std::collections::BTreeMap;

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::{Map, Value};
use shared_types::body::Known;
use shared_types::check::Problem;
use shared_types::ids::LogId;
use shared_types::sorted;

use super::{Spec, Subject, Typed, change, text};
use crate::draft::Draft;
use crate::page;
use crate::store::{Store, use_store};
use crate::ui::{Button, ButtonKind, DateField, NumberField, SelectField, Sheet, TextArea, TextField};

/// Values that are offered for fields, by the field's name.
pub type Suggestions = BTreeMap<String, Vec<String>>;

/// The fields of one entity, as typed. A handle: copies are the same form.
#[derive(Clone, Copy)]
pub struct Form {
    store: Store,
    specs: &'static [Spec],
    subject: StoredValue<Subject>,
    texts: StoredValue<Vec<RwSignal<String>>>,
    problems: RwSignal<Vec<Problem>>,
    draft: Draft,
}

impl Form {
    /// Fields filled with what counts now, or with the draft kept under `draft` in this log.
    #[must_use]
    pub fn new(log: LogId, specs: &'static [Spec], subject: Subject, draft: &str) -> Self {
        let texts = specs.iter().map(|spec| RwSignal::new(text(spec.typed, subject.content.get(spec.name))));
        let form = Self {
            store: use_store(),
            specs,
            texts: StoredValue::new(texts.collect()),
            subject: StoredValue::new(subject),
            problems: RwSignal::default(),
            draft: Draft::new(format!("{log}/{draft}")),
        };
        form.restore_draft();
        form.draft.keep(move || Some(sorted::map(form.altered())).filter(|altered| !altered.is_empty()));
        form.store.hold_update_while(form.is_dirty());
        form
    }

    /// A field's text. A name that is no field of this form gives a text that goes nowhere.
    #[must_use]
    pub fn text(self, name: &str) -> RwSignal<String> {
        let at = self.specs.iter().position(|spec| spec.name == name);
        debug_assert!(at.is_some(), "no field {name}");
        at.and_then(|at| self.texts.with_value(|texts| texts.get(at).copied())).unwrap_or_default()
    }

    /// What counts now for a field, as a person would have typed it; empty for a new entity.
    #[must_use]
    pub fn before(self, name: &str) -> String {
        let spec = self.specs.iter().find(|spec| spec.name == name);
        let before = |typed| self.subject.with_value(|subject| text(typed, subject.content.get(name)));
        spec.map(|spec| before(spec.typed)).unwrap_or_default()
    }

    /// Fills fields in; values of fields that are not on this form are set along with what is typed.
    pub fn fill(self, values: &Map<String, Value>) {
        for (field, value) in values {
            match self.specs.iter().find(|spec| spec.name == field) {
                Some(spec) => self.text(spec.name).set(text(spec.typed, Some(value))),
                None => self.subject.update_value(|subject| {
                    subject.fixed.insert(field.clone(), value.clone());
                }),
            }
        }
    }

    /// Was anything typed that does not count yet?
    #[must_use]
    pub fn is_dirty(self) -> Signal<bool> {
        Memo::new(move |_| self.altered().next().is_some()).into()
    }

    /// One field with its label and its fault.
    #[must_use]
    pub fn field(self, name: &str, suggestions: Signal<Vec<String>>) -> AnyView {
        let Some(spec) = self.specs.iter().find(|spec| spec.name == name) else { return ().into_any() };
        let (value, error) = (self.text(name), self.error(spec.name));
        let (label, hint) = (spec.label, spec.hint);
        match spec.typed {
            Typed::Line | Typed::Figures => {
                view! { <TextField label value hint error suggestions/> }.into_any()
            }
            Typed::Text | Typed::Cures => view! { <TextArea label value hint error/> }.into_any(),
            Typed::Number => view! { <NumberField label value hint error/> }.into_any(),
            Typed::Day => view! { <DateField label value hint error/> }.into_any(),
            Typed::Moment => view! { <TextField label value hint error kind="datetime-local"/> }.into_any(),
            Typed::Flag => view! { <Flag label value/> }.into_any(),
            Typed::OneOf(options) => {
                let options: Vec<_> =
                    options.iter().map(|(value, word)| ((*value).to_owned(), (*word).to_owned())).collect();
                view! { <SelectField label value hint error options/> }.into_any()
            }
            Typed::Picked => ().into_any(),
        }
    }

    /// All fields, short ones side by side.
    #[must_use]
    pub fn fields(self, suggestions: Signal<Suggestions>) -> AnyView {
        let fields = self.specs.iter().filter(|spec| spec.typed != Typed::Picked).map(|spec| {
            let name = spec.name;
            let offered =
                Signal::derive(move || suggestions.with(|all| all.get(name).cloned().unwrap_or_default()));
            let class = if is_short(spec.typed) { "short" } else { "span" };
            view! { <div class=class>{self.field(name, offered)}</div> }
        });
        view! { <div class="fields fields--entry">{fields.collect_view()}</div> }.into_any()
    }

    /// What is wrong with a field, and what would be accepted.
    #[must_use]
    pub fn error(self, name: &'static str) -> Signal<Option<String>> {
        Signal::derive(move || {
            let problems = self.problems.read();
            problems.iter().find(|problem| problem.field == name).map(sentence)
        })
    }

    /// Shows a fault of the caller's own.
    pub fn object(self, problem: Problem) {
        self.problems.update(|problems| {
            problems.retain(|known| known.field != problem.field);
            problems.push(problem);
        });
        page::focus_fault();
    }

    /// The change that comes of it: `Ok(None)` when nothing was altered. Faults are shown beside their fields.
    ///
    /// # Errors
    /// When something is out of limits.
    #[expect(clippy::result_unit_err, reason = "the faults are shown by the form itself")]
    pub fn change(self) -> Result<Option<Known>, ()> {
        let typed: Vec<_> = self.specs.iter().zip(self.texts.get_value()).collect();
        let typed = typed.into_iter().map(|(spec, text)| (*spec, text.get_untracked()));
        match self.subject.with_value(|subject| change(subject, typed)) {
            Ok(known) => {
                self.problems.set(Vec::new());
                Ok(known)
            }
            Err(problems) => {
                self.problems.set(problems);
                page::focus_fault();
                Err(())
            }
        }
    }

    /// Saves it, forgets the draft, and calls `then`. Faults are shown instead.
    pub fn save(self, log: LogId, done: String, then: impl FnOnce() + 'static) {
        match self.change() {
            Ok(Some(known)) => self.store.dispatch_then(log, vec![known], done, move || {
                self.forget_draft();
                then();
            }),
            Ok(None) => then(),
            Err(()) => {}
        }
    }

    /// Forgets the draft: what was typed counts now, or is not wanted.
    pub fn forget_draft(self) {
        self.draft.forget();
    }

    fn altered(self) -> impl Iterator<Item = (&'static str, String)> {
        let now = self.subject.with_value(|subject| subject.content.clone());
        let texts = self.texts.get_value();
        self.specs.iter().zip(texts).filter_map(move |(spec, typed)| {
            let typed = typed.get();
            (typed != text(spec.typed, now.get(spec.name))).then_some((spec.name, typed))
        })
    }

    fn restore_draft(self) {
        spawn_local(async move {
            let kept: BTreeMap<String, String> = self.draft.kept().await.unwrap_or_default();
            // The form may be gone, and what was typed meanwhile is newer than the draft.
            if self.problems.is_disposed() || untrack(|| self.altered().next().is_some()) {
                return;
            }
            for spec in self.specs {
                if let Some(text) = kept.get(spec.name) {
                    self.text(spec.name).set(text.clone());
                }
            }
        });
    }
}

const fn is_short(typed: Typed) -> bool {
    matches!(typed, Typed::Figures | Typed::Number | Typed::Day | Typed::Moment | Typed::OneOf(_))
}

/// A fault as a sentence: `has 300 characters. Accepted: one line of at most 200 characters.`
fn sentence(problem: &Problem) -> String {
    let mut reason = problem.reason.clone();
    if let Some(first) = reason.get_mut(0..1) {
        first.make_ascii_uppercase();
    }
    if problem.accepted.is_empty() { reason } else { format!("{reason}. Accepted: {}", problem.accepted) }
}

/// Yes (`true`) or no (empty).
#[component]
pub fn Flag(label: &'static str, value: RwSignal<String>) -> impl IntoView {
    view! {
        <label class="tick">
            <input
                type="checkbox"
                prop:checked=move || *value.read() == "true"
                on:change=move |event| value.set(if event_target_checked(&event) { "true".to_owned() } else { String::new() })
            />
            <span>{label}</span>
        </label>
    }
}

/// A sheet with a form. The form is made when the sheet opens.
#[component]
pub fn EntrySheet(
    #[prop(into)] title: Signal<String>,
    /// Open or closed.
    open: RwSignal<bool>,
    log: LogId,
    specs: &'static [Spec],
    /// What is entered or altered, asked for when the sheet opens.
    #[prop(into)]
    subject: Callback<(), Subject>,
    /// What the draft is kept under; the same for the same thing.
    #[prop(into)]
    draft: Signal<String>,
    /// What is said once it is saved.
    #[prop(into)]
    done: Signal<String>,
    /// Shown above the fields: quick picks.
    #[prop(optional, into)]
    above: Option<Callback<Form, AnyView>>,
    /// Shown below the fields: verdicts, cautions, other deeds.
    #[prop(optional, into)]
    below: Option<Callback<Form, AnyView>>,
    /// Values offered for a field.
    #[prop(optional, into)]
    suggestions: Signal<Suggestions>,
    /// Shown beside the button that saves, always in view: verdicts, warnings.
    #[prop(optional, into)]
    verdict: Option<Callback<Form, AnyView>>,
    /// Says whether it may be saved, showing what is wrong if not.
    #[prop(optional, into)]
    check: Option<Callback<Form, bool>>,
) -> impl IntoView {
    view! {
        <Sheet title open>
            {move || {
                let form = Form::new(log, specs, subject.run(()), &draft.get_untracked());
                let save = move || {
                    if check.is_none_or(|check| check.run(form)) {
                        form.save(log, done.get_untracked(), move || open.set(false));
                    }
                };
                view! {
                    <form
                        class="stack"
                        novalidate
                        on:submit=move |event| {
                            event.prevent_default();
                            save();
                        }
                    >
                        {above.map(|above| above.run(form))}
                        {form.fields(suggestions)}
                        {below.map(|below| below.run(form))}
                        <div class="sheet-foot sheet-foot--stack">
                            {verdict.map(|verdict| verdict.run(form))}
                            <Button label="Save" kind=ButtonKind::Primary submit=true on_press=|()| ()/>
                        </div>
                    </form>
                }
            }}
        </Sheet>
    }
}

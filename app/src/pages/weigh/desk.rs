//! What the page works with: what is typed, kept as a draft; what the engine makes of it.

use leptos::prelude::*;
use shared_types::check::Problem;
use shared_types::job::AnswerOutcome;
use uuid::Uuid;

use super::cup::Batch;
use super::mixed::Of;
use super::origins::{Origin, origins};
use super::recipe::{FIELDS, RESIN_BATCH, Recipe, at_first, blamed, faults};
use crate::clock;
use crate::engine::{Preview, use_engine};
use crate::entry::Subject;
use crate::entry::form::Form;
use crate::pages::parts::of_job;
use crate::pages::step::Place;
use crate::store::{Store, use_store};

/// What is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// What the batch is.
    Plan,
    /// Cup by cup.
    Pour,
}

const POURING: &str = "pour";

/// A handle: copies are the same desk.
#[derive(Clone, Copy)]
pub struct Desk {
    /// The store.
    pub store: Store,
    /// Which step.
    pub place: Place,
    /// What is shown.
    pub stage: Memo<Stage>,
    /// What is typed, all of it.
    pub recipe: Memo<Recipe>,
    /// What the engine says.
    pub outcome: Memo<Preview>,
    /// The cups; nothing while the engine can't say.
    pub batch: Memo<Option<Batch>>,
    /// What the cloth can be filled in from.
    pub origins: Memo<Vec<Origin>>,
    form: Form,
    faults: Memo<Vec<Problem>>,
    // From the first try on, what is still empty is wrong too.
    tried: RwSignal<bool>,
}

impl Desk {
    /// The desk of a step; what the step was made from is filled in.
    #[must_use]
    pub fn new(place: Place) -> Self {
        let step = place.step;
        let origins = of_job(place.state, move |state| {
            let title = state.steps.get(&step).map(|it| it.title.or_empty().0).unwrap_or_default();
            origins(state, &title)
        });
        let mut first = at_first();
        let own = origins.with_untracked(|all| all.first().filter(|it| it.own).cloned());
        for (field, text) in own.into_iter().flat_map(|own| own.fills) {
            first.insert(field.to_owned(), text.into());
        }
        // The form keeps the draft; what comes of it is not one entity but several.
        let subject = Subject::altered("material.v1", step, first);
        let form = Form::new(place.log, FIELDS, subject, &format!("{step}/weigh"));
        let recipe = Memo::new(move |_| {
            Recipe(FIELDS.iter().map(|spec| (spec.name, form.text(spec.name).get())).collect())
        });
        // What the scale shows is no question to the engine.
        let input = Memo::new(move |_| recipe.with(Recipe::input));
        let engine = use_engine();
        let outcome = Memo::new(move |_| input.with(|input| engine.work_out(RESIN_BATCH, input)));
        let batch = Memo::new(move |_| match &*outcome.read() {
            Preview::Answer(AnswerOutcome::Result(result)) => recipe.with(|recipe| Batch::of(result, recipe)),
            _ => None,
        });
        let faults = Memo::new(move |_| recipe.with(|recipe| faults(recipe, clock::today())));
        let stage = Memo::new(move |_| {
            if recipe.with(|recipe| recipe.text("stage") == POURING) { Stage::Pour } else { Stage::Plan }
        });
        let tried = RwSignal::new(false);
        Self { store: use_store(), place, stage, recipe, outcome, batch, origins, form, faults, tried }
    }

    /// A field's text.
    #[must_use]
    pub fn text(self, name: &str) -> RwSignal<String> {
        self.form.text(name)
    }

    /// Fills fields in.
    pub fn fill<'a>(self, fills: impl IntoIterator<Item = (&'a str, String)>) {
        for (name, text) in fills {
            self.text(name).set(text);
        }
    }

    /// What is wrong with a field. What nobody has filled in yet is not, until the first try.
    #[must_use]
    pub fn error(self, name: &'static str) -> Signal<Option<String>> {
        let text = self.text(name);
        Signal::derive(move || {
            if text.read().trim().is_empty() && !self.tried.get() {
                return None;
            }
            let own = self.faults.with(|all| all.iter().find(|fault| fault.field == name).cloned());
            let said = own.map(|fault| (fault.reason, fault.accepted)).or_else(|| self.refused(name));
            said.map(|(reason, accepted)| format!("{}; accepted: {accepted}", crate::words::capital(&reason)))
        })
    }

    fn refused(self, name: &str) -> Option<(String, String)> {
        let outcome = self.outcome.read();
        let Preview::Answer(AnswerOutcome::Refused(why)) = &*outcome else { return None };
        let why = why.iter().find(|why| blamed(&why.field) == name)?;
        Some((why.reason.clone(), why.accepted.clone()))
    }

    /// What people call a field of the engine's.
    #[must_use]
    pub fn label(self, path: &str) -> String {
        let spec = FIELDS.iter().find(|spec| spec.name == blamed(path));
        spec.map_or_else(|| path.to_owned(), |spec| spec.label.to_owned())
    }

    /// Goes on to the cups; shows what is missing instead.
    pub fn begin(self) {
        self.tried.set(true);
        let ready = self.batch.with_untracked(Option::is_some) && self.faults.with_untracked(Vec::is_empty);
        if !ready {
            crate::page::focus_fault();
            return;
        }
        if self.batch_id().is_none() {
            self.text("batch").set(self.store.uuid().to_string());
        }
        self.text("stage").set(POURING.to_owned());
        crate::page::focus_heading();
    }

    /// Goes back to what the batch is.
    pub fn back(self) {
        self.text("stage").set(String::new());
        crate::page::focus_heading();
    }

    /// Another batch of the same.
    pub fn anew(self) {
        self.fill(["batch", "stage", "poured_a", "poured_b"].map(|name| (name, String::new())));
        crate::page::focus_heading();
    }

    /// Which batch this is.
    #[must_use]
    pub fn batch_id(self) -> Option<Uuid> {
        self.text("batch").read().parse().ok()
    }

    /// The batch on its step.
    #[must_use]
    pub fn of(self) -> Option<Of> {
        Some(Of { step: self.place.step, batch: self.batch_id()? })
    }
}

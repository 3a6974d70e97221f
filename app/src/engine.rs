//! The calculation engine: a module of its own, fetched when somebody opens a
//! worksheet or searches the catalogue, and kept offline like the app itself.

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde::Deserialize;
use serde_json::Value;
use shared_types::job::AnswerOutcome;
use shared_types::layup::Summary;
use shared_types::worksheet::{BadInput, WorksheetResult};
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;

/// What the boot script calls the function that fetches the engine.
const FETCH: &str = "fayingEngine";

/// What this device makes of an input.
#[derive(Clone, Debug, PartialEq)]
pub enum Preview {
    /// The engine is being fetched.
    Fetching,
    /// It can't be had just now: neither kept on this device nor to be fetched.
    NoEngine,
    /// It doesn't know this kind; a newer server may.
    UnknownKind,
    /// A result, or a refusal with its reasons.
    Answer(AnswerOutcome),
}

/// The engine, for the calling view. A handle: copies are the same engine.
#[derive(Clone, Copy)]
pub struct Engine {
    module: StoredValue<Option<js_sys::Function>, LocalStorage>,
    state: RwSignal<State>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum State {
    Fetching,
    Here,
    Missing,
}

/// Fetches the engine for the calling view. The browser keeps what it has fetched before.
#[must_use]
pub fn use_engine() -> Engine {
    use_function("calculate")
}

/// What the engine says of a stack of plies at every tap, for the calling view.
#[derive(Clone, Copy)]
pub struct LayupEngine(Engine);

/// Fetches it, as [`use_engine`].
#[must_use]
pub fn use_layup_engine() -> LayupEngine {
    LayupEngine(use_function("layup_summary"))
}

impl LayupEngine {
    /// Sums a layup up: `None` while the engine can't be had.
    #[must_use]
    pub fn sum_up(self, input: &Value) -> Option<Result<Summary, Vec<BadInput>>> {
        if self.0.state.get() != State::Here {
            return None;
        }
        let answer = self.0.module.with_value(|module| {
            module.as_ref()?.call1(&JsValue::NULL, &input.to_string().into()).ok()?.as_string()
        });
        serde_json::from_str(&answer?).ok()
    }

    /// Can it not be had just now?
    #[must_use]
    pub fn is_missing(self) -> bool {
        self.0.state.get() == State::Missing
    }
}

fn use_function(name: &'static str) -> Engine {
    let engine = Engine { module: StoredValue::new_local(None), state: RwSignal::new(State::Fetching) };
    spawn_local(async move {
        let fetched = function(name).await.ok();
        let state = if fetched.is_some() { State::Here } else { State::Missing };
        // The view may be gone by now; then nobody asks any more.
        if engine.module.try_set_value(fetched).is_none() {
            engine.state.try_set(state);
        }
    });
    engine
}

impl Engine {
    /// Runs the calling effect once more when the engine has come.
    pub fn track(self) {
        self.state.track();
    }

    /// Can it be asked?
    #[must_use]
    pub fn is_here(self) -> bool {
        self.state.get() == State::Here
    }

    /// Works an input out; to be called again when the engine has come, which a reactive caller does by itself.
    #[must_use]
    pub fn work_out(self, kind: &str, input: &Value) -> Preview {
        match self.state.get() {
            State::Fetching => return Preview::Fetching,
            State::Missing => return Preview::NoEngine,
            State::Here => {}
        }
        let answer = self.module.with_value(|module| {
            let answer = module.as_ref()?.call2(&JsValue::NULL, &kind.into(), &input.to_string().into());
            answer.ok()?.as_string()
        });
        match answer.and_then(|answer| serde_json::from_str::<Option<AnswerOutcome>>(&answer).ok()) {
            None => Preview::NoEngine,
            Some(None) => Preview::UnknownKind,
            Some(Some(answer)) => Preview::Answer(answer),
        }
    }
}

impl Engine {
    /// A result of record with what was left out of it for its length, as far as this device can make it
    /// again; to be called again when the engine has come, which a reactive caller does by itself.
    #[must_use]
    pub fn complete(self, kind: &str, input: &Value, recorded: WorksheetResult) -> WorksheetResult {
        if !recorded.is_shortened() {
            return recorded;
        }
        match self.work_out(kind, input) {
            Preview::Answer(AnswerOutcome::Result(again)) => recorded.completed_by(*again),
            _ => recorded,
        }
    }
}

/// The catalogue as the engine writes it; `None` while it can't be had.
pub async fn catalogue() -> Option<String> {
    function("catalogue").await.ok()?.call0(&JsValue::NULL).ok()?.as_string()
}

/// A kind of worksheet that the engine knows.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct Kind {
    /// Its name: `rivet-length`.
    pub kind: String,
    /// What it answers, in one sentence.
    pub about: String,
    /// What it is of: `fasteners` or `laminates`.
    pub group: String,
}

/// Every kind that the engine knows; `None` while it can't be had.
pub async fn kinds() -> Option<Vec<Kind>> {
    let kinds = function("kinds").await.ok()?.call0(&JsValue::NULL).ok()?.as_string()?;
    serde_json::from_str(&kinds).ok()
}

/// The JSON Schema of a kind's input; `None` while the engine can't be had.
pub async fn schema(kind: &str) -> Option<Value> {
    let schema = function("schema").await.ok()?.call1(&JsValue::NULL, &kind.into()).ok()?.as_string()?;
    serde_json::from_str(&schema).ok()
}

/// One of the engine's functions.
async fn function(name: &str) -> Result<js_sys::Function, JsValue> {
    let fetch: js_sys::Function = js_sys::Reflect::get(&js_sys::global(), &FETCH.into())?.dyn_into()?;
    let fetching: js_sys::Promise = fetch.call0(&JsValue::NULL)?.dyn_into()?;
    js_sys::Reflect::get(&JsFuture::from(fetching).await?, &name.into())?.dyn_into()
}

//! The calculation engine: a module of its own, fetched when somebody opens a
//! worksheet, and kept offline like the app itself.

use leptos::prelude::*;
use leptos::task::spawn_local;
use serde_json::Value;
use shared_types::job::AnswerOutcome;
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
    let engine = Engine { module: StoredValue::new_local(None), state: RwSignal::new(State::Fetching) };
    spawn_local(async move {
        let fetched = fetch().await.ok();
        let state = if fetched.is_some() { State::Here } else { State::Missing };
        // The view may be gone by now; then nobody asks any more.
        if engine.module.try_set_value(fetched).is_none() {
            engine.state.try_set(state);
        }
    });
    engine
}

impl Engine {
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

async fn fetch() -> Result<js_sys::Function, JsValue> {
    let fetch: js_sys::Function = js_sys::Reflect::get(&js_sys::global(), &FETCH.into())?.dyn_into()?;
    let fetching: js_sys::Promise = fetch.call0(&JsValue::NULL)?.dyn_into()?;
    JsFuture::from(fetching).await?.dyn_into()
}

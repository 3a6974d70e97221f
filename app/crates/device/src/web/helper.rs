//! A worker that is asked questions and answers each on a port of its own.

use js_sys::{Array, Promise};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::{MessageChannel, MessageEvent, Worker};

use super::js;

/// The worker. It ends with its handle.
pub struct Helper(Worker);

impl Helper {
    /// Starts the worker.
    ///
    /// # Errors
    /// When this browser has none.
    pub fn start(script: &str) -> Result<Self, JsValue> {
        Ok(Self(Worker::new(script)?))
    }

    /// Asks a question of these properties. `None` when it can't be asked or isn't answered within so many
    /// milliseconds: a phone that is short of memory may end a worker without a word.
    pub async fn ask(&self, question: &[(&str, JsValue)], within: u32) -> Option<JsValue> {
        js::within(within, self.answer(&js::object(question))).await?.ok()
    }

    async fn answer(&self, question: &JsValue) -> Result<JsValue, JsValue> {
        let channel = MessageChannel::new()?;
        let port = channel.port1();
        let answered = Promise::new(&mut |resolve, _| {
            let heard = Closure::once_into_js(move |event: MessageEvent| {
                // Calling a promise's own function can't fail.
                let _ = resolve.call1(&JsValue::UNDEFINED, &event.data());
            });
            port.set_onmessage(Some(heard.unchecked_ref()));
        });
        self.0.post_message_with_transfer(question, &Array::of1(&channel.port2()))?;
        let answer = js::awaited(answered.into()).await;
        channel.port1().close();
        answer
    }
}

impl Drop for Helper {
    fn drop(&mut self) {
        self.0.terminate();
    }
}

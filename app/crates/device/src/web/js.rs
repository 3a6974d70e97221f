//! The few things of JavaScript that everything here is made of.

use std::pin::pin;

use futures::future::{Either, select};
use js_sys::{Array, Function, Promise, Reflect, Uint8Array};
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;

/// A property.
pub(super) fn get(of: &JsValue, name: &str) -> Result<JsValue, JsValue> {
    Reflect::get(of, &JsValue::from_str(name))
}

/// A property of the window or worker; `None` where this browser has none (an insecure page, an old one).
pub(super) fn global(path: &[&str]) -> Option<JsValue> {
    let mut at: JsValue = js_sys::global().into();
    for name in path {
        at = get(&at, name).ok().filter(|value| !value.is_undefined() && !value.is_null())?;
    }
    Some(at)
}

/// Calls a method.
pub(super) fn call(of: &JsValue, method: &str, arguments: &[&JsValue]) -> Result<JsValue, JsValue> {
    let function: Function = get(of, method)?.dyn_into()?;
    let list = Array::new();
    for argument in arguments {
        list.push(argument);
    }
    Reflect::apply(&function, of, &list)
}

/// Waits for a promise, or for what is none.
pub(super) async fn awaited(value: JsValue) -> Result<JsValue, JsValue> {
    JsFuture::from(Promise::resolve(&value)).await
}

/// Calls a method and waits for its promise.
pub(super) async fn called(of: &JsValue, method: &str, arguments: &[&JsValue]) -> Result<JsValue, JsValue> {
    awaited(call(of, method, arguments)?).await
}

/// An object with these properties.
pub(super) fn object(properties: &[(&str, JsValue)]) -> JsValue {
    let object = js_sys::Object::new();
    for (name, value) in properties {
        // Setting a property of a plain object can't fail.
        let _ = Reflect::set(&object, &JsValue::from_str(name), value);
    }
    object.into()
}

/// The bytes of an `ArrayBuffer` or a view of one.
pub(super) fn bytes(value: &JsValue) -> Vec<u8> {
    Uint8Array::new(value).to_vec()
}

/// Bytes for JavaScript: a copy of its own.
pub(super) fn array(bytes: &[u8]) -> JsValue {
    Uint8Array::from(bytes).into()
}

/// An error in words.
pub(super) fn words(error: &JsValue) -> String {
    let part = |name| get(error, name).ok().and_then(|value| value.as_string());
    match (part("name"), part("message")) {
        (Some(name), Some(message)) => format!("{name}: {message}"),
        _ => format!("{error:?}"),
    }
}

/// Waits.
pub(super) async fn sleep(milliseconds: u32) {
    let window: JsValue = js_sys::global().into();
    let wait = Promise::new(&mut |resolve, reject| {
        let time = JsValue::from_f64(milliseconds.into());
        if let Err(error) = call(&window, "setTimeout", &[&resolve.into(), &time]) {
            // Nothing to be done about a world without timers but not to hang in it.
            let _ = reject.call1(&JsValue::UNDEFINED, &error);
        }
    });
    let _ = JsFuture::from(wait).await;
}

/// Waits for something, but not for ever.
pub(super) async fn within<R>(milliseconds: u32, what: impl Future<Output = R>) -> Option<R> {
    let (what, end) = (pin!(what), pin!(sleep(milliseconds)));
    match select(what, end).await {
        Either::Left((result, _)) => Some(result),
        Either::Right(_) => None,
    }
}

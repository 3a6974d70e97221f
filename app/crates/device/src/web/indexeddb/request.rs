//! Waiting for IndexedDB, and what may go wrong.
//!
//! A request's promise is settled inside its own callback, so the code after the
//! `await` runs while the transaction is still open, as long as it awaits nothing but
//! the next request of it.

use js_sys::Promise;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{DomException, IdbRequest, IdbTransaction};

use crate::store::StoreError;
use crate::web::js;

/// Why a piece of work failed.
#[derive(Debug)]
pub(super) enum Failure {
    /// The connection broke: another one may do it.
    Broken(String),
    /// Another connection won't help.
    Final(StoreError),
}

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Self {
        Self::Final(error)
    }
}

impl From<Failure> for StoreError {
    fn from(failure: Failure) -> Self {
        match failure {
            Failure::Broken(why) => Self::NoAnswer(why),
            Failure::Final(error) => error,
        }
    }
}

impl From<JsValue> for Failure {
    fn from(error: JsValue) -> Self {
        let name = error.dyn_ref::<DomException>().map(DomException::name).unwrap_or_default();
        match name.as_str() {
            "QuotaExceededError" => Self::Final(StoreError::NoSpace),
            // The database or the connection went away under us (W3C Indexed Database API 3.0, 5.1 to
            // 5.6; WebKit says UnknownError for its lost server).
            "InvalidStateError" | "AbortError" | "UnknownError" | "TransactionInactiveError" => {
                Self::Broken(js::words(&error))
            }
            _ => Self::Final(StoreError::Failed(js::words(&error))),
        }
    }
}

/// A request's result.
pub(super) async fn done(request: IdbRequest) -> Result<JsValue, Failure> {
    let settled = Promise::new(&mut |resolve, reject| {
        request.set_onsuccess(Some(&resolve));
        request.set_onerror(Some(&reject));
    });
    match JsFuture::from(settled).await {
        Ok(_) => Ok(request.result()?),
        Err(_) => Err(fault(request.error()?)),
    }
}

/// Waits until everything asked of a transaction is durable.
pub(super) async fn completed(transaction: &IdbTransaction) -> Result<(), Failure> {
    let settled = Promise::new(&mut |resolve, reject| {
        transaction.set_oncomplete(Some(&resolve));
        // An error that nobody handles aborts: one event for both.
        transaction.set_onabort(Some(&reject));
    });
    match JsFuture::from(settled).await {
        Ok(_) => Ok(()),
        Err(_) => Err(fault(transaction.error())),
    }
}

fn fault(error: Option<DomException>) -> Failure {
    error.map_or_else(|| Failure::Broken("it was given up".to_owned()), |error| JsValue::from(error).into())
}

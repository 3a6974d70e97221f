//! What closes a job, and what comes after: the maintenance-record entry, major or minor, what is to be looked
//! at again, and the aircraft that it all belongs to.

mod aircraft;
mod answers;
mod asked;
mod draft;
mod entry;
mod form_337;
mod label;
mod papers;
mod promises;
mod screening;
mod templates;

use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::ids::LogId;
use shared_types::job::JobState;
use shared_types::record_entry::Facts;
use wasm_bindgen_futures::JsFuture;

use crate::clock;
use crate::pages::parts::{JobSignal, of_job};
use crate::store::Store;

pub use aircraft::AircraftPage;
pub use entry::EntryPage;
pub use papers::Papers;
pub use promises::Promises;
pub use screening::ScreeningPage;
pub use templates::TemplatesPage;

/// What an entry is made of, with what the shop knows of people and aircraft.
fn with_facts<T>(store: Store, log: LogId, state: &JobState, of: impl FnOnce(&Facts<'_>) -> T) -> T {
    let shop = log.shop();
    let aircraft = state.job.aircraft.or_empty();
    let figures = store.shop(shop);
    let figures = figures.read();
    let hours = aircraft.and_then(|id| figures.figures.get(&id)?.hours.or_empty());
    of(&Facts { state, name_of: &|author| store.name_of(shop, author), day_of: clock::day_of, hours })
}

/// The hours of a job's aircraft, as the shop knows them.
fn hours_of(store: Store, log: LogId, state: JobSignal) -> Signal<Option<f64>> {
    let figures = store.shop(log.shop());
    let aircraft = of_job(state, |state| state.job.aircraft.or_empty());
    Signal::derive(move || aircraft.get().and_then(|id| figures.read().figures.get(&id)?.hours.or_empty()))
}

/// Puts a text on the clipboard, and says so.
fn copy(store: Store, text: &str, copied: &'static str) {
    let promise = window().navigator().clipboard().write_text(text);
    spawn_local(async move {
        match JsFuture::from(promise).await {
            Ok(_) => store.say(copied),
            Err(_) => store.warn("It could not be copied: select the text and copy it by hand."),
        }
    });
}

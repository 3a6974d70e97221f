//! Photos of the discrepancy, before the job is opened: the first one opens it, so that none is lost.

use leptos::ev::Event;
use leptos::prelude::*;
use leptos_router::NavigateOptions;
use leptos_router::hooks::use_navigate;
use shared_types::body::{Known, The};
use shared_types::ids::{JobId, LogId, ShopId};
use shared_types::job::{JobPatch, JobState, Moment};

use super::opening::derived_title;
use crate::entry::form::Form;
use crate::pages::parts::items;
use crate::pages::parts::photos::{Strip, files_of};
use crate::routes::Route;
use crate::store::{Shot, use_store};
use crate::ui::CameraButton;

/// The camera, and what was taken.
#[component]
pub fn DiscrepancyPhotos(shop: ShopId, job: JobId, facts: Form) -> impl IntoView {
    let store = use_store();
    let log = LogId::Job(shop, job);
    let state = store.job(shop, job);
    let photos = items(state, None, |state: &JobState| &state.photos);
    let shot = Shot { log, step: None, moment: Moment::Before, answers: None, attached_to: None };
    let navigate = use_navigate();
    let on_files = move |event: Event| {
        let files = files_of(&event);
        if files.is_empty() || state.with_untracked(|state| state.here().is_some()) {
            store.take_in(shot, files);
            return;
        }
        let set = JobPatch { title: Some(provisional_title(facts).into()), ..JobPatch::default() };
        // The job is in the address from here on.
        let here = format!("{}?job={job}", Route::NewJob);
        navigate(&here, NavigateOptions { replace: true, scroll: false, ..NavigateOptions::default() });
        store.dispatch_then(log, vec![Known::Job(The { set })], "Job begun", move || {
            store.take_in(shot, files);
        });
    };
    view! {
        <Strip shot photos/>
        <CameraButton label="Photograph what is wrong" on_files/>
    }
}

/// What the job is called until it is opened.
fn provisional_title(facts: Form) -> String {
    let text = |name: &str| facts.text(name).get_untracked();
    derived_title(&text("part"), &text("discrepancy")).unwrap_or_else(|| "Job being opened".to_owned())
}

//! A job that isn't here: still being read, not on this device, or not to be read.

use leptos::prelude::*;

use super::JobSignal;
use crate::store::Loaded;
use crate::ui::{EmptyState, Icon, Skeleton};

/// Something of a job that isn't in it, or not on this device.
#[component]
pub fn NotThere(title: &'static str) -> impl IntoView {
    view! {
        <h1 class="visually-hidden" tabindex="-1">"Not here"</h1>
        <EmptyState icon=Icon::Search title><p>"It was taken out, or it has not come to this device yet."</p></EmptyState>
    }
}

/// Shows `children` once the job is here, and what is the matter until then.
#[component]
pub fn WhenHere(state: JobSignal, #[prop(into)] children: ViewFn) -> impl IntoView {
    #[derive(Clone, PartialEq)]
    enum Standing {
        Here,
        Loading,
        Absent,
        Failed(String),
    }
    // Drawn once, not at every change of the job.
    let standing = Memo::new(move |_| {
        state.with(|state| match state {
            Loaded::Here(_) => Standing::Here,
            Loaded::Loading => Standing::Loading,
            Loaded::Absent => Standing::Absent,
            Loaded::Failed(why) => Standing::Failed(why.clone()),
        })
    });
    move || {
        match standing.get() {
        Standing::Here => children.run(),
        Standing::Loading => view! { <Skeleton lines=5/> }.into_any(),
        Standing::Absent => view! {
            <h1 class="visually-hidden" tabindex="-1">"Not on this device"</h1>
            <EmptyState icon=Icon::Search title="This job is not on this device">
                <p>"It is fetched as soon as there is contact with the server, if you are a member of its shop."</p>
                <a class="btn" href="/jobs">"Go to the jobs"</a>
            </EmptyState>
        }
        .into_any(),
        Standing::Failed(why) => view! {
            <h1 class="visually-hidden" tabindex="-1">"The job can't be read"</h1>
            <EmptyState icon=Icon::Warning title="This job can't be read"><p>{why}</p></EmptyState>
        }
        .into_any(),
    }
    }
}

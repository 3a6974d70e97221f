//! The app: the first paint, and what takes its place once the device's store is open.

use leptos::prelude::*;
use leptos_router::components::{FlatRoutes, Route as RouterRoute, Router};
use leptos_router::hooks::use_location;
use leptos_router::path;

use crate::pages::{
    inspect::{InspectPage, InspectStepPage},
    job::JobPage,
    jobs::JobsPage,
    join::JoinPage,
    new_job::NewJobPage,
    record::RecordPage,
    sign_in::SignInPage,
    step::StepPage,
    sync::SyncPage,
    team::TeamPage,
    worksheets::{NewWorksheetPage, WorksheetPage},
};
use crate::routes::Route;
use crate::store::{Phase, Store};
use crate::ui::Skeleton;

/// The whole app.
#[component]
pub fn App() -> impl IntoView {
    let store = Store::new();
    provide_context(store);
    move || match store.phase().get() {
        Phase::Starting => view! { <Starting/> }.into_any(),
        Phase::Failed(why) => view! { <p>{why}</p> }.into_any(),
        Phase::Ready => view! { <Ready/> }.into_any(),
    }
}

/// The first paint, the same for every address.
#[component]
fn Starting() -> impl IntoView {
    view! {
        <header class="top"><span class="mark">"Faying"</span></header>
        <main class="page"><Skeleton lines=6/></main>
    }
}

/// The router, with one route that catches all: which screen an address shows
/// is [`Route`]'s to say.
#[component]
fn Ready() -> impl IntoView {
    view! {
        <Router>
            <FlatRoutes fallback=Screens>
                <RouterRoute path=path!("/*any") view=Screens/>
            </FlatRoutes>
        </Router>
    }
}

#[component]
fn Screens() -> impl IntoView {
    let path = use_location().pathname;
    let route = Memo::new(move |_| Route::read(&path.read()));
    move || screen(route.get())
}

fn screen(route: Route) -> AnyView {
    match route {
        Route::Jobs => view! { <JobsPage/> }.into_any(),
        Route::NewJob => view! { <NewJobPage/> }.into_any(),
        Route::Job(shop, job) => view! { <JobPage shop job/> }.into_any(),
        Route::Step(shop, job, step) => view! { <StepPage shop job step/> }.into_any(),
        Route::Record(shop, job) => view! { <RecordPage shop job/> }.into_any(),
        Route::NewWorksheet(shop, job, step) => view! { <NewWorksheetPage shop job step/> }.into_any(),
        Route::Worksheet(shop, job, worksheet) => view! { <WorksheetPage shop job worksheet/> }.into_any(),
        Route::Inspect => view! { <InspectPage/> }.into_any(),
        Route::InspectStep(shop, job, step) => view! { <InspectStepPage shop job step/> }.into_any(),
        Route::Sync => view! { <SyncPage/> }.into_any(),
        Route::Team => view! { <TeamPage/> }.into_any(),
        Route::SignIn => view! { <SignInPage/> }.into_any(),
        Route::Join => view! { <JoinPage/> }.into_any(),
        Route::Nowhere => view! { <h1>"Not found"</h1> }.into_any(),
    }
}

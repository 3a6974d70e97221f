//! Which screen an address shows, and what stands beside it on wider screens:
//! one column on a phone, two on a tablet, three on a desk.

use leptos::prelude::*;
use leptos_router::hooks::use_location;
use shared_types::ids::{JobId, ShopId, StepId};

use crate::bar::AppBar;
use crate::chunks;
use crate::frame::{SyncLine, Ways};
use crate::page::{self, Width};
use crate::pages::jobs::{JobsBeside, JobsPage};
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{EmptyState, Icon};

/// The screen of the present address, in its frame.
#[component]
pub fn Screens() -> impl IntoView {
    let store = use_store();
    let path = use_location().pathname;
    let signed_in = Memo::new(move |_| store.me().with(Option::is_some));
    let session_over =
        Memo::new(move |_| store.sync().with(|sync| sync.line == device::SyncLine::SignInNeeded));
    let route = Memo::new(move |_| admitted(Route::read(&path.read()), signed_in.get(), session_over.get()));
    let width = page::use_width();
    let beside = Memo::new(move |_| Beside::of(&route.get(), width.get()));
    let jobs_beside = Memo::new(move |_| beside.get().jobs);
    let outline_beside = Memo::new(move |_| beside.get().outline);
    let job = Memo::new(move |_| route.read().job().map(|(_, job)| job));
    let step = Memo::new(move |_| step_of(&route.read()));

    Effect::new(move |before: Option<Route>| {
        let route = route.get();
        document().set_title(&format!("{} · Faying", route.title()));
        // The first screen keeps the focus where the browser put it.
        if before.is_some_and(|before| before != route) {
            page::focus_heading();
        }
        route
    });
    view! {
        <a class="skip visually-hidden" href="#main">"Skip to the content"</a>
        <AppBar line=|| view! { <SyncLine/> } up=Signal::derive(move || route.read().up())/>
        {move || signed_in.get().then(|| view! { <Ways/> })}
        <div class="frame" class:frame--wide=move || beside.get().any() class:desk=move || beside.get().any()>
            {move || jobs_beside.get().then(|| view! { <aside class="beside" aria-label="Jobs"><JobsBeside current=job/></aside> })}
            {move || outline_beside.get().map(|(shop, job)| view! { <aside class="beside" aria-label="Steps of the job">{chunks::outline(shop, job, step.into())}</aside> })}
            <main id="main">{move || screen(route.get())}</main>
        </div>
    }
}

/// Without a session only the public places are there; with one, those have no use.
fn admitted(route: Route, signed_in: bool, session_over: bool) -> Route {
    match route {
        Route::SignIn if signed_in && !session_over => Route::Jobs,
        // A record is also for people without an account.
        Route::Record(..) if !signed_in => Route::OpenRecord,
        route if signed_in || route.is_public() => route,
        _ => Route::SignIn,
    }
}

/// What stands beside a screen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Beside {
    jobs: bool,
    outline: Option<(ShopId, JobId)>,
}

impl Beside {
    fn of(route: &Route, width: Width) -> Self {
        match (route, width) {
            (Route::Job(..), Width::Medium | Width::Wide) => Self { jobs: true, outline: None },
            (Route::Step(shop, job, _), Width::Medium) => Self { jobs: false, outline: Some((*shop, *job)) },
            (Route::Step(shop, job, _), Width::Wide) => Self { jobs: true, outline: Some((*shop, *job)) },
            _ => Self::default(),
        }
    }

    const fn any(self) -> bool {
        self.jobs || self.outline.is_some()
    }
}

const fn step_of(route: &Route) -> Option<StepId> {
    match route {
        Route::Step(_, _, step)
        | Route::NewWorksheet(_, _, step)
        | Route::Weigh(_, _, step)
        | Route::FillIn(_, _, step, ..)
        | Route::InspectStep(_, _, step) => Some(*step),
        _ => None,
    }
}

fn screen(route: Route) -> AnyView {
    match route {
        Route::Jobs => view! { <JobsPage/> }.into_any(),
        route => chunks::page(route).unwrap_or_else(|| view! { <Nowhere/> }.into_any()),
    }
}

#[component]
fn Nowhere() -> impl IntoView {
    view! {
        <h1 class="visually-hidden" tabindex="-1">"Not found"</h1>
        <EmptyState icon=Icon::Search title="There is nothing at this address">
            <p>"It may have been mistyped, or cut off when it was passed on."</p>
            <a class="btn" href=Route::Jobs.to_string()>"Go to the jobs"</a>
        </EmptyState>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strangers_are_asked_to_sign_in_and_members_are_not() {
        assert_eq!(admitted(Route::Sync, false, false), Route::SignIn);
        assert_eq!(admitted(Route::Join, false, false), Route::Join);
        let record = Route::Record(ShopId::default(), JobId::default());
        assert_eq!(admitted(record.clone(), false, false), Route::OpenRecord);
        assert_eq!(admitted(record.clone(), true, false), record);
        assert_eq!(admitted(Route::SignIn, true, false), Route::Jobs);
        assert_eq!(admitted(Route::SignIn, true, true), Route::SignIn);
        assert_eq!(admitted(Route::Team, true, true), Route::Team);
    }

    #[test]
    fn a_phone_has_one_column_a_tablet_two_a_desk_three() {
        let (shop, job, step) = (ShopId::default(), JobId::default(), StepId::default());
        let columns = |route: &Route, width| {
            let beside = Beside::of(route, width);
            1 + usize::from(beside.jobs) + usize::from(beside.outline.is_some())
        };
        let route = Route::Step(shop, job, step);
        assert_eq!(columns(&route, Width::Narrow), 1);
        assert_eq!(columns(&route, Width::Medium), 2);
        assert_eq!(columns(&route, Width::Wide), 3);
        assert_eq!(columns(&Route::Sync, Width::Wide), 1);
    }
}

//! Pages that a phone fetches when somebody first goes there.
//!
//! The build cuts each of these functions, with all that only it needs, out of the
//! app's module. The service worker stores the pieces with everything else, so
//! that offline they are all there.

use std::pin::Pin;
use std::time::Duration;

use device::web::WebDevice;
use leptos::prelude::*;
use leptos::reactive::computed::ScopedFuture;
use leptos::task::spawn_local;
use shared_types::ids::{HoleId, JobId, ShopId, StepId};
use wasm_split_helpers::{SplitLoaderError, wasm_split};

use crate::page;
use crate::pages::{
    access::AccessPage,
    closing::{AircraftPage, EntryPage, ScreeningPage, TemplatesPage},
    cost::CostPage,
    history::HistoryPage,
    inspect::{InspectPage, InspectStepPage, read_what_waits},
    job::{JobOutline, JobPage},
    join::JoinPage,
    joint::JointPage,
    layup::{CutListPage, LayupPage},
    measure::MeasurePage,
    new_job::NewJobPage,
    open_record::OpenRecordPage,
    parts::JobSignal,
    record::{RecordPage, Registers},
    search::SearchPage,
    sign_in::SignInPage,
    step::StepPage,
    stock::{CataloguePage, ItemPage, StockPage},
    sync::SyncPage,
    team::TeamPage,
    weigh::WeighPage,
    worksheets::{AlterWorksheetPage, FillInPage, NewWorksheetPage, WorksheetPage},
};
use crate::routes::Route;
use crate::store::Store;
use crate::ui::{Button, ButtonKind, EmptyState, Icon, Skeleton};

type Fetched = Result<AnyView, SplitLoaderError>;

/// The page of a route that has a chunk of its own; nothing for the rest.
#[must_use]
pub fn page(route: Route) -> Option<AnyView> {
    match route {
        Route::NewJob => Some(fetched(opening())),
        Route::NewWorksheet(..)
        | Route::FillIn(..)
        | Route::Worksheet(..)
        | Route::Alter(..)
        | Route::Joint(..)
        | Route::Layup(..)
        | Route::CutList(..)
        | Route::Weigh(..)
        | Route::Record(..)
        | Route::Cost(..) => Some(fetched(part(route))),
        Route::Measure(..) => Some(fetched(measuring(route))),
        Route::Search | Route::Stock | Route::StockItem(..) | Route::Catalogue => Some(fetched(shelf(route))),
        Route::SignIn | Route::Join | Route::OpenRecord | Route::Sync | Route::Team | Route::Access(..) => {
            Some(fetched(people(route)))
        }
        Route::Job(..)
        | Route::History(..)
        | Route::Step(..)
        | Route::Inspect
        | Route::InspectStep(..)
        | Route::Entry(..)
        | Route::Screening(..)
        | Route::Aircraft(..)
        | Route::EntryTemplates(_) => Some(fetched(work(route))),
        Route::Jobs | Route::Nowhere => None,
    }
}

#[wasm_split(opening, fallible)]
fn opening() -> Fetched {
    Ok(view! { <NewJobPage/> }.into_any())
}

/// A job's steps, for those who work on them and for those who inspect them, and what closes the job.
#[wasm_split(work, fallible)]
fn work(route: Route) -> Fetched {
    Ok(match route {
        Route::Job(shop, job) => view! { <JobPage shop job/> }.into_any(),
        Route::History(shop, job) => view! { <HistoryPage shop job/> }.into_any(),
        Route::Entry(shop, job) => view! { <EntryPage shop job/> }.into_any(),
        Route::Screening(shop, job) => view! { <ScreeningPage shop job/> }.into_any(),
        Route::Aircraft(shop, id) => view! { <AircraftPage shop id/> }.into_any(),
        Route::EntryTemplates(shop) => view! { <TemplatesPage shop/> }.into_any(),
        Route::Step(shop, job, step) => view! { <StepPage shop job step/> }.into_any(),
        Route::Inspect => view! { <InspectPage/> }.into_any(),
        Route::InspectStep(shop, job, step) => view! { <InspectStepPage shop job step/> }.into_any(),
        _ => ().into_any(),
    })
}

/// Fetches the pages that most people go to next, once there is time: a slow phone opens a job a
/// quarter sooner then. An inspector's device reads what waits, too.
pub fn fetch_ahead(store: Store) {
    // Until then what is on the screen is drawn.
    const REST: Duration = Duration::from_secs(1);
    // Whatever fails is fetched, or told of, when somebody goes there.
    set_timeout(move || spawn_local(async move { drop(fetched_ahead(store).await) }), REST);
}

#[wasm_split(work, fallible)]
fn fetched_ahead(store: Store) -> Result<(), SplitLoaderError> {
    read_what_waits(store);
    Ok(())
}

/// Talks with the server for as long as the page lives: apart from the first load, because nothing of it
/// is needed to show what is here and to work on.
pub fn sync(device: WebDevice) {
    // Fetched only once; the service worker has it from then on.
    const AGAIN: Duration = Duration::from_secs(5);
    spawn_local(async move {
        match sync_loop(device.clone()).await {
            Ok(running) => running.await,
            Err(_) => set_timeout(move || sync(device), AGAIN),
        }
    });
}

#[wasm_split(sync, fallible)]
fn sync_loop(device: WebDevice) -> Result<Pin<Box<dyn Future<Output = ()>>>, SplitLoaderError> {
    Ok(Box::pin(async move { device.run().await }))
}

/// The steps of a job, to stand beside one of them.
#[must_use]
pub fn outline(shop: ShopId, job: JobId, current: Signal<Option<StepId>>) -> AnyView {
    fetched(job_outline(shop, job, current))
}

#[wasm_split(work, fallible)]
fn job_outline(shop: ShopId, job: JobId, current: Signal<Option<StepId>>) -> Fetched {
    Ok(view! { <JobOutline shop job current/> }.into_any())
}

/// The part's joints and layups, the resin for them, worksheets, and the record that shows them all: they
/// share so much that chunks of their own would leave it in the first load.
#[wasm_split(part, fallible)]
fn part(route: Route) -> Fetched {
    Ok(match route {
        Route::NewWorksheet(shop, job, step) => view! { <NewWorksheetPage shop job step/> }.into_any(),
        Route::FillIn(shop, job, step, kind, asking) => {
            view! { <FillInPage shop job step kind asking/> }.into_any()
        }
        Route::Alter(shop, job, sheet) => view! { <AlterWorksheetPage shop job id=sheet/> }.into_any(),
        Route::Worksheet(shop, job, worksheet) => view! { <WorksheetPage shop job worksheet/> }.into_any(),
        Route::Joint(shop, job, joint) => view! { <JointPage shop job joint/> }.into_any(),
        Route::Layup(shop, job, layup) => view! { <LayupPage shop job layup/> }.into_any(),
        Route::CutList(shop, job, layup) => view! { <CutListPage shop job layup/> }.into_any(),
        Route::Weigh(shop, job, step) => view! { <WeighPage shop job step/> }.into_any(),
        Route::Record(shop, job) => view! { <RecordPage shop job/> }.into_any(),
        Route::Cost(shop, job) => view! { <CostPage shop job/> }.into_any(),
        _ => ().into_any(),
    })
}

/// A job's hole registers as drawings, with rings around some of the holes.
#[must_use]
pub fn registers(state: JobSignal, ringed: Memo<Vec<HoleId>>) -> AnyView {
    fetched(drawn_registers(state, ringed))
}

#[wasm_split(part, fallible)]
fn drawn_registers(state: JobSignal, ringed: Memo<Vec<HoleId>>) -> Fetched {
    Ok(view! { <Registers state ringed/> }.into_any())
}

#[wasm_split(measuring, fallible)]
fn measuring(route: Route) -> Fetched {
    Ok(match route {
        Route::Measure(shop, job, joint, photo) => view! { <MeasurePage shop job joint photo/> }.into_any(),
        _ => ().into_any(),
    })
}

#[wasm_split(shelf, fallible)]
fn shelf(route: Route) -> Fetched {
    Ok(match route {
        Route::Search => view! { <SearchPage/> }.into_any(),
        Route::Stock => view! { <StockPage/> }.into_any(),
        Route::StockItem(shop, id) => view! { <ItemPage shop id/> }.into_any(),
        Route::Catalogue => view! { <CataloguePage/> }.into_any(),
        _ => ().into_any(),
    })
}

/// Who somebody is, and whom they work with.
#[wasm_split(people, fallible)]
fn people(route: Route) -> Fetched {
    Ok(match route {
        Route::SignIn => view! { <SignInPage/> }.into_any(),
        Route::Join => view! { <JoinPage/> }.into_any(),
        Route::OpenRecord => view! { <OpenRecordPage/> }.into_any(),
        Route::Sync => view! { <SyncPage/> }.into_any(),
        Route::Team => view! { <TeamPage/> }.into_any(),
        Route::Access(shop, job) => view! { <AccessPage shop job/> }.into_any(),
        _ => ().into_any(),
    })
}

/// Shows a page once its chunk is here, which offline is at once.
fn fetched(page: impl Future<Output = Fetched> + 'static) -> AnyView {
    let arrived = RwSignal::new_local(None::<Fetched>);
    spawn_local(ScopedFuture::new(async move {
        // The person may have gone elsewhere by now.
        arrived.try_set(Some(page.await));
    }));
    (move || {
        arrived.track();
        match arrived.write_untracked().take() {
            None => view! { <Skeleton/> }.into_any(),
            Some(Ok(page)) => page,
            Some(Err(_)) => view! { <NotFetched/> }.into_any(),
        }
    })
    .into_any()
}

#[component]
fn NotFetched() -> impl IntoView {
    view! {
        <h1 class="visually-hidden" tabindex="-1">"Not here yet"</h1>
        <EmptyState icon=Icon::Offline title="This page isn't on this device yet">
            <p>"It is fetched once, and then works without a network. Nothing you recorded is affected."</p>
            <Button label="Try again" kind=ButtonKind::Primary on_press=|()| page::reload()/>
        </EmptyState>
    }
}

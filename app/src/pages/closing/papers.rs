//! The papers that close a job, on the job's page: the entry, major or minor.

use leptos::prelude::*;
use shared_types::closing::Extent;
use shared_types::ids::{JobId, ShopId};

use super::screening::ExtentBadge;
use crate::pages::parts::{JobSignal, of_job};
use crate::routes::Route;
use crate::ui::{Icon, LinkButton, Section};
use crate::words::count;

/// Where the papers stand, with the ways to them.
#[component]
pub fn Papers(shop: ShopId, job: JobId, state: JobSignal) -> impl IntoView {
    let entries = of_job(state, |state| state.entries_in_use().count());
    let extent =
        of_job(state, |state| state.screening().map(|(_, it)| it.extent.or_empty()).unwrap_or_default());
    let entry = Signal::derive(move || match entries.get() {
        0 => "Write the entry".to_owned(),
        some => count(some, "entry", "entries"),
    });
    view! {
        <Section title="Maintenance record" end=move || view! { <ExtentOf extent=extent.get()/> }>
            <div class="cluster">
                <LinkButton label=entry icon=Icon::Note href=Route::Entry(shop, job).to_string()/>
                <LinkButton label="Major or minor?" icon=Icon::Inspect href=Route::Screening(shop, job).to_string()/>
            </div>
        </Section>
    }
}

#[component]
fn ExtentOf(extent: Extent) -> impl IntoView {
    (extent != Extent::Open).then(|| view! { <ExtentBadge extent/> })
}

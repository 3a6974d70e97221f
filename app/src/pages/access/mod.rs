//! Who from outside sees a job: guests with roles on it, and links that open its record.

mod guests;
mod links;

use leptos::prelude::*;
use shared_types::ids::{JobId, LogId, ShopId};
use shared_types::shop::Role;

use crate::pages::parts::job_line;
use crate::pages::parts::waiting::WhenHere;
use crate::pages::team::OpenInvitations;
use crate::store::use_store;
use crate::ui::{Banner, Plate, Tone};

use guests::Guests;
use links::Links;

/// A job's guests and the links to its record.
#[component]
pub fn AccessPage(shop: ShopId, job: JobId) -> impl IntoView {
    let store = use_store();
    let state = store.job(shop, job);
    let log = LogId::Job(shop, job);
    let leads_job = Memo::new(move |_| store.roles_in(log).contains(&Role::Lead));
    let leads_shop = Memo::new(move |_| store.roles(shop).contains(&Role::Lead));
    view! {
        <WhenHere state children=move || view! {
            <div class="stack">
                <Plate over=job_line(state) title="Guests and links">
                    <p>"People from outside the shop: a guest works or inspects on this job alone, a link only shows its record."</p>
                </Plate>
                <Guests log state/>
                <Show when=move || leads_shop.get()><OpenInvitations shop to=job/></Show>
                {move || if leads_job.get() {
                    view! { <Links shop job/> }.into_any()
                } else {
                    view! { <Banner tone=Tone::Blue><p>"A lead invites guests and makes links to the record."</p></Banner> }.into_any()
                }}
            </div>
        }.into_any()/>
    }
}

//! People, roles, devices, and the own account.

mod account;
mod aircraft;
mod devices;
mod invite;
mod invite_sheet;
mod link;
mod members;

use leptos::prelude::*;

use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{EmptyState, Icon, LinkButton, Plate};
use account::Account;
use aircraft::AircraftOfShop;
use devices::Devices;
use invite::Invitations;
pub use invite::OpenInvitations;
pub use link::LinkToHandOn;
use members::Members;

/// People, roles, devices, and the own account.
#[component]
pub fn TeamPage() -> impl IntoView {
    let store = use_store();
    move || {
        match store.me().get() {
        None => view! {
            <Plate title="Team"/>
            <EmptyState icon=Icon::Team title="Nobody is signed in on this device">
                <p>"A shop is the people who share jobs, tools, stock and procedures. Sign in, or open the invitation that
                a lead gave you."</p>
                <LinkButton label="Sign in" href=Route::SignIn.to_string()/>
            </EmptyState>
        }
        .into_any(),
        Some(me) => view! {
            <div class="stack">
                {me.shops.iter().map(|membership| {
                    let (shop, name) = (membership.shop, membership.name.clone());
                    view! {
                        <Plate over="Shop" title=name/>
                        <Members shop/>
                        <Invitations shop/>
                        <AircraftOfShop shop/>
                        <LinkButton label="Entry templates" icon=Icon::Note href=Route::EntryTemplates(shop).to_string()/>
                    }
                }).collect_view()}
                <LinkButton label="See the stock" icon=Icon::Package href=Route::Stock.to_string()/>
                <Devices/>
                <Account me=me.clone()/>
            </div>
        }
        .into_any(),
    }
    }
}

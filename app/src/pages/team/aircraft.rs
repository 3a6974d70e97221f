//! The aircraft that a shop looks after, each with the way to its page.

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::ids::ShopId;

use crate::routes::Route;
use crate::store::use_store;
use crate::ui::Section;

/// The shop's aircraft.
#[component]
pub fn AircraftOfShop(shop: ShopId) -> impl IntoView {
    let state = use_store().shop(shop);
    let all = Memo::new(move |_| {
        let state = state.read();
        let in_use = state.aircraft.iter().filter(|(_, it)| !it.is_retired());
        in_use
            .map(|(id, it)| (*id, it.registration.or_empty().0, it.type_name.or_empty().0))
            .collect::<Vec<_>>()
    });
    view! {
        <Section title="Aircraft">
            {move || all.read().is_empty().then(|| view! {
                <p class="muted">"None is kept yet. One that is named when a job is opened can be kept for next time."</p>
            })}
            <ul class="lines">
                {move || all.get().into_iter().map(|(id, registration, type_name)| view! {
                    <li>
                        <a class="line-link" href=Route::Aircraft(shop, id).to_string()>
                            <span class="registration">{registration}</span>" "<span class="muted">{type_name}</span>
                        </a>
                    </li>
                }).collect_view()}
            </ul>
        </Section>
    }
}

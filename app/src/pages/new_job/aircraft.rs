//! Which aircraft: one of the shop's, or a new one that is kept for next time.

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::entity::Entity as _;
use shared_types::ids::{AircraftId, ShopId};
use shared_types::shop::AircraftPatch;

use crate::entry::form::Form;
use crate::store::use_store;
use crate::ui::{SelectField, TickField};

/// Chosen or typed; the job gets a copy, so that it stands alone.
#[component]
pub fn AircraftChoice(
    shop: ShopId,
    facts: Form,
    /// The change that keeps a new aircraft in the shop.
    keep: RwSignal<Option<Known>>,
) -> impl IntoView {
    let store = use_store();
    let state = store.shop(shop);
    let chosen = RwSignal::new(String::new());
    let options = Signal::derive(move || {
        let state = state.read();
        let known = state.aircraft.iter().filter(|(_, it)| !it.is_retired());
        let mut options = vec![(String::new(), "another aircraft".to_owned())];
        options.extend(known.map(|(id, it)| (id.to_string(), format!("{} · {}", it.registration.or_empty(), it.type_name.or_empty()))));
        options
    });
    let fields = [facts.text("registration"), facts.text("aircraft_type"), facts.text("aircraft_serial")];
    Effect::new(move |_| {
        let Ok(id) = chosen.read().parse::<AircraftId>() else { return };
        let state = state.get_untracked();
        let Some(it) = state.aircraft.get(&id) else { return };
        let values = [it.registration.or_empty().0, it.type_name.or_empty().0, it.serial.or_empty().0];
        for (field, value) in fields.iter().zip(values) {
            field.set(value);
        }
    });
    let kept = RwSignal::new(true);
    let id = AircraftId(store.uuid());
    Effect::new(move |_| {
        let [registration, type_name, serial] = fields.map(|field| field.get().trim().to_owned());
        let known = state.read().aircraft.values().any(|it| it.registration.or_empty().0 == registration);
        let wanted = kept.get() && chosen.read().is_empty() && !registration.is_empty() && !known;
        keep.set(wanted.then(|| {
            let set = AircraftPatch {
                registration: Some(registration.into()),
                type_name: Some(type_name.into()),
                serial: Some(serial.into()),
                ..AircraftPatch::default()
            };
            Known::Aircraft(On { id, set })
        }));
    });
    let none = Signal::stored(Vec::new());
    view! {
        <Show when=move || options.read().len() != 1>
            <SelectField label="Aircraft of the shop" value=chosen options/>
        </Show>
        <div class="fields fields--three">
            {["registration", "aircraft_type", "aircraft_serial"].map(|name| facts.field(name, none)).collect_view()}
        </div>
        <Show when=move || chosen.read().is_empty()>
            <TickField label="Keep this aircraft in the shop for next time" value=kept/>
        </Show>
    }
}

//! Which aircraft: one of the shop's at one tap, or a new one that may be kept for next time.

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::ids::{AircraftId, ShopId};
use shared_types::shop::{AircraftPatch, ShopState};

use super::opening::Aircraft;
use crate::entry::form::Form;
use crate::store::use_store;
use crate::ui::{Button, TickField};

const FIELDS: [&str; 3] = ["registration", "aircraft_type", "aircraft_serial"];

/// The shop's aircraft, the fields that the job copies, and whether a new one is kept.
#[component]
pub fn AircraftPicks(shop: ShopId, facts: Form, keep: RwSignal<bool>) -> impl IntoView {
    let state = use_store().shop(shop);
    let known = Memo::new(move |_| {
        state.with(|state| {
            let in_use = state.aircraft.values().filter(|it| !it.is_retired());
            in_use
                .map(|it| [it.registration.or_empty().0, it.type_name.or_empty().0, it.serial.or_empty().0])
                .collect::<Vec<_>>()
        })
    });
    let registration = facts.text("registration");
    let fill = move |values: &[String; 3]| {
        for (field, value) in FIELDS.iter().zip(values) {
            facts.text(field).set(value.clone());
        }
    };
    let is_new = move || {
        let typed = normal(&registration.read());
        !typed.is_empty() && known.with(|known| known.iter().all(|it| normal(&it[0]) != typed))
    };
    let none = Signal::stored(Vec::new());
    view! {
        {move || (!known.read().is_empty()).then(|| view! {
            <div class="picks" role="group" aria-label="Aircraft of the shop">
                {known.get().into_iter().map(|values| {
                    let label = format!("{} · {}", values[0], values[1]);
                    view! { <Button label on_press=move |()| fill(&values)/> }
                }).collect_view()}
            </div>
        })}
        <div class="fields fields--three">
            {FIELDS.map(|name| facts.field(name, none)).collect_view()}
        </div>
        {move || is_new().then(|| view! { <TickField label="Keep this aircraft in the shop for next time" value=keep/> })}
    }
}

/// The aircraft that the fields name.
pub fn chosen(shop: &ShopState, facts: Form, keep: bool) -> Aircraft {
    let [registration, type_name, serial] =
        FIELDS.map(|field| facts.text(field).get_untracked().trim().to_owned());
    if let Some(id) = with_registration(shop, &registration) {
        return Aircraft::Known(id);
    }
    if !keep || registration.is_empty() {
        return Aircraft::Passing;
    }
    Aircraft::Kept(AircraftPatch {
        registration: Some(registration.into()),
        type_name: Some(type_name.into()),
        serial: Some(serial.into()),
        ..AircraftPatch::default()
    })
}

fn with_registration(shop: &ShopState, registration: &str) -> Option<AircraftId> {
    let wanted = normal(registration);
    let in_use = shop.aircraft.iter().filter(|(_, it)| !it.is_retired());
    in_use
        .filter(|_| !wanted.is_empty())
        .find(|(_, it)| normal(it.registration.or_empty().as_str()) == wanted)
        .map(|(id, _)| *id)
}

/// Registrations are compared without hyphens, in capitals.
fn normal(registration: &str) -> String {
    registration.trim().replace('-', "").to_uppercase()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;

    #[test]
    fn an_aircraft_is_known_by_its_marks_however_they_are_written() {
        let mut shop = ShopState::default();
        let patch = AircraftPatch { registration: Some("D-MXYZ".into()), ..AircraftPatch::default() };
        shop.aircraft.insert(AircraftId::default(), entity(&patch));
        assert_eq!(with_registration(&shop, "dmxyz "), Some(AircraftId::default()));
        assert_eq!(with_registration(&shop, "D-MXYA"), None);
        assert_eq!(with_registration(&shop, ""), None);
    }
}

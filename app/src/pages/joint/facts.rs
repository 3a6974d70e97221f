//! The joint's plate: what it is called, which fasteners, which layers.

use leptos::prelude::*;
use leptos_router::NavigateOptions;
use leptos_router::hooks::use_navigate;
use shared_types::body::{Known, On};
use shared_types::entity::Entity as _;
use shared_types::joint::Joint;

use super::Place;
use super::outline::LayersAndEdges;
use crate::entry::form::EntrySheet;
use crate::entry::{Subject, specs};
use crate::pages::parts::job_line;
use crate::record::joint::facts;
use crate::routes::Route;
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, Icon, Plate, Sheet};

/// The plate.
#[component]
pub fn Facts(place: Place) -> impl IntoView {
    let over = job_line(place.state);
    let title = Signal::derive(move || place.it.read().title());
    view! {
        <Plate over=over title>
            <dl class="facts">
                {move || facts(&place.it.read()).into_iter().map(|(name, fact)| view! { <dt>{name}</dt><dd>{fact}</dd> }).collect_view()}
            </dl>
            <p class="prewrap">{move || place.it.read().note.or_empty().0}</p>
            {place.may.then(|| view! { <Deeds place/> })}
        </Plate>
    }
}

#[component]
fn Deeds(place: Place) -> impl IntoView {
    let store = use_store();
    let (editing, outlining) = (RwSignal::new(false), RwSignal::new(false));
    let subject =
        move |()| Subject::altered("joint.v1", place.joint, place.it.with_untracked(Joint::content));
    let navigate = use_navigate();
    let take_out = move |()| {
        let navigate = navigate.clone();
        let body = Known::Joint(On { id: place.joint, set: Joint::retirement(true) });
        store.dispatch_then(place.log, vec![body], "Joint taken out", move || {
            let options = NavigateOptions { replace: true, ..NavigateOptions::default() };
            navigate(&Route::Job(place.shop, place.job).to_string(), options);
        });
    };
    view! {
        <div class="cluster plate-foot">
            <Button label="Edit the joint" kind=ButtonKind::Quiet icon=Icon::Edit on_press=move |()| editing.set(true)/>
            <Button label="Layers and edges" kind=ButtonKind::Quiet icon=Icon::Layers on_press=move |()| outlining.set(true)/>
            <Button label="Take out" kind=ButtonKind::Quiet icon=Icon::Archive on_press=take_out/>
        </div>
        <EntrySheet title="The joint" open=editing log=place.log specs=specs::JOINT subject draft=format!("joint/{}", place.joint) done="Joint saved"/>
        <Sheet title="Layers and edges" open=outlining><LayersAndEdges place open=outlining/></Sheet>
    }
}

//! The joint's layers and edges, typed line by line.

use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::check::Checked as _;
use shared_types::joint::JointPatch;

use super::Place;
use super::places::{edge_along, edges_text, layers_text, read_edges, read_layers};
use crate::page;
use crate::store::use_store;
use crate::ui::{Button, ButtonKind, Icon, TextArea};

/// The two texts, and what is wrong with them.
#[component]
pub fn LayersAndEdges(place: Place, open: RwSignal<bool>) -> impl IntoView {
    let store = use_store();
    let it = place.it.get_untracked();
    let layers = RwSignal::new(layers_text(&it.layers.or_empty()));
    let edges = RwSignal::new(edges_text(&it.edges.or_empty()));
    let (was_layers, was_edges) = (layers.get_untracked(), edges.get_untracked());
    let dirty = Memo::new(move |_| *layers.read() != was_layers || *edges.read() != was_edges);
    store.hold_update_while(dirty.into());
    let (wrong_layers, wrong_edges) = (RwSignal::new(None::<String>), RwSignal::new(None::<String>));
    let save = move || {
        let held = |fault: Option<(String, String)>| match fault {
            Some((reason, accepted)) => Err(format!("{reason}; accepted: {accepted}")),
            None => Ok(()),
        };
        let of_layers = read_layers(&layers.read_untracked());
        let of_layers = of_layers.and_then(|it| held(it.fault()).map(|()| it));
        let of_edges = read_edges(&edges.read_untracked());
        let of_edges = of_edges.and_then(|it| held(it.fault()).map(|()| it));
        wrong_layers.set(of_layers.as_ref().err().cloned());
        wrong_edges.set(of_edges.as_ref().err().cloned());
        let (Ok(layers), Ok(edges)) = (of_layers, of_edges) else {
            page::focus_fault();
            return;
        };
        let now = place.it.get_untracked();
        let set = JointPatch {
            layers: (now.layers.or_empty() != layers).then_some(layers),
            edges: (now.edges.or_empty() != edges).then_some(edges),
            ..JointPatch::default()
        };
        if set == JointPatch::default() {
            open.set(false);
            return;
        }
        let body = Known::Joint(On { id: place.joint, set });
        store.dispatch_then(place.log, vec![body], "Layers and edges saved", move || open.set(false));
    };
    let straight = move |()| {
        if let Some(edge) = place.holes.with_untracked(|holes| edge_along(holes)) {
            edges.update(|text| {
                if !text.trim().is_empty() {
                    text.push_str("\n\n");
                }
                text.push_str(&edge);
            });
        }
    };
    view! {
        <form class="stack" novalidate on:submit=move |event| {
            event.prevent_default();
            save();
        }>
            <TextArea label="Layers" value=layers error=wrong_layers
                hint="One a line, the first under the manufactured head: 2024-T3, 0.032 in"/>
            <TextArea label="Edges" value=edges error=wrong_edges
                hint="One corner a line: x, y. An empty line begins another edge; one that ends where it began is closed."/>
            <div class="cluster">
                <Button label="Straight edge along the row, at y = 0" icon=Icon::Ruler on_press=straight
                    disabled=Signal::derive(move || place.holes.read().is_empty())/>
            </div>
            <div class="sheet-foot">
                <Button label="Save" kind=ButtonKind::Primary submit=true on_press=|()| ()/>
            </div>
        </form>
    }
}

//! Marking holes and the edge.

use leptos::prelude::*;

use super::desk::Desk;
use super::marks::Group;
use super::points::List;
use crate::ui::{Button, ButtonKind, Icon, TickField};
use crate::words;

/// Holes: proposed by the photo, tapped by hand.
#[component]
pub fn Holes(desk: Desk) -> impl IntoView {
    let accept = move |()| desk.accept(untrack(|| desk.left()));
    view! {
        <p>"Tap the holes: a mark snaps to the hole's centre. Or let the photo propose them."</p>
        <div class="cluster">
            <Button label="Find holes" icon=Icon::Search disabled=Signal::derive(move || desk.finding.get()) on_press=move |()| desk.find()/>
            {move || {
                let left = desk.left().len();
                (left > 0).then(|| view! {
                    <Button label=format!("Take all {left}") icon=Icon::Check on_press=accept/>
                    <Button label="Forget the rest" kind=ButtonKind::Quiet on_press=move |()| desk.proposed.set(Some(Vec::new()))/>
                })
            }}
        </div>
        <p role="status" class="small muted">
            {move || match (desk.finding.get(), desk.proposed.get()) {
                (true, _) => "Looking for holes".to_owned(),
                (false, None) => String::new(),
                (false, Some(found)) if found.is_empty() => "No round hole stands out. Tap the holes.".to_owned(),
                (false, Some(_)) => match desk.left().len() {
                    0 => "All that was found is marked.".to_owned(),
                    left => format!("{}, dashed on the photo: tap those that are holes of this joint, or take all.", words::count(left, "proposal", "proposals")),
                },
            }}
        </p>
        <TickField label="New marks don't snap" value=desk.tick("loose")/>
        <List desk group=Group::Holes/>
    }
}

/// The edge: points in order along it.
#[component]
pub fn Edge(desk: Desk) -> impl IntoView {
    view! {
        <p>"Tap along the sheet's edge, in order: two points where it is straight, more where it bends. Without an edge there are pitches, and no edge distances."</p>
        <List desk group=Group::Edge/>
    }
}

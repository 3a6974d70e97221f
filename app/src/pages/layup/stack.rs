//! The plies one below the other, the highest first as they lie: moved, doubled, altered, taken out.

use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::ids::PlyId;
use shared_types::layup::Ply;

use super::Place;
use super::deeds::{doubled, mirrored, moved, taken_out};
use crate::entry::form::EntrySheet;
use crate::entry::{Subject, specs};
use crate::layups::drawing::angle_words;
use crate::page;
use crate::pages::parts::grip::{Grip, drop_side};
use crate::ui::{Button, ButtonKind, Icon};

/// A ply as the list shows it.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Row {
    at: usize,
    id: PlyId,
    angle: String,
    further: String,
}

fn rows(plies: &[(PlyId, Ply)]) -> Vec<Row> {
    let row = |(at, (id, ply)): (usize, &(PlyId, Ply))| {
        let batch = ply.batch.or_empty();
        let further = [
            ply.material.or_empty().0,
            ply.thickness.or_empty().0,
            if batch.is_empty() { String::new() } else { format!("batch {batch}") },
            if ply.laid().is_some() { "laid".to_owned() } else { String::new() },
            ply.note.or_empty().0,
        ];
        let further: Vec<_> = further.into_iter().filter(|it| !it.trim().is_empty()).collect();
        let angle = angle_words(&ply.angle.or_empty().0);
        Row { at, id: *id, angle, further: further.join(" · ") }
    };
    plies.iter().enumerate().map(row).rev().collect()
}

/// The plies with their handles.
#[component]
pub fn Stack(place: Place) -> impl IntoView {
    let rows = Memo::new(move |_| place.plies.with(|plies| rows(plies)));
    let count = Signal::derive(move || rows.with(Vec::len));
    let (dragged, over) = (RwSignal::new(None::<usize>), RwSignal::new(None::<usize>));
    let (editing, edited) = (RwSignal::new(false), RwSignal::new(PlyId::default()));
    let chosen = RwSignal::new(None::<PlyId>);
    let subject = move |()| {
        let id = edited.get_untracked();
        let content = place
            .plies
            .with_untracked(|plies| plies.iter().find(|(it, _)| *it == id).map(|(_, ply)| ply.content()));
        Subject::altered("ply.v1", id, content.unwrap_or_default())
    };
    let shift = move |from: usize, to: usize| {
        let change = place.plies.with_untracked(|plies| moved(plies, from, to));
        place.alter(change.as_slice(), "Ply moved");
    };
    let mirror = move |()| {
        let changes = place.plies.with_untracked(|plies| mirrored(plies, || PlyId(place.store.uuid())));
        place.alter(&changes, "Plies mirrored");
    };
    let edit = move |id: PlyId| {
        edited.set(id);
        editing.set(true);
    };
    view! {
        {place.may.then(|| view! {
            <p class="small muted">{move || (count.get() > 0).then_some("Tap a ply to move, double, alter or take it out; or drag it by its grip.")}</p>
        })}
        <ol class="arrange arrange--chosen" data-dragging=move || dragged.get().map(|_| "")>
            <For each=move || rows.get() key=Row::clone let:row>
                <Handled place row count chosen dragged over on_move=move |(from, to)| shift(from, to) on_edit=edit/>
            </For>
        </ol>
        {place.may.then(|| view! {
            <div class="cluster">
                <Button label="Mirror: the same plies in reverse on top" icon=Icon::Layers disabled=Signal::derive(move || count.get() == 0) on_press=mirror/>
            </div>
            <EntrySheet title="The ply" open=editing log=place.log specs=specs::PLY subject draft=Signal::derive(move || format!("ply/{}", edited.get())) done="Ply altered"/>
        })}
    }
}

/// A ply: chosen by a tap, and then with what can be done to it.
#[component]
fn Handled(
    place: Place,
    row: Row,
    count: Signal<usize>,
    chosen: RwSignal<Option<PlyId>>,
    dragged: RwSignal<Option<usize>>,
    over: RwSignal<Option<usize>>,
    #[prop(into)] on_move: Callback<(usize, usize)>,
    #[prop(into)] on_edit: Callback<PlyId>,
) -> impl IntoView {
    let Row { at, id, angle, further } = row;
    // The list counts downwards, the stack upwards.
    let side = move || {
        drop_side(dragged.get(), over.get(), at).map(|side| if side == "below" { "above" } else { "below" })
    };
    let is_chosen = move || chosen.get() == Some(id);
    let name = format!("Ply {}, ", at + 1);
    let what = view! {
        <strong class="figures">{name}<span class="ply-angle">{angle}</span></strong><br/><span class="small muted">{further}</span>
    };
    let what = if place.may {
        let choose = move |_| chosen.update(|it| *it = (*it != Some(id)).then_some(id));
        view! {
            <button type="button" class="choose" aria-expanded=move || is_chosen().to_string() on:click=choose>{what}</button>
        }
        .into_any()
    } else {
        view! { <span>{what}</span> }.into_any()
    };
    view! {
        <li data-at=at data-ply=id.to_string() data-dragged=move || (dragged.get() == Some(at)).then_some("") data-over=side>
            {place.may.then(|| view! { <Grip at dragged over on_move/> })}
            <div class="what">
                {what}
                {move || is_chosen().then(|| view! { <Deeds place at id count on_move on_edit/> })}
            </div>
        </li>
    }
}

#[component]
fn Deeds(
    place: Place,
    at: usize,
    id: PlyId,
    count: Signal<usize>,
    on_move: Callback<(usize, usize)>,
    on_edit: Callback<PlyId>,
) -> impl IntoView {
    let double = move |()| {
        let change = place.plies.with_untracked(|plies| doubled(plies, at, PlyId(place.store.uuid())));
        place.alter(change.as_slice(), "Ply doubled");
    };
    // A moved ply is drawn anew elsewhere: whoever moves it by keys goes on from there.
    let shift = move |to: usize, deed: &'static str| {
        on_move.run((at, to));
        page::focus_first(&[
            &format!("[data-ply='{id}'] [data-deed='{deed}'] button:enabled"),
            &format!("[data-ply='{id}'] .choose"),
        ]);
    };
    view! {
        <div class="cluster">
            <span data-deed="up"><Button label="Up" icon=Icon::MoveUp disabled=Signal::derive(move || at + 1 >= count.get()) on_press=move |()| shift(at + 1, "up")/></span>
            <span data-deed="down"><Button label="Down" icon=Icon::MoveDown disabled=Signal::derive(move || at == 0) on_press=move |()| shift(at.saturating_sub(1), "down")/></span>
            <Button label="Double" icon=Icon::Add on_press=double/>
            <Button label="Alter" icon=Icon::Edit on_press=move |()| on_edit.run(id)/>
            <Button label="Take out" kind=ButtonKind::Danger icon=Icon::Archive on_press=move |()| place.alter(&[taken_out(id)], "Ply taken out")/>
        </div>
    }
}

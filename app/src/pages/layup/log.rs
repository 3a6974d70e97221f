//! The log at wet-out: the next ply large, one tap when it is in, a photo if wanted.

use device::Attached;
use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::ids::{PhotoId, PlyId};
use shared_types::job::{Moment, Photo};
use shared_types::layup::Ply;

use super::Place;
use super::deeds;
use crate::clock;
use crate::layups::drawing::angle_words;
use crate::layups::log::{as_laid, laid, next, out_of_order};
use crate::pages::parts::of_job;
use crate::pages::parts::photos::{Strip, take_in};
use crate::store::Shot;
use crate::ui::{Badge, Button, ButtonKind, CameraButton, Icon, Section, Shape, Tone};

/// The log.
#[component]
pub fn PlyLog(place: Place) -> impl IntoView {
    let heading = Signal::derive(move || {
        place.plies.with(|plies| format!("Log at wet-out, {} of {} laid", laid(plies), plies.len()))
    });
    let next = Memo::new(move |_| {
        place.plies.with(|plies| {
            let (number, id) = next(plies)?;
            plies.iter().find(|(it, _)| *it == id).map(|(_, ply)| (number, id, ply.clone()))
        })
    });
    let rows = Memo::new(move |_| {
        place.plies.with(|plies| {
            let row = |(number, id, ply): (usize, PlyId, &Ply)| Row {
                number,
                id,
                angle: angle_words(&ply.angle.or_empty().0),
                material: ply.material.or_empty().0,
                at: ply.laid().map(clock::moment).unwrap_or_default(),
                out_of_order: out_of_order(plies, id),
            };
            as_laid(plies).into_iter().map(row).collect::<Vec<_>>()
        })
    });
    let nothing = move || place.plies.with(Vec::is_empty);
    view! {
        <Section title=heading>
            {move || nothing().then(|| view! { <p class="muted">"Once there are plies, each is ticked here when it goes in."</p> })}
            {move || next.get().filter(|_| place.may).map(|(number, id, ply)| view! { <Next place number id ply/> })}
            <ol class="lines">
                <For each=move || rows.get() key=Row::clone let:row><Laid place row/></For>
            </ol>
        </Section>
    }
}

/// A ply that is in.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Row {
    number: usize,
    id: PlyId,
    angle: String,
    material: String,
    at: String,
    out_of_order: bool,
}

#[component]
fn Next(place: Place, number: usize, id: PlyId, ply: Ply) -> impl IntoView {
    let done = format!("Ply {number} laid");
    let batch = ply.batch.or_empty();
    view! {
        <div class="next-ply">
            <span class="muted">"Next"</span>
            <span class="big">{format!("Ply {number}: {}", angle_words(&ply.angle.or_empty().0))}</span>
            <span>{ply.material.or_empty().0}{(!batch.is_empty()).then(|| format!(", batch {batch}"))}</span>
            <Button label=format!("Ply {number} is laid") kind=ButtonKind::Primary icon=Icon::Check on_press=move |()| {
                place.alter(&[deeds::laid(id, Some(clock::now()))], done.clone());
            }/>
        </div>
    }
}

#[component]
fn Laid(place: Place, row: Row) -> impl IntoView {
    let Row { number, id, angle, material, at, out_of_order } = row;
    let shot = Shot {
        log: place.log,
        step: None,
        moment: Moment::During,
        answers: None,
        attached_to: Some(Attached::Ply(id)),
    };
    let photos = of_job(place.state, move |state| {
        let photos = state.photos_of_ply(id).filter_map(|(_, link)| {
            let photo = link.photo.or_empty();
            Some((photo, state.photos.get(&photo).filter(|it| !it.it.is_retired())?.it.clone()))
        });
        photos.collect::<Vec<(PhotoId, Photo)>>()
    });
    let not_laid =
        move |()| place.alter(&[deeds::laid(id, None)], format!("Ply {number} not laid after all"));
    view! {
        <li class="stack stack--tight">
            <span class="cluster">
                <strong class="figures">{format!("Ply {number}, {angle}")}</strong>
                <span class="figures">{at}</span>
                {out_of_order.then(|| view! { <Badge word="laid ahead of a ply below it" shape=Shape::Wave tone=Tone::Close/> })}
            </span>
            <span class="small muted">{material}</span>
            <Strip shot photos/>
            {place.may.then(|| view! {
                <div class="cluster">
                    <CameraButton label=format!("Photo of ply {number}") on_files=move |event| take_in(place.store, shot, &event)/>
                    <Button label="Not laid after all" kind=ButtonKind::Quiet icon=Icon::Undo on_press=not_laid/>
                </div>
            })}
        </li>
    }
}

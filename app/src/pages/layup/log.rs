//! The log at wet-out: the next ply large, one tap when it is in, a photo if wanted.

use std::collections::BTreeMap;

use device::Attached;
use leptos::prelude::*;
use shared_types::entity::Entity as _;
use shared_types::ids::{PhotoId, PlyId};
use shared_types::job::{Moment, Photo};

use super::Place;
use super::deeds;
use super::patch::Patch;
use crate::clock;
use crate::layups::drawing::angle_words;
use crate::layups::log::{Going, as_laid, in_order, laid, next, out_of_order};
use crate::layups::patched::Patched;
use crate::layups::steps::{ANCHOR, wet_outs};
use crate::page;
use crate::pages::parts::of_job;
use crate::pages::parts::photos::{Strip, take_in};
use crate::routes::Route;
use crate::store::Shot;
use crate::ui::{Badge, Button, ButtonKind, CameraButton, Icon, LinkButton, Section, Shape, Tone};

/// The log.
#[component]
pub fn PlyLog(place: Place, patch: Patch) -> impl IntoView {
    let heading = Signal::derive(move || {
        place.plies.with(|plies| format!("Log at wet-out, {} of {} laid", laid(plies), plies.len()))
    });
    let order =
        Memo::new(move |_| place.plies.with(|plies| patch.damage.with(|it| in_order(plies, it.as_ref()))));
    let pieces = Memo::new(move |_| patch.patched.read().as_ref().map(Patched::by_ply).unwrap_or_default());
    let next = Memo::new(move |_| order.with(|order| next(order).cloned()));
    let rows = Memo::new(move |_| order.with(|order| pieces.with(|pieces| rows(order, pieces))));
    let nothing = move || order.with(Vec::is_empty);
    page::show_if_named(ANCHOR);
    let steps = of_job(place.state, move |state| wet_outs(state, place.layup));
    view! {
        <div id=ANCHOR>
            <Section title=heading>
                <p class="cluster">
                    {move || steps.get().into_iter().map(|(step, title)| {
                        let href = Route::Step(place.shop, place.job, step).to_string();
                        view! { <LinkButton label=format!("To the step: {title}") icon=Icon::ChevronRight href/> }
                    }).collect_view()}
                </p>
                {move || nothing().then(|| view! { <p class="muted">"Once there are plies, each is ticked here when it goes in."</p> })}
                {move || next.get().filter(|_| place.may).map(|going| {
                    let piece = pieces.with(|pieces| pieces.get(&going.number).copied());
                    view! { <Next place going piece/> }
                })}
                <ol class="lines">
                    <For each=move || rows.get() key=Row::clone let:row><Laid place row/></For>
                </ol>
            </Section>
        </div>
    }
}

/// The plies that are in, in the order in which they went in.
fn rows(order: &[Going], pieces: &BTreeMap<usize, usize>) -> Vec<Row> {
    let row = |it: &Going| Row {
        number: it.number,
        piece: pieces.get(&it.number).copied(),
        id: it.id,
        angle: angle_words(&it.ply.angle.or_empty().0),
        material: it.ply.material.or_empty().0,
        at: it.ply.laid().map(clock::moment).unwrap_or_default(),
        out_of_order: out_of_order(order, it.id),
    };
    as_laid(order).into_iter().map(row).collect()
}

/// `, piece P3`; nothing where no pieces are cut.
fn piece_words(piece: Option<usize>) -> String {
    piece.map(|piece| format!(", piece P{piece}")).unwrap_or_default()
}

/// A ply that is in.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Row {
    number: usize,
    piece: Option<usize>,
    id: PlyId,
    angle: String,
    material: String,
    at: String,
    out_of_order: bool,
}

#[component]
fn Next(place: Place, going: Going, piece: Option<usize>) -> impl IntoView {
    let Going { number, id, ply } = going;
    let done = format!("Ply {number} laid");
    let batch = ply.batch.or_empty();
    view! {
        <div class="next-ply">
            <span class="muted">"Next"</span>
            <span class="big">{format!("Ply {number}: {}", angle_words(&ply.angle.or_empty().0))}</span>
            {piece.map(|piece| view! { <span class="big">{format!("Piece P{piece}")}</span> })}
            <span>{ply.material.or_empty().0}{(!batch.is_empty()).then(|| format!(", batch {batch}"))}</span>
            <Button label=format!("Ply {number} is laid") kind=ButtonKind::Primary icon=Icon::Check on_press=move |()| {
                place.alter(&[deeds::laid(id, Some(clock::now()))], done.clone());
            }/>
        </div>
    }
}

#[component]
fn Laid(place: Place, row: Row) -> impl IntoView {
    let Row { number, piece, id, angle, material, at, out_of_order } = row;
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
                <strong class="figures">{format!("Ply {number}, {angle}{}", piece_words(piece))}</strong>
                <span class="figures">{at}</span>
                {out_of_order.then(|| view! { <Badge word="laid ahead of a ply that goes in before it" shape=Shape::Wave tone=Tone::Close/> })}
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

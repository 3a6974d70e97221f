//! A hole's photos: taken here, or picked among those of the job.

use device::{Attached, PhotoSize};
use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::entity::Entity as _;
use shared_types::ids::{HoleId, HolePhotoId, PhotoId};
use shared_types::job::{JobState, Moment, Photo};
use shared_types::joint::{HolePhoto, HolePhotoPatch};

use super::Place;
use crate::pages::parts::of_job;
use crate::pages::parts::photos::{Shown, Strip, take_in};
use crate::store::{PhotoSource, Shot, use_photo, use_store};
use crate::ui::{CameraButton, Glyph, Icon, PhotoTile};

/// A photo of the job, and its link to the hole if it has one.
#[derive(Clone, Debug, PartialEq)]
struct Linked {
    id: PhotoId,
    photo: Photo,
    link: Option<HolePhotoId>,
}

/// The job's photos, latest first: a photo is attached soon after it was taken. Ids are UUIDv7.
fn linked(state: &JobState, hole: HoleId) -> Vec<Linked> {
    let link = |photo: PhotoId| {
        state.photos_of(hole).find(|(_, link)| link.photo.get() == Some(&photo)).map(|(id, _)| *id)
    };
    let in_use = state.photos.iter().rev().filter(|(_, photo)| !photo.it.is_retired());
    in_use.map(|(id, photo)| Linked { id: *id, photo: photo.it.clone(), link: link(*id) }).collect()
}

/// The hole's photos, a camera, and the job's other photos to pick from.
#[component]
pub fn Photos(place: Place, hole: HoleId) -> impl IntoView {
    let store = use_store();
    let all = of_job(place.state, move |state| linked(state, hole));
    let own = Memo::new(move |_| {
        let own = |all: &Vec<Linked>| {
            let own = all.iter().filter(|it| it.link.is_some());
            own.map(|it| (it.id, it.photo.clone())).collect::<Vec<_>>()
        };
        all.with(own)
    });
    let decided = place.hole(hole).is_some_and(|hole| hole.is_decided());
    let moment = if decided { Moment::After } else { Moment::Before };
    let attached_to = Some(Attached::Hole(hole));
    let shot = Shot { log: place.log, step: None, moment, answers: None, attached_to };
    let (seen, picking) = (RwSignal::new(false), RwSignal::new(false));
    view! {
        <details class="more" on:toggle=move |_| seen.set(true)>
            <summary>{move || format!("Photos, {}", own.read().len())}</summary>
            // Pictures are read from the device when somebody wants to see them.
            {move || seen.get().then(|| view! {
                <Strip shot photos=own/>
                <div class="cluster">
                    <CameraButton label="Photo of this hole" on_files=move |event| take_in(store, shot, &event)/>
                    <button type="button" class="btn" aria-expanded=move || picking.get().to_string() on:click=move |_| picking.update(|it| *it = !*it)>
                        <Glyph icon=Icon::Image/><span>"Pick among the job's photos"</span>
                    </button>
                </div>
                {move || picking.get().then(|| view! {
                    <div class="photos">
                        <For each=move || all.get() key=|it| (it.id, it.link) let:it><Pick place hole it/></For>
                    </div>
                    {move || all.read().is_empty().then(|| view! { <p class="muted">"The job has no photo yet."</p> })}
                })}
            })}
        </details>
    }
}

/// A photo; a tap attaches it to the hole, or takes it off.
#[component]
fn Pick(place: Place, hole: HoleId, it: Linked) -> impl IntoView {
    let store = use_store();
    let shown = Shown::of(&(it.id, it.photo));
    let source = use_photo(place.log, shown.digest, PhotoSize::Thumb);
    let (id, set, done, word) = match it.link {
        Some(link) => (link, HolePhoto::retirement(true), "Photo taken off the hole", "take off"),
        None => {
            let set = HolePhotoPatch { hole: Some(hole), photo: Some(it.id), retired: None };
            (HolePhotoId(store.uuid()), set, "Photo attached to the hole", "attach")
        }
    };
    let toggle = move |()| {
        store.dispatch(place.log, vec![Known::HolePhoto(On { id, set: set.clone() })], done);
    };
    let name = if shown.caption.is_empty() { "Photo".to_owned() } else { shown.caption };
    view! { <PhotoTile src=Signal::derive(move || source.with(PhotoSource::url)) caption=format!("{name}: {word}") on_open=toggle/> }
}

//! A hole's photos: picked among those of the job. One that is taken here is the first to pick.

use device::PhotoSize;
use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::digest::Digest;
use shared_types::entity::Entity as _;
use shared_types::ids::{HoleId, HolePhotoId, PhotoId};
use shared_types::job::{JobState, Moment};
use shared_types::joint::{HolePhoto, HolePhotoPatch};

use super::Place;
use crate::pages::parts::of_job;
use crate::pages::parts::photos::take_in;
use crate::store::{PhotoSource, Shot, use_photo, use_store};
use crate::ui::{CameraButton, Glyph, Icon, PhotoTile};

/// A photo of the job, and its link to the hole if it has one.
#[derive(Clone, Debug, PartialEq)]
struct Shown {
    photo: PhotoId,
    digest: Digest,
    caption: String,
    link: Option<HolePhotoId>,
}

fn shown(state: &JobState, hole: HoleId) -> Vec<Shown> {
    let link = |photo: PhotoId| {
        state.photos_of(hole).find(|(_, link)| link.photo.get() == Some(&photo)).map(|(id, _)| *id)
    };
    let in_use = state.photos.iter().filter(|(_, photo)| !photo.it.is_retired());
    let mut all: Vec<_> = in_use
        .map(|(id, photo)| Shown {
            photo: *id,
            digest: photo.it.digest.or_empty(),
            caption: photo.it.caption.or_empty().0,
            link: link(*id),
        })
        .collect();
    // Latest first: a photo is attached soon after it was taken. Ids are UUIDv7.
    all.reverse();
    all
}

/// The hole's photos, and the others to pick from.
#[component]
pub fn Photos(place: Place, hole: HoleId) -> impl IntoView {
    let store = use_store();
    let all = of_job(place.state, move |state| shown(state, hole));
    let own = Memo::new(move |_| {
        all.with(|all| all.iter().filter(|it| it.link.is_some()).cloned().collect::<Vec<_>>())
    });
    let others = Memo::new(move |_| {
        all.with(|all| all.iter().filter(|it| it.link.is_none()).cloned().collect::<Vec<_>>())
    });
    let decided = place.hole(hole).is_some_and(|hole| hole.is_decided());
    let moment = if decided { Moment::After } else { Moment::Before };
    let shot = Shot { log: place.log, step: None, moment, answers: None };
    let (seen, picking) = (RwSignal::new(false), RwSignal::new(false));
    view! {
        <details class="more" on:toggle=move |_| seen.set(true)>
            <summary>{move || format!("Photos, {}", own.read().len())}</summary>
            // Pictures are read from the device when somebody wants to see them.
            {move || seen.get().then(|| view! {
                <div class="photos">
                    <For each=move || own.get() key=|it| it.photo let:it><Tile place hole it/></For>
                </div>
                <button type="button" class="btn" aria-expanded=move || picking.get().to_string() on:click=move |_| picking.update(|it| *it = !*it)>
                    <Glyph icon=Icon::Image/><span>"Pick among the job's photos"</span>
                </button>
                {move || picking.get().then(|| view! {
                    <CameraButton label="Take one" on_files=move |event| take_in(store, shot, &event)/>
                    <div class="photos">
                        <For each=move || others.get() key=|it| it.photo let:it><Tile place hole it/></For>
                    </div>
                    {move || others.read().is_empty().then(|| view! { <p class="muted">"The job has no other photo."</p> })}
                })}
            })}
        </details>
    }
}

/// A photo; a tap attaches it to the hole, or takes it off.
#[component]
fn Tile(place: Place, hole: HoleId, it: Shown) -> impl IntoView {
    let store = use_store();
    let source = use_photo(place.log, it.digest, PhotoSize::Thumb);
    let (photo, link) = (it.photo, it.link);
    let (id, set, done, word) = match link {
        Some(link) => (link, HolePhoto::retirement(true), "Photo taken off the hole", "take off"),
        None => {
            let set = HolePhotoPatch { hole: Some(hole), photo: Some(photo), ..HolePhotoPatch::default() };
            (HolePhotoId(store.uuid()), set, "Photo attached to the hole", "attach")
        }
    };
    let toggle = move |()| {
        store.dispatch(place.log, vec![Known::HolePhoto(On { id, set: set.clone() })], done);
    };
    let name = if it.caption.is_empty() { "Photo".to_owned() } else { it.caption };
    view! { <PhotoTile src=Signal::derive(move || source.with(PhotoSource::url)) caption=format!("{name}: {word}") on_open=toggle/> }
}

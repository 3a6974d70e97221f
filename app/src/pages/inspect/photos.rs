//! A step's photos for the inspector: before against after, and each one large.

use std::sync::Arc;

use device::PhotoSize;
use leptos::prelude::*;
use shared_types::coverage::on;
use shared_types::digest::Digest;
use shared_types::ids::{LogId, PhotoId, StepId};
use shared_types::job::{JobState, Moment, Photo};

use super::since::Since;
use crate::clock;
use crate::pages::parts::photos::Picture;
use crate::store::use_photo;
use crate::ui::{PhotoCompare, PhotoTile, Section, Sheet};

/// Photos of a step.
#[component]
pub fn StepPhotos(
    log: LogId,
    step: StepId,
    state: Arc<JobState>,
    /// Only what changed since then, if given.
    since: Option<Since>,
) -> impl IntoView {
    let is_shown = |id: &PhotoId| since.as_ref().is_none_or(|since| since.has("photo", id));
    let recorded = on(&state.photos, Some(step)).filter(|(id, _)| is_shown(id));
    let photos: Vec<Photo> = recorded.map(|(_, it)| it.clone()).collect();
    let (open, shown) = (RwSignal::new(false), RwSignal::new(None::<Photo>));
    if photos.is_empty() {
        return view! { <Section title="Photos"><p class="muted">{if since.is_some() { "None that changed." } else { "No photo was taken on this step." }}</p></Section> }.into_any();
    }
    let first = |moment: Moment| photos.iter().find(|it| it.moment.or_empty() == moment).cloned();
    let pair = first(Moment::Before).zip(first(Moment::After));
    let of = |moment: Moment| {
        let photos: Vec<_> = photos.iter().filter(|it| it.moment.or_empty() == moment).cloned().collect();
        (!photos.is_empty()).then(|| {
            let tiles = photos.into_iter().map(|photo| view! { <Tile log photo open shown/> });
            view! { <h3>{moment.word()}</h3><div class="photos">{tiles.collect_view()}</div> }
        })
    };
    let strips = Moment::ALL.map(of).collect_view();
    view! {
        <Section title="Photos">
            {pair.map(|(before, after)| view! { <Compared log before after/> })}
            {strips}
        </Section>
        <Sheet title="Photo" open>
            {move || shown.get().map(|photo| view! { <Large log photo/> })}
        </Sheet>
    }
    .into_any()
}

#[component]
fn Compared(log: LogId, before: Photo, after: Photo) -> impl IntoView {
    let source = |digest: Digest| use_photo(log, digest, PhotoSize::Screen);
    let (one, two) = (source(before.digest.or_empty()), source(after.digest.or_empty()));
    let caption = after.caption.or_empty().0;
    let missing = Memo::new(move |_| one.read().missing().or(two.read().missing()));
    move || match missing.get() {
        Some(why) => view! { <p class="compare compare--missing" role="status">{why}</p> }.into_any(),
        None => view! {
            <PhotoCompare
                before=Signal::derive(move || one.read().url())
                after=Signal::derive(move || two.read().url())
                caption=caption.clone()
            />
        }
        .into_any(),
    }
}

#[component]
fn Tile(log: LogId, photo: Photo, open: RwSignal<bool>, shown: RwSignal<Option<Photo>>) -> impl IntoView {
    let source = use_photo(log, photo.digest.or_empty(), PhotoSize::Thumb);
    let caption = photo.caption.or_empty().0;
    let show = move |()| {
        shown.set(Some(photo.clone()));
        open.set(true);
    };
    view! { <PhotoTile src=Signal::derive(move || source.read().url()) caption=caption on_open=show/> }
}

/// One photo at full resolution.
#[component]
fn Large(log: LogId, photo: Photo) -> impl IntoView {
    let source = use_photo(log, photo.digest.or_empty(), PhotoSize::Original);
    let caption = photo.caption.or_empty().0;
    let taken = photo.taken_at.or_empty().map(clock::moment);
    view! {
        <figure class="viewer">
            <Picture source alt=caption.clone()/>
            <figcaption>
                <strong>{photo.moment.or_empty().word()}</strong>" "{caption}" "
                <span class="muted">{taken}" "<span class="figures">{photo.digest.or_empty().short()}</span></span>
            </figcaption>
        </figure>
    }
}

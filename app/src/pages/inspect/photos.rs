//! A step's photos for the inspector: before against after, and each one as large as it was taken.

use std::sync::Arc;

use device::PhotoSize;
use leptos::prelude::*;
use shared_types::ids::{LogId, PhotoId, StepId};
use shared_types::job::{Moment, Photo};

use super::comparison::Comparison;
use super::since::Since;
use crate::clock;
use crate::pages::parts::{JobSignal, items};
use crate::store::use_photo;
use crate::ui::{Banner, Button, Icon, PhotoTile, PhotoZoom, Section, Sheet};

/// A photo with its id.
pub type Seen = (PhotoId, Photo);

/// Photos of a step.
#[component]
pub fn StepPhotos(
    log: LogId,
    step: StepId,
    state: JobSignal,
    /// Only what changed since then, if given.
    since: Memo<Option<Since>>,
) -> impl IntoView {
    let all = items(state, Some(step), |state| &state.photos);
    let shown = Memo::new(move |_| {
        let is_shown =
            |(id, _): &Seen| since.with(|since| since.as_ref().is_none_or(|since| since.has("photo", id)));
        all.with(|all| all.iter().filter(|it| is_shown(it)).cloned().collect::<Vec<_>>())
    });
    let nothing = Memo::new(move |_| shown.read().is_empty());
    let viewed = Viewed::new();
    let of = move |moment: Moment| {
        let photos = Memo::new(move |_| {
            let here = |(_, it): &&Seen| it.moment.or_empty() == moment;
            shown.with(|shown| shown.iter().filter(here).cloned().collect::<Vec<_>>())
        });
        let some = Memo::new(move |_| !photos.read().is_empty());
        move || some.get().then(|| view! { <h3>{moment.word()}</h3><Strip log photos viewed/> })
    };
    view! {
        <Section title="Photos">
            {move || {
                let only_changed = since.with(Option::is_some);
                nothing.get().then(|| view! {
                    <p class="muted">{if only_changed { "None that changed." } else { "No photo was taken on this step." }}</p>
                })
            }}
            {move || (!nothing.get()).then(|| view! { <Comparison log step state all/> })}
            {Moment::ALL.map(of).collect_view()}
        </Section>
        <Viewer log photos=shown viewed/>
    }
}

/// Some photos as tiles, with a sheet of their own.
#[component]
pub fn Tiles(log: LogId, photos: Arc<Vec<Seen>>) -> impl IntoView {
    let photos = Memo::new(move |_| photos.to_vec());
    let viewed = Viewed::new();
    view! { <Strip log photos viewed/><Viewer log photos viewed/> }
}

/// The photo that is looked at alone, if one is.
#[derive(Clone, Copy)]
struct Viewed {
    open: RwSignal<bool>,
    photo: RwSignal<Option<PhotoId>>,
}

impl Viewed {
    fn new() -> Self {
        Self { open: RwSignal::new(false), photo: RwSignal::new(None) }
    }

    fn show(self, id: PhotoId) {
        self.photo.set(Some(id));
        self.open.set(true);
    }
}

#[component]
fn Strip(log: LogId, photos: Memo<Vec<Seen>>, viewed: Viewed) -> impl IntoView {
    view! {
        <div class="photos">
            <For each=move || photos.get() key=|(id, it)| (*id, it.digest.or_empty(), it.caption.or_empty()) let:it>
                <Tile log it viewed/>
            </For>
        </div>
    }
}

#[component]
fn Tile(log: LogId, it: Seen, viewed: Viewed) -> impl IntoView {
    let (id, photo) = it;
    let source = use_photo(log, photo.digest.or_empty(), PhotoSize::Thumb);
    let caption = photo.caption.or_empty().0;
    view! { <PhotoTile src=Signal::derive(move || source.read().url()) caption=caption on_open=move |()| viewed.show(id)/> }
}

/// One photo, and the ways to the next.
#[component]
fn Viewer(log: LogId, photos: Memo<Vec<Seen>>, viewed: Viewed) -> impl IntoView {
    let at = move || photos.with(|all| all.iter().position(|(id, _)| Some(*id) == viewed.photo.get()));
    let go = move |by: isize| {
        let to = at().and_then(|at| at.checked_add_signed(by));
        let next = to.and_then(|to| photos.with_untracked(|all| all.get(to).map(|(id, _)| *id)));
        if next.is_some() {
            viewed.photo.set(next);
        }
    };
    let title = Signal::derive(move || match at() {
        Some(at) => format!("Photo {} of {}", at + 1, photos.read().len()),
        None => "Photo".to_owned(),
    });
    // Zoom and place stay while other photos come.
    let current =
        Memo::new(move |_| at().and_then(|at| photos.with(|all| all.get(at).map(|(_, it)| it.clone()))));
    let is_first = Signal::derive(move || at().is_none_or(|at| at == 0));
    let is_last = Signal::derive(move || at().is_none_or(|at| at + 1 >= photos.read().len()));
    view! {
        <Sheet title open=viewed.open>
            {move || current.get().map(|photo| view! { <Large log photo/> })}
            <div class="sheet-foot">
                <Button label="Previous" icon=Icon::Back disabled=is_first on_press=move |()| go(-1)/>
                <Button label="Next" icon=Icon::ChevronRight disabled=is_last on_press=move |()| go(1)/>
            </div>
        </Sheet>
    }
}

/// One photo at full resolution; as large as it is here until that one has come.
#[component]
fn Large(log: LogId, photo: Photo) -> impl IntoView {
    let digest = photo.digest.or_empty();
    let original = use_photo(log, digest, PhotoSize::Original);
    let screen = use_photo(log, digest, PhotoSize::Screen);
    let why = Memo::new(move |_| original.read().missing());
    let none = Memo::new(move |_| why.get().filter(|_| screen.read().missing().is_some()));
    let src = Signal::derive(move || {
        let original = original.read().url();
        if original.is_empty() { screen.read().url() } else { original }
    });
    let size = (photo.width.or_empty(), photo.height.or_empty());
    let caption = photo.caption.or_empty().0;
    let alt = if caption.is_empty() { "Photo without a caption".to_owned() } else { caption.clone() };
    let taken = photo.taken_at.or_empty().map(clock::moment);
    let pixels = (size.0 > 0).then(|| format!("{} × {}", size.0, size.1));
    view! {
        <figure class="viewer">
            {move || match none.get() {
                Some(why) => view! { <Banner><p role="status">{why}</p></Banner> }.into_any(),
                None => view! { <PhotoZoom src size caption=alt.clone()/> }.into_any(),
            }}
            <figcaption>
                <strong>{photo.moment.or_empty().word()}</strong>" "{caption}" "
                <span class="muted">{taken}" "{pixels}" "<span class="figures">{digest.short()}</span></span>
                <span class="small" role="status">
                    {move || if why.get().is_none() { " Full resolution." } else { " Smaller than it was taken: the original is being fetched, or not to be had just now." }}
                </span>
            </figcaption>
        </figure>
    }
}

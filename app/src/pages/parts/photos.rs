//! A strip of photos: what is being taken in, what is recorded, and one of them at full size.

use device::PhotoSize;
use leptos::ev::Event;
use leptos::prelude::*;
use leptos::task::spawn_local;
use shared_types::digest::Digest;
use shared_types::entity::Entity as _;
use shared_types::ids::{LogId, PhotoId};
use shared_types::job::{Moment, Photo};
use wasm_bindgen::JsCast as _;
use web_sys::{File, HtmlInputElement};

use crate::clock;
use crate::entry::Subject;
use crate::entry::form::Form;
use crate::entry::specs;
use crate::page;
use crate::store::{Capture, CaptureState, PhotoSource, Shot, Store, use_photo, use_store};
use crate::ui::{Banner, Button, ButtonKind, Glyph, Icon, PhotoTile, Sheet, Tone};
use crate::words;

/// A photo as a strip shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct Shown {
    /// Its place in the job.
    pub id: PhotoId,
    /// Its bytes.
    pub digest: Digest,
    /// What it shows.
    pub caption: String,
    /// Before, during or after.
    pub moment: Moment,
}

impl Shown {
    /// A photo of a job.
    #[must_use]
    pub fn of((id, photo): &(PhotoId, Photo)) -> Self {
        Self {
            id: *id,
            digest: photo.digest.or_empty(),
            caption: photo.caption.or_empty().0,
            moment: photo.moment.or_empty(),
        }
    }
}

/// Takes in the files that a camera button gave.
pub fn take_in(store: Store, shot: Shot, event: &Event) {
    store.take_in(shot, files_of(event));
}

/// The files that a camera button gave.
#[must_use]
pub fn files_of(event: &Event) -> Vec<File> {
    let input = event.target().and_then(|target| target.dyn_into::<HtmlInputElement>().ok());
    let list = input.and_then(|input| input.files());
    list.map(|list| (0..list.length()).filter_map(|at| list.get(at)).collect()).unwrap_or_default()
}

/// Photos, with shots on their way ahead of them.
#[component]
pub fn Strip(
    /// Of what the shots on their way must be to be shown here.
    shot: Shot,
    /// The recorded photos, in order.
    #[prop(into)]
    photos: Signal<Vec<(PhotoId, Photo)>>,
) -> impl IntoView {
    let store = use_store();
    let log = shot.log;
    let unsent = store.unsent_photos(log);
    let open = RwSignal::new(false);
    let viewed = RwSignal::new(None::<PhotoId>);
    let shown = Memo::new(move |_| photos.with(|photos| photos.iter().map(Shown::of).collect::<Vec<_>>()));
    view! {
        <div class="photos">
            <For each=move || shown.get() key=|it| (it.id, it.digest, it.caption.clone()) let:it>
                <Tile log it=it.clone() unsent=Signal::derive(move || unsent.read().contains_key(&it.digest)) on_open=move |id| {
                    viewed.set(Some(id));
                    open.set(true);
                }/>
            </For>
            <OnTheirWay shot/>
        </div>
        <Viewer log photos viewed open/>
    }
}

#[component]
fn Tile(
    log: LogId,
    it: Shown,
    unsent: Signal<bool>,
    #[prop(into)] on_open: Callback<PhotoId>,
) -> impl IntoView {
    let source = use_photo(log, it.digest, PhotoSize::Thumb);
    let (id, caption) = (it.id, it.caption);
    let src = Signal::derive(move || source.with(PhotoSource::url));
    view! { <PhotoTile src caption unsent on_open=move |()| on_open.run(id)/> }
}

/// Shots that are being saved, or could not be.
#[component]
pub fn OnTheirWay(
    /// Of what they are.
    shot: Shot,
) -> impl IntoView {
    let store = use_store();
    let captures = move || {
        let mine = |capture: &&Capture| capture.shot == shot;
        store.captures().with(|all| all.iter().filter(mine).cloned().collect::<Vec<_>>())
    };
    view! {
        <For each=captures key=|it| (it.id, it.state == CaptureState::Saving) let:it>
            <OnItsWay capture=it/>
        </For>
    }
}

#[component]
fn OnItsWay(capture: Capture) -> impl IntoView {
    let store = use_store();
    let id = capture.id;
    match capture.state {
        CaptureState::Saving => view! {
            <figure class="photo" data-saving="">
                <div class="pane">
                    {move || {
                        let src = capture.small.get();
                        if src.is_empty() {
                            view! { <Glyph icon=Icon::Image/> }.into_any()
                        } else {
                            view! { <img src=src alt="Photo being saved"/> }.into_any()
                        }
                    }}
                    <span class="where" role="status"><Glyph icon=Icon::Clock/>"being saved"</span>
                </div>
            </figure>
        }
        .into_any(),
        CaptureState::Failed(why) => view! {
            <div class="span-all">
                <Banner tone=Tone::Bad>
                    <p>"Not saved: " {why}</p>
                    <Button label="Dismiss" on_press=move |()| store.drop_capture(id)/>
                </Banner>
            </div>
        }
        .into_any(),
    }
}

/// One photo at full size, with its caption, and the ways to the next.
#[component]
fn Viewer(
    log: LogId,
    photos: Signal<Vec<(PhotoId, Photo)>>,
    viewed: RwSignal<Option<PhotoId>>,
    open: RwSignal<bool>,
) -> impl IntoView {
    let at = move || photos.with(|photos| photos.iter().position(|(id, _)| Some(*id) == viewed.get()));
    let go = move |by: isize| {
        let to = at().and_then(|at| at.checked_add_signed(by));
        let next = to.and_then(|to| photos.with_untracked(|photos| photos.get(to).map(|(id, _)| *id)));
        if next.is_some() {
            viewed.set(next);
        }
    };
    let title = Signal::derive(move || {
        let (number, all) = (at().map_or(0, |at| at + 1), photos.with(Vec::len));
        format!("Photo {number} of {all}")
    });
    let current = Memo::new(move |_| {
        photos.with(|photos| photos.iter().find(|(id, _)| Some(*id) == viewed.get()).cloned())
    });
    view! {
        <Sheet title open>
            {move || current.get().map(|(id, photo)| view! { <Large log id photo open/> })}
            <div class="sheet-foot">
                <Button label="Previous" icon=Icon::Back disabled=Signal::derive(move || at().is_none_or(|at| at == 0)) on_press=move |()| go(-1)/>
                <Button label="Next" icon=Icon::ChevronRight disabled=Signal::derive(move || at().is_none_or(|at| at + 1 >= photos.with(Vec::len))) on_press=move |()| go(1)/>
            </div>
        </Sheet>
    }
}

/// A picture, or why it can't be seen.
#[component]
pub fn Picture(source: Signal<PhotoSource>, alt: String) -> impl IntoView {
    move || match source.read().missing() {
        None => view! { <img src=source.read().url() alt=alt.clone()/> }.into_any(),
        Some(why) => view! { <Banner><p role="status">{why}</p></Banner> }.into_any(),
    }
}

#[component]
fn Large(log: LogId, id: PhotoId, photo: Photo, open: RwSignal<bool>) -> impl IntoView {
    let store = use_store();
    let digest = photo.digest.or_empty();
    let source = use_photo(log, digest, PhotoSize::Screen);
    let caption = photo.caption.or_empty().0;
    let alt = if caption.is_empty() { "Photo without a caption".to_owned() } else { caption };
    let step = store
        .job(log.shop(), log.job().unwrap_or_default())
        .with_untracked(|state| state.here().and_then(|state| state.photos.get(&id).and_then(|it| it.step)));
    let subject = Subject::altered("photo.v1", id, photo.content()).on(step);
    let retirement = subject.retirement();
    let form = Form::new(log, specs::PHOTO, subject, &format!("photo/{id}"));
    let take_out = move |()| {
        if let Some(body) = retirement.clone() {
            store.dispatch_then(log, vec![body], "Photo taken out", move || open.set(false));
        }
    };
    view! {
        <div class="viewer">
            <Picture source alt/>
            {move || matches!(*source.read(), PhotoSource::NotShowable).then(|| view! {
                <Button label="Save the original as a file" icon=Icon::Download on_press=move |()| save_original(store, log, digest)/>
            })}
            <Whereabouts log digest photo/>
            <form class="stack stack--tight" novalidate on:submit=move |event| {
                event.prevent_default();
                form.save(log, "Photo's caption saved".to_owned(), || ());
            }>
                {form.fields(Signal::default())}
                <div class="cluster">
                    <Button label="Save" kind=ButtonKind::Primary submit=true on_press=|()| ()/>
                    <Button label="Take out" kind=ButtonKind::Danger icon=Icon::Archive on_press=take_out/>
                </div>
            </form>
        </div>
    }
}

/// For another program to open: this one can't show it.
fn save_original(store: Store, log: LogId, digest: Digest) {
    spawn_local(async move {
        match store.device().photo_bytes(log, digest, PhotoSize::Original).await {
            Ok(Some((bytes, media_type))) => {
                let ending = media_type.strip_prefix("image/").unwrap_or("bin");
                page::save_as(&format!("photo-{}.{ending}", digest.short()), vec![bytes]);
            }
            Ok(None) => store.warn("The original is not on this device, nor at the server yet."),
            Err(error) => store.warn(format!("Not saved: {error}")),
        }
    });
}

/// When it was taken, by whom, how big it is and where it is.
#[component]
fn Whereabouts(log: LogId, digest: Digest, photo: Photo) -> impl IntoView {
    let store = use_store();
    let unsent = store.unsent_photos(log);
    let taken = photo.taken_at.or_empty().map(clock::moment);
    let by = photo.created().map(|mark| store.name_of(log.shop(), mark.author));
    let facts = [
        taken.map(|taken| format!("taken {taken}")),
        by.map(|by| format!("by {by}")),
        Some(words::bytes(photo.bytes.or_empty())),
        (photo.width.or_empty() > 0)
            .then(|| format!("{} × {}", photo.width.or_empty(), photo.height.or_empty())),
    ];
    let facts = facts.into_iter().flatten().collect::<Vec<_>>().join(" · ");
    view! {
        <p class="small muted">{facts}</p>
        {move || unsent.read().get(&digest).map(|upload| {
            let (sent, total) = (upload.sent, upload.total);
            match upload.refused.clone() {
                Some(why) => view! { <Banner tone=Tone::Bad><p>"The server would not take this photo: " {why}</p></Banner> }.into_any(),
                None => view! {
                    <div class="stack stack--tight">
                        <p class="small"><strong>"Only on this device"</strong> ": " {words::bytes(sent)} " of " {words::bytes(total)} " sent"</p>
                        <progress max=total.to_string() value=sent.to_string() aria-label="Sent"></progress>
                    </div>
                }.into_any(),
            }
        })}
    }
}

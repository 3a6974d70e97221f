//! Which photos the record shows: all of the job's, each with a tick.

use device::PhotoSize;
use leptos::prelude::*;
use shared_types::body::{Known, On};
use shared_types::coverage::on;
use shared_types::entity::Entity as _;
use shared_types::ids::{LogId, PhotoId, StepId};
use shared_types::job::JobState;
use shared_types::record_photo::RecordPhotoPatch;

use crate::pages::parts::photos::Shown;
use crate::pages::parts::{JobSignal, of_job};
use crate::store::{PhotoSource, Store, use_photo, use_store};
use crate::ui::{Button, ButtonKind, Icon, Sheet};
use crate::words;

/// The photos of a step, or of the discrepancy.
#[derive(Clone, Debug, PartialEq)]
struct Group {
    title: String,
    photos: Vec<Shown>,
}

/// The groups in the record's order, those without photos left out.
fn groups(state: &JobState) -> Vec<Group> {
    let of = |step: Option<StepId>, title: String| {
        let photos: Vec<_> =
            on(&state.photos, step).map(|(id, photo)| Shown::of(&(*id, photo.clone()))).collect();
        (!photos.is_empty()).then_some(Group { title, photos })
    };
    let steps = state.steps_in_order().into_iter().enumerate();
    let steps = steps.map(|(at, (id, step))| of(Some(id), format!("{}. {}", at + 1, step.title.or_empty())));
    std::iter::once(of(None, "Discrepancy, as found".to_owned())).chain(steps).flatten().collect()
}

fn left_out(state: &JobState) -> Vec<PhotoId> {
    let in_use = state.photos.iter().filter(|(_, photo)| !photo.it.is_retired());
    in_use.map(|(id, _)| *id).filter(|id| !state.is_shown(*id)).collect()
}

/// The choice as it stands, and how it is changed.
#[derive(Clone, Copy)]
struct Choosing {
    store: Store,
    log: LogId,
    left_out: Memo<Vec<PhotoId>>,
}

impl Choosing {
    fn is_shown(self, photo: PhotoId) -> bool {
        !self.left_out.read().contains(&photo)
    }

    fn choose(self, photos: &[PhotoId], shown: bool) {
        let set = RecordPhotoPatch { left_out: Some(!shown), ..RecordPhotoPatch::default() };
        let bodies = photos.iter().map(|id| Known::RecordPhoto(On { id: *id, set: set.clone() })).collect();
        let outcome = if shown { "shown in the record" } else { "left out of the record" };
        let done = format!("{} {outcome}", words::count(photos.len(), "photo", "photos"));
        self.store.dispatch(self.log, bodies, done);
    }
}

/// How many of the job's photos the record shows, and a sheet to choose them.
#[component]
pub fn ChoosePhotos(log: LogId, state: JobSignal) -> impl IntoView {
    let store = use_store();
    let open = RwSignal::new(false);
    let groups = of_job(state, groups);
    let choosing = Choosing { store, log, left_out: of_job(state, left_out) };
    let said = move || {
        let all: usize = groups.with(|all| all.iter().map(|it| it.photos.len()).sum());
        format!("Photos in the record: {} of {all}", all - choosing.left_out.read().len())
    };
    let may = move || !groups.read().is_empty() && store.may(log, Known::RecordPhoto(On::default()));
    view! {
        {move || may().then(|| view! {
            <Button label="Choose photos" icon=Icon::Image kind=ButtonKind::Quiet on_press=move |()| open.set(true)/>
        })}
        <Sheet title=Signal::derive(said) open>
            <p class="small muted">"What is left out stays in the job and in the evidence bundle, and signatures cover it as before."</p>
            {move || groups.get().into_iter().map(|group| view! { <Choices group choosing/> }).collect_view()}
        </Sheet>
    }
}

#[component]
fn Choices(group: Group, choosing: Choosing) -> impl IntoView {
    let ids: Vec<PhotoId> = group.photos.iter().map(|it| it.id).collect();
    let none = {
        let ids = ids.clone();
        Memo::new(move |_| !ids.iter().any(|id| choosing.is_shown(*id)))
    };
    let all_or_none = move |_| {
        let show = none.get_untracked();
        let differ = |id: &PhotoId| untrack(|| choosing.is_shown(*id)) != show;
        choosing.choose(&ids.iter().copied().filter(differ).collect::<Vec<_>>(), show);
    };
    let about = group.title.clone();
    view! {
        <fieldset class="field">
            <legend>{group.title}</legend>
            <div class="photos">
                {group.photos.into_iter().map(|photo| view! { <Choice photo choosing/> }).collect_view()}
            </div>
            <button type="button" class="btn btn--quiet" on:click=all_or_none>
                {move || if none.get() { "Show all" } else { "Leave all out" }}
                <span class="visually-hidden">" of "{about}</span>
            </button>
        </fieldset>
    }
}

#[component]
fn Choice(photo: Shown, choosing: Choosing) -> impl IntoView {
    let source = use_photo(choosing.log, photo.digest, PhotoSize::Thumb);
    let id = photo.id;
    let is_shown = move || choosing.is_shown(id);
    let name = if photo.caption.is_empty() { "Photo without a caption".to_owned() } else { photo.caption };
    view! {
        <label class="photo photo--choice" data-out=move || (!is_shown()).then_some("")>
            <span class="pane"><img src=move || source.with(PhotoSource::url) alt="" loading="lazy"/></span>
            <span class="tick">
                <input type="checkbox" prop:checked=is_shown on:change=move |event| choosing.choose(&[id], event_target_checked(&event))/>
                <span class="small">{photo.moment.word()}": "{name}</span>
            </span>
        </label>
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use shared_types::body::{Body, OnStep};
    use shared_types::change::{Change, Entry};
    use shared_types::ids::{Author, ChangeId, DeviceId, JobId, ShopId};
    use shared_types::job::{PhotoPatch, StepPatch};
    use shared_types::stamp::Stamp;
    use shared_types::time::UtcMillis;
    use uuid::Uuid;

    fn apply(state: &mut JobState, number: u128, body: impl Into<Body>) {
        let change = Change {
            id: ChangeId(Uuid::from_u128(number)),
            log: LogId::Job(ShopId::default(), JobId::default()),
            author: Author::Server,
            device: DeviceId::default(),
            stamp: Stamp(UtcMillis(1_000), 0),
            previous: None,
            replaces: Vec::new(),
            body: body.into(),
        };
        state.apply(&Entry { change, received: None });
    }

    #[test]
    fn photos_stand_in_the_records_order_and_a_choice_leaves_one_out() {
        let mut state = JobState::default();
        let step = StepId(Uuid::from_u128(5));
        let photo = |id| OnStep {
            id: PhotoId(Uuid::from_u128(id)),
            step: (id != 1).then_some(step),
            set: PhotoPatch::default(),
        };
        apply(
            &mut state,
            1,
            On { id: step, set: StepPatch { title: Some("Drill".into()), ..StepPatch::default() } },
        );
        for id in 1..=3 {
            apply(&mut state, 10 + id, photo(id));
        }
        let told: Vec<_> = groups(&state).into_iter().map(|it| (it.title, it.photos.len())).collect();
        assert_eq!(told, [("Discrepancy, as found".to_owned(), 1), ("1. Drill".to_owned(), 2)]);
        assert_eq!(state.shown_photos(Some(step)).1, 0);

        let choice = RecordPhotoPatch { left_out: Some(true), ..RecordPhotoPatch::default() };
        let before = state.job_coverage();
        apply(&mut state, 20, On { id: PhotoId(Uuid::from_u128(2)), set: choice });
        assert_eq!(left_out(&state), [PhotoId(Uuid::from_u128(2))]);
        let (shown, out) = state.shown_photos(Some(step));
        assert_eq!((shown.len(), out), (1, 1));
        assert_eq!(state.shown_photo(PhotoId(Uuid::from_u128(2))), None);
        assert_eq!(state.job_coverage(), before, "what is signed doesn't rest on it");
    }
}

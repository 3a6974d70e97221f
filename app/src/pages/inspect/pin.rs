//! What a finding points to, while it is written: the step, a reading, a hole, or a place on a photo.

use device::PhotoSize;
use leptos::ev::{KeyboardEvent, MouseEvent};
use leptos::html::Div;
use leptos::prelude::*;
use shared_types::coverage::on;
use shared_types::digest::Digest;
use shared_types::ids::{HoleId, LogId, PhotoId, ReadingId, StepId};
use shared_types::job::{JobState, Photo};
use shared_types::review::{PinPatch, Spot};

use crate::pages::parts::photos::Picture;
use crate::pages::parts::pinned::SpotMark;
use crate::pages::parts::{JobSignal, of_job};
use crate::store::use_photo;
use crate::ui::SelectField;

/// The middle of a photo.
const MIDDLE: Spot = Spot { x: Spot::WHOLE / 2, y: Spot::WHOLE / 2 };
/// How far an arrow key moves the spot.
const SHIFT: u32 = Spot::WHOLE / 50;
const WHOLE_STEP: &str = "step";

/// A finding's pin, as it is chosen.
#[derive(Clone, Copy, PartialEq)]
pub struct Pin {
    /// `step`, or the kind and id of what is pointed to.
    target: RwSignal<String>,
    /// The place that was chosen, and on which photo: another photo has none yet.
    spot: RwSignal<Option<(String, Spot)>>,
}

impl Default for Pin {
    fn default() -> Self {
        Self::of(WHOLE_STEP.to_owned(), None)
    }
}

impl Pin {
    /// What a draft kept.
    #[must_use]
    pub fn of(target: String, spot: Option<(String, Spot)>) -> Self {
        Self { target: RwSignal::new(target), spot: RwSignal::new(spot) }
    }

    /// What a draft keeps: the target, and the place with its photo.
    #[must_use]
    pub fn kept(self) -> (String, Option<(String, Spot)>) {
        (self.target.get(), self.spot.get())
    }

    /// The hole that is pointed to.
    #[must_use]
    pub fn hole(self) -> Option<HoleId> {
        self.target.read().strip_prefix("hole/")?.parse().ok()
    }

    /// What the pin sets; nothing for the whole step.
    #[must_use]
    pub fn patch(self) -> Option<PinPatch> {
        untrack(|| patch(&self.target.read(), self.spot()))
    }

    /// The place on the photo that is pointed to.
    fn spot(self) -> Option<Spot> {
        let chosen = self.spot.read();
        chosen.as_ref().filter(|(target, _)| *target == *self.target.read()).map(|(_, spot)| *spot)
    }

    fn choose(self, spot: Spot) {
        self.spot.set(Some((self.target.get_untracked(), spot)));
    }
}

fn patch(target: &str, spot: Option<Spot>) -> Option<PinPatch> {
    let (kind, id) = target.split_once('/')?;
    let none = PinPatch::default();
    Some(match kind {
        "photo" => PinPatch { photo: Some(Some(id.parse().ok()?)), spot: Some(spot), ..none },
        "hole" => PinPatch { hole: Some(Some(id.parse().ok()?)), ..none },
        _ => PinPatch { reading: Some(Some(id.parse().ok()?)), ..none },
    })
}

/// All that a finding on a step can point to: value and words.
fn targets(state: &JobState, step: StepId) -> Vec<(String, String)> {
    let photo = |(id, it): (&PhotoId, &Photo)| {
        let (moment, caption) = (it.moment.or_empty().word(), it.caption.or_empty());
        let taken = it.taken_at.or_empty().map(crate::clock::moment).unwrap_or_default();
        let words = if caption.is_empty() { taken } else { caption.0 };
        (format!("photo/{id}"), format!("Photo {moment}: {words}"))
    };
    let reading = |id: ReadingId, label: String| (format!("reading/{id}"), format!("Reading: {label}"));
    let hole =
        |id: HoleId| state.hole_words(id).map(|words| (format!("hole/{id}"), crate::words::capital(&words)));
    let mut all = vec![(WHOLE_STEP.to_owned(), "The whole step".to_owned())];
    all.extend(on(&state.photos, Some(step)).map(photo));
    all.extend(on(&state.readings, Some(step)).map(|(id, it)| reading(*id, it.label.or_empty().0)));
    let joints = state.joints_in_use().flat_map(|(joint, _)| state.holes_of(joint));
    all.extend(joints.filter_map(|(id, _)| hole(id)));
    all
}

/// A photo that a finding points to, while its place is chosen.
#[derive(Clone, Debug, PartialEq)]
struct Chosen {
    digest: Digest,
    caption: String,
    size: (u32, u32),
}

/// Chooses what a finding points to.
#[component]
pub fn ChoosePin(log: LogId, step: StepId, state: JobSignal, number: usize, pin: Pin) -> impl IntoView {
    let options = of_job(state, move |state| targets(state, step));
    let photo = of_job(state, move |state| {
        let id: PhotoId = pin.target.read().strip_prefix("photo/")?.parse().ok()?;
        let photo = &state.photos.get(&id)?.it;
        let size = (photo.width.or_empty(), photo.height.or_empty());
        Some(Chosen { digest: photo.digest.or_empty(), caption: photo.caption.or_empty().0, size })
    });
    view! {
        <SelectField label=format!("Finding {number} points to") value=pin.target options/>
        {move || photo.get().map(|Chosen { digest, caption, size }| view! { <ChooseSpot log digest caption size pin/> })}
    }
}

/// A photo on which a tap, or the arrow keys, say where.
#[component]
fn ChooseSpot(log: LogId, digest: Digest, caption: String, size: (u32, u32), pin: Pin) -> impl IntoView {
    let source = use_photo(log, digest, PhotoSize::Screen);
    let pane = NodeRef::<Div>::new();
    let tap = move |event: MouseEvent| {
        let Some(frame) = pane.get_untracked().map(|pane| pane.get_bounding_client_rect()) else { return };
        let share = |at: i32, from: f64, side: f64| part(f64::from(at) - from, side);
        pin.choose(Spot {
            x: share(event.client_x(), frame.left(), frame.width()),
            y: share(event.client_y(), frame.top(), frame.height()),
        });
    };
    let here = Memo::new(move |_| source.read().missing().is_none());
    view! {
        <p class="small muted">
            {move || if here.get() { "Tap the place on the photo, or move a ring there with the arrow keys." } else { "The place can be chosen once the photo is here." }}
        </p>
        <div
            class="pinned pinned--choose"
            node_ref=pane
            role="group"
            tabindex="0"
            aria-label="Where on the photo. Arrow keys move the ring."
            on:click=move |event| if here.get_untracked() { tap(event) }
            on:keydown=move |event| if here.get_untracked() { key(pin, &event) }
        >
            <Picture source alt=caption/>
            {move || pin.spot().filter(|_| here.get()).map(|spot| view! { <SpotMark spot size/> })}
        </div>
    }
}

/// A place along a side, in ten-thousandths of it.
fn part(at: f64, side: f64) -> u32 {
    let whole = f64::from(Spot::WHOLE);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the photo")]
    let part = (at / side.max(1.0) * whole).round().clamp(0.0, whole) as u32;
    part
}

fn key(pin: Pin, event: &KeyboardEvent) {
    let Spot { x, y } = untrack(|| pin.spot()).unwrap_or(MIDDLE);
    let more = |at: u32| (at + SHIFT).min(Spot::WHOLE);
    let then = match event.key().as_str() {
        "ArrowLeft" => Spot { x: x.saturating_sub(SHIFT), y },
        "ArrowRight" => Spot { x: more(x), y },
        "ArrowUp" => Spot { x, y: y.saturating_sub(SHIFT) },
        "ArrowDown" => Spot { x, y: more(y) },
        _ => return,
    };
    pin.choose(then);
    event.prevent_default();
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    #[test]
    fn a_target_becomes_a_pin() {
        let id = Uuid::from_u128(7);
        assert_eq!(patch(WHOLE_STEP, Some(MIDDLE)), None);
        let hole = patch(&format!("hole/{id}"), None).unwrap();
        assert_eq!((hole.hole, hole.photo, hole.spot), (Some(Some(HoleId(id))), None, None));
        let photo = patch(&format!("photo/{id}"), Some(MIDDLE)).unwrap();
        assert_eq!((photo.photo, photo.spot), (Some(Some(PhotoId(id))), Some(Some(MIDDLE))));
        assert_eq!(patch("reading/nothing", None), None);
    }

    #[test]
    fn a_tap_beside_the_photo_is_on_its_edge() {
        assert_eq!((part(-3.0, 300.0), part(150.0, 300.0), part(999.0, 300.0)), (0, 5_000, 10_000));
    }
}

//! Where a finding points to: in words, and on its photo.

use device::PhotoSize;
use leptos::prelude::*;
use shared_types::digest::Digest;
use shared_types::ids::{FindingId, LogId};
use shared_types::job::JobState;
use shared_types::review::Spot;

use super::photos::Picture;
use crate::store::use_photo;

/// A place on a photo, ready to be shown.
#[derive(Clone, Debug, PartialEq)]
pub struct OnPhoto {
    /// The photo's bytes.
    pub digest: Digest,
    /// What it shows.
    pub caption: String,
    /// Width and height, upright.
    pub size: (u32, u32),
    /// Where on it.
    pub spot: Option<Spot>,
}

/// Where a finding points to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pointed {
    /// In words; nothing for the whole step.
    pub words: Option<String>,
    /// On a photo.
    pub photo: Option<OnPhoto>,
}

/// Where a finding of a job points to.
#[must_use]
pub fn pointed(state: &JobState, finding: FindingId) -> Pointed {
    let photo = state.pin_of(finding).and_then(|pin| {
        let photo = &state.photos.get(&pin.photo.or_empty()?)?.it;
        Some(OnPhoto {
            digest: photo.digest.or_empty(),
            caption: photo.caption.or_empty().0,
            size: (photo.width.or_empty(), photo.height.or_empty()),
            spot: pin.spot.or_empty(),
        })
    });
    Pointed { words: state.pin_words(finding), photo }
}

/// What a finding points to.
#[component]
pub fn Pinned(log: LogId, at: Pointed) -> impl IntoView {
    let words = at.words.map(|words| view! { <p class="pin-words">"At " {words}</p> });
    let photo = at.photo.map(|photo| {
        let source = use_photo(log, photo.digest, PhotoSize::Screen);
        let size = photo.size;
        let spot = move || photo.spot.filter(|_| source.read().missing().is_none());
        view! {
            <figure class="pinned">
                <Picture source alt=photo.caption/>
                {move || spot().map(|spot| view! { <SpotMark spot size/> })}
            </figure>
        }
    });
    view! { {words}{photo} }
}

/// A ring around a spot, over a photo that fills its width.
#[component]
pub fn SpotMark(spot: Spot, size: (u32, u32)) -> impl IntoView {
    // In thousandths of the width; the height follows the photo's, so that the ring is round.
    let high = f64::from(size.1.max(1)) / f64::from(size.0.max(1)) * 1000.0;
    let part = |share: u32, whole: f64| f64::from(share) / f64::from(Spot::WHOLE) * whole;
    let (x, y) = (part(spot.x, 1000.0), part(spot.y, high));
    view! {
        <svg class="spot" viewBox=format!("0 0 1000 {high:.0}") aria-hidden="true">
            <circle class="spot-edge" cx=x cy=y r="42"/>
            <circle class="spot-ring" cx=x cy=y r="42"/>
            <circle class="spot-dot" cx=x cy=y r="7"/>
        </svg>
    }
}

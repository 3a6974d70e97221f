//! Before against after under one slider: which photos lie there, and the choice of others.

use device::PhotoSize;
use leptos::prelude::*;
use shared_types::coverage::on;
use shared_types::digest::Digest;
use shared_types::entity::Entity as _;
use shared_types::ids::{LogId, PhotoId, StepId};
use shared_types::job::{JobState, Moment, Photo};

use super::photos::Seen;
use crate::clock;
use crate::pages::parts::{JobSignal, of_job};
use crate::store::use_photo;
use crate::ui::{PhotoCompare, SelectField, use_compared};

/// The photos to begin with: the latest one after; and before, the one that a finding pointed to which it answers,
/// or else the first.
fn first_pair(state: &JobState, step: StepId) -> Option<(PhotoId, PhotoId)> {
    let of =
        |moment: Moment| on(&state.photos, Some(step)).filter(move |(_, it)| it.moment.or_empty() == moment);
    let (after, it) = of(Moment::After).max_by_key(|(_, it)| it.created().copied())?;
    let answered = it.answers.or_empty().and_then(|finding| state.pin_of(finding)?.photo.or_empty());
    let pointed_to = of(Moment::Before).map(|(id, _)| *id).find(|id| Some(*id) == answered);
    let before = pointed_to.or_else(|| of(Moment::Before).map(|(id, _)| *id).next())?;
    Some((before, *after))
}

/// What a photo is called among those to choose from.
fn option((at, (id, it)): (usize, &Seen)) -> (String, String) {
    let caption = it.caption.or_empty().0;
    let taken = it.taken_at.or_empty().map(clock::moment);
    let words = if caption.is_empty() { taken.unwrap_or_default() } else { caption };
    (id.to_string(), format!("{}: {words}", at + 1).trim_end_matches(": ").to_owned())
}

/// One side of the comparison.
#[derive(Clone, Copy)]
struct Side {
    photos: Memo<Vec<Seen>>,
    value: RwSignal<String>,
}

impl Side {
    /// The photos of a moment; `first` is chosen until somebody chooses another one.
    fn new(all: Memo<Vec<Seen>>, moment: Moment, first: Memo<String>) -> Self {
        let photos = Memo::new(move |_| {
            let here = |(_, it): &&Seen| it.moment.or_empty() == moment;
            all.with(|all| all.iter().filter(here).cloned().collect::<Vec<_>>())
        });
        let value = RwSignal::new(first.get_untracked());
        Effect::new(move |earlier: Option<String>| {
            let first = first.get();
            if earlier.is_none_or(|earlier| *value.read_untracked() == earlier) {
                value.set(first.clone());
            }
            first
        });
        Self { photos, value }
    }

    fn photo(self) -> Option<Photo> {
        let value = self.value.read();
        self.photos.with(|all| all.iter().find(|(id, _)| id.to_string() == *value).map(|(_, it)| it.clone()))
    }

    /// The way to another photo, where there is one.
    fn choice(self, label: &'static str) -> impl IntoView {
        let options = Memo::new(move |_| {
            self.photos.with(|all| all.iter().enumerate().map(option).collect::<Vec<_>>())
        });
        let several = Memo::new(move |_| options.read().len() > 1);
        move || several.get().then(|| view! { <SelectField label value=self.value options/> })
    }
}

/// What lies under the slider.
#[derive(Clone, Debug, PartialEq)]
struct Pair {
    before: Digest,
    after: Digest,
    caption: String,
}

/// Before against after; nothing while either is missing.
#[component]
pub fn Comparison(log: LogId, step: StepId, state: JobSignal, all: Memo<Vec<Seen>>) -> impl IntoView {
    let first = of_job(state, move |state| first_pair(state, step));
    let id = move |of: fn((PhotoId, PhotoId)) -> PhotoId| {
        Memo::new(move |_| first.get().map(|pair| of(pair).to_string()).unwrap_or_default())
    };
    let before = Side::new(all, Moment::Before, id(|pair| pair.0));
    let after = Side::new(all, Moment::After, id(|pair| pair.1));
    let pair = Memo::new(move |_| {
        let (before, after) = (before.photo()?, after.photo()?);
        let caption = after.caption.or_empty().0;
        Some(Pair { before: before.digest.or_empty(), after: after.digest.or_empty(), caption })
    });
    let is_there = Memo::new(move |_| pair.read().is_some());
    let window = use_compared();
    move || {
        is_there.get().then(|| {
            let compared = move || {
                pair.get().map(|Pair { before, after, caption }| {
                    let source = |digest: Digest| use_photo(log, digest, PhotoSize::Screen);
                    let (one, two) = (source(before), source(after));
                    let missing = Memo::new(move |_| one.read().missing().or(two.read().missing()));
                    move || match missing.get() {
                        Some(why) => view! { <p class="compare compare--missing" role="status">{why}</p> }.into_any(),
                        None => view! {
                            <PhotoCompare
                                before=Signal::derive(move || one.read().url())
                                after=Signal::derive(move || two.read().url())
                                caption=caption.clone()
                                window
                            />
                        }
                        .into_any(),
                    }
                })
            };
            view! {
                {compared}
                <div class="fields fields--two">{before.choice("Compare before")}{after.choice("Compare after")}</div>
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::after;
    use shared_types::body::{Known, OnStep};
    use shared_types::ids::FindingId;
    use shared_types::job::{FindingPatch, PhotoPatch};
    use shared_types::review::PinPatch;
    use uuid::Uuid;

    fn photo(id: u128, step: Option<StepId>, moment: Moment, answers: Option<FindingId>) -> Known {
        let set = PhotoPatch { moment: Some(moment), answers: Some(answers), ..PhotoPatch::default() };
        Known::Photo(OnStep { id: PhotoId(Uuid::from_u128(id)), step, set })
    }

    #[test]
    fn the_latest_photo_after_lies_against_the_one_before_that_it_answers() {
        let (step, finding) = (Some(StepId(Uuid::from_u128(1))), FindingId(Uuid::from_u128(2)));
        let id = |id| PhotoId(Uuid::from_u128(id));
        let pair = |state: &JobState| first_pair(state, step.unwrap());
        let state = after(&JobState::default(), &[photo(10, step, Moment::Before, None)]);
        assert_eq!(pair(&state), None, "nothing to compare with");
        let state =
            after(&state, &[photo(11, step, Moment::Before, None), photo(20, step, Moment::After, None)]);
        assert_eq!(pair(&state), Some((id(10), id(20))));
        let state = after(&state, &[photo(21, step, Moment::After, None)]);
        assert_eq!(pair(&state), Some((id(10), id(21))), "the rejected one is not compared any more");

        let told = FindingPatch { text: Some("Still there.".into()), ..FindingPatch::default() };
        let pin = PinPatch { photo: Some(Some(id(11))), ..PinPatch::default() };
        let answered = [
            Known::Finding(OnStep { id: finding, step, set: told }),
            Known::Pin(OnStep { id: finding, step, set: pin }),
            photo(22, step, Moment::After, Some(finding)),
        ];
        assert_eq!(pair(&after(&state, &answered)), Some((id(11), id(22))));
    }
}

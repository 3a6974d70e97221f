//! Before, during and after: photos, readings and notes of each.

use leptos::prelude::*;
use leptos_router::NavigateOptions;
use leptos_router::hooks::{use_navigate, use_query_map};
use shared_types::coverage::on;
use shared_types::ids::StepId;
use shared_types::job::{JobState, Moment};
use shared_types::status::StepStatus;

use super::Place;
use super::notes::Notes;
use super::readings::Readings;
use crate::pages::parts::items;
use crate::pages::parts::photos::Strip;
use crate::routes::Route;
use crate::store::Shot;
use crate::ui::{EmptyState, Icon};

/// The moment that is shown. It is in the address, so that a tab that the camera
/// killed comes back to it; at first it is where the work stands.
pub fn use_moment(place: Place) -> Memo<Moment> {
    let query = use_query_map();
    let at_first = place
        .state
        .with_untracked(|state| state.here().map_or(Moment::Before, |state| at_first(state, place.step)));
    let asked = move || {
        let asked = query.read().get("moment");
        asked.and_then(|asked| Moment::ALL.into_iter().find(|moment| moment.word() == asked))
    };
    let navigate = use_navigate();
    Effect::new(move |_| {
        if asked().is_none() {
            let stay = NavigateOptions { replace: true, scroll: false, ..NavigateOptions::default() };
            navigate(&address(place, at_first), stay);
        }
    });
    Memo::new(move |_| asked().unwrap_or(at_first))
}

fn address(place: Place, moment: Moment) -> String {
    format!("{}?moment={}", Route::Step(place.shop, place.job, place.step), moment.word())
}

/// Where the work stands; but not an empty moment while there is one with photos to look at.
fn at_first(state: &JobState, step: StepId) -> Moment {
    let photos: Vec<_> = on(&state.photos, Some(step)).map(|(_, photo)| photo.moment.or_empty()).collect();
    let status = state.step_status(step);
    let now = moment_of(&status);
    let looked_at = matches!(status, StepStatus::Offered { .. } | StepStatus::Accepted { .. });
    let last = photos.iter().max().copied();
    last.filter(|_| looked_at && !photos.contains(&now)).unwrap_or(now)
}

const fn moment_of(status: &StepStatus) -> Moment {
    match status {
        StepStatus::Planned | StepStatus::Skipped => Moment::Before,
        StepStatus::InWork => Moment::During,
        StepStatus::Finished
        | StepStatus::Offered { .. }
        | StepStatus::Accepted { .. }
        | StepStatus::Returned { .. } => Moment::After,
    }
}

/// The moments as tabs, and what is recorded at the one that is shown.
#[component]
pub fn Moments(place: Place, moment: Memo<Moment>) -> impl IntoView {
    let step = Some(place.step);
    let photos = items(place.state, step, |state: &JobState| &state.photos);
    let count = move |of: Moment| {
        photos.with(|all| all.iter().filter(|(_, photo)| photo.moment.or_empty() == of).count())
    };
    let tabs = Moment::ALL.map(|of| {
        let href = address(place, of);
        view! {
            <a href=href prop:replace=true aria-current=move || (moment.get() == of).then_some("true")>
                {of.word()}
                {move || (count(of) > 0).then(|| view! { <span class="figures small">{count(of)}<span class="visually-hidden">" photos"</span></span> })}
            </a>
        }
    });
    view! {
        <nav class="tabs" aria-label="Moment">{tabs.into_iter().collect_view()}</nav>
        {move || {
            let of = moment.get();
            let shot = Shot { log: place.log, step, moment: of, answers: None, attached_to: None };
            let shown = Memo::new(move |_| {
                let mut shown = photos.get();
                shown.retain(|(_, photo)| photo.moment.or_empty() == of);
                shown
            });
            view! {
                <h2 class="visually-hidden">{of.word()}</h2>
                {move || shown.read().is_empty().then(|| view! { <NoPhotos of/> })}
                <Strip shot photos=shown/>
                <Readings place moment=of/>
                <Notes place moment=of/>
            }
        }}
    }
}

#[component]
fn NoPhotos(of: Moment) -> impl IntoView {
    let (title, text) = match of {
        Moment::Before => {
            ("As it was", "Photograph it before you touch it: the whole, then close, with a scale.")
        }
        Moment::During => (
            "While it goes on",
            "Photograph what the next stage will hide: faying faces, plies, squeeze-out.",
        ),
        Moment::After => ("As it is now", "From the same places as before, so that the two can be compared."),
    };
    view! { <EmptyState icon=Icon::Camera title=title><p>{text}</p></EmptyState> }
}

//! The holes one below the other: what the drawing shows, in words, for everybody.

use std::collections::BTreeMap;

use leptos::prelude::*;
use shared_types::ids::HoleId;
use shared_types::joint::{Action, Hole};

use super::Place;
use crate::joints::judged::{AllJudged, Badges, Judged};
use crate::joints::mark::{MarkBadge, of_found, of_result};
use crate::pages::parts::of_job;
use crate::record::joint::{row_of, sizes};
use crate::ui::{EmptyState, Glyph, Icon};
use crate::words;

/// A hole as the list shows it.
#[derive(Clone, Debug, PartialEq)]
struct Row {
    id: HoleId,
    hole: Hole,
    judged: Judged,
    photos: usize,
}

/// The holes by their numbers.
#[component]
pub fn Holes(place: Place, judged: Memo<AllJudged>, on_hole: Callback<HoleId>) -> impl IntoView {
    let photos = of_job(place.state, move |state| {
        let count = |id: HoleId| (id, state.photos_of(id).count());
        state.holes_of(place.joint).into_iter().map(|(id, _)| count(id)).collect::<BTreeMap<_, _>>()
    });
    let rows = Memo::new(move |_| {
        let row = |(id, hole): &(HoleId, Hole)| Row {
            id: *id,
            hole: hole.clone(),
            judged: judged.with(|judged| judged.get(id).cloned()).unwrap_or_default(),
            photos: photos.with(|photos| photos.get(id).copied().unwrap_or_default()),
        };
        place.holes.with(|holes| holes.iter().map(row).collect::<Vec<_>>())
    });
    move || {
        let rows = rows.get();
        if rows.is_empty() {
            return view! {
                <EmptyState icon=Icon::Ruler title="No holes yet">
                    <p>"Number them as they are marked on the part. Type their places, lay out a row with equal pitch, or copy them from another joint."</p>
                </EmptyState>
            }
            .into_any();
        }
        let rows = rows.into_iter().map(|row| view! { <Listed place row on_hole/> });
        view! { <ul class="lines">{rows.collect_view()}</ul> }.into_any()
    }
}

#[component]
fn Listed(place: Place, row: Row, on_hole: Callback<HoleId>) -> impl IntoView {
    let Row { id, hole, judged, photos } = row;
    let number = hole.number.or_empty().0;
    let action = hole.action.or_empty();
    let heads = [hole.head_diameter.or_empty().0, hole.head_height.or_empty().0];
    let further = [
        (action != Action::Undecided).then(|| action.word().to_owned()),
        Some(row_of(&hole)),
        Some(sizes(&hole)),
        Some(heads.into_iter().filter(|it| !it.trim().is_empty()).collect::<Vec<_>>().join(" × ")),
        (photos > 0).then(|| words::count(photos, "photo", "photos")),
        Some(hole.note.or_empty().0),
    ];
    let further = further.into_iter().flatten().filter(|part| !part.trim().is_empty());
    let further = further.collect::<Vec<_>>().join(" · ");
    let said = view! {
        <span class="hole-number figures">{number.clone()}</span>
        <span class="grow">
            <span class="cluster">
                <MarkBadge mark=of_found(hole.found.or_empty())/>
                {of_result(hole.result.or_empty()).map(|mark| view! { <MarkBadge mark/> })}
                <Badges judged/>
            </span>
            <span class="small muted">{further}</span>
        </span>
    };
    if place.may {
        view! {
            <li>
                <button type="button" class="hole-line" on:click=move |_| on_hole.run(id)>
                    <span class="visually-hidden">"Hole"</span>
                    {said}
                    <Glyph icon=Icon::ChevronRight/>
                </button>
            </li>
        }
        .into_any()
    } else {
        view! { <li><div class="hole-line"><span class="visually-hidden">"Hole"</span>{said}</div></li> }
            .into_any()
    }
}

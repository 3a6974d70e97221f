//! A joint in the record: its drawing, and its holes one by one.

use std::sync::Arc;

use leptos::prelude::*;
use shared_types::ids::{HoleId, JointId};
use shared_types::job::JobState;
use shared_types::joint::{Hole, Joint};
use shared_types::text::ShortText;

use super::sheets;
use super::step::SheetRecord;
use super::view::RecordSources;
use crate::joints::drawing::{Plan, StillDrawing};
use crate::joints::judged::{Badges, Judged, of_record};
use crate::joints::mark::{MarkBadge, of_found, of_result};
use crate::ui::Section;
use crate::words;

/// All joints of the job; nothing when it has none.
#[component]
pub fn Joints(state: Arc<JobState>, sources: RecordSources) -> impl IntoView {
    let joints: Vec<JointId> = state.joints_in_use().map(|(id, _)| id).collect();
    (!joints.is_empty()).then(|| {
        let one = |joint: JointId| view! { <JointRecord state=state.clone() joint sources=sources.clone()/> };
        let joints = joints.into_iter().map(one).collect_view();
        view! { <Section title="Joints">{joints}</Section> }
    })
}

/// A joint's holes to scale, each marked with what was found and what became of it; and what the drawing is called.
#[must_use]
pub fn register_plan(state: &JobState, joint: JointId) -> Option<(Plan, String)> {
    let it = state.joints.get(&joint)?;
    let holes = holes(state, joint);
    let judged = of_record(state, joint, it, &holes);
    let plan = Plan::of(it, &holes, &judged);
    (!plan.is_empty()).then(|| (plan, label(&it.title())))
}

fn label(name: &str) -> String {
    format!("Hole pattern of {name}, to scale")
}

fn drawn(plan: Plan, name: &str) -> Option<AnyView> {
    let label = label(name);
    (!plan.is_empty()).then(|| view! { <StillDrawing plan label/> }.into_any())
}

fn holes(state: &JobState, joint: JointId) -> Vec<(HoleId, Hole)> {
    state.holes_of(joint).into_iter().map(|(id, hole)| (id, hole.clone())).collect()
}

#[component]
fn JointRecord(state: Arc<JobState>, joint: JointId, sources: RecordSources) -> impl IntoView {
    let Some(it) = state.joints.get(&joint).cloned() else { return ().into_any() };
    let holes = holes(&state, joint);
    let judged = of_record(&state, joint, &it, &holes);
    let name = it.title();
    let drawing = drawn(Plan::of(&it, &holes, &judged), &name);
    let sheets = sheets::of_joint(&state, joint);
    let rows = holes
        .into_iter()
        .map(|(id, hole)| row(&state, id, &hole, judged.get(&id).cloned().unwrap_or_default()));
    let rows = rows.collect_view();
    let photos = photos(&state, joint, &sources);
    view! {
        <section class="card step-record">
            <h3>{name}</h3>
            <dl class="facts">
                {facts(&it).into_iter().map(|(name, fact)| view! { <dt>{name}</dt><dd>{fact}</dd> }).collect_view()}
            </dl>
            <p class="prewrap small">{it.note.or_empty().0}</p>
            {drawing}
            <div class="table" role="group" tabindex="0" aria-label="Holes, one by one"><table class="holes">
                <thead><tr><th>"Hole"</th><th>"Place"</th><th>"Found"</th><th>"Sizes"</th><th>"Action"</th><th>"Driven head"</th><th>"Result"</th></tr></thead>
                <tbody>{rows}</tbody>
            </table></div>
            {photos}
            {sheets.into_iter().map(|sheet| view! { <SheetRecord state=state.clone() sheet/> }).collect_view()}
        </section>
    }
    .into_any()
}

/// The joint's facts, those that were said.
#[must_use]
pub fn facts(joint: &Joint) -> Vec<(&'static str, String)> {
    let layers = joint.layers.or_empty().0.into_iter().map(|layer| {
        let parts = [layer.material, layer.thickness];
        joined(&parts, " ")
    });
    let found = [joint.alloy_found.or_empty(), joint.diameter_found.or_empty(), joint.head_found.or_empty()];
    let chosen = [
        joint.alloy.or_empty(),
        joint.diameter.or_empty(),
        joint.head.or_empty(),
        long(&joint.length.or_empty()),
    ];
    let facts = [
        ("Layers", layers.collect::<Vec<_>>().join(" on ")),
        ("Fastener as found", joined(&found, ", ")),
        ("Fastener chosen", joined(&chosen, ", ")),
        ("Washer under the driven head", joint.washer.or_empty().0),
    ];
    facts.into_iter().filter(|(_, fact)| !fact.is_empty()).collect()
}

fn long(length: &ShortText) -> ShortText {
    if length.is_empty() { ShortText::default() } else { format!("{length} long").into() }
}

/// `row A`, or nothing.
#[must_use]
pub fn row_of(hole: &Hole) -> String {
    let row = hole.row.or_empty();
    if row.is_empty() { String::new() } else { format!("row {row}") }
}

fn joined(parts: &[ShortText], with: &str) -> String {
    parts.iter().filter(|part| !part.is_empty()).map(ShortText::as_str).collect::<Vec<_>>().join(with)
}

fn row(state: &JobState, id: HoleId, hole: &Hole, judged: Judged) -> impl IntoView + use<> {
    let sizes = sizes(hole);
    let heads = [hole.head_diameter.or_empty(), hole.head_height.or_empty()];
    let photos = state.photos_of(id).count();
    let photos = (photos > 0).then(|| words::count(photos, "photo", "photos"));
    let place = [hole.x.or_empty(), hole.y.or_empty()];
    let doubt = hole.uncertainty.or_empty();
    let doubt = (!doubt.is_empty()).then(|| format!(" ± {doubt}"));
    let spacing = Judged { head: None, ..judged.clone() };
    let head = Judged { spacing: None, ..judged };
    view! {
        <tr>
            <th scope="row" class="figures">{hole.number.or_empty().0}</th>
            <td class="figures">{joined(&place, "; ")}{doubt}" "{row_of(hole)}</td>
            <td><MarkBadge mark=of_found(hole.found.or_empty())/></td>
            <td class="figures">{sizes}</td>
            <td>{hole.action.or_empty().word()}" "<Badges judged=spacing/></td>
            <td class="figures">{joined(&heads, " × ")}" "<Badges judged=head/></td>
            <td>
                {match of_result(hole.result.or_empty()) {
                    Some(mark) => view! { <MarkBadge mark/> }.into_any(),
                    None => hole.result.or_empty().word().into_any(),
                }}
                " "<span class="small">{hole.note.or_empty().0}</span>" "<span class="small muted">{photos}</span>
            </td>
        </tr>
    }
}

/// Measured sizes: `0.128 in`, or `0.128 in, 0.171 in across`.
#[must_use]
pub fn sizes(hole: &Hole) -> String {
    let (size, largest) = (hole.size.or_empty(), hole.largest.or_empty());
    let largest = if largest.is_empty() { String::new() } else { format!("{largest} across") };
    joined(&[size, largest.into()], ", ")
}

/// The photos of the joint's holes, each under its hole's number.
fn photos(state: &JobState, joint: JointId, sources: &RecordSources) -> Option<AnyView> {
    let shown: Vec<_> = state
        .holes_of(joint)
        .into_iter()
        .flat_map(|(id, hole)| {
            state.photos_of(id).map(move |(_, link)| (hole.number.or_empty(), link.photo.or_empty()))
        })
        .filter_map(|(number, photo)| Some((number, state.shown_photo(photo)?)))
        .map(|(number, photo)| {
            let caption = photo.caption.or_empty().0;
            view! {
                <figure>
                    {(sources.photo)(photo)}
                    <figcaption class="small"><strong>"Hole "{number.0}</strong>" "{caption}</figcaption>
                </figure>
            }
        })
        .collect();
    (!shown.is_empty()).then(|| view! { <div class="record-photos">{shown.collect_view()}</div> }.into_any())
}

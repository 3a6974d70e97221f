//! The record's drawings as SVG files of their own, for paper.

use leptos::prelude::*;
use shared_types::ids::{HoleId, JointId, LayupId, PlyId};
use shared_types::job::JobState;
use shared_types::joint::Hole;
use shared_types::layup::Ply;

use crate::joints::drawing::{Plan, StillDrawing};
use crate::joints::judged::of_record;
use crate::layups::drawing::{StackDrawing, bands};

/// How the drawings' classes look on paper.
pub const STYLE: &str = "
    .pattern-edge { fill: none; stroke: #555; }
    .pattern-bore { fill: #fff; stroke: #777; stroke-width: 0.6; }
    .pattern-spot { fill: #fff; fill-opacity: 0.75; }
    .pattern-mark { fill: none; }
    .pattern-verdict { fill: #fff; }
    [data-tone=\"plain\"] { color: #444; }
    [data-tone=\"good\"] { color: #14561f; }
    [data-tone=\"close\"] { color: #704800; }
    [data-tone=\"bad\"] { color: #9a0f1e; }
    .pattern-number { fill: #000; font-weight: bold; }
    .pattern-word { fill: currentColor; }
    .stack-band { fill: #fff; stroke: #777; }
    .stack-band[data-fill=\"1\"] { fill: #eee; }
    .stack-band[data-fill=\"2\"] { fill: #ddd; }
    .stack-band[data-fill=\"3\"] { fill: #fff; stroke-dasharray: 4 2; }
    .stack-warp { stroke: #000; stroke-width: 2; }
    .stack-laid { fill: none; stroke: #14561f; stroke-width: 2.5; }
    .stack-figures { fill: #000; font-size: 13px; font-weight: bold; }
    .stack-word { fill: #000; font-size: 13px; }
";

/// A joint's holes to scale; nothing where no place is known.
#[must_use]
pub fn joint(state: &JobState, id: JointId) -> Option<String> {
    let joint = state.joints.get(&id)?;
    let holes: Vec<(HoleId, Hole)> =
        state.holes_of(id).into_iter().map(|(id, hole)| (id, hole.clone())).collect();
    let plan = Plan::of(joint, &holes, &of_record(state, id, joint, &holes));
    let label = joint.title();
    (!plan.is_empty()).then(|| svg(move || view! { <StillDrawing plan label/> }.into_any()))
}

/// A layup's stack in section; nothing where it has no plies.
#[must_use]
pub fn layup(state: &JobState, id: LayupId) -> Option<String> {
    let label = state.layups.get(&id)?.title();
    let plies: Vec<(PlyId, Ply)> =
        state.plies_of(id).into_iter().map(|(id, ply)| (id, ply.clone())).collect();
    let bands = bands(&plies);
    (!plies.is_empty()).then(|| {
        svg(move || {
            view! { <StackDrawing bands=Signal::stored(bands.clone()) label=Signal::stored(label.clone())/> }
                .into_any()
        })
    })
}

/// What a page shows, as a file that stands alone: it says what it is, and has none of the marks that a page's
/// script would look for.
fn svg(view: impl FnOnce() -> AnyView) -> String {
    let owner = Owner::new();
    let html = owner.with(|| view().to_html());
    owner.cleanup();
    html.replace("<!>", "").replacen("<svg", "<svg xmlns=\"http://www.w3.org/2000/svg\"", 1)
}

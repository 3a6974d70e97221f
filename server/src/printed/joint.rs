//! Joints: drawn, and their holes one by one.

use app::joints::judged::{AllJudged, of_record};
use app::joints::mark::{of_found, of_result};
use app::record::joint::{facts, row_of, sizes};
use app::record::{sheets, still};
use paper::{Block, Span};
use shared_types::ids::{HoleId, JointId};
use shared_types::joint::Hole;

use super::step::table;
use super::{Record, cell, joined, whole};

pub fn blocks(record: &Record<'_>) -> Vec<Block> {
    let joints: Vec<JointId> = record.state.joints_in_use().map(|(id, _)| id).collect();
    let mut blocks = Vec::new();
    if !joints.is_empty() {
        blocks.push(Block::Heading(2, "Joints".to_owned()));
    }
    for id in joints {
        blocks.extend(one(record, id));
    }
    blocks
}

fn one(record: &Record<'_>, id: JointId) -> Vec<Block> {
    let Some(joint) = record.state.joints.get(&id) else { return Vec::new() };
    let holes: Vec<(HoleId, Hole)> =
        record.state.holes_of(id).into_iter().map(|(id, hole)| (id, hole.clone())).collect();
    let judged = of_record(record.state, id, joint, &holes);
    let name = joint.title();
    let facts = facts(joint).into_iter().map(|(name, fact)| (name.to_owned(), fact)).collect();
    let mut blocks = vec![Block::Heading(3, name.clone()), Block::Facts(facts)];
    let note = joint.note.or_empty();
    if !note.is_empty() {
        blocks.push(Block::Small(vec![Span::plain(note.0)]));
    }
    if let Some(svg) = still::joint(record.state, id) {
        let alt = format!("Hole pattern of {name}, to scale");
        blocks.push(Block::Drawing { svg, style: still::STYLE, alt, width: 0.9 });
    }
    let rows = holes.iter().map(|(id, hole)| row(*id, hole, &judged)).collect();
    let header = ["Hole", "Place", "Found", "Sizes", "Action", "Driven head", "Result"];
    blocks.extend(table(&header, rows));
    blocks.extend(photos(record, &holes));
    blocks.extend(sheets::of_joint(record.state, id).into_iter().filter_map(|sheet| record.see(sheet)));
    blocks
}

fn row(id: HoleId, hole: &Hole, judged: &AllJudged) -> Vec<Vec<Span>> {
    let judged = judged.get(&id).cloned().unwrap_or_default();
    let doubt = hole.uncertainty.or_empty();
    let doubt = if doubt.is_empty() { String::new() } else { format!("± {doubt}") };
    let place = joined([hole.x.or_empty().0, hole.y.or_empty().0].map(|at| whole(&at)), "; ");
    let heads = joined([hole.head_diameter.or_empty().0, hole.head_height.or_empty().0], " × ");
    let said = judged.said().into_iter().map(|(_, words)| words);
    let result = of_result(hole.result.or_empty());
    let result = result.map_or_else(|| hole.result.or_empty().word(), |mark| mark.word);
    vec![
        cell(hole.number.or_empty().0),
        cell(joined([place, doubt, row_of(hole)], " ")),
        cell(of_found(hole.found.or_empty()).word),
        // A size is not torn from its unit.
        cell(joined(sizes(hole).split(", ").map(whole), ", ")),
        cell(hole.action.or_empty().word()),
        cell(heads),
        cell(joined([result.to_owned()].into_iter().chain(said).chain([hole.note.or_empty().0]), "; ")),
    ]
}

/// The photos of the holes, each under its hole's number.
fn photos(record: &Record<'_>, holes: &[(HoleId, Hole)]) -> Option<Block> {
    let state = record.state;
    let shown = holes.iter().flat_map(|(id, hole)| {
        let of_hole = state.photos_of(*id).filter_map(|(_, link)| state.shown_photo(link.photo.or_empty()));
        of_hole.map(move |photo| (hole, photo))
    });
    let shown: Vec<_> = shown
        .map(|(hole, photo)| {
            record.photo(photo, vec![Span::strong(format!("Hole {}", hole.number.or_empty()))])
        })
        .collect();
    (!shown.is_empty()).then_some(Block::Photos(shown))
}

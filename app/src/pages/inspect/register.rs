//! What changed in the job's hole register since a moment. Joints belong to the job and not to a step, so
//! that no step's digest covers their holes: what was entered later tells it by its stamp.

use std::collections::BTreeSet;

use shared_types::entity::Entity;
use shared_types::field::Mark;
use shared_types::ids::{HoleId, PhotoId, WorksheetId};
use shared_types::job::JobState;
use shared_types::joint::{Hole, worksheet_of, worksheet_of_head};
use shared_types::layup::sheets_of;
use shared_types::sorted;

use crate::words;

/// The most numbers in one line.
const MOST_NUMBERS: usize = 12;

/// What changed at one hole.
#[derive(Clone, Debug, PartialEq)]
pub struct HoleChange {
    /// The hole.
    pub hole: HoleId,
    /// What it is called: `hole 7 of Flange`.
    pub name: String,
    /// What is said of it now, of that which changed.
    pub said: Vec<String>,
    /// The last of it: by whom and when.
    pub latest: Mark,
    /// Photos of it that were taken since.
    pub photos: Vec<PhotoId>,
}

impl HoleChange {
    /// In a line: `size 0.130 in, pass; 1 photo`.
    #[must_use]
    pub fn words(&self) -> String {
        let photos = self.photos.len();
        let photos = (photos > 0).then(|| words::count(photos, "photo", "photos"));
        let said = (!self.said.is_empty()).then(|| self.said.join(", "));
        [said, photos].into_iter().flatten().collect::<Vec<_>>().join("; ")
    }
}

/// The holes that changed after a moment, joint by joint in the order of their numbers; those that were taken out
/// last.
#[must_use]
pub fn changed_holes(state: &JobState, after: &Mark) -> Vec<HoleChange> {
    let joints = state.joints_in_use().flat_map(|(joint, _)| state.holes_of(joint));
    let there = joints.filter_map(|(id, hole)| changed(state, id, hole, after));
    let taken_out = state.holes.iter().filter(|(_, hole)| hole.is_retired());
    let taken_out = taken_out.filter_map(|(id, hole)| changed(state, *id, hole, after));
    there.chain(taken_out).collect()
}

fn changed(state: &JobState, id: HoleId, hole: &Hole, after: &Mark) -> Option<HoleChange> {
    let mut marks: Vec<Mark> = Vec::new();
    let mut said = Vec::new();
    for (name, field) in hole.each() {
        let Some((_, mark)) = field.shown().filter(|(_, mark)| mark.stamp > after.stamp) else { continue };
        marks.push(mark);
        said.extend(says(hole, name));
    }
    if hole.is_retired() && !marks.is_empty() {
        said = vec!["taken out of the register".to_owned()];
    }
    let links =
        state.photos_of(id).filter_map(|(_, link)| Some((link.created().copied()?, link.photo.or_empty())));
    let links: Vec<_> = links.filter(|(mark, _)| mark.stamp > after.stamp).collect();
    marks.extend(links.iter().map(|(mark, _)| *mark));
    let latest = marks.into_iter().max()?;
    let name = state.hole_words(id)?;
    Some(HoleChange {
        hole: id,
        name,
        said,
        latest,
        photos: links.into_iter().map(|(_, photo)| photo).collect(),
    })
}

/// What a field of a hole says now.
fn says(hole: &Hole, field: &str) -> Option<String> {
    let text = |label: &str, text: String| match text.is_empty() {
        true => format!("{label} emptied"),
        false => format!("{label} {text}"),
    };
    Some(match field {
        "found" => hole.found.or_empty().word().to_owned(),
        "action" => format!("action: {}", hole.action.or_empty().word()),
        "result" => format!("result: {}", hole.result.or_empty().word()),
        "size" => text("size", hole.size.or_empty().0),
        "largest" => text("largest across", hole.largest.or_empty().0),
        "head_diameter" => text("driven head", hole.head_diameter.or_empty().0),
        "head_height" => text("driven head's height", hole.head_height.or_empty().0),
        "number" => text("number", hole.number.or_empty().0),
        "row" => text("row", hole.row.or_empty().0),
        "x" => text("x", hole.x.or_empty().0),
        "y" => text("y", hole.y.or_empty().0),
        "uncertainty" => text("place, plus or minus", hole.uncertainty.or_empty().0),
        "note" => match hole.note.or_empty().0 {
            note if note.is_empty() => "note emptied".to_owned(),
            note => format!("“{note}”"),
        },
        // Which joint it belongs to is in its name; what was taken out is said of the whole hole.
        _ => return None,
    })
}

/// Holes in one line: `hole 3 of Flange, hole 4 of Flange and 8 more`.
#[must_use]
pub fn in_a_line<'a>(holes: impl Iterator<Item = &'a HoleChange>) -> Option<String> {
    let names: Vec<&str> = holes.map(|it| it.name.as_str()).collect();
    let more = names.len().saturating_sub(MOST_NUMBERS);
    let shown = names.get(..names.len() - more).unwrap_or_default().join(", ");
    match (shown.is_empty(), more) {
        (true, _) => None,
        (false, 0) => Some(shown),
        (false, more) => Some(format!("{shown} and {more} more")),
    }
}

/// The worksheets of record of the job's joints and layups: they stand on no step.
#[must_use]
pub fn sheets_of_the_part(state: &JobState) -> Vec<WorksheetId> {
    let joints = state.joints_in_use().map(|(joint, _)| worksheet_of(joint));
    let layups = state.layups_in_use().flat_map(|(layup, _)| sheets_of(layup));
    asked(state, joints.chain(layups))
}

/// Those of the joints' driven heads, hole by hole.
#[must_use]
pub fn heads_of_the_part(state: &JobState) -> Vec<WorksheetId> {
    let holes = state.joints_in_use().flat_map(|(joint, _)| state.holes_of(joint));
    asked(state, holes.map(|(hole, _)| worksheet_of_head(hole)))
}

fn asked(state: &JobState, sheets: impl Iterator<Item = WorksheetId>) -> Vec<WorksheetId> {
    sheets.filter(|id| state.worksheets.get(id).is_some_and(|it| !it.it.is_retired())).collect()
}

/// Those that were asked or altered after a moment.
#[must_use]
pub fn changed_sheets(state: &JobState, after: &Mark) -> BTreeSet<WorksheetId> {
    let is_later = |id: &WorksheetId| {
        let sheet = state.worksheets.get(id).map(|it| it.it.each());
        let mut marks = sheet.into_iter().flatten().filter_map(|(_, field)| field.shown());
        marks.any(|(_, mark)| mark.stamp > after.stamp)
    };
    let all = sheets_of_the_part(state).into_iter().chain(heads_of_the_part(state));
    sorted::set(all.filter(is_later))
}

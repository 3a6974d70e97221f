//! The hole register: joints, their holes one by one, and the photos of a hole.
//!
//! A joint belongs to the job and not to a step: it is surveyed in one step, drilled in
//! another and riveted in a third. A signature over the job covers it.

use std::cmp::Ordering;

use serde::{Deserialize, Serialize};

use crate::check::{Checked, always_fine, list_fault};
use crate::entity::{Entity, entity};
use crate::ids::{HoleId, HolePhotoId, JointId, PhotoId, WorksheetId};
use crate::job::JobState;
use crate::sorted;
use crate::text::{LongText, ShortText};

/// The most layers in one joint.
pub const MAX_LAYERS: usize = 20;
/// The most edges in one joint.
pub const MAX_EDGES: usize = 20;
/// The most corners in all edges of a joint together.
pub const MAX_CORNERS: usize = 500;

/// What was found at a hole.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Found {
    /// Nobody has looked yet.
    #[default]
    NotLookedAt,
    /// The fastener holds.
    Tight,
    /// The fastener moves.
    Working,
    /// The hole is no longer round.
    Elongated,
    /// A crack runs from the hole to the edge.
    CrackedEdge,
    /// The hole is open towards the edge.
    TornOut,
    /// A hole without a fastener.
    NoFastener,
}

impl Found {
    /// What can be said of a hole that was looked at, in the order screens list it.
    pub const SAID: [Self; 6] =
        [Self::Tight, Self::Working, Self::Elongated, Self::CrackedEdge, Self::TornOut, Self::NoFastener];

    /// The word on screens.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::NotLookedAt => "not looked at",
            Self::Tight => "tight",
            Self::Working => "working",
            Self::Elongated => "elongated",
            Self::CrackedEdge => "cracked edge",
            Self::TornOut => "torn out",
            Self::NoFastener => "no fastener",
        }
    }
}

/// What is done with a hole.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Action {
    /// Not decided yet.
    #[default]
    Undecided,
    /// The fastener stays.
    Keep,
    /// A new fastener of the same size.
    SameSize,
    /// A new fastener, the next size up.
    UpASize,
    /// The hole is filled and drilled anew.
    FillAndRedrill,
    /// A patch carries the load past it.
    Patch,
}

impl Action {
    /// What can be decided, in the order screens list it.
    pub const DECIDED: [Self; 5] =
        [Self::Keep, Self::SameSize, Self::UpASize, Self::FillAndRedrill, Self::Patch];

    /// The word on screens.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Undecided => "undecided",
            Self::Keep => "keep",
            Self::SameSize => "same size",
            Self::UpASize => "up a size",
            Self::FillAndRedrill => "fill and re-drill",
            Self::Patch => "patch",
        }
    }
}

/// How the work on a hole came out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HoleResult {
    /// Not done, or not looked at since.
    #[default]
    Open,
    /// As it should be.
    Pass,
    /// Not as it should be.
    Fail,
}

impl HoleResult {
    /// The word on screens.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Pass => "pass",
            Self::Fail => "fail",
        }
    }
}

/// One layer that the holes go through.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Layer {
    /// Its material: `2024-T3`, `glass cloth laminate`.
    pub material: ShortText,
    /// Its thickness as entered: `0.032 in`.
    pub thickness: ShortText,
}

/// Layers in order, the first one under the manufactured head.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Layers(pub Vec<Layer>);

/// A place in the joint's plane, lengths as entered: x along the row, y across it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Place {
    /// Along the row.
    pub x: ShortText,
    /// Across it.
    pub y: ShortText,
}

/// The sheet's edges, each a line from corner to corner; one that ends where it began is closed.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Edges(pub Vec<Vec<Place>>);

impl Checked for Layer {
    fn fault(&self) -> Option<(String, String)> {
        self.material.fault().or_else(|| self.thickness.fault())
    }
}

impl Checked for Place {
    fn fault(&self) -> Option<(String, String)> {
        self.x.fault().or_else(|| self.y.fault())
    }
}

impl Checked for Layers {
    fn fault(&self) -> Option<(String, String)> {
        list_fault(self.0.len(), MAX_LAYERS, self.0.iter())
    }
}

impl Checked for Edges {
    fn fault(&self) -> Option<(String, String)> {
        let corners: usize = self.0.iter().map(Vec::len).sum();
        if corners > MAX_CORNERS {
            return Some((format!("has {corners} corners"), format!("at most {MAX_CORNERS} corners")));
        }
        list_fault(self.0.len(), MAX_EDGES, self.0.iter())
    }
}

always_fine!(Found, Action, HoleResult, JointId, HoleId);

entity! {
    /// Layers that a row of fasteners holds together.
    Joint / JointPatch {
        /// What it is called.
        name: ShortText,
        /// The layers.
        layers: Layers,
        /// Manufactured head, as found.
        head_found: ShortText,
        /// Alloy, as found.
        alloy_found: ShortText,
        /// Shank diameter, as found.
        diameter_found: ShortText,
        /// Manufactured head chosen for the repair: `universal` or `countersunk`.
        head: ShortText,
        /// Alloy chosen.
        alloy: ShortText,
        /// Shank diameter chosen.
        diameter: ShortText,
        /// Rivet length chosen.
        length: ShortText,
        /// Thickness of the washer under the driven head; empty for none.
        washer: ShortText,
        /// The edges.
        edges: Edges,
        /// In words.
        note: LongText,
    }
}

entity! {
    /// One hole of a joint.
    Hole / HolePatch {
        /// The joint it belongs to.
        joint: JointId,
        /// As marked on the part.
        number: ShortText,
        /// Along the row, as entered.
        x: ShortText,
        /// Across it, as entered.
        y: ShortText,
        /// The row it stands in, where somebody named it.
        row: ShortText,
        /// How far it may be from there; empty when nobody said.
        uncertainty: ShortText,
        /// What was found.
        found: Found,
        /// Measured size.
        size: ShortText,
        /// Largest size across, where the hole is oval.
        largest: ShortText,
        /// What is done.
        action: Action,
        /// The driven head's diameter.
        head_diameter: ShortText,
        /// The driven head's height.
        head_height: ShortText,
        /// How it came out.
        result: HoleResult,
        /// In words.
        note: LongText,
    }
}

entity! {
    /// A photo that shows a hole.
    HolePhoto / HolePhotoPatch {
        /// The hole.
        hole: HoleId,
        /// The photo, one of the job's.
        photo: PhotoId,
    }
}

impl Joint {
    /// What it is called on screens.
    #[must_use]
    pub fn title(&self) -> String {
        let name = self.name.or_empty();
        if name.is_empty() { "Joint without a name".to_owned() } else { name.0 }
    }
}

impl Hole {
    /// Has somebody decided what is done with it?
    #[must_use]
    pub fn is_decided(&self) -> bool {
        self.action.or_empty() != Action::Undecided
    }
}

/// The worksheet of record of a joint: it has the joint's own id, so there is one, and asking
/// again sets its input anew.
#[must_use]
pub const fn worksheet_of(joint: JointId) -> WorksheetId {
    WorksheetId(joint.0)
}

/// The worksheet of record of a hole's driven head, by the same rule.
#[must_use]
pub const fn worksheet_of_head(hole: HoleId) -> WorksheetId {
    WorksheetId(hole.0)
}

impl JobState {
    /// Joints in use, oldest first.
    pub fn joints_in_use(&self) -> impl Iterator<Item = (JointId, &Joint)> {
        self.joints.iter().filter(|(_, joint)| !joint.is_retired()).map(|(id, joint)| (*id, joint))
    }

    /// The holes of a joint that are in use, by their numbers.
    #[must_use]
    pub fn holes_of(&self, joint: JointId) -> Vec<(HoleId, &Hole)> {
        let of_joint = |hole: &Hole| hole.joint.get() == Some(&joint) && !hole.is_retired();
        let mut holes: Vec<_> =
            self.holes.iter().filter(|(_, hole)| of_joint(hole)).map(|(id, hole)| (*id, hole)).collect();
        sorted::by(&mut holes, |(one, a), (two, b)| {
            by_number(&a.number.or_empty().0, &b.number.or_empty().0).then(one.cmp(two))
        });
        holes
    }

    /// The links from a hole to its photos, oldest first.
    pub fn photos_of(&self, hole: HoleId) -> impl Iterator<Item = (&HolePhotoId, &HolePhoto)> {
        self.hole_photos.iter().filter(move |(_, it)| it.hole.get() == Some(&hole) && !it.is_retired())
    }
}

/// Numbers as people count: 2 before 10, A2 before A10, 7 before 7a.
#[must_use]
pub fn by_number(one: &str, two: &str) -> Ordering {
    let (mut one, mut two) = (one.trim(), two.trim());
    loop {
        let ((a, rest_a), (b, rest_b)) = (piece(one), piece(two));
        if a.is_empty() || b.is_empty() {
            return a.len().cmp(&b.len());
        }
        let order = match (is_count(a), is_count(b)) {
            (true, true) => {
                let (a, b) = (a.trim_start_matches('0'), b.trim_start_matches('0'));
                a.len().cmp(&b.len()).then_with(|| a.cmp(b))
            }
            _ => a.cmp(b),
        };
        if order != Ordering::Equal {
            return order;
        }
        (one, two) = (rest_a, rest_b);
    }
}

fn is_count(piece: &str) -> bool {
    piece.starts_with(|c: char| c.is_ascii_digit())
}

/// The digits, or the other characters, that a text begins with; and the rest.
fn piece(text: &str) -> (&str, &str) {
    let digits = is_count(text);
    let end = text.find(|c: char| c.is_ascii_digit() != digits).unwrap_or(text.len());
    text.split_at(end)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entity::Patch as _;

    #[test]
    fn numbers_sort_as_people_count() {
        let mut numbers = ["10", "A10", "2", "07", "7a", "A2", "1"];
        numbers.sort_by(|a, b| by_number(a, b));
        assert_eq!(numbers, ["1", "2", "07", "7a", "10", "A2", "A10"]);
    }

    #[test]
    fn a_joint_is_held_to_its_limits() {
        let layer = Layer { material: "2024-T3".into(), thickness: "0.032 in".into() };
        assert_eq!(Layers(vec![layer.clone(); MAX_LAYERS]).fault(), None);
        let (reason, accepted) = Layers(vec![layer; MAX_LAYERS + 1]).fault().unwrap();
        assert_eq!((reason.as_str(), accepted.as_str()), ("has 21 items", "at most 20 items"));

        let corner = Place { x: "0 in".into(), y: "0 in".into() };
        assert_eq!(Edges(vec![vec![corner.clone(); 100]; 5]).fault(), None);
        assert!(Edges(vec![vec![corner.clone(); 101]; 5]).fault().is_some(), "corners together");
        assert!(Edges(vec![vec![corner.clone(); 2]; MAX_EDGES + 1]).fault().is_some(), "edges");
        assert!(Edges(vec![vec![corner; 300]]).fault().is_some(), "corners of one edge");

        let line_break = Place { x: "0\n".into(), y: "0".into() };
        let (reason, _) = Edges(vec![vec![line_break]]).fault().unwrap();
        assert!(reason.starts_with("item 1: item 1: "), "{reason}");
        let long = JointPatch { name: Some("x".repeat(201).into()), ..JointPatch::default() };
        assert_eq!(long.problems()[0].field, "name");
    }
}

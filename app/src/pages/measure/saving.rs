//! From what was measured to changes: holes with their places, the joint's edge, the photo's links.

use photo_measure::{Answer, Corner, Metres, Uncertain};
use shared_types::body::{Known, On};
use shared_types::entity::Entity as _;
use shared_types::ids::{HoleId, HolePhotoId, JointId, PhotoId};
use shared_types::job::JobState;
use shared_types::joint::{Edges, Hole, HolePatch, HolePhotoPatch, Joint, JointPatch, Place};
use shared_types::quantity::System;
use shared_types::text::LongText;
use uuid::Uuid;

use super::result::{doubt, show};
use crate::entry::preview::MARK;
use crate::pages::joint::places::counted_on;

/// A hole as it will be written.
#[derive(Clone, Debug, PartialEq)]
pub struct Written {
    /// Its number.
    pub number: String,
    /// Its place and its uncertainty.
    pub set: HolePatch,
    /// Its place as measured, counted from where the axes begin.
    pub at: Corner,
    /// What it is measured to have.
    pub edge: Option<Uncertain>,
    /// To the next one.
    pub pitch: Option<Uncertain>,
}

/// The holes in order along x, numbered from the first number on.
#[must_use]
pub fn written(answer: &Answer, first: &str, begin: (f64, f64), system: System) -> Vec<Written> {
    let one = |(count, at): (usize, &usize)| {
        let hole = answer.holes.get(*at)?;
        let number = counted_on(first, count);
        let set = HolePatch {
            number: Some(number.as_str().into()),
            x: Some(show(hole.at.x.value.0 + begin.0, system).into()),
            y: Some(show(hole.at.y.value.0 + begin.1, system).into()),
            uncertainty: Some(doubt(hole.uncertainty.0, system).into()),
            note: Some(note(&hole.at.x, hole.uncertainty, system).into()),
            ..HolePatch::default()
        };
        Some(Written { number, set, at: moved(hole.at, begin), edge: hole.edge, pitch: hole.pitch })
    };
    answer.order.iter().enumerate().filter_map(one).collect()
}

fn moved(at: Corner, (x0, y0): (f64, f64)) -> Corner {
    let by = |it: Uncertain, by: f64| Uncertain { value: Metres(it.value.0 + by), ..it };
    Corner { x: by(at.x, x0), y: by(at.y, y0) }
}

/// How the note begins that says how well a hole was measured.
const MEASURED: &str = "On the photo: ";

/// The hole's own uncertainty is against the edge and its neighbours; how far it is from the
/// origin may be less sure, and then that is said too.
fn note(x: &Uncertain, against: Metres, system: System) -> String {
    let (along, against) = (doubt(x.expanded().0, system), doubt(against.0, system));
    format!("{MEASURED}± {against} against edge and neighbours, x ± {along} from where it is counted.")
}

/// A note with what was measured, in the place of what was measured before.
fn noted(hole: &Hole, measured: Option<LongText>) -> Option<LongText> {
    let own = hole.note.or_empty().0;
    let kept = own.lines().filter(|line| !line.starts_with(MEASURED)).map(str::to_owned);
    Some(kept.chain([measured?.0]).collect::<Vec<_>>().join("\n").into())
}

/// The edge as the joint keeps it; nothing without one.
#[must_use]
pub fn edges(answer: &Answer, (x0, y0): (f64, f64), system: System) -> Option<Edges> {
    let corner = |corner: &Corner| Place {
        x: show(corner.x.value.0 + x0, system).into(),
        y: show(corner.y.value.0 + y0, system).into(),
    };
    (answer.edge.len() > 1).then(|| Edges(vec![answer.edge.iter().map(corner).collect()]))
}

/// The hole of this number that is there already.
fn there<'a>(holes: &'a [(HoleId, Hole)], number: &str) -> Option<&'a (HoleId, Hole)> {
    holes.iter().find(|(_, hole)| hole.number.or_empty().0.trim() == number)
}

/// Numbers that are there already.
#[must_use]
pub fn known<'a>(holes: &[(HoleId, Hole)], written: &'a [Written]) -> Vec<&'a str> {
    written.iter().map(|it| it.number.as_str()).filter(|number| there(holes, number).is_some()).collect()
}

/// The joint and its holes as they will be, for the engine to judge.
#[must_use]
pub fn after(
    joint: &Joint,
    holes: &[(HoleId, Hole)],
    written: &[Written],
    edges: Option<&Edges>,
) -> (Joint, Vec<(HoleId, Hole)>) {
    let mut joint = joint.clone();
    if let Some(edges) = edges {
        joint.apply(&JointPatch { edges: Some(edges.clone()), ..JointPatch::default() }, &MARK, &[]);
    }
    let mut holes = holes.to_vec();
    for (count, it) in written.iter().enumerate() {
        let known = holes.iter().position(|(_, hole)| hole.number.or_empty().0.trim() == it.number);
        let at = known.unwrap_or_else(|| {
            holes.push((HoleId(Uuid::from_u64_pair(u64::MAX, count as u64)), Hole::default()));
            holes.len() - 1
        });
        holes[at].1.apply(&it.set, &MARK, &[]);
    }
    (joint, holes)
}

/// The changes, all in one go.
#[must_use]
pub fn bodies(
    state: &JobState,
    joint: JointId,
    photo: PhotoId,
    written: &[Written],
    edges: Option<Edges>,
    mut uuid: impl FnMut() -> Uuid,
) -> Vec<Known> {
    let holes: Vec<_> = state.holes_of(joint).into_iter().map(|(id, hole)| (id, hole.clone())).collect();
    let mut bodies = Vec::new();
    for it in written {
        let known = there(&holes, &it.number);
        let id = known.map_or_else(|| HoleId(uuid()), |(id, _)| *id);
        let set = it.set.clone();
        let set = match known {
            Some((_, hole)) => HolePatch { number: None, note: noted(hole, set.note.clone()), ..set },
            None => HolePatch { joint: Some(joint), ..set },
        };
        bodies.push(Known::Hole(On { id, set }));
        if !state.photos_of(id).any(|(_, link)| link.photo.get() == Some(&photo)) {
            let set = HolePhotoPatch { hole: Some(id), photo: Some(photo), retired: None };
            bodies.push(Known::HolePhoto(On { id: HolePhotoId(uuid()), set }));
        }
    }
    if let Some(edges) = edges {
        let set = JointPatch { edges: Some(edges), ..JointPatch::default() };
        bodies.push(Known::Joint(On { id: joint, set }));
    }
    bodies
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use photo_measure::{HoleInAxes, Pixels, Quality};

    fn off(value: f64) -> Uncertain {
        Uncertain { value: Metres(value), standard: Metres(0.1e-3), coverage: 2.0 }
    }

    fn answer() -> Answer {
        let hole = |x: f64| HoleInAxes {
            at: Corner { x: off(x), y: off(0.008) },
            uncertainty: Metres(0.2101e-3),
            across: None,
            edge: Some(off(0.008)),
            pitch: None,
        };
        let quality = Quality {
            mark_uncertainty: Pixels(1.5),
            degrees_of_freedom: None,
            residuals: vec![],
            lens: 0.0,
            stretch: 0.0,
        };
        let edge = [-0.01, 0.05].map(|x| Corner { x: off(x), y: off(0.0) });
        Answer {
            quality,
            sides: photo_measure::Sides::Fit,
            holes: vec![hole(0.02), hole(0.0)],
            order: vec![1, 0],
            edge: edge.to_vec(),
            drawn: None,
        }
    }

    #[test]
    fn holes_are_numbered_along_x_with_their_uncertainty_rounded_up() {
        let written = written(&answer(), "7", (0.0, 0.0), System::Metric);
        let said = |it: &Written| {
            let text = |text: &Option<shared_types::text::ShortText>| text.clone().unwrap_or_default().0;
            (it.number.clone(), text(&it.set.x), text(&it.set.y), text(&it.set.uncertainty))
        };
        let all: Vec<_> = written.iter().map(said).collect();
        let own = |number: &str, x: &str| {
            (number.to_owned(), x.to_owned(), "8.00 mm".to_owned(), "0.22 mm".to_owned())
        };
        assert_eq!(all, [own("7", "0.00 mm"), own("8", "20.00 mm")]);
        let moved = super::written(&answer(), "7", (0.0254, 0.0), System::Inch);
        assert_eq!(moved[0].set.x, Some("1.000 in".into()));
        let note =
            "On the photo: ± 0.009 in against edge and neighbours, x ± 0.008 in from where it is counted.";
        assert_eq!(moved[0].set.note, Some(note.into()));
    }

    #[test]
    fn a_hole_that_is_there_gets_its_place_anew_and_the_photo_is_linked_once() {
        let joint = JointId(Uuid::from_u128(1));
        let (seven, photo) = (HoleId(Uuid::from_u128(7)), PhotoId(Uuid::from_u128(9)));
        let mut state = JobState::default();
        let set = HolePatch {
            joint: Some(joint),
            number: Some("7".into()),
            note: Some("Burred\nOn the photo: long ago".into()),
            ..HolePatch::default()
        };
        state.holes.insert(seven, entity(&set));
        let link = HolePhotoPatch { hole: Some(seven), photo: Some(photo), retired: None };
        state.hole_photos.insert(HolePhotoId(Uuid::from_u128(3)), entity(&link));
        let written = written(&answer(), "7", (0.0, 0.0), System::Metric);
        let holes: Vec<_> = state.holes_of(joint).into_iter().map(|(id, hole)| (id, hole.clone())).collect();
        assert_eq!(known(&holes, &written), ["7"]);

        let edges = edges(&answer(), (0.0, 0.0), System::Metric);
        let bodies = bodies(&state, joint, photo, &written, edges.clone(), || Uuid::from_u128(42));
        let [Known::Hole(first), Known::Hole(second), Known::HolePhoto(link), Known::Joint(outline)] =
            &bodies[..]
        else {
            panic!("{bodies:?}")
        };
        assert_eq!((first.id, first.set.number.clone(), first.set.joint), (seven, None, None));
        let note = first.set.note.clone().unwrap_or_default().0;
        assert!(note.starts_with("Burred\nOn the photo: ± 0.22 mm") && !note.contains("long ago"), "{note}");
        assert_eq!((second.set.number.clone(), second.set.joint), (Some("8".into()), Some(joint)));
        assert_eq!(link.set.hole, Some(second.id));
        assert_eq!(outline.set.edges, edges);

        let (joint, holes) = after(&Joint::default(), &holes, &written, edges.as_ref());
        assert_eq!((holes.len(), joint.edges.or_empty().0[0].len()), (2, 2));
    }
}

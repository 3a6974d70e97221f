//! What a joint asks of the server: its pattern, and every driven head that was measured. Each
//! worksheet of record has the id of what it is about, so there is one of each.

use shared_types::ids::{HoleId, JointId};
use shared_types::joint::{Hole, Joint, worksheet_of, worksheet_of_head};

use super::asked::{DRIVEN_HEAD, Missing, PATTERN, driven_head, pattern};
use crate::question::Question;

/// The pattern's question.
///
/// # Errors
/// Says what is still missing.
pub fn of_pattern(id: JointId, joint: &Joint, holes: &[(HoleId, Hole)]) -> Result<Question, Missing> {
    let name = joint.name.or_empty();
    Ok(Question {
        sheet: worksheet_of(id),
        kind: PATTERN,
        title: if name.is_empty() { "Hole pattern".into() } else { name },
        input: pattern(joint, holes)?,
    })
}

/// The question about a hole's driven head; nothing until it was measured.
#[must_use]
pub fn of_head(joint: &Joint, id: HoleId, hole: &Hole) -> Option<Question> {
    let (wide, high) = (hole.head_diameter.or_empty(), hole.head_height.or_empty());
    Some(Question {
        sheet: worksheet_of_head(id),
        kind: DRIVEN_HEAD,
        title: format!("Driven head of hole {}", hole.number.or_empty()).into(),
        input: driven_head(joint, hole, &wide.0, &high.0)?,
    })
}

/// All that can be asked of a joint as it stands.
#[must_use]
pub fn of_joint(id: JointId, joint: &Joint, holes: &[(HoleId, Hole)]) -> Vec<Question> {
    let heads = holes.iter().filter_map(|(id, hole)| of_head(joint, *id, hole));
    of_pattern(id, joint, holes).into_iter().chain(heads).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use crate::question::Stands;
    use serde_json::json;
    use shared_types::body::Known;
    use shared_types::job::JobState;
    use shared_types::joint::{HolePatch, JointPatch};
    use shared_types::on_step::OnStep;

    #[test]
    fn a_head_is_asked_about_once_and_again_when_it_was_measured_anew() {
        let joint = entity(&JointPatch { diameter: Some("1/8 in".into()), ..JointPatch::default() });
        let measured = |height: &str| {
            let (number, wide) = (Some("7".into()), Some("0.190 in".into()));
            let height = Some(height.into());
            let patch =
                HolePatch { number, head_diameter: wide, head_height: height, ..HolePatch::default() };
            entity::<Hole>(&patch)
        };
        let id = HoleId::default();
        assert_eq!(of_head(&joint, id, &Hole::default()), None, "not measured");
        let question = of_head(&joint, id, &measured("0.062 in")).unwrap();
        assert_eq!(question.title, "Driven head of hole 7".into());
        assert_eq!(question.input["driven_height"], json!("0.062 in"));

        let mut state = JobState::default();
        assert_eq!(question.stands(&state), Stands::NotAsked);
        let Some(Known::Worksheet(asked)) = question.asking(&state) else { panic!("it is asked") };
        state.worksheets.insert(asked.id, OnStep { step: None, it: entity(&asked.set) });
        assert_eq!(question.stands(&state), Stands::Waiting);
        assert_eq!(question.asking(&state), None);
        let anew = of_head(&joint, id, &measured("0.050 in")).unwrap();
        assert_eq!(anew.stands(&state), Stands::Altered);
        assert!(anew.asking(&state).is_some());
    }

    #[test]
    fn a_joint_without_a_pattern_still_asks_about_its_heads() {
        let joint = entity(&JointPatch { diameter: Some("1/8 in".into()), ..JointPatch::default() });
        let (wide, high) = (Some("0.190 in".into()), Some("0.062 in".into()));
        let patch = HolePatch { head_diameter: wide, head_height: high, ..HolePatch::default() };
        let holes = [(HoleId::default(), entity::<Hole>(&patch)), (HoleId::default(), Hole::default())];
        let asked: Vec<_> = of_joint(JointId::default(), &joint, &holes).iter().map(|it| it.kind).collect();
        assert_eq!(asked, [DRIVEN_HEAD]);
    }
}

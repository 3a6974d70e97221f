//! What a joint asks of the server: its pattern, and every driven head that was measured. Each
//! worksheet of record has the id of what it is about, so there is one of each.

use serde_json::Value;
use shared_types::body::{Known, OnStep};
use shared_types::entity::Entity as _;
use shared_types::ids::{HoleId, JointId, WorksheetId};
use shared_types::job::{AnswerOutcome, JobState, Worksheet, WorksheetPatch};
use shared_types::joint::{Hole, Joint, worksheet_of, worksheet_of_head};
use shared_types::text::ShortText;
use shared_types::worksheet::WorksheetKind;

use super::asked::{DRIVEN_HEAD, Missing, PATTERN, driven_head, pattern};

/// One question to the engine.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// The worksheet of record.
    pub sheet: WorksheetId,
    /// The engine's kind.
    pub kind: &'static str,
    /// What the worksheet is called.
    pub title: ShortText,
    /// The input.
    pub input: Value,
}

/// How a question's worksheet of record stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stands<'a> {
    /// Not asked for.
    NotAsked,
    /// Asked for, and altered since.
    Altered,
    /// Asked for as it is; the server has not answered.
    Waiting,
    /// The server's answer.
    Answered(&'a AnswerOutcome),
}

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

impl Question {
    /// How its worksheet of record stands.
    #[must_use]
    pub fn stands<'a>(&self, state: &'a JobState) -> Stands<'a> {
        match self.worksheet(state).filter(|sheet| !sheet.is_retired()) {
            None => Stands::NotAsked,
            Some(sheet) if sheet.input.get() != Some(&self.input) => Stands::Altered,
            Some(_) => state.answer_to(self.sheet).map_or(Stands::Waiting, Stands::Answered),
        }
    }

    /// The change that asks the server; nothing where it is asked already.
    #[must_use]
    pub fn asking(&self, state: &JobState) -> Option<Known> {
        match self.stands(state) {
            Stands::NotAsked | Stands::Altered => {
                let retired = self.worksheet(state).is_some_and(Worksheet::is_retired);
                let set = WorksheetPatch {
                    kind: Some(WorksheetKind(self.kind.to_owned())),
                    title: Some(self.title.clone()),
                    input: Some(self.input.clone()),
                    retired: retired.then_some(false),
                };
                Some(Known::Worksheet(OnStep { id: self.sheet, step: None, set }))
            }
            Stands::Waiting | Stands::Answered(_) => None,
        }
    }

    fn worksheet<'a>(&self, state: &'a JobState) -> Option<&'a Worksheet> {
        state.worksheets.get(&self.sheet).map(|sheet| &sheet.it)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::entity;
    use serde_json::json;
    use shared_types::job::OnStep as StateOnStep;
    use shared_types::joint::{HolePatch, JointPatch};

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
        state.worksheets.insert(asked.id, StateOnStep { step: None, it: entity(&asked.set) });
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

//! Which worksheets the record holds, and in which order.

use shared_types::coverage::on;
use shared_types::entity::Entity as _;
use shared_types::ids::{HoleId, JointId, LayupId, WorksheetId};
use shared_types::job::JobState;
use shared_types::{joint, layup};

/// Worksheets in use, in the order of the record: those of the job itself, of the steps, of joints with their driven
/// heads, of layups.
#[must_use]
pub fn all(state: &JobState) -> Vec<WorksheetId> {
    let mut all = of_job(state);
    for (step, _) in state.steps_in_order() {
        all.extend(on(&state.worksheets, Some(step)).map(|(id, _)| *id));
    }
    for (joint, _) in state.joints_in_use() {
        all.extend(of_joint(state, joint));
    }
    for (layup, _) in state.layups_in_use() {
        all.extend(of_layup(state, layup));
    }
    all
}

/// Those that are about nothing but the job.
#[must_use]
pub fn of_job(state: &JobState) -> Vec<WorksheetId> {
    // What was asked of a joint or a layup goes with it, also when that was taken out of use.
    let is_of_thing = |id: WorksheetId| {
        state.joints.get(&JointId(id.0)).is_some()
            || state.holes.get(&HoleId(id.0)).is_some()
            || state.layups.iter().any(|(layup, _)| layup::sheets_of(*layup).contains(&id))
    };
    on(&state.worksheets, None).map(|(id, _)| *id).filter(|id| !is_of_thing(*id)).collect()
}

/// A joint's pattern, and the driven heads of its holes.
#[must_use]
pub fn of_joint(state: &JobState, joint: JointId) -> Vec<WorksheetId> {
    let heads = state.holes_of(joint).into_iter().map(|(hole, _)| joint::worksheet_of_head(hole));
    in_use(state, std::iter::once(joint::worksheet_of(joint)).chain(heads))
}

/// A layup's laminate, its comparison with what it stands in for, its patch.
#[must_use]
pub fn of_layup(state: &JobState, layup: LayupId) -> Vec<WorksheetId> {
    in_use(state, layup::sheets_of(layup).into_iter())
}

fn in_use(state: &JobState, sheets: impl Iterator<Item = WorksheetId>) -> Vec<WorksheetId> {
    sheets.filter(|id| state.worksheets.get(id).is_some_and(|it| !it.it.is_retired())).collect()
}

/// What a worksheet is called, with its kind.
#[must_use]
pub fn title(state: &JobState, sheet: WorksheetId) -> String {
    let sheet = state.worksheets.get(&sheet).map(|it| &it.it);
    sheet.map(|it| format!("{} ({})", it.title.or_empty(), it.kind.or_empty().0)).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::preview::after;
    use shared_types::body::{Known, On, OnStep};
    use shared_types::ids::StepId;
    use shared_types::job::{StepPatch, WorksheetPatch};
    use shared_types::joint::{HolePatch, JointPatch};
    use shared_types::layup::LayupPatch;
    use uuid::Uuid;

    #[test]
    fn every_worksheet_in_use_stands_in_the_record_once() {
        let (step, own, on_step) =
            (StepId(Uuid::from_u128(1)), WorksheetId(Uuid::from_u128(2)), WorksheetId(Uuid::from_u128(3)));
        let (joint, hole) = (JointId(Uuid::from_u128(4)), HoleId(Uuid::from_u128(5)));
        let layup = LayupId(Uuid::from_u128(6));
        let asked = |id: WorksheetId, step: Option<StepId>| {
            Known::Worksheet(OnStep {
                id,
                step,
                set: WorksheetPatch { title: Some("one".into()), ..Default::default() },
            })
        };
        let named = |retired: Option<bool>| JointPatch { retired, ..JointPatch::default() };
        let of_layup = layup::sheets_of(layup);
        let mut bodies = vec![
            Known::Step(On {
                id: step,
                set: StepPatch { title: Some("Drill".into()), ..StepPatch::default() },
            }),
            Known::Joint(On { id: joint, set: named(None) }),
            Known::Hole(On { id: hole, set: HolePatch { joint: Some(joint), ..HolePatch::default() } }),
            Known::Layup(On {
                id: layup,
                set: LayupPatch { name: Some("Flange".into()), ..LayupPatch::default() },
            }),
            asked(own, None),
            asked(on_step, Some(step)),
            asked(joint::worksheet_of(joint), None),
            asked(joint::worksheet_of_head(hole), None),
        ];
        bodies.extend(of_layup.map(|sheet| asked(sheet, None)));
        let state = after(&JobState::default(), &bodies);
        let head = joint::worksheet_of_head(hole);
        let [laminate, comparison, patch] = of_layup;
        let order = [own, on_step, joint::worksheet_of(joint), head, laminate, comparison, patch];
        assert_eq!(all(&state), order);

        // A joint that was taken out of use takes its worksheets along; they become none of the job's own.
        let state = after(&state, &[Known::Joint(On { id: joint, set: named(Some(true)) })]);
        assert_eq!(all(&state), [own, on_step, laminate, comparison, patch]);
    }
}

//! A worksheet's result as the log keeps it: what doesn't fit into a change is left out by a rule.

use serde_json::Value;
use shared_types::check::MAX_CHANGE_BYTES;
use shared_types::job::{AnswerOutcome, JobState};
use shared_types::on_step::OnStep;
use shared_types::worksheet::{BadInput, Caution, LEFT_OUT, WorksheetResult};

/// Room for what stands around an answer in its change: ids, stamp, digests.
const AROUND: usize = 4096;
/// How long an answer may be.
const MOST: usize = MAX_CHANGE_BYTES - AROUND;

/// Something that can be left out: in words, and how.
type Part = (&'static str, fn(&mut WorksheetResult) -> bool);

/// What is left out as far as it must be, in this order: pictures first, because the input draws
/// them again, then figures that others sum up.
const PARTS: [Part; 5] = [
    ("the drawing", |it| it.drawing.take().is_some()),
    ("the plots", |it| it.outputs.remove("plots").is_some()),
    ("the drawings of the cut plans", without_cut_drawings),
    ("strains and stresses ply by ply", |it| it.outputs.remove("points").is_some()),
    ("all proposals after the third", without_late_proposals),
];

/// A result as the log keeps it: without the drill or cutting template in any case, which is many
/// times as long as the rest, and without what makes it too long for a change. What is too long even
/// so is refused: a change that no phone takes would be no answer.
#[must_use]
pub fn recorded(mut result: WorksheetResult) -> AnswerOutcome {
    result.outputs.remove("template");
    let mut left_out = Vec::new();
    for (words, take_out) in PARTS {
        if length(&result) <= MOST {
            break;
        }
        if take_out(&mut result) {
            left_out.push(words);
        }
    }
    if !left_out.is_empty() {
        result.cautions.push(Caution {
            code: LEFT_OUT.to_owned(),
            text: format!(
                "Left out of the record, which would be too long with it: {}. The same input gives it again.",
                left_out.join(", ")
            ),
        });
    }
    let length = length(&result);
    if length <= MOST {
        return AnswerOutcome::Result(Box::new(result));
    }
    AnswerOutcome::Refused(vec![BadInput {
        field: "input".to_owned(),
        reason: format!("makes a result of {} kB, more than a record holds", length.div_ceil(1024)),
        accepted: format!("less at once: a result of at most {} kB", MOST / 1024),
    }])
}

/// A recorded result with what was left out of it made again, so that whoever reads the record sees
/// the drawings all the same.
#[must_use]
pub fn completed(kind: &str, input: &Value, result: WorksheetResult) -> WorksheetResult {
    if !result.is_shortened() {
        return result;
    }
    match calculations::calculate(kind, input) {
        Ok(again) => result.completed_by(again),
        // An older engine took this input: what it said stands as it is.
        Err(_) => result,
    }
}

/// A job with all results that count [`completed`].
#[must_use]
pub fn completed_all(mut state: JobState) -> JobState {
    for (id, OnStep { it: sheet, .. }) in &state.worksheets {
        let (kind, input, digest) = (sheet.kind.or_empty().0, sheet.input.or_empty(), sheet.input_digest());
        let answers = state.answers.get_mut(id).into_iter().flat_map(|all| all.values_mut());
        for (_, answer) in answers.filter(|(_, answer)| answer.input == digest) {
            if let AnswerOutcome::Result(result) = &mut answer.outcome {
                **result = completed(&kind, &input, (**result).clone());
            }
        }
    }
    state
}

fn length(result: &WorksheetResult) -> usize {
    // What has no JSON form is refused where the change is written.
    serde_json::to_vec(result).map_or(0, |text| text.len())
}

fn without_cut_drawings(result: &mut WorksheetResult) -> bool {
    let mut any = false;
    let mut take_out = |plan: &mut Value| {
        any |= plan.as_object_mut().is_some_and(|plan| plan.remove("drawing").is_some());
    };
    if let Some(plan) = result.outputs.get_mut("cut_plan") {
        take_out(plan);
    }
    let further = result.outputs.get_mut("further_cut_plans").and_then(Value::as_array_mut);
    further.into_iter().flatten().for_each(take_out);
    any
}

fn without_late_proposals(result: &mut WorksheetResult) -> bool {
    const KEPT: usize = 3;
    let proposals = result.outputs.get_mut("proposals").and_then(Value::as_array_mut);
    proposals.filter(|all| all.len() > KEPT).is_some_and(|all| {
        all.truncate(KEPT);
        true
    })
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn answer(kind: &str, input: &Value) -> AnswerOutcome {
        recorded(calculations::calculate(kind, input).unwrap())
    }

    fn patch(plies: usize) -> Value {
        let ply = |at: usize| {
            let cloth = if at.is_multiple_of(3) { "E-glass style 120" } else { "E-glass style 7781" };
            json!({ "cloth": cloth, "fibre_fraction": 0.35, "angle": if at.is_multiple_of(2) { 0 } else { 45 } })
        };
        json!({
            "damage": { "shape": "oval", "length": "60 mm", "width": "25 mm" }, "taper_ratio": 50,
            "repair": (0..plies).map(ply).collect::<Vec<_>>(), "cloth_width": "3 m",
        })
    }

    fn laminate(plies: usize) -> Value {
        let ply = |at: usize| json!({ "material": "w7781_hand", "angle": (at % 4) * 45 });
        json!({ "plies": (0..plies).map(ply).collect::<Vec<_>>(), "load": { "N": [100, 20, 10], "M": [1, 2, 3] } })
    }

    #[test]
    fn what_fits_is_kept_whole() {
        let AnswerOutcome::Result(result) = answer("patch", &patch(4)) else { panic!("refused") };
        assert!(result.drawing.is_some() && result.outputs["cut_plan"]["drawing"].is_string());
        assert!(result.cautions.iter().all(|it| it.code != "left-out"));
    }

    #[test]
    fn what_would_be_too_long_for_a_change_goes_without_its_pictures() {
        for (kind, input) in [
            ("patch", patch(20)),
            ("patch", patch(40)),
            ("laminate", laminate(16)),
            ("laminate", laminate(100)),
        ] {
            let AnswerOutcome::Result(result) = answer(kind, &input) else { panic!("{kind} is refused") };
            assert!(length(&result) <= MOST && result.drawing.is_none(), "{kind}: {}", length(&result));
            let said = result.cautions.iter().find(|it| it.code == "left-out").unwrap();
            assert!(said.text.contains("the drawing"), "{}", said.text);
            assert!(!result.lines.is_empty());
        }
    }

    #[test]
    fn what_was_left_out_is_made_again_from_the_same_input_by_the_same_engine_only() {
        let input = patch(20);
        let whole = calculations::calculate("patch", &input).unwrap();
        let AnswerOutcome::Result(kept) = recorded(whole.clone()) else { panic!("refused") };
        let again = completed("patch", &input, (*kept).clone());
        assert_eq!(again.drawing, whole.drawing);
        assert_eq!(again.outputs["cut_plan"], whole.outputs["cut_plan"]);
        assert!(!again.is_shortened());

        let older = WorksheetResult { engine: "faying-calculations 0.0.1".to_owned(), ..*kept };
        assert_eq!(completed("patch", &input, older.clone()), older);
    }

    #[test]
    fn what_is_too_long_all_the_same_is_refused_and_says_so() {
        let AnswerOutcome::Refused(why) = answer("laminate", &laminate(1000)) else { panic!("taken") };
        assert!(why[0].reason.contains("more than a record holds"), "{}", why[0].reason);
    }
}

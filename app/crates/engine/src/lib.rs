//! The calculation engine as a browser module of its own.
//!
//! The app's first load doesn't carry it: it is as big as the app. The service
//! worker keeps it with everything else, so previews work offline too.

use calculations::CalcError;
use serde_json::Value;
use shared_types::job::AnswerOutcome;
use shared_types::worksheet::BadInput;
use wasm_bindgen::prelude::wasm_bindgen;

/// Works one worksheet out. Input and answer are JSON: the kind's input, and an
/// [`AnswerOutcome`], or `null` for a kind that this engine doesn't know.
#[wasm_bindgen]
#[must_use]
pub fn calculate(kind: &str, input: &str) -> String {
    let outcome = serde_json::from_str::<Value>(input)
        .map_err(|error| {
            let accepted = "JSON".to_owned();
            CalcError::BadInput(vec![BadInput { field: String::new(), reason: error.to_string(), accepted }])
        })
        .and_then(|input| calculations::calculate(kind, &input));
    let answer = match outcome {
        Ok(result) => Some(AnswerOutcome::Result(Box::new(result))),
        Err(CalcError::BadInput(problems)) => Some(AnswerOutcome::Refused(problems)),
        Err(CalcError::UnknownKind(_)) => None,
    };
    // An answer always has a JSON form: its maps have text for keys, its numbers are finite.
    serde_json::to_string(&answer).unwrap_or_else(|_| "null".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answer(kind: &str, input: &str) -> Option<AnswerOutcome> {
        serde_json::from_str(&calculate(kind, input)).unwrap()
    }

    #[test]
    fn an_answer_is_a_result_a_refusal_or_nothing() {
        assert_eq!(answer("no-such-kind", "{}"), None);
        assert!(
            matches!(answer("rivet-length", "{}"), Some(AnswerOutcome::Refused(problems)) if !problems.is_empty())
        );
        assert!(matches!(answer("rivet-length", "{"), Some(AnswerOutcome::Refused(_))));
    }
}

//! The calculation engine as a browser module of its own.
//!
//! The app's first load doesn't carry it: it is as big as the app. The service
//! worker keeps it with everything else, so previews work offline too.

use calculations::CalcError;
use serde_json::{Value, json};
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

/// Every kind of worksheet as JSON: `[{ "kind", "about", "group" }]`, in the engine's order.
#[wasm_bindgen]
#[must_use]
pub fn kinds() -> String {
    let row = |kind: &calculations::Kind| {
        let is_of = |kinds: &[calculations::Kind]| kinds.iter().any(|it| it.name == kind.name);
        let group = match () {
            () if is_of(calculations::fasteners::KINDS) => "fasteners",
            () if is_of(calculations::balance::KINDS) => "balance",
            () => "laminates",
        };
        json!({ "kind": kind.name, "about": kind.about, "group": group })
    };
    Value::Array(calculations::kinds().map(row).collect()).to_string()
}

/// The JSON Schema of a kind's input; `null` for a kind that this engine doesn't know.
#[wasm_bindgen]
#[must_use]
pub fn schema(kind: &str) -> String {
    calculations::schema(kind).unwrap_or_default().to_string()
}

/// The catalogue as JSON: a [`shared_types::catalogue::Catalogue`].
#[wasm_bindgen]
#[must_use]
pub fn catalogue() -> String {
    serde_json::to_string(&calculations::catalogue::listing::catalogue())
        .unwrap_or_else(|_| "null".to_owned())
}

/// What a stack of plies comes to, from the input of `laminate`. The answer is JSON: `Ok` with a
/// [`shared_types::layup::Summary`], or `Err` with the reasons why it is refused.
#[wasm_bindgen]
#[must_use]
pub fn layup_summary(input: &str) -> String {
    let input = serde_json::from_str::<Value>(input).unwrap_or_default();
    serde_json::to_string(&calculations::laminates::layup_summary(&input)).unwrap_or_default()
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

    #[test]
    fn the_catalogue_reads_back() {
        let read: shared_types::catalogue::Catalogue = serde_json::from_str(&catalogue()).unwrap();
        assert_eq!(read, calculations::catalogue::listing::catalogue());
    }
}

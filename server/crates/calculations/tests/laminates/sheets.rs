//! The worksheets, one by one: golden results, figures worked by hand, refusals and cautions.

mod bonded_lap;
mod cure;
mod finish;
mod lamina;
mod laminate;
mod layup_compare;
mod moisture;
mod patch;
mod ply_thickness;
mod resin_batch;

use calculations::CalcError;
use serde_json::Value;
use shared_types::worksheet::{BadInput, WorksheetResult};

/// The result of a worksheet.
pub fn work(kind: &str, input: &Value) -> WorksheetResult {
    calculations::calculate(kind, input).unwrap_or_else(|error| panic!("{kind}: {error}"))
}

/// The result of a kind's own example.
pub fn example(kind: &str) -> WorksheetResult {
    work(kind, &calculations::kind(kind).unwrap().example())
}

/// The refusals of a worksheet.
pub fn refused(kind: &str, input: &Value) -> Vec<BadInput> {
    match calculations::calculate(kind, input) {
        Err(CalcError::BadInput(refusals)) => refusals,
        other => panic!("{kind} should refuse {input}: {other:?}"),
    }
}

/// A kind's example with some fields replaced; null takes a field out.
pub fn with(kind: &str, changes: &Value) -> Value {
    let mut input = calculations::kind(kind).unwrap().example();
    for (key, value) in changes.as_object().unwrap() {
        if value.is_null() {
            input.as_object_mut().unwrap().remove(key);
        } else {
            input[key] = value.clone();
        }
    }
    input
}

/// One number of a result, by a JSON pointer.
pub fn at(result: &WorksheetResult, pointer: &str) -> f64 {
    let outputs = Value::Object(result.outputs.clone());
    let found = outputs.pointer(pointer).unwrap_or_else(|| panic!("no {pointer} in {outputs}"));
    let number = found.get("value").unwrap_or(found);
    number.as_f64().unwrap_or_else(|| panic!("{pointer} is {number}"))
}

/// Whether a result carries a caution.
pub fn warns(result: &WorksheetResult, code: &str) -> bool {
    result.cautions.iter().any(|caution| caution.code == code)
}

/// Asserts that two numbers agree.
#[track_caller]
pub fn close(got: f64, expected: f64, relative: f64) {
    let off = (got - expected).abs();
    assert!(off <= relative * expected.abs(), "expected {expected}, got {got}");
}

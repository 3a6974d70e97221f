//! The fastener kinds against published values, their own laws, and nonsense.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod bad_input;
mod contract;
mod laws;
mod pattern;
mod reference;
mod rivet_length;
mod template;

use serde_json::Value;

/// Works a worksheet out; the whole result as JSON.
pub fn calc(kind: &str, input: &Value) -> Value {
    match calculations::calculate(kind, input) {
        Ok(result) => serde_json::to_value(result).unwrap(),
        Err(error) => panic!("{kind} refused {input}: {error}"),
    }
}

/// The refusals of an input: field, reason and accepted.
pub fn refusals(kind: &str, input: &Value) -> Vec<(String, String, String)> {
    match calculations::calculate(kind, input) {
        Err(calculations::CalcError::BadInput(bad)) => {
            bad.into_iter().map(|bad| (bad.field, bad.reason, bad.accepted)).collect()
        }
        other => panic!("{kind} should have refused {input}, but: {other:?}"),
    }
}

/// The fields that an input is refused for.
pub fn refused_fields(kind: &str, input: &Value) -> Vec<String> {
    let refusals = refusals(kind, input);
    for (field, reason, accepted) in &refusals {
        assert!(!reason.is_empty() && !accepted.is_empty(), "{field}: {reason} / {accepted}");
    }
    refusals.into_iter().map(|(field, _, _)| field).collect()
}

/// The number of the quantity or the plain number at a JSON pointer.
pub fn number(result: &Value, pointer: &str) -> f64 {
    let found = result.pointer(pointer).unwrap_or(&Value::Null);
    let number = if found.is_object() { &found["value"] } else { found };
    number.as_f64().unwrap_or_else(|| panic!("{pointer} is {found} in {result:#}"))
}

/// The text at a JSON pointer.
pub fn text<'a>(result: &'a Value, pointer: &str) -> &'a str {
    let found = result.pointer(pointer).unwrap_or(&Value::Null);
    found.as_str().unwrap_or_else(|| panic!("{pointer} is {found} in {result:#}"))
}

/// Asserts that two numbers agree to an absolute tolerance.
#[track_caller]
pub fn near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} ± {tolerance}");
}

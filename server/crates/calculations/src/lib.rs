//! The engines: fastener, joint, laminate and balance worksheets as pure functions from
//! JSON to JSON. No I/O, no clock, no state; the same bits natively and in wasm.
//!
//! [`calculate`] looks the kind up in one table, reads the input strictly, lets
//! the kind work itself out and stamps the result with engine and digest.
//!
//! ```
//! use serde_json::json;
//!
//! let result = calculations::calculate("part-number", &json!({ "part_number": "MS20470AD4-5" }))?;
//! assert_eq!(result.outputs["alloy"], "2117-T4");
//! # Ok::<(), calculations::CalcError>(())
//! ```

pub mod balance;
pub mod catalogue;
pub mod drawing;
pub mod fasteners;
pub mod input;
pub mod kind;
pub mod laminates;
mod template;
pub mod working;

use serde_json::Value;
use shared_types::worksheet::{BadInput, WorksheetResult};

pub use kind::{Calculation, Kind};

/// Name and version of the engine, stamped on every result.
pub const ENGINE: &str = concat!("faying-calculations ", env!("CARGO_PKG_VERSION"));

/// The table of kinds: what this engine can work out.
const TABLE: [&[Kind]; 3] = [fasteners::KINDS, laminates::KINDS, balance::KINDS];

/// Why there is no result.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CalcError {
    /// No such kind; these there are.
    #[error("there is no such kind of worksheet; the kinds are {}", .0.join(", "))]
    UnknownKind(Vec<&'static str>),
    /// The input was refused: every field that is wrong, as far as one pass finds them.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))]
    BadInput(Vec<BadInput>),
}

/// Every kind of worksheet, fasteners first.
pub fn kinds() -> impl Iterator<Item = &'static Kind> {
    TABLE.into_iter().flatten()
}

/// One kind by its name.
#[must_use]
pub fn kind(name: &str) -> Option<&'static Kind> {
    kinds().find(|kind| kind.name == name)
}

/// Works one worksheet out.
///
/// # Errors
/// The kind is unknown, or the input is refused with field, reason and accepted range.
pub fn calculate(name: &str, input: &Value) -> Result<WorksheetResult, CalcError> {
    let kind = kind(name).ok_or_else(|| CalcError::UnknownKind(kinds().map(|kind| kind.name).collect()))?;
    kind.calculate(input).map_err(CalcError::BadInput)
}

/// The JSON Schema of a kind's input.
#[cfg(feature = "schema")]
#[must_use]
pub fn schema(name: &str) -> Option<Value> {
    kind(name).map(Kind::schema)
}

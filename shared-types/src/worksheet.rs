//! A worksheet: one calculation with its inputs, working, result and cautions.
//!
//! The engine under `server/` fills these types in, the app shows them. An
//! inspector must be able to check a worksheet by hand from its [`Line`]s.

use serde::{Deserialize, Serialize};

use crate::digest::Digest;

/// The name of a calculation, as in `faying calc KIND` and
/// `POST /api/v1/calc/KIND`: `rivet-length`, `resin-batch`, …
///
/// Kinds are open text: an older app keeps and shows a worksheet of a kind that
/// only a newer server can work out.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct WorksheetKind(pub String);

/// A number with its unit, as every output quantity is written: `{"value": 0.2825, "unit": "in"}`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Quantity {
    /// The number. Never NaN or infinite: the engine refuses instead.
    pub value: f64,
    /// The unit's symbol: `in`, `mm`, `psi`, `MPa`, `g`, `1` for a plain ratio.
    pub unit: String,
}

/// Where a formula or a limit comes from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Source {
    /// A published document, with its paragraph, table or page.
    Published(String),
    /// The trade does it so; no source is claimed.
    CommonPractice,
    /// Remembered by the author and not looked up: say so, and check before relying on it.
    FromMemory(String),
    /// A typical value of a material, not an allowable.
    Typical(String),
}

/// How a value stands against its limit, the worse the greater. Shown as a word
/// and a shape, never as colour alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Within the limit.
    Within,
    /// So close to the limit, or so uncertain, that it must be measured or decided by a person.
    TooClose,
    /// Outside the limit.
    Outside,
}

/// One line of working, complete enough to be checked by hand.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Line {
    /// `L`, `e/D`.
    pub symbol: String,
    /// In words: "required length".
    pub meaning: String,
    /// `L = G + 1.5 D`.
    pub formula: String,
    /// The same with the numbers put in: `L = 0.095 in + 1.5 × 0.125 in`.
    pub substituted: String,
    /// The value.
    pub value: Quantity,
    /// The limit it is held against, in words and numbers, if there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit: Option<String>,
    /// The verdict against the limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verdict: Option<Verdict>,
    /// Source of formula and limit.
    pub source: Source,
}

impl Line {
    /// Holds the value against a limit.
    pub fn against(&mut self, limit: impl Into<String>, verdict: Verdict) {
        self.limit = Some(limit.into());
        self.verdict = Some(verdict);
    }
}

/// A warning that belongs to a result, kept with it for ever.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Caution {
    /// Stable name: `working-aid`, `solvent`, `expired`.
    pub code: String,
    /// The sentence that people read.
    pub text: String,
}

/// The engine's answer: the kind's own keys beside the parts that every kind has.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WorksheetResult {
    /// Which calculation.
    pub kind: WorksheetKind,
    /// Name and version of the engine, e.g. `faying-calculations 0.1.0`.
    pub engine: String,
    /// Digest of the input in canonical form: equal inputs, equal digests.
    pub digest: Digest,
    /// The working.
    pub lines: Vec<Line>,
    /// What to keep in mind. Never empty: every result is a working aid, not approved data.
    pub cautions: Vec<Caution>,
    /// A picture as SVG text, sized by its viewBox, coloured only by the classes
    /// `metal`, `laminate`, `fastener`, `dimension`, `good`, `close`, `bad`, `ink`:
    /// a class sets CSS `color`, every shape is drawn in `currentColor`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drawing: Option<String>,
    /// The kind's own keys (`grip`, `required_length`, …).
    #[serde(flatten)]
    pub outputs: serde_json::Map<String, serde_json::Value>,
}

/// The code of the caution about what a recorded result goes without.
pub const LEFT_OUT: &str = "left-out";

impl WorksheetResult {
    /// Was something left out where it was recorded, because the log would not have held it?
    #[must_use]
    pub fn is_shortened(&self) -> bool {
        self.cautions.iter().any(|it| it.code == LEFT_OUT)
    }

    /// The recorded result with what was left out of it, from the same input worked out again. What
    /// another engine makes of it stays out: the record is what the server said then.
    #[must_use]
    pub fn completed_by(mut self, again: Self) -> Self {
        if !self.is_shortened() || self.engine != again.engine || self.digest != again.digest {
            return self;
        }
        // Whole keys: a cut plan's drawing is inside it, and so are all proposals after the third.
        self.outputs.extend(again.outputs);
        self.drawing = again.drawing;
        for caution in &mut self.cautions {
            if caution.code == LEFT_OUT {
                *caution = Caution { code: "drawn-again".to_owned(), text: DRAWN_AGAIN.to_owned() };
            }
        }
        self
    }
}

const DRAWN_AGAIN: &str = "Its drawings and longest lists are too long to be kept with the record; here they are made \
                           again from the same input by the same version of the engine.";

/// Why the engine will not answer: never a panic, never a number.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, thiserror::Error)]
#[error("{field}: {reason} (accepted: {accepted})")]
pub struct BadInput {
    /// Path of the input field: `stack[1].thickness`.
    pub field: String,
    /// What is wrong with it, as a sentence part: `is negative`.
    pub reason: String,
    /// What would be accepted: `0.1 mm to 50 mm`.
    pub accepted: String,
}

//! The laminate engine.

use crate::Kind;

/// The laminate half of the table of kinds.
pub const KINDS: &[Kind] = &[];

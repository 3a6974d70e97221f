//! The fastener and joint engine.

use crate::Kind;

/// The fastener half of the table of kinds.
pub const KINDS: &[Kind] = &[];

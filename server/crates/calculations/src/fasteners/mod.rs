//! The fastener and joint engine.

mod parts;
mod pattern;
mod plane;
mod rivet_length;

use crate::Kind;

/// The fastener half of the table of kinds.
pub const KINDS: &[Kind] = &[Kind::of::<rivet_length::RivetLength>(), Kind::of::<pattern::Pattern>()];

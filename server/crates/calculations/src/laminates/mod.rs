//! The laminate engine: lay-ups, resin, patches, cure, bonded joints, moisture, finish.

mod chart;
mod convention;
mod hazards;
mod lamina;
mod laminate;
mod layup_compare;
pub mod mechanics;
mod ply_thickness;
mod resin_batch;
mod sheet;
pub mod shelf;
mod sources;
mod stack;

use crate::Kind;

/// The laminate half of the table of kinds.
pub const KINDS: &[Kind] = &[
    Kind::of::<resin_batch::ResinBatch>(),
    Kind::of::<ply_thickness::PlyThickness>(),
    Kind::of::<laminate::LaminateInput>(),
    Kind::of::<layup_compare::LayupCompare>(),
    Kind::of::<lamina::LaminaInput>(),
];

//! The laminate engine: lay-ups, resin, patches, cure, bonded joints, moisture, finish.

mod bonded_lap;
mod chart;
mod convention;
mod cure;
mod finish;
mod hazards;
mod lamina;
mod laminate;
mod layup_compare;
pub mod mechanics;
mod moisture;
mod own_cloth;
mod patch;
mod ply_thickness;
mod resin_batch;
mod sheet;
pub mod shelf;
mod sources;
mod stack;

use crate::Kind;

pub use laminate::summary as layup_summary;

/// The laminate half of the table of kinds.
pub const KINDS: &[Kind] = &[
    Kind::of::<resin_batch::ResinBatch>(),
    Kind::of::<ply_thickness::PlyThickness>(),
    Kind::of::<laminate::LaminateInput>(),
    Kind::of::<layup_compare::LayupCompare>(),
    Kind::of::<lamina::LaminaInput>(),
    Kind::of::<patch::PatchInput>(),
    Kind::of::<cure::CureInput>(),
    Kind::of::<bonded_lap::BondedLap>(),
    Kind::of::<moisture::MoistureInput>(),
    Kind::of::<finish::FinishInput>(),
];

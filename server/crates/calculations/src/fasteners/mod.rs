//! The fastener and joint engine.

mod clamp;
mod countersink;
mod driven_head;
mod fastener_group;
mod fasteners_per_inch;
mod galvanic;
mod hole;
mod inter_rivet;
mod joint_compare;
mod part_number;
mod parts;
mod pattern;
mod plane;
mod rivet_length;
mod rivet_strength;
mod row_layout;
mod solid;

use crate::Kind;

/// The fastener half of the table of kinds.
pub const KINDS: &[Kind] = &[
    Kind::of::<part_number::PartNumber>(),
    Kind::of::<rivet_length::RivetLength>(),
    Kind::of::<driven_head::DrivenHead>(),
    Kind::of::<hole::Hole>(),
    Kind::of::<pattern::Pattern>(),
    Kind::of::<row_layout::RowLayout>(),
    Kind::of::<rivet_strength::RivetStrength>(),
    Kind::of::<joint_compare::JointCompare>(),
    Kind::of::<fasteners_per_inch::FastenersPerInch>(),
    Kind::of::<fastener_group::FastenerGroup>(),
    Kind::of::<clamp::Clamp>(),
    Kind::of::<countersink::Countersink>(),
    Kind::of::<galvanic::Galvanic>(),
    Kind::of::<inter_rivet::InterRivet>(),
];

//! Paint, taken off and put on again.

use super::{Stage, Template, hold_point, stage};

pub const TEMPLATE: Template = Template {
    key: "refinish",
    title: "Refinish",
    purpose: "Filler, primer and paint over a sound repair or a worn surface, without adding more mass than allowed.",
    steps: &STEPS,
};

const STEPS: [Stage; 9] = [
    stage(
        "Check that the surface may be painted",
        "The repair below is accepted. Moving surfaces are balanced: paint changes that, so read what the type's own data allow before starting. Note drain holes, vents, placards and where paint is not allowed.",
    ),
    stage(
        "Photograph and mask",
        "Photograph colours, lines, placards and their places with a scale. Mask vents, ports, bearings, glazing and antennas with tape that does not bleed.",
    ),
    stage(
        "Take the old finish off",
        "By hand or fine machine paper, no chemical stripper on laminate, no blasting. Stop at the first sign of cloth or cladding. Dust mask and suction; old primer may hold chromate, so wet dust down and collect it.",
    ),
    hold_point(
        "Show the bare surface",
        "No cut fibre, no corrosion, no crack, no soft old filler. Photograph it: what the paint hides cannot be inspected again.",
    ),
    stage(
        "Fill and fair",
        "As little filler as possible, weighed. Sand to contour, check with a straight edge or template. Note product, batch and mass used.",
    ),
    stage(
        "Clean and prime",
        "Solvent wipe with two cloths, wet then dry, until the cloth stays clean. Primer by the maker's mix, batch and expiry noted, within its temperature and humidity. Solvents and isocyanates harm: supplied air where the maker asks for it, no source of ignition.",
    ),
    stage(
        "Paint",
        "Thin, even coats by the maker's mix and flash-off time. Note batch, mix, time and temperature. Light colours on glass that stands in the sun, as the type's own data say: dark ones heat the resin.",
    ),
    hold_point(
        "Inspect the finish",
        "Cured hard, no runs that hide an edge, drain holes open, gaps and movement unchanged. Read thickness or weigh the part where a limit exists. Balance of a moving surface checked against the type's own data.",
    ),
    stage(
        "Restore markings and close",
        "Placards, registration and warnings back where the photographs show them. Masking off, ports open, tools counted. Note the change of mass and its arm.",
    ),
];

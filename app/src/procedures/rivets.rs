//! Rivets that work in their holes, replaced.

use super::{Stage, Template, hold_point, stage};

pub const TEMPLATE: Template = Template {
    key: "rivets",
    title: "Replacement of working rivets",
    purpose: "Some rivets of a row are loose or smoking while the parts are sound: replace them hole by hole, the joint stays together.",
    steps: &STEPS,
};

const STEPS: [Stage; 10] = [
    stage(
        "Make safe and gain access to both sides",
        "Isolate power and fuel near the work. Check that the tail side can be reached and seen; if it cannot, blind fasteners are a decision of their own.",
    ),
    stage(
        "Photograph and number the row",
        "Photograph the row as found, black streaks included: they show which rivets work. Number every hole from a fixed landmark.",
    ),
    hold_point(
        "Survey which rivets work, and why",
        "Press beside each head and watch for movement, feel for a step, read gaps under heads. Look for cracks that start at holes, with a glass and a light from the side. Ask why they work: wrong length, stretched hole, vibration, a part that is forced. A new rivet in the same hole works loose again unless that is put right.",
    ),
    hold_point(
        "Decide the fastener for each hole",
        "Same kind and size where the hole is still good. One size up only where edge distance, pitch and the type's own data allow it. Work out length from the real grip, washer included, and name batch and release document.",
    ),
    stage(
        "Secure the joint",
        "Put temporary fasteners into the neighbouring holes. Never take out two rivets side by side unless the joint is held.",
    ),
    stage(
        "Take the working rivets out",
        "Spot in the middle of the head, drill to the depth of the head, lift it off, back the sheet up and punch the shank out. Photograph each hole that is not round.",
    ),
    hold_point(
        "Read the empty holes",
        "Diameter in two directions, each hole. Look into it for cracks, elongation, torn cloth and burrs between the sheets. Decide anew for a hole that turns out worse than expected.",
    ),
    stage(
        "Clean and size the holes",
        "Ream only those that go up a size. Clear chips from between the sheets, deburr where you can reach, seal cut fibre, prime bare metal.",
    ),
    stage(
        "Set the new rivets",
        "Wet with sealant where the type's own data ask for it. Hold the sheets tight together, washer under the tail on glass, one blow series rather than many. Set every second hole first.",
    ),
    hold_point(
        "Inspect and close",
        "Read driven heads and compare with their limits. No movement under the thumb, no gap under the head, no crushed glass. Clean off, restore paint, note when the row is to be looked at again.",
    ),
];

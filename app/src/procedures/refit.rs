//! A riveted joint between glass fibre and metal, taken apart and fitted again.

use super::{Stage, Template, hold_point, stage};

pub const TEMPLATE: Template = Template {
    key: "refit",
    title: "Re-fit of a riveted glass-to-metal joint",
    purpose: "The holes have worked loose or the joint was parted: survey it, restore both sides, and rivet it again.",
    steps: &STEPS,
};

const STEPS: [Stage; 14] = [
    stage(
        "Make safe and gain access",
        "Switch off and lock out what could move, spark or spill. Drain or isolate fuel near the work. Support the part so that the joint carries no load while it is open. Cover what dust must not reach.",
    ),
    stage(
        "Photograph as found",
        "The whole part first, then along the row, then each doubtful hole with a scale beside it. Include placards, old repairs and paint lines. Nothing is cleaned or moved before this is done.",
    ),
    stage(
        "Mark out and number the holes",
        "Give every hole a number that starts from a fixed landmark and write the numbers on tape beside the row. Measure hole positions from two edges so that the row can be laid out again.",
    ),
    hold_point(
        "Survey the joint before it is opened",
        "Take the paint off the row without cutting into cloth or cladding. Look for smoking rivets, stretched holes, cracks between holes, lifted plies and corrosion. Tap along the flange and mark where the sound goes dull. Record each hole as found.",
    ),
    stage(
        "Drill out the rivets and part the joint",
        "Drill the heads only, punch the shanks out with the sheet backed up, and let no drill enter the hole. Part the faces with a plastic wedge: a metal one starts plies. Keep one rivet of each kind as a sample.",
    ),
    hold_point(
        "Survey both faces",
        "Read every hole in both parts: diameter in two directions, distance to the edge, distance to the next hole. Look at the metal for cracks and pitting, at the laminate for crushed resin, torn cloth and plies that part. Hold the readings against the type's own data.",
    ),
    hold_point(
        "Decide fasteners and hole treatment",
        "For each hole: keep, go up a size, fill and drill anew, or take the part out of use. Work out grip and rivet length with the washer in the stack, and check that edge distance, pitch and countersink still hold. Write down the paragraph of the type's own data that allows it.",
    ),
    stage(
        "Restore the metal side",
        "Take corrosion out completely, blend, and read the sheet that is left. Clean, treat and prime the bare metal as the type's own data say. Let it cure before glass touches it.",
    ),
    stage(
        "Restore the laminate side",
        "Dry the laminate, abrade to sound cloth, and build worn holes and crushed edges up again with the cloth and resin the type's own data name. Note batch, mix and time of mixing. Gloves, eye protection, moving air; dust is caught at the tool.",
    ),
    hold_point(
        "Fit dry",
        "Clamp the joint with no sealant. The faces meet without being forced: take up a gap with a shim or a build-up, never with the rivet. Check contour and clearance of neighbouring parts, then accept the fit before holes are drilled.",
    ),
    stage(
        "Drill, ream and deburr",
        "Drill through both with the metal backing the glass, ream to size, part, deburr both sides of the metal, and seal the cut fibre in each hole. Read the finished holes.",
    ),
    stage(
        "Assemble wet and rivet",
        "Faying surface sealant on clean, dry faces and fastener shanks as the type's own data say, within its working time. Washers go under the tail on the glass. Set from the middle outwards, every second hole first. Photograph squeeze-out before it is wiped.",
    ),
    hold_point(
        "Inspect the row",
        "Read driven heads, look for tilted or cracked heads, gaps under washers and crushed glass. Replace what fails one rivet at a time. Compare with the readings of the survey.",
    ),
    stage(
        "Finish, weigh and close",
        "Seal edges, restore paint and placards, remove supports and count the tools. Check that moving parts run free. Note the change of mass and its arm, and what must be looked at again and when.",
    ),
];

//! A crack, stopped and patched.

use super::{Stage, Template, hold_point, stage};

pub const TEMPLATE: Template = Template {
    key: "crack",
    title: "Crack stop and patch",
    purpose: "A crack in sheet or laminate: find its true end, stop it, and carry the load around it with a patch.",
    steps: &STEPS,
};

const STEPS: [Stage; 11] = [
    stage(
        "Make safe and gain access",
        "Isolate power and fuel near the work. Take the load off the part. Reach both sides if at all possible.",
    ),
    stage(
        "Photograph as found",
        "The whole part, then the crack with a scale, both ends, both faces. Mark with a soft pen only: scribed lines start new cracks.",
    ),
    hold_point(
        "Find the true ends and the cause",
        "Clean, strip, and find each end with the method the type's own data allow: a glass and side light at least, dye or eddy current where asked for. Length on both faces. Look for what drives it: a sharp corner, a missing fastener, a forced fit, vibration.",
    ),
    hold_point(
        "Decide: patch, larger repair, or out of use",
        "Hold length, place and number of cracks against the type's own data. Some places may not be patched at all. State material, thickness, fasteners or plies of the patch, and what removes the cause.",
    ),
    stage(
        "Stop the crack",
        "Stop holes at each true end, of the size the type's own data give, drilled with a backing, deburred and polished on both sides. On laminate cut the crack out with round corners instead.",
    ),
    hold_point(
        "Prove that it is stopped",
        "Inspect each stop hole again with the same method as before. The crack does not run past it. The patch hides this.",
    ),
    stage(
        "Make the patch",
        "Cut with round corners and smooth edges, grain or cloth in the direction that was decided. Lay the fastener rows out, check edge distance and pitch on both patch and parent. For a glass patch weigh resin and hardener and note batches.",
    ),
    stage(
        "Fit dry",
        "The patch lies flat without being forced. Drill, part, deburr, clean chips from between. Check clearance to what lies behind.",
    ),
    stage(
        "Protect and install",
        "Treat and prime bare metal, keep unlike metals apart, seal the faying surfaces within the sealant's working time. Set from the middle outwards, or lay up and cure as decided.",
    ),
    hold_point(
        "Inspect the patch",
        "Driven heads or laminate read and held against their limits. Edges sealed, no gap, no step that was not allowed. The part moves freely.",
    ),
    stage(
        "Finish, weigh and close",
        "Restore paint and placards. Note the change of mass and its arm. Write down when the ends of the patch are looked at again: a stopped crack is watched.",
    ),
];

//! A flange whose laminate is torn, built up again in glass.

use super::{Stage, Template, hold_point, stage};

pub const TEMPLATE: Template = Template {
    key: "reglass",
    title: "Re-glass of a torn flange",
    purpose: "An attach flange is torn or pulled through: scarf it back to sound cloth, lay it up again, drill a new row.",
    steps: &STEPS,
};

const STEPS: [Stage; 13] = [
    stage(
        "Make safe and take the part off",
        "Isolate power and fuel near the work and support the part before the last fastener leaves. Label fasteners by hole. Photograph how it sat.",
    ),
    stage(
        "Photograph the damage as found",
        "Both faces, with a scale and the direction of flight marked. Close views of every tear, with light from the side to show lifted plies.",
    ),
    hold_point(
        "Survey how far it goes",
        "Strip paint by hand, no chemical stripper on laminate. Tap or probe outwards until the sound is clear all round and draw that line. Find the cloth's direction and number of plies from an edge or a burn-out sample. Hold the size of the damage against the type's own data.",
    ),
    hold_point(
        "Decide the layup",
        "State cloth, number and direction of plies, overlap of each, resin and cure, and where the type's own data allow it. Work out cloth area and resin by weight. A repair is as stiff as the parent, not stiffer: extra plies carry load to the next weakest place.",
    ),
    stage(
        "Dry the laminate",
        "Warm gently and long enough for trapped water and fuel to leave; note temperature and hours. Resin does not hold on damp or oily glass.",
    ),
    stage(
        "Cut back and scarf",
        "Cut to the line, round every corner, and scarf each ply by the overlap that was decided. Dust mask with the right filter, suction at the tool. Wipe with clean solvent and clean cloth, and touch the surface no more.",
    ),
    hold_point(
        "Show the prepared scarf",
        "Photograph the scarf with a scale, read its width at four places, and show that water spreads on it without breaking into drops where that test is allowed. The next stage hides it.",
    ),
    stage(
        "Set up backing and moulds",
        "Back the flange to its true shape with a released mould or a caul plate. Check contour against the fixed side and protect the faces that resin must not reach.",
    ),
    stage(
        "Mix and lay up",
        "Weigh resin and hardener, note batch and expiry of both and the time of mixing. Wet each ply out, lay it in its direction, work the air out. Stop when the pot gets warm or stringy: a late ply does not bond. Keep a mixed sample of each pot.",
    ),
    stage(
        "Cure",
        "Hold temperature and pressure for the time the type's own data or the resin's maker give, and read the temperature on the part rather than on the wall. Note start and end.",
    ),
    hold_point(
        "Inspect the laminate",
        "The sample pot is hard right through. Tap the repair and its border. Look for dry cloth, voids, resin-rich corners. Read thickness on the flange and compare with the parent.",
    ),
    stage(
        "Trim and drill the new row",
        "Trim to outline, seal the cut edge. Lay the row out from the notes of the survey, check edge distance and pitch before the first hole, drill with a backing, seal the cut fibre.",
    ),
    stage(
        "Fit, finish, weigh and close",
        "Fit the part and check gap, step and free movement. Fill and paint within the mass that was allowed. Note the change of mass and its arm, and when the flange is to be looked at again.",
    ),
];

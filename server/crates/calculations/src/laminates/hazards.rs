//! The cautions that laminate work carries.

use crate::working::Working;

/// Handling uncured resin and hardener.
pub fn resin(working: &mut Working) {
    working.caution(
        "resin",
        "Uncured resin and hardener burn and sensitise the skin, some for life: gloves, sleeves, \
         eye protection, moving air. Read both safety data sheets.",
    );
}

/// Polyester and vinyl ester: styrene and peroxide.
pub fn styrene_and_peroxide(working: &mut Working) {
    working.caution(
        "styrene-peroxide",
        "Styrene vapour is harmful and burns; peroxide catalyst blinds and can explode on contact \
         with cobalt accelerator. Never mix catalyst and accelerator directly; wear goggles.",
    );
}

/// Sanding and trimming cured laminate.
pub fn dust(working: &mut Working) {
    working.caution(
        "dust",
        "Dust of cured laminate harms the lungs and the skin: dust extraction and a fitted \
         particle mask. Carbon dust also conducts and shorts electrics.",
    );
}

/// Solvent for wiping and cleaning.
pub fn solvent(working: &mut Working) {
    working.caution(
        "solvent",
        "Solvent vapour burns and dazes: no flame, no spark, moving air, gloves that the solvent \
         does not pass. Wet rags go into a closed metal bin.",
    );
}

/// Two-part urethane paints.
pub fn isocyanate(working: &mut Working) {
    working.caution(
        "isocyanate",
        "Two-part urethane paint holds isocyanate: once sensitised, a trace brings on asthma. \
         Supplied-air breathing gear for spraying, no exceptions; a cartridge mask is not enough.",
    );
}

/// Hot resin in a cup.
pub fn exotherm(working: &mut Working) {
    working.caution(
        "exotherm",
        "A full cup heats itself, and can smoke, boil or catch fire. Small cups, spread out at \
         once; a hot cup goes outdoors on bare ground, not into the bin.",
    );
}

/// Strengths shown.
pub fn not_allowable(working: &mut Working) {
    working.caution(
        "not-an-allowable",
        "Every strength here is a typical value of flat, well-made coupons, not an allowable. \
         Wet lay-up in a hangar scatters widely; holes, damage and age lower it.",
    );
}

/// Typical material values used.
pub fn typical(working: &mut Working) {
    working.caution(
        "typical-value",
        "Material values from the catalogue are typical values. The maker's data sheet of the \
         material in hand comes first.",
    );
}

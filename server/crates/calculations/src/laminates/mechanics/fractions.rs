//! Thickness, fractions, density and voids: what a scale and a micrometer say about a laminate.
//!
//! Areal weight in g/m², density in g/cm³, thickness in mm: one g/m² of a material of
//! 1 g/cm³ is a thousandth of a millimetre thick.

/// Ply thickness from areal weight of fibre, its density and volume fraction.
#[must_use]
pub fn ply_thickness(faw: f64, rho_f: f64, vf: f64) -> f64 {
    faw / (1000.0 * rho_f * vf)
}

/// Fibre volume fraction of a measured panel of `plies` plies, `thickness` mm thick.
#[must_use]
pub fn fibre_fraction(plies: f64, faw: f64, rho_f: f64, thickness: f64) -> f64 {
    plies * faw / (1000.0 * rho_f * thickness)
}

/// Fibre volume fraction from weight fraction.
#[must_use]
pub fn vf_from_wf(wf: f64, rho_f: f64, rho_m: f64) -> f64 {
    let (fibre, matrix) = (wf / rho_f, (1.0 - wf) / rho_m);
    fibre / (fibre + matrix)
}

/// Fibre weight fraction from volume fraction.
#[must_use]
pub fn wf_from_vf(vf: f64, rho_f: f64, rho_m: f64) -> f64 {
    let (fibre, matrix) = (vf * rho_f, (1.0 - vf) * rho_m);
    fibre / (fibre + matrix)
}

/// Void fraction from measured density and fibre weight fraction. Negative when the densities
/// contradict each other: it is for the caller to say so, not to hide it.
#[must_use]
pub fn void_fraction(rho_c: f64, wf: f64, rho_f: f64, rho_m: f64) -> f64 {
    1.0 - rho_c * (wf / rho_f + (1.0 - wf) / rho_m)
}

/// Density of a composite; voids lower it as a whole.
#[must_use]
pub fn composite_density(vf: f64, rho_f: f64, rho_m: f64, void: f64) -> f64 {
    (vf * rho_f + (1.0 - vf) * rho_m) * (1.0 - void)
}

/// Mass of resin for a mass of fabric at a fibre weight fraction, with an allowance for waste.
#[must_use]
pub fn resin_mass(fabric: f64, wf: f64, waste: f64) -> f64 {
    fabric * (1.0 - wf) / wf * (1.0 + waste)
}

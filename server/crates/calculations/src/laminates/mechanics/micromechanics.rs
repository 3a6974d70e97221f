//! Ply constants from fibre, matrix and fibre volume fraction.
//!
//! Where methods differ, all are given: the spread is part of the answer.

use super::ply::{Direction, Elastic, Reduced};

/// A fibre or a resin, isotropic.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Phase {
    /// Modulus.
    pub e: f64,
    /// Poisson's ratio.
    pub nu: f64,
}

impl Phase {
    /// Shear modulus of an isotropic solid.
    #[must_use]
    pub fn g(&self) -> f64 {
        self.e / (2.0 * (1.0 + self.nu))
    }
}

/// Parallel rule of mixtures (an upper bound on a modulus).
#[must_use]
pub fn parallel(fibre: f64, matrix: f64, vf: f64) -> f64 {
    fibre * vf + matrix * (1.0 - vf)
}

/// Series rule of mixtures (a lower bound).
#[must_use]
pub fn series(fibre: f64, matrix: f64, vf: f64) -> f64 {
    1.0 / (vf / fibre + (1.0 - vf) / matrix)
}

/// Halpin and Tsai's interpolation; `xi` grows with how much the fibre reinforces.
#[must_use]
pub fn halpin_tsai(fibre: f64, matrix: f64, vf: f64, xi: f64) -> f64 {
    let contrast = fibre / matrix;
    let eta = (contrast - 1.0) / (contrast + xi);
    matrix * (1.0 + xi * eta * vf) / (1.0 - eta * vf)
}

/// Halpin and Tsai's xi for the shear modulus of a tightly packed ply: 1 + 40 Vf¹⁰.
#[must_use]
pub fn packed_xi(vf: f64) -> f64 {
    1.0 + 40.0 * libm::pow(vf, 10.0)
}

/// The constants of a unidirectional ply by both methods.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unidirectional {
    /// Fibre shear modulus.
    pub gf: f64,
    /// Matrix shear modulus.
    pub gm: f64,
    /// Along the fibres.
    pub e1: f64,
    /// Poisson's ratio.
    pub nu12: f64,
    /// Across, series rule (low).
    pub e2_series: f64,
    /// Shear, series rule (low).
    pub g12_series: f64,
    /// Across, Halpin-Tsai with xi = 2.
    pub e2_halpin_tsai: f64,
    /// Shear, Halpin-Tsai with xi = 1.
    pub g12_halpin_tsai: f64,
    /// Shear, Halpin-Tsai with xi = 1 + 40 Vf¹⁰.
    pub g12_packed: f64,
}

/// A unidirectional ply.
#[must_use]
pub fn unidirectional(fibre: Phase, matrix: Phase, vf: f64) -> Unidirectional {
    let (gf, gm) = (fibre.g(), matrix.g());
    Unidirectional {
        gf,
        gm,
        e1: parallel(fibre.e, matrix.e, vf),
        nu12: parallel(fibre.nu, matrix.nu, vf),
        e2_series: series(fibre.e, matrix.e, vf),
        g12_series: series(gf, gm, vf),
        e2_halpin_tsai: halpin_tsai(fibre.e, matrix.e, vf, 2.0),
        g12_halpin_tsai: halpin_tsai(gf, gm, vf, 1.0),
        g12_packed: halpin_tsai(gf, gm, vf, packed_xi(vf)),
    }
}

impl Unidirectional {
    /// The set that the worksheets go on with: Halpin-Tsai across and in shear.
    #[must_use]
    pub const fn halpin_tsai(&self) -> Elastic {
        Elastic { e1: self.e1, e2: self.e2_halpin_tsai, g12: self.g12_halpin_tsai, nu12: self.nu12 }
    }
}

/// A cloth, as two crossed unidirectional plies held flat: `warp` of the fibre along 1, the rest
/// across. Crimp is left out, so a real cloth is a little softer.
#[must_use]
pub fn crossed(ply: &Elastic, warp: f64) -> Elastic {
    let q = ply.reduced();
    let mix = Reduced {
        q11: warp * q.q11 + (1.0 - warp) * q.q22,
        q12: q.q12,
        q22: warp * q.q22 + (1.0 - warp) * q.q11,
        q66: q.q66,
    };
    from_reduced(&mix)
}

/// A mat, as unidirectional plies in all directions of the plane.
#[must_use]
pub fn random(ply: &Elastic) -> Elastic {
    let q = ply.reduced();
    // The average of Q-bar over all angles: the two invariants that turning leaves alone.
    let u1 = (3.0 * q.q11 + 3.0 * q.q22 + 2.0 * q.q12 + 4.0 * q.q66) / 8.0;
    let u4 = (q.q11 + q.q22 + 6.0 * q.q12 - 4.0 * q.q66) / 8.0;
    from_reduced(&Reduced { q11: u1, q12: u4, q22: u1, q66: 0.5 * (u1 - u4) })
}

/// Modulus by Krenchel's orientation factor: E = eta Ef Vf + Em Vm.
#[must_use]
pub fn krenchel(fibre: f64, matrix: f64, vf: f64, eta: f64) -> f64 {
    eta * fibre * vf + matrix * (1.0 - vf)
}

/// Modulus along x of a ply pulled at an angle to its axis 1 and free to shear.
#[must_use]
pub fn modulus_at(ply: &Elastic, angle: f64) -> f64 {
    let Direction { c2, s2, .. } = Direction::degrees(angle);
    1.0 / (c2 * c2 / ply.e1 + s2 * s2 / ply.e2 + c2 * s2 * (1.0 / ply.g12 - 2.0 * ply.nu12 / ply.e1))
}

fn from_reduced(q: &Reduced) -> Elastic {
    let d = q.q11 * q.q22 - q.q12 * q.q12;
    Elastic { e1: d / q.q22, e2: d / q.q11, g12: q.q66, nu12: q.q12 / q.q22 }
}

/// Thermal expansion of a unidirectional ply along and across the fibres (Schapery).
#[must_use]
pub fn expansion(fibre: (Phase, f64), matrix: (Phase, f64), vf: f64) -> (f64, f64) {
    let ((f, af), (m, am)) = (fibre, matrix);
    let vm = 1.0 - vf;
    let along = (af * f.e * vf + am * m.e * vm) / parallel(f.e, m.e, vf);
    let across = (1.0 + f.nu) * af * vf + (1.0 + m.nu) * am * vm - along * parallel(f.nu, m.nu, vf);
    (along, across)
}

/// Thermal expansion of crossed plies along both axes, from that of one ply.
#[must_use]
pub fn crossed_expansion(ply: &Elastic, own: (f64, f64), warp: f64) -> [f64; 2] {
    let q = ply.reduced();
    let mix = crossed(ply, warp).reduced();
    // Forces that hold the ply still per kelvin, along and across, shared out over both plies.
    let (along, across) = (q.q11 * own.0 + q.q12 * own.1, q.q12 * own.0 + q.q22 * own.1);
    let n1 = warp * along + (1.0 - warp) * across;
    let n2 = warp * across + (1.0 - warp) * along;
    let d = mix.q11 * mix.q22 - mix.q12 * mix.q12;
    [(mix.q22 * n1 - mix.q12 * n2) / d, (mix.q11 * n2 - mix.q12 * n1) / d]
}

/// Thermal expansion of a mat: the average over all directions, held together.
#[must_use]
pub fn random_expansion(ply: &Elastic, own: (f64, f64)) -> f64 {
    // In-plane isotropic, so half and half crossed plies swell as all directions together do.
    crossed_expansion(ply, own, 0.5)[0]
}

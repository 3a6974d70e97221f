//! The inverse of a laminate's stiffness, and the engineering constants read from it.

use nalgebra::{Cholesky, Matrix3, Matrix6, U6, Vector3, Vector6};

use super::laminate::{Resultants, Stiffness};

/// The stiffness matrix has no inverse: the stack has no positive stiffness in some direction.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the laminate's stiffness matrix has no inverse")]
pub struct Singular;

/// The inverse of the 6 by 6 stiffness: {mid-plane strain, curvature} = inverse {N, M}.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Compliance(pub Matrix6<f64>);

/// Mid-plane strain and curvature.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Deformation {
    /// Mid-plane strain (x, y, engineering xy).
    pub strain: Vector3<f64>,
    /// Curvature (x, y, engineering twist).
    pub curvature: Vector3<f64>,
}

impl Deformation {
    fn of(stacked: &Vector6<f64>) -> Self {
        Self {
            strain: Vector3::new(stacked[0], stacked[1], stacked[2]),
            curvature: Vector3::new(stacked[3], stacked[4], stacked[5]),
        }
    }

    /// Strain at a height.
    #[must_use]
    #[inline]
    pub fn at(&self, z: f64) -> Vector3<f64> {
        self.strain + self.curvature * z
    }

    /// The largest strain anywhere in a thickness h, at most.
    #[must_use]
    pub fn bound(&self, thickness: f64) -> f64 {
        self.strain.amax() + 0.5 * thickness * self.curvature.amax()
    }
}

/// A stiffness made ready for solving.
///
/// A, B and D differ by powers of the thickness, and a sandwich's entries by many orders of
/// magnitude. Cholesky's method does not mind: scaling rows and columns alike scales its rounding
/// alike, so nothing is gained by doing it first, as other methods need.
#[derive(Clone, Debug)]
pub struct Factored(Cholesky<f64, U6>);

impl Factored {
    /// Factors a stiffness.
    ///
    /// # Errors
    /// [`Singular`] when the matrix is not positive definite.
    pub fn of(stiffness: &Stiffness) -> Result<Self, Singular> {
        Cholesky::new(assemble(stiffness)).map(Self).ok_or(Singular)
    }

    /// The deformation under forces and moments.
    #[must_use]
    pub fn under(&self, load: &Resultants) -> Deformation {
        let mut out = load.stacked();
        self.0.solve_mut(&mut out);
        Deformation::of(&out)
    }
}

impl Compliance {
    /// Inverts a stiffness.
    ///
    /// # Errors
    /// [`Singular`] when the matrix is not positive definite.
    pub fn of(stiffness: &Stiffness) -> Result<Self, Singular> {
        let inverse = Factored::of(stiffness)?.0.inverse();
        if inverse.iter().all(|x| x.is_finite()) { Ok(Self(inverse)) } else { Err(Singular) }
    }

    /// The deformation under forces and moments.
    #[must_use]
    pub fn under(&self, load: &Resultants) -> Deformation {
        Deformation::of(&(self.0 * load.stacked()))
    }

    /// In-plane constants of the laminate left free to curl.
    #[must_use]
    pub fn inplane(&self, thickness: f64) -> InPlane {
        InPlane::of(&self.0.fixed_view::<3, 3>(0, 0).into_owned(), thickness)
    }

    /// Bending constants of the laminate left free to stretch.
    #[must_use]
    pub fn flexural(&self, thickness: f64) -> Flexural {
        Flexural::of(&self.0.fixed_view::<3, 3>(3, 3).into_owned(), thickness)
    }
}

fn assemble(stiffness: &Stiffness) -> Matrix6<f64> {
    let mut full = Matrix6::zeros();
    full.fixed_view_mut::<3, 3>(0, 0).copy_from(&stiffness.a);
    full.fixed_view_mut::<3, 3>(0, 3).copy_from(&stiffness.b);
    full.fixed_view_mut::<3, 3>(3, 0).copy_from(&stiffness.b);
    full.fixed_view_mut::<3, 3>(3, 3).copy_from(&stiffness.d);
    full
}

/// In-plane engineering constants.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InPlane {
    /// Modulus along x.
    pub ex: f64,
    /// Modulus along y.
    pub ey: f64,
    /// Shear modulus.
    pub gxy: f64,
    /// Strain along y per strain along x, pulled along x.
    pub nuxy: f64,
    /// Strain along x per strain along y, pulled along y.
    pub nuyx: f64,
    /// Shear strain per direct strain, pulled along x.
    pub eta_xy_x: f64,
    /// Shear strain per direct strain, pulled along y.
    pub eta_xy_y: f64,
}

impl InPlane {
    /// From a 3 by 3 in-plane compliance.
    #[must_use]
    pub fn of(a: &Matrix3<f64>, thickness: f64) -> Self {
        Self {
            ex: 1.0 / (thickness * a[(0, 0)]),
            ey: 1.0 / (thickness * a[(1, 1)]),
            gxy: 1.0 / (thickness * a[(2, 2)]),
            nuxy: -a[(0, 1)] / a[(0, 0)],
            nuyx: -a[(0, 1)] / a[(1, 1)],
            eta_xy_x: a[(0, 2)] / a[(0, 0)],
            eta_xy_y: a[(1, 2)] / a[(1, 1)],
        }
    }

    /// Of a laminate held flat: coupling with bending ignored, as A alone gives it.
    ///
    /// # Errors
    /// [`Singular`] when A has no inverse.
    pub fn held_flat(a: &Matrix3<f64>, thickness: f64) -> Result<Self, Singular> {
        Ok(Self::of(&invert(a)?, thickness))
    }
}

/// Bending engineering constants.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flexural {
    /// Bending modulus about y, along x.
    pub ex: f64,
    /// Bending modulus along y.
    pub ey: f64,
    /// Twisting modulus.
    pub gxy: f64,
    /// Anticlastic ratio.
    pub nuxy: f64,
}

impl Flexural {
    /// From a 3 by 3 bending compliance.
    #[must_use]
    pub fn of(d: &Matrix3<f64>, thickness: f64) -> Self {
        let per = 12.0 / (thickness * thickness * thickness);
        Self { ex: per / d[(0, 0)], ey: per / d[(1, 1)], gxy: per / d[(2, 2)], nuxy: -d[(0, 1)] / d[(0, 0)] }
    }

    /// Of a laminate whose mid-plane may not stretch: coupling ignored, as D alone gives it.
    ///
    /// # Errors
    /// [`Singular`] when D has no inverse.
    pub fn held_flat(d: &Matrix3<f64>, thickness: f64) -> Result<Self, Singular> {
        Ok(Self::of(&invert(d)?, thickness))
    }
}

fn invert(matrix: &Matrix3<f64>) -> Result<Matrix3<f64>, Singular> {
    Cholesky::new(*matrix).map(|factor| factor.inverse()).ok_or(Singular)
}

//! One ply: its material, its direction, and its stiffness seen from the laminate's axes.

use nalgebra::{Matrix3, Vector3};

use super::criteria::Envelope;

/// Elastic constants of an orthotropic ply in its own axes, as a handbook prints them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Elastic {
    /// Modulus along axis 1, the fibre or warp direction.
    pub e1: f64,
    /// Modulus across it.
    pub e2: f64,
    /// In-plane shear modulus.
    pub g12: f64,
    /// Strain along 2 per strain along 1 when pulled along 1.
    pub nu12: f64,
}

impl Elastic {
    /// The other Poisson's ratio, from the symmetry of the compliance.
    #[must_use]
    pub fn nu21(&self) -> f64 {
        self.nu12 * self.e2 / self.e1
    }

    /// Reduced stiffness. Note that Q66 is the shear modulus as it is: only the direct terms
    /// are divided by 1 - nu12 nu21.
    #[must_use]
    pub fn reduced(&self) -> Reduced {
        let d = 1.0 - self.nu12 * self.nu21();
        Reduced { q11: self.e1 / d, q12: self.nu12 * self.e2 / d, q22: self.e2 / d, q66: self.g12 }
    }

    /// Compliance in the ply's own axes.
    #[must_use]
    pub fn compliance(&self) -> Reduced {
        Reduced { q11: 1.0 / self.e1, q12: -self.nu12 / self.e1, q22: 1.0 / self.e2, q66: 1.0 / self.g12 }
    }
}

/// Strengths of a ply in its own axes, all positive. Typical values, never allowables.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strengths {
    /// Tension along 1.
    pub xt: f64,
    /// Compression along 1.
    pub xc: f64,
    /// Tension across.
    pub yt: f64,
    /// Compression across.
    pub yc: f64,
    /// In-plane shear.
    pub s: f64,
}

/// Free expansion of a ply in its own axes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Expansion {
    /// Strain per kelvin along 1.
    pub a1: f64,
    /// Strain per kelvin across.
    pub a2: f64,
    /// Strain per unit mass fraction of moisture along 1.
    pub b1: f64,
    /// Strain per unit mass fraction of moisture across.
    pub b2: f64,
}

/// A ply material, with what follows from its constants worked out once.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Material {
    elastic: Elastic,
    reduced: Reduced,
    expansion: Expansion,
    envelope: Option<Envelope>,
    density: Option<f64>,
}

impl Material {
    /// A material from its constants. Strengths may be missing: stiffness is still right then.
    #[must_use]
    pub fn new(
        elastic: Elastic,
        strengths: Option<Strengths>,
        expansion: Expansion,
        density: Option<f64>,
    ) -> Self {
        Self {
            elastic,
            reduced: elastic.reduced(),
            expansion,
            envelope: strengths.map(|strengths| Envelope::new(&elastic, strengths)),
            density,
        }
    }

    /// The elastic constants it was made from.
    #[must_use]
    pub const fn elastic(&self) -> &Elastic {
        &self.elastic
    }

    /// Reduced stiffness in its own axes.
    #[must_use]
    pub const fn reduced(&self) -> &Reduced {
        &self.reduced
    }

    /// Free expansion in its own axes.
    #[must_use]
    pub const fn expansion(&self) -> &Expansion {
        &self.expansion
    }

    /// The failure criteria's constants, when the strengths are known.
    #[must_use]
    pub const fn envelope(&self) -> Option<&Envelope> {
        self.envelope.as_ref()
    }

    /// Density (kg/m³ in the worksheets), when known.
    #[must_use]
    pub const fn density(&self) -> Option<f64> {
        self.density
    }
}

/// A stiffness or compliance in a ply's own axes: four numbers, because shear does not couple there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reduced {
    /// Direct, along 1.
    pub q11: f64,
    /// Coupling of the two direct terms.
    pub q12: f64,
    /// Direct, across.
    pub q22: f64,
    /// Shear.
    pub q66: f64,
}

impl Reduced {
    /// As a matrix over (1, 2, 12).
    #[must_use]
    pub fn matrix(&self) -> Matrix3<f64> {
        let Self { q11, q12, q22, q66 } = *self;
        Matrix3::new(q11, q12, 0.0, q12, q22, 0.0, 0.0, 0.0, q66)
    }

    /// The product with a vector over (1, 2, 12).
    #[must_use]
    #[inline]
    pub fn times(&self, v: &Vector3<f64>) -> Vector3<f64> {
        Vector3::new(self.q11 * v.x + self.q12 * v.y, self.q12 * v.x + self.q22 * v.y, self.q66 * v.z)
    }

    /// A stiffness seen from axes at `-angle`: Q-bar.
    #[must_use]
    #[inline]
    pub fn rotated(&self, along: &Direction) -> Matrix3<f64> {
        let Self { q11, q12, q22, q66 } = *self;
        let Direction { c2, s2, cs } = *along;
        let (c4, s4, c2s2) = (c2 * c2, s2 * s2, c2 * s2);
        let b11 = q11 * c4 + 2.0 * (q12 + 2.0 * q66) * c2s2 + q22 * s4;
        let b22 = q11 * s4 + 2.0 * (q12 + 2.0 * q66) * c2s2 + q22 * c4;
        let b12 = (q11 + q22 - 4.0 * q66) * c2s2 + q12 * (c4 + s4);
        let b66 = (q11 + q22 - 2.0 * q12 - 2.0 * q66) * c2s2 + q66 * (c4 + s4);
        let (p, q) = (q11 - q12 - 2.0 * q66, q12 - q22 + 2.0 * q66);
        let b16 = cs * (p * c2 + q * s2);
        let b26 = cs * (p * s2 + q * c2);
        Matrix3::new(b11, b12, b16, b12, b22, b26, b16, b26, b66)
    }

    /// The largest entry: the scale of what this ply can carry per unit strain.
    #[must_use]
    pub fn scale(&self) -> f64 {
        self.q11.max(self.q22).max(self.q66)
    }
}

/// A direction in the plane, kept as the three products that rotations need.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Direction {
    /// cos²
    pub c2: f64,
    /// sin²
    pub s2: f64,
    /// sin cos
    pub cs: f64,
}

impl Direction {
    /// From an angle in degrees, anticlockwise from x. The period is 180°, so 225° is 45°.
    ///
    /// Multiples of 45° come out exact (1, 0, ½): a 0/90 stack then has a true zero
    /// where the books print one, without any rounding to zero.
    #[must_use]
    #[inline]
    pub fn degrees(angle: f64) -> Self {
        let (sin, cos) = sin_cos_degrees(2.0 * (angle % 180.0));
        Self { c2: 0.5 * (1.0 + cos), s2: 0.5 * (1.0 - cos), cs: 0.5 * sin }
    }

    /// Engineering strain in ply axes from strain in laminate axes.
    #[must_use]
    #[inline]
    pub fn strain_in(&self, v: &Vector3<f64>) -> Vector3<f64> {
        let Self { c2, s2, cs } = *self;
        Vector3::new(
            c2 * v.x + s2 * v.y + cs * v.z,
            s2 * v.x + c2 * v.y - cs * v.z,
            2.0 * cs * (v.y - v.x) + (c2 - s2) * v.z,
        )
    }

    /// Engineering strain in laminate axes from strain in ply axes.
    #[must_use]
    #[inline]
    pub fn strain_out(&self, v: &Vector3<f64>) -> Vector3<f64> {
        self.reversed().strain_in(v)
    }

    /// Stress in ply axes from stress in laminate axes.
    #[must_use]
    #[inline]
    pub fn stress_in(&self, v: &Vector3<f64>) -> Vector3<f64> {
        let Self { c2, s2, cs } = *self;
        Vector3::new(
            c2 * v.x + s2 * v.y + 2.0 * cs * v.z,
            s2 * v.x + c2 * v.y - 2.0 * cs * v.z,
            cs * (v.y - v.x) + (c2 - s2) * v.z,
        )
    }

    /// Stress in laminate axes from stress in ply axes.
    #[must_use]
    #[inline]
    pub fn stress_out(&self, v: &Vector3<f64>) -> Vector3<f64> {
        self.reversed().stress_in(v)
    }

    const fn reversed(&self) -> Self {
        Self { c2: self.c2, s2: self.s2, cs: -self.cs }
    }
}

/// Sine and cosine of an angle in degrees, exact at multiples of 90° and with equal
/// magnitudes at odd multiples of 45°. From `libm`, so that a phone and the server agree to the bit.
#[must_use]
pub fn sin_cos_degrees(angle: f64) -> (f64, f64) {
    let turned = angle % 360.0;
    let quarter = (turned / 90.0).round();
    let rest = turned - 90.0 * quarter;
    let (sin, cos) = if rest == 0.0 { (0.0, 1.0) } else { libm::sincos(rest.to_radians()) };
    match (quarter as i32).rem_euclid(4) {
        0 => (sin, cos),
        1 => (cos, -sin),
        2 => (-sin, -cos),
        _ => (-cos, sin),
    }
}

/// A ply in a stack.
#[derive(Clone, Copy, Debug)]
pub struct Ply<'m> {
    /// What it is made of.
    pub material: &'m Material,
    /// Thickness.
    pub thickness: f64,
    /// Angle from x to its axis 1, degrees anticlockwise.
    pub angle: f64,
}

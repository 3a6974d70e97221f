//! A stack of plies and its stiffness: the A, B and D matrices.

use nalgebra::{Matrix3, Vector3, Vector6};

use super::ply::{Direction, Material, Ply, Reduced};

/// Where a ply lies and how stiff it is, seen from the laminate.
#[derive(Clone, Copy, Debug)]
pub struct Layer<'m> {
    /// Its material.
    pub material: &'m Material,
    /// Its direction.
    pub direction: Direction,
    /// Its lower face.
    pub z0: f64,
    /// Its upper face.
    pub z1: f64,
    /// Its stiffness in its own axes: the material's, or what damage has left of it.
    pub reduced: Reduced,
    /// The same in laminate axes: Q-bar.
    pub stiffness: Matrix3<f64>,
}

impl Layer<'_> {
    /// Thickness.
    #[must_use]
    pub fn thickness(&self) -> f64 {
        self.z1 - self.z0
    }

    /// Free strain in ply axes for a temperature and a moisture change.
    #[must_use]
    pub fn own_free_strain(&self, change: Change) -> Vector3<f64> {
        let e = self.material.expansion();
        Vector3::new(
            e.a1 * change.temperature + e.b1 * change.moisture,
            e.a2 * change.temperature + e.b2 * change.moisture,
            0.0,
        )
    }

    /// The same in laminate axes.
    #[must_use]
    pub fn free_strain(&self, change: Change) -> Vector3<f64> {
        self.direction.strain_out(&self.own_free_strain(change))
    }
}

/// What makes a laminate swell or shrink.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Change {
    /// Temperature difference, K.
    pub temperature: f64,
    /// Moisture difference, as a mass fraction.
    pub moisture: f64,
}

impl Change {
    /// One kelvin and nothing else.
    pub const KELVIN: Self = Self { temperature: 1.0, moisture: 0.0 };

    /// Whether nothing changes.
    #[must_use]
    pub fn is_none(&self) -> bool {
        self.temperature == 0.0 && self.moisture == 0.0
    }
}

/// A stack of plies, lowest first.
#[derive(Clone, Debug)]
pub struct Laminate<'m> {
    layers: Vec<Layer<'m>>,
    thickness: f64,
}

impl<'m> Laminate<'m> {
    /// Stacks plies from z = -h/2 upwards.
    #[must_use]
    pub fn new(plies: &[Ply<'m>]) -> Self {
        let thickness = plies.iter().map(|ply| ply.thickness).sum::<f64>();
        let mut below = 0.0;
        let layers = plies
            .iter()
            .map(|ply| {
                let direction = Direction::degrees(ply.angle);
                let z0 = below - 0.5 * thickness;
                below += ply.thickness;
                Layer {
                    material: ply.material,
                    direction,
                    z0,
                    z1: below - 0.5 * thickness,
                    reduced: *ply.material.reduced(),
                    stiffness: ply.material.reduced().rotated(&direction),
                }
            })
            .collect();
        Self { layers, thickness }
    }

    /// The plies, lowest first.
    #[must_use]
    pub fn layers(&self) -> &[Layer<'m>] {
        &self.layers
    }

    /// Total thickness h.
    #[must_use]
    pub const fn thickness(&self) -> f64 {
        self.thickness
    }

    /// Mass per area: thickness times density, ply by ply (mm and kg/m³ give g/m²).
    /// None when some density is not known.
    #[must_use]
    pub fn areal_mass(&self) -> Option<f64> {
        self.layers.iter().map(|layer| Some(layer.thickness() * layer.material.density()?)).sum()
    }

    /// A, B and D.
    #[must_use]
    pub fn stiffness(&self) -> Stiffness {
        let mut stiffness = Stiffness::default();
        for layer in &self.layers {
            stiffness.add(layer, &layer.stiffness);
        }
        stiffness
    }

    /// Replaces the stiffness of one ply, which keeps its place, and gives what it changes of the
    /// laminate's. Nothing happens for a ply that is not there.
    pub fn set_stiffness(&mut self, ply: usize, reduced: Reduced) -> Stiffness {
        let mut difference = Stiffness::default();
        if let Some(layer) = self.layers.get_mut(ply) {
            let stiffness = reduced.rotated(&layer.direction);
            difference.add(layer, &(stiffness - layer.stiffness));
            layer.reduced = reduced;
            layer.stiffness = stiffness;
        }
        difference
    }

    /// The forces and moments that would hold the laminate flat and still under a change.
    #[must_use]
    pub fn hygrothermal(&self, change: Change) -> Resultants {
        let mut sum = Resultants::default();
        if change.is_none() {
            return sum;
        }
        for layer in &self.layers {
            let stress = layer.stiffness * layer.free_strain(change);
            sum.force += stress * layer.thickness();
            sum.moment += stress * (layer.thickness() * 0.5 * (layer.z0 + layer.z1));
        }
        sum
    }
}

/// Forces and moments per unit width.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Resultants {
    /// N: (x, y, xy).
    pub force: Vector3<f64>,
    /// M: (x, y, xy).
    pub moment: Vector3<f64>,
}

impl Resultants {
    /// Force over moment.
    #[must_use]
    pub fn stacked(&self) -> Vector6<f64> {
        let (n, m) = (&self.force, &self.moment);
        Vector6::new(n.x, n.y, n.z, m.x, m.y, m.z)
    }

    /// Whether there is no load at all.
    #[must_use]
    pub fn is_none(&self) -> bool {
        self.force == Vector3::zeros() && self.moment == Vector3::zeros()
    }
}

/// The laminate's stiffness: {N, M} = [[A, B], [B, D]] {mid-plane strain, curvature}.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Stiffness {
    /// In-plane.
    pub a: Matrix3<f64>,
    /// Coupling of in-plane and bending.
    pub b: Matrix3<f64>,
    /// Bending.
    pub d: Matrix3<f64>,
}

impl Stiffness {
    fn add(&mut self, layer: &Layer<'_>, stiffness: &Matrix3<f64>) {
        // The same as differences of z, z² and z³, but without subtracting nearly equal cubes.
        let t = layer.thickness();
        let middle = 0.5 * (layer.z0 + layer.z1);
        self.a += stiffness * t;
        self.b += stiffness * (t * middle);
        self.d += stiffness * (t * (middle * middle + t * t / 12.0));
    }

    /// Adds a difference, such as [`Laminate::set_stiffness`] gives.
    pub fn change(&mut self, by: &Self) {
        self.a += by.a;
        self.b += by.b;
        self.d += by.d;
    }

    /// How strongly stretching and bending are coupled, without a unit:
    /// the largest entry of B against A and D (0 for a symmetric stack).
    #[must_use]
    pub fn coupling(&self) -> f64 {
        self.b.amax() / libm::sqrt(self.a.amax() * self.d.amax())
    }
}

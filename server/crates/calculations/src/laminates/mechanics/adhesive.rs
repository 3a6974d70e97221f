//! Bonded joints. P is force per unit width; the answers are stresses in the bond line.

use libm::{cosh, sinh, sqrt};

/// Volkersen's single lap: adherends that only stretch, adhesive that only shears.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Volkersen {
    /// Load per width.
    pub p: f64,
    /// Overlap length.
    pub length: f64,
    /// E t of the adherend that is loaded at x = 0.
    pub k1: f64,
    /// E t of the adherend that is loaded at x = length.
    pub k2: f64,
    /// Adhesive shear modulus.
    pub ga: f64,
    /// Bond-line thickness.
    pub ta: f64,
}

impl Volkersen {
    /// The decay constant of the shear stress from the ends, per length.
    #[must_use]
    pub fn omega(&self) -> f64 {
        sqrt(self.ga / self.ta * (1.0 / self.k1 + 1.0 / self.k2))
    }

    /// Shear stress at a distance from the end where adherend 1 is loaded.
    #[must_use]
    pub fn tau(&self, from_end: f64) -> f64 {
        let w = self.omega();
        let half = 0.5 * w * self.length;
        let x = w * from_end - half;
        let lean = (self.k1 - self.k2) / (self.k1 + self.k2);
        0.5 * self.p * w * (cosh_over_sinh(x, half) + lean * sinh_over_cosh(x, half))
    }

    /// The highest shear stress: at one end or the other.
    #[must_use]
    pub fn tau_max(&self) -> f64 {
        self.tau(0.0).max(self.tau(self.length))
    }

    /// Load over overlap.
    #[must_use]
    pub fn tau_average(&self) -> f64 {
        self.p / self.length
    }

    /// The overlap beyond which the peak falls by less than `fraction` of what it tends to.
    /// Both ends are then on their own and the middle carries nothing.
    #[must_use]
    pub fn enough(&self, fraction: f64) -> f64 {
        // At the worse end: tau = (P w/2) [coth(w L/2) + |lean| tanh(w L/2)], which falls (or,
        // for very unlike adherends, settles) towards (P w/2)(1 + |lean|).
        let lean = ((self.k1 - self.k2) / (self.k1 + self.k2)).abs();
        let above = |half: f64| {
            let tanh = libm::tanh(half);
            (1.0 / tanh + lean * tanh) / (1.0 + lean) - 1.0
        };
        let (mut low, mut high) = (0.0, 50.0);
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if above(middle) > fraction {
                low = middle;
            } else {
                high = middle;
            }
        }
        2.0 * high / self.omega()
    }
}

/// cosh x / sinh y without overflow, for |x| ≤ y.
fn cosh_over_sinh(x: f64, y: f64) -> f64 {
    (libm::exp(x - y) + libm::exp(-x - y)) / (1.0 - libm::exp(-2.0 * y))
}

/// sinh x / cosh y without overflow, for |x| ≤ y.
fn sinh_over_cosh(x: f64, y: f64) -> f64 {
    (libm::exp(x - y) - libm::exp(-x - y)) / (1.0 + libm::exp(-2.0 * y))
}

/// Goland and Reissner's single lap of two equal adherends: Volkersen with the bending that the
/// offset of the two load lines causes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GolandReissner {
    /// Load per width.
    pub p: f64,
    /// Overlap length, 2c.
    pub length: f64,
    /// Adherend modulus.
    pub e: f64,
    /// Adherend Poisson's ratio.
    pub nu: f64,
    /// Adherend thickness.
    pub t: f64,
    /// Adhesive shear modulus.
    pub ga: f64,
    /// Bond-line thickness.
    pub ta: f64,
}

impl GolandReissner {
    /// The bending-moment factor: 1 for no load, falling as the joint straightens itself.
    #[must_use]
    pub fn k(&self) -> f64 {
        let c = 0.5 * self.length;
        let u = sqrt(1.5 * (1.0 - self.nu * self.nu)) * (c / self.t) * sqrt(self.p / (self.t * self.e));
        if u > 300.0 {
            return 1.0 / (1.0 + 2.0 * core::f64::consts::SQRT_2);
        }
        cosh(u) / (cosh(u) + 2.0 * core::f64::consts::SQRT_2 * sinh(u))
    }

    /// The bond's stiffness against the adherend's, without unit.
    #[must_use]
    pub fn beta(&self) -> f64 {
        sqrt(8.0 * self.ga * self.t / (self.e * self.ta))
    }

    /// Peak shear stress, at the ends.
    #[must_use]
    pub fn tau_max(&self) -> f64 {
        let c = 0.5 * self.length;
        let k = self.k();
        let x = self.beta() * c / self.t;
        let coth = 1.0 / libm::tanh(x);
        self.p / (8.0 * c) * (x * (1.0 + 3.0 * k) * coth + 3.0 * (1.0 - k))
    }

    /// Load over overlap.
    #[must_use]
    pub fn tau_average(&self) -> f64 {
        self.p / self.length
    }
}

/// Hart-Smith's double lap with an adhesive that yields: the most that a long overlap carries.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HartSmith {
    /// E t of each outer adherend.
    pub outer: f64,
    /// E t of the inner adherend.
    pub inner: f64,
    /// Bond-line thickness.
    pub ta: f64,
    /// Adhesive's shear stress on its plateau.
    pub tau_p: f64,
    /// Elastic shear strain at the plateau.
    pub gamma_e: f64,
    /// Plastic shear strain beyond it.
    pub gamma_p: f64,
}

impl HartSmith {
    /// Strain energy per bonded area to failure.
    #[must_use]
    pub fn energy(&self) -> f64 {
        self.ta * self.tau_p * (0.5 * self.gamma_e + self.gamma_p)
    }

    /// Load per width at which the bond fails at the end of the inner adherend.
    #[must_use]
    pub fn at_inner_end(&self) -> f64 {
        let two = 2.0 * self.outer;
        sqrt(4.0 * self.energy() * self.inner * (1.0 + self.inner / two))
    }

    /// Load per width at which it fails at the end of the outer adherends.
    #[must_use]
    pub fn at_outer_end(&self) -> f64 {
        let two = 2.0 * self.outer;
        sqrt(4.0 * self.energy() * two * (1.0 + two / self.inner))
    }

    /// The lower of the two.
    #[must_use]
    pub fn load(&self) -> f64 {
        self.at_inner_end().min(self.at_outer_end())
    }
}

/// A scarf joint of slope 1 in `ratio`, shear taken as even along it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scarf {
    /// Load per width.
    pub p: f64,
    /// Laminate thickness.
    pub t: f64,
    /// Run per rise.
    pub ratio: f64,
}

impl Scarf {
    fn sin_cos(&self) -> (f64, f64) {
        let slant = sqrt(1.0 + self.ratio * self.ratio);
        (1.0 / slant, self.ratio / slant)
    }

    /// Angle in degrees.
    #[must_use]
    pub fn angle(&self) -> f64 {
        libm::atan(1.0 / self.ratio).to_degrees()
    }

    /// Length along the sheet.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.t * self.ratio
    }

    /// Length along the slope.
    #[must_use]
    pub fn bond_length(&self) -> f64 {
        self.t * sqrt(1.0 + self.ratio * self.ratio)
    }

    /// Shear stress along the slope.
    #[must_use]
    pub fn tau(&self) -> f64 {
        let (sin, cos) = self.sin_cos();
        self.p / self.t * sin * cos
    }

    /// Stress across the bond.
    #[must_use]
    pub fn normal(&self) -> f64 {
        let (sin, _) = self.sin_cos();
        self.p / self.t * sin * sin
    }
}

//! Moisture leaving a laminate (Fick's law).

use core::f64::consts::PI;

/// How many faces are open to the air.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Faces {
    /// One: the other is against metal, paint or a bag. The path is twice the thickness.
    One,
    /// Both.
    Both,
}

impl Faces {
    fn path(self, thickness: f64) -> f64 {
        match self {
            Self::One => 2.0 * thickness,
            Self::Both => thickness,
        }
    }
}

/// The fraction of the moisture change that has happened after a time: 0 at first, 1 at last.
/// `diffusivity` in mm²/s with `thickness` in mm and `time` in s.
#[must_use]
pub fn fraction(diffusivity: f64, time: f64, thickness: f64, faces: Faces) -> f64 {
    let s = faces.path(thickness);
    fraction_at(diffusivity * time / (s * s))
}

/// Time until a fraction has left.
#[must_use]
pub fn time_for(wanted: f64, diffusivity: f64, thickness: f64, faces: Faces) -> f64 {
    let s = faces.path(thickness);
    fourier_for(wanted) * s * s / diffusivity
}

/// Diffusivity at a temperature: D0 exp(-C/T), T in kelvin.
#[must_use]
pub fn diffusivity(d0: f64, c: f64, kelvin: f64) -> f64 {
    d0 * libm::exp(-c / kelvin)
}

/// The series in the dimensionless time Dt/s². Below 0.01 the short-time form is off by less
/// than 1e-10 and needs one term where the series would need many.
fn fraction_at(fourier: f64) -> f64 {
    if fourier <= 0.0 {
        return 0.0;
    }
    if fourier < 0.01 {
        return 4.0 * libm::sqrt(fourier / PI);
    }
    let mut sum = 0.0;
    let mut odd = 1.0;
    loop {
        let term = libm::exp(-odd * odd * PI * PI * fourier) / (odd * odd);
        sum += term;
        if term < 1e-17 {
            break;
        }
        odd += 2.0;
    }
    1.0 - 8.0 / (PI * PI) * sum
}

/// Bisection: the fraction only grows with time.
fn fourier_for(wanted: f64) -> f64 {
    let (mut low, mut high) = (0.0, 10.0);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if fraction_at(middle) < wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

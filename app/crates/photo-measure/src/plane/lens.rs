//! The lens: straight, or bent by one coefficient.
//!
//! Division model: with q counted from the picture's centre in half diagonals,
//! the straight point is q / (1 + λ q²). Source: Fitzgibbon, "Simultaneous linear
//! estimation of multiple view geometry and lens distortion", CVPR 2001.

use nalgebra::{Matrix2, Vector2};
use serde::{Deserialize, Serialize};

/// How much a phone's picture may still be bent at its corners after the phone
/// straightened it: half a percent. Common practice, no source.
pub const LENS_ALLOWANCE: f64 = 0.005;

/// What is known about the lens.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Lens {
    /// Straight lines are straight in the picture.
    Straight,
    /// Bent, at the picture's corners by up to this part of the distance from
    /// the centre, either way. It goes into the uncertainty.
    UpTo(f64),
    /// To be found from the marks: five and more, spread over the picture.
    Fit,
}

impl Default for Lens {
    fn default() -> Self {
        Self::UpTo(LENS_ALLOWANCE)
    }
}

/// λ of the division model.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Bend(pub(crate) f64);

/// A bent point with its derivatives.
pub(crate) struct Bent {
    pub(crate) at: Vector2<f64>,
    pub(crate) by_straight: Matrix2<f64>,
    pub(crate) by_bend: Vector2<f64>,
}

impl Bend {
    /// From the picture to the straight one.
    pub(crate) fn straighten(self, bent: Vector2<f64>) -> Option<Vector2<f64>> {
        let divisor = 1.0 + self.0 * bent.norm_squared();
        (divisor > 0.1).then(|| bent / divisor)
    }

    /// From the straight picture to the picture: the division model solved for
    /// the bent radius, written so that λ = 0 is nothing special.
    pub(crate) fn bend(self, straight: Vector2<f64>) -> Option<Bent> {
        let square = straight.norm_squared();
        let root = 1.0 - 4.0 * self.0 * square;
        if !(1e-6..1e12).contains(&root) {
            return None;
        }
        let root = root.sqrt();
        let factor = 2.0 / (1.0 + root);
        let slope = factor * factor / root;
        Some(Bent {
            at: straight * factor,
            by_straight: Matrix2::identity() * factor
                + straight * straight.transpose() * (2.0 * self.0 * slope),
            by_bend: straight * (square * slope),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bending_undoes_straightening_and_has_the_slopes_it_states() {
        for lambda in [-0.3, -0.01, 0.0, 0.02, 0.2] {
            let (bend, bent) = (Bend(lambda), Vector2::new(0.6, -0.5));
            let straight = bend.straighten(bent).unwrap();
            let back = bend.bend(straight).unwrap();
            assert!((back.at - bent).norm() < 1e-12);
            let step = 1e-6;
            let moved = bend.bend(straight + Vector2::new(step, 0.0)).unwrap().at;
            assert!(((moved - back.at) / step - back.by_straight.column(0)).norm() < 1e-5);
            let more = Bend(lambda + step).bend(straight).unwrap().at;
            assert!(((more - back.at) / step - back.by_bend).norm() < 1e-5);
        }
    }
}

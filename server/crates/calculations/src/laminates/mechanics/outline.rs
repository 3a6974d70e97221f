//! Outlines of damage and of the plies that cover it.

use core::f64::consts::PI;

use super::ply::{Direction, sin_cos_degrees};

/// An outline, centred, its length along x.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Outline {
    /// A circle.
    Round {
        /// Across.
        diameter: f64,
    },
    /// An ellipse.
    Oval {
        /// Along x.
        length: f64,
        /// Along y.
        width: f64,
    },
    /// A rectangle with rounded corners.
    Rectangle {
        /// Along x.
        length: f64,
        /// Along y.
        width: f64,
        /// Of the corners.
        radius: f64,
    },
}

impl Outline {
    /// The outline set out by a distance on every side. An oval stays an oval with both axes
    /// longer, as it is marked out with string and pencil; that is within a few per cent of the
    /// true parallel curve, and outside it nowhere by more than the axes say.
    #[must_use]
    pub fn grown(&self, by: f64) -> Self {
        match *self {
            Self::Round { diameter } => Self::Round { diameter: diameter + 2.0 * by },
            Self::Oval { length, width } => Self::Oval { length: length + 2.0 * by, width: width + 2.0 * by },
            Self::Rectangle { length, width, radius } => {
                Self::Rectangle { length: length + 2.0 * by, width: width + 2.0 * by, radius: radius + by }
            }
        }
    }

    /// Its area.
    #[must_use]
    pub fn area(&self) -> f64 {
        match *self {
            Self::Round { diameter } => PI * diameter * diameter / 4.0,
            Self::Oval { length, width } => PI * length * width / 4.0,
            Self::Rectangle { length, width, radius } => length * width - (4.0 - PI) * radius * radius,
        }
    }

    /// Length and width as they stand.
    #[must_use]
    pub const fn size(&self) -> (f64, f64) {
        match *self {
            Self::Round { diameter } => (diameter, diameter),
            Self::Oval { length, width } | Self::Rectangle { length, width, .. } => (length, width),
        }
    }

    /// Width and height of the blank that holds it when it is turned by an angle on the cloth.
    #[must_use]
    pub fn turned(&self, angle: f64) -> (f64, f64) {
        let Direction { c2, s2, .. } = Direction::degrees(angle);
        let (c, s) = (libm::sqrt(c2), libm::sqrt(s2));
        match *self {
            Self::Round { diameter } => (diameter, diameter),
            Self::Oval { length, width } => {
                let (l2, w2) = (length * length, width * width);
                (libm::sqrt(l2 * c2 + w2 * s2), libm::sqrt(l2 * s2 + w2 * c2))
            }
            Self::Rectangle { length, width, radius } => {
                let (l, w) = (length - 2.0 * radius, width - 2.0 * radius);
                (l * c + w * s + 2.0 * radius, l * s + w * c + 2.0 * radius)
            }
        }
    }

    /// Points round the outline, anticlockwise, for drawing: `count` of them, the first at +x.
    #[must_use]
    pub fn points(&self, count: u32) -> Vec<(f64, f64)> {
        (0..count)
            .map(|i| {
                let (s, c) = sin_cos_degrees(360.0 * f64::from(i) / f64::from(count));
                match *self {
                    Self::Round { diameter } => (0.5 * diameter * c, 0.5 * diameter * s),
                    Self::Oval { length, width } => (0.5 * length * c, 0.5 * width * s),
                    Self::Rectangle { length, width, radius } => {
                        // The corner's circle in the quadrant that the point looks into.
                        let centre = |half: f64, towards: f64| {
                            if towards.abs() < 1e-9 { 0.0 } else { half.copysign(towards) }
                        };
                        let (x, y) = (0.5 * length - radius, 0.5 * width - radius);
                        (centre(x, c) + radius * c, centre(y, s) + radius * s)
                    }
                }
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area_of(points: &[(f64, f64)]) -> f64 {
        let next = points.iter().cycle().skip(1);
        points.iter().zip(next).map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum::<f64>() / 2.0
    }

    #[test]
    fn points_enclose_the_area() {
        for outline in [
            Outline::Round { diameter: 50.0 },
            Outline::Oval { length: 80.0, width: 40.0 },
            Outline::Rectangle { length: 80.0, width: 40.0, radius: 12.0 },
        ] {
            let grown = outline.grown(12.7);
            let got = area_of(&grown.points(3600));
            assert!((got / grown.area() - 1.0).abs() < 1e-5, "{outline:?}: {got}");
        }
    }

    #[test]
    fn a_turned_blank_holds_the_turned_outline() {
        for outline in [
            Outline::Oval { length: 80.0, width: 40.0 },
            Outline::Rectangle { length: 80.0, width: 40.0, radius: 12.0 },
        ] {
            for angle in [0.0, 30.0, 45.0, 90.0, 135.0] {
                let (s, c) = sin_cos_degrees(angle);
                let turned: Vec<_> =
                    outline.points(3600).iter().map(|(x, y)| (x * c - y * s, x * s + y * c)).collect();
                let most = |get: fn(&(f64, f64)) -> f64| turned.iter().map(get).fold(0.0, f64::max);
                let (width, height) = outline.turned(angle);
                assert!((2.0 * most(|p| p.0) - width).abs() < 1e-3);
                assert!((2.0 * most(|p| p.1) - height).abs() < 1e-3);
            }
        }
    }
}

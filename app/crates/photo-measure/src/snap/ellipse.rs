//! Ellipses through edge points.

use nalgebra::{Matrix2, Matrix3, Vector2, Vector3};

/// An ellipse in the picture or on the surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Ellipse {
    pub(crate) centre: Vector2<f64>,
    /// Unit vector along the major axis.
    pub(crate) along: Vector2<f64>,
    /// Semi-axes.
    pub(crate) major: f64,
    pub(crate) minor: f64,
}

/// Keeps five points' exact fit from being singular; in units of the points' scatter.
const RIDGE: f64 = 1e-9;

/// Newton's steps at most: half of what is left with each at worst.
const NEWTON_MOST: usize = 100;

impl Ellipse {
    /// Direct least squares, always an ellipse. Source: Halíř and Flusser,
    /// "Numerically stable direct least squares fitting of ellipses", WSCG 1998:
    /// with M the reduced scatter matrix and C the constraint 4ac − b² = 1, the
    /// conic is M⁻¹ C's eigenvector for its one positive eigenvalue.
    pub(crate) fn fit(points: &[Vector2<f64>]) -> Option<Self> {
        if points.len() < 5 {
            return None;
        }
        let count = points.len() as f64;
        let middle = points.iter().sum::<Vector2<f64>>() / count;
        let spread = (points.iter().map(|it| (it - middle).norm_squared()).sum::<f64>() / count).sqrt();
        if spread.is_nan() || spread <= 1e-12 {
            return None;
        }
        let (mut quadratic, mut mixed, mut linear) = (Matrix3::zeros(), Matrix3::zeros(), Matrix3::zeros());
        for point in points {
            let at = (point - middle) / spread;
            let (x, y) = (at.x, at.y);
            let (second, first) = (Vector3::new(x * x, x * y, y * y), Vector3::new(x, y, 1.0));
            quadratic += second * second.transpose();
            mixed += second * first.transpose();
            linear += first * first.transpose();
        }
        let back = -(linear.try_inverse()? * mixed.transpose());
        let mut reduced = quadratic + mixed * back;
        reduced = (reduced + reduced.transpose()) / 2.0;
        reduced += Matrix3::identity() * (RIDGE * count);
        let constraint = Matrix3::new(0.0, 0.0, 2.0, 0.0, -1.0, 0.0, 2.0, 0.0, 0.0);
        let conic = foremost(&(reduced.try_inverse()? * constraint))?;
        Self::of_conic(conic, back * conic).map(|it| Self {
            centre: it.centre * spread + middle,
            major: it.major * spread,
            minor: it.minor * spread,
            ..it
        })
    }

    /// From a x² + b xy + c y² + d x + e y + f = 0.
    fn of_conic(second: Vector3<f64>, first: Vector3<f64>) -> Option<Self> {
        let form = Matrix2::new(second.x, second.y / 2.0, second.y / 2.0, second.z);
        let slope = Vector2::new(first.x, first.y);
        let centre = form.try_inverse()? * slope / -2.0;
        let level = -(first.z + slope.dot(&centre) / 2.0);
        let form = form / level;
        let (mean, apart) = ((form.m11 + form.m22) / 2.0, (form.m11 - form.m22) / 2.0);
        let short = mean + (apart * apart + form.m12 * form.m12).sqrt();
        let long = form.determinant() / short;
        // Either row gives the axis; the one that is farther from nothing gives it well.
        let ways = [Vector2::new(form.m12, long - form.m11), Vector2::new(long - form.m22, form.m12)];
        let way = if apart > 0.0 { ways[0] } else { ways[1] };
        let far = length(way);
        let along = if far > 0.0 { way / far } else { Vector2::x() };
        let (major, minor) = (1.0 / long.sqrt(), 1.0 / short.sqrt());
        let finite = [centre.x, centre.y, major, minor].iter().all(|it| it.is_finite());
        (finite && short > 0.0).then_some(Self { centre, along, major, minor })
    }

    pub(crate) fn across(&self) -> Vector2<f64> {
        Vector2::new(-self.along.y, self.along.x)
    }

    /// How far outside it a point is, along the way from the centre.
    pub(crate) fn off(&self, point: Vector2<f64>) -> f64 {
        let way = point - self.centre;
        let stretched = self.stretched(way);
        if stretched < 1e-12 { -self.minor } else { length(way) * (1.0 - 1.0 / stretched) }
    }

    /// 1 on the outline, less inside.
    pub(crate) fn stretched(&self, way: Vector2<f64>) -> f64 {
        length(Vector2::new(way.dot(&self.along) / self.major, way.dot(&self.across()) / self.minor))
    }

    /// Points of the outline, with the direction straight out of it.
    pub(crate) fn outline(&self, count: usize) -> impl Iterator<Item = (Vector2<f64>, Vector2<f64>)> + '_ {
        (0..count).map(move |place| {
            let (sine, cosine) = libm::sincos(std::f64::consts::TAU * place as f64 / count as f64);
            let at = self.centre + self.along * (self.major * cosine) + self.across() * (self.minor * sine);
            let out = self.along * (cosine / self.major) + self.across() * (sine / self.minor);
            (at, out / length(out))
        })
    }

    pub(crate) fn scaled(&self, factor: f64) -> Self {
        Self { centre: self.centre * factor, major: self.major * factor, minor: self.minor * factor, ..*self }
    }

    pub(crate) fn moved(&self, by: Vector2<f64>) -> Self {
        Self { centre: self.centre + by, ..*self }
    }
}

/// The eigenvector for the largest eigenvalue of a matrix whose eigenvalues are all
/// real, if that one is positive. By Newton's method from above, where it can't miss,
/// and without a square root: see [`length`].
fn foremost(matrix: &Matrix3<f64>) -> Option<Vector3<f64>> {
    let trace = matrix.trace();
    let minors = (trace * trace - (matrix * matrix).trace()) / 2.0;
    let determinant = matrix.determinant();
    // No eigenvalue is larger than this.
    let mut value = matrix.norm_squared().sqrt();
    for _ in 0..NEWTON_MOST {
        let height = ((value - trace) * value + minors) * value - determinant;
        let slope = (3.0 * value - 2.0 * trace) * value + minors;
        let next = value - height / slope;
        // From above it only falls, until nothing is left to gain.
        if next.is_nan() || next >= value {
            break;
        }
        value = next;
    }
    if value.is_nan() || value <= 0.0 {
        return None;
    }
    let rest = matrix - Matrix3::identity() * value;
    let [one, two, three] = [0, 1, 2].map(|row| rest.row(row).transpose());
    let across = [one.cross(&two), two.cross(&three), three.cross(&one)];
    let found =
        across.into_iter().max_by(|one, other| one.norm_squared().total_cmp(&other.norm_squared()))?;
    let size = found.norm_squared().sqrt();
    (size.is_finite() && size > 0.0).then(|| found / size)
}

/// As the vector's own norm, by the processor's square root: a browser's module would
/// take a square root in software there.
pub(crate) fn length(way: Vector2<f64>) -> f64 {
    way.norm_squared().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_of_an_ellipse_give_it_back() {
        let along = Vector2::new(0.8, 0.6);
        let ellipse = Ellipse { centre: Vector2::new(321.25, -47.5), along, major: 34.0, minor: 21.0 };
        for count in [5, 6, 12, 100] {
            let points: Vec<_> = ellipse.outline(count).map(|(at, _)| at).collect();
            let found = Ellipse::fit(&points).unwrap();
            assert!((found.centre - ellipse.centre).norm() < 1e-4, "{count}: {found:?}");
            assert!((found.major - 34.0).abs() < 1e-3 && (found.minor - 21.0).abs() < 1e-3, "{found:?}");
            assert!(found.along.dot(&along).abs() > 0.999_99);
        }
    }

    #[test]
    fn points_that_make_no_ellipse_give_none_or_a_finite_one() {
        let same = [Vector2::new(1.0, 2.0); 9];
        assert_eq!(Ellipse::fit(&same), None);
        let line: Vec<_> = (0..9).map(|it| Vector2::new(f64::from(it), 2.0 * f64::from(it))).collect();
        assert!(Ellipse::fit(&line).is_none_or(|it| it.centre.iter().all(|it| it.is_finite())));
        assert_eq!(Ellipse::fit(&[Vector2::new(f64::NAN, 0.0); 6]), None);
    }
}

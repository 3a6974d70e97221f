//! How the surface is seen: homography, then lens, then pixels; and back.

use nalgebra::{Matrix2, Matrix3, SMatrix, SVector, Vector2, Vector3};

use super::lens::Bend;
use crate::units::PictureSize;

/// The unknowns: the homography's first eight entries (the ninth is 1), and λ.
pub(crate) const UNKNOWNS: usize = 9;
pub(crate) type Unknowns = SVector<f64, UNKNOWNS>;
pub(crate) type Slopes = SMatrix<f64, 2, UNKNOWNS>;

/// Moves points to mean 0 and mean distance √2 from it, which keeps the
/// equations well conditioned. Source: Hartley, "In defense of the eight-point
/// algorithm", IEEE PAMI 19(6), 1997.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Normalised {
    middle: Vector2<f64>,
    scale: f64,
}

impl Normalised {
    /// `None` if the points are all at one place.
    pub(crate) fn of(points: &[Vector2<f64>]) -> Option<Self> {
        let count = points.len() as f64;
        let middle = points.iter().sum::<Vector2<f64>>() / count;
        let spread = points.iter().map(|point| (point - middle).norm()).sum::<f64>() / count;
        let scale = std::f64::consts::SQRT_2 / spread;
        (spread > 0.0 && scale.is_finite()).then_some(Self { middle, scale })
    }

    pub(crate) fn apply(&self, point: Vector2<f64>) -> Vector2<f64> {
        (point - self.middle) * self.scale
    }

    fn undo(&self, point: Vector2<f64>) -> Vector2<f64> {
        point / self.scale + self.middle
    }
}

/// Pixels counted from the picture's centre in half diagonals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Frame {
    centre: Vector2<f64>,
    pub(crate) radius: f64,
}

impl Frame {
    pub(crate) fn of(picture: PictureSize) -> Self {
        Self { centre: picture.centre(), radius: picture.half_diagonal() }
    }

    pub(crate) fn apply(&self, pixel: Vector2<f64>) -> Vector2<f64> {
        (pixel - self.centre) / self.radius
    }

    fn undo(&self, point: Vector2<f64>) -> Vector2<f64> {
        point * self.radius + self.centre
    }
}

/// How the surface is seen.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct View {
    pub(crate) frame: Frame,
    /// Of surface points, in metres.
    pub(crate) surface: Normalised,
    /// Of straight picture points, in half diagonals.
    pub(crate) straight: Normalised,
    pub(crate) unknowns: Unknowns,
}

/// Where a surface point is seen, in pixels, with derivatives.
pub(crate) struct Seen {
    pub(crate) at: Vector2<f64>,
    pub(crate) by_surface: Matrix2<f64>,
    pub(crate) by_unknowns: Slopes,
}

impl View {
    pub(crate) fn bend(&self) -> Bend {
        Bend(self.unknowns[8])
    }

    fn matrix(&self) -> Matrix3<f64> {
        let h = &self.unknowns;
        Matrix3::new(h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], 1.0)
    }

    /// Where a surface point is seen; `None` behind the camera or off the lens.
    pub(crate) fn project(&self, surface: Vector2<f64>) -> Option<Seen> {
        let point = self.surface.apply(surface);
        let homogeneous = self.matrix() * Vector3::new(point.x, point.y, 1.0);
        let depth = homogeneous.z;
        if depth.is_nan() || depth <= 1e-6 {
            return None;
        }
        let flat = Vector2::new(homogeneous.x, homogeneous.y) / depth;
        let bent = self.bend().bend(self.straight.undo(flat))?;

        let h = &self.unknowns;
        let flat_by_point = Matrix2::new(
            h[0] - flat.x * h[6],
            h[1] - flat.x * h[7],
            h[3] - flat.y * h[6],
            h[4] - flat.y * h[7],
        ) / depth;
        let pixel_by_flat = bent.by_straight * (self.frame.radius / self.straight.scale);
        let row = Vector3::new(point.x, point.y, 1.0) / depth;
        let mut flat_by_unknowns = Slopes::zeros();
        for place in 0..3 {
            flat_by_unknowns[(0, place)] = row[place];
            flat_by_unknowns[(1, 3 + place)] = row[place];
        }
        for place in 0..2 {
            flat_by_unknowns[(0, 6 + place)] = -flat.x * row[place];
            flat_by_unknowns[(1, 6 + place)] = -flat.y * row[place];
        }
        let mut by_unknowns = pixel_by_flat * flat_by_unknowns;
        by_unknowns.set_column(8, &(bent.by_bend * self.frame.radius));
        Some(Seen {
            at: self.frame.undo(bent.at),
            by_surface: pixel_by_flat * flat_by_point * self.surface.scale,
            by_unknowns,
        })
    }

    /// The surface's two directions as they are seen, in half diagonals from the
    /// picture's middle: the homography's first two columns.
    pub(crate) fn directions(&self) -> [Vector3<f64>; 2] {
        let matrix = self.matrix();
        [0, 1].map(|place| {
            let column = matrix.column(place);
            let flat = column.xy() / self.straight.scale + self.straight.middle * column.z;
            Vector3::new(flat.x, flat.y, column.z)
        })
    }

    /// The surface point seen at a pixel; `None` beyond the horizon.
    pub(crate) fn locate(&self, pixel: Vector2<f64>) -> Option<Vector2<f64>> {
        let straight = self.bend().straighten(self.frame.apply(pixel))?;
        let flat = self.straight.apply(straight);
        let inverse = self.matrix().try_inverse()?;
        let homogeneous = inverse * Vector3::new(flat.x, flat.y, 1.0);
        // Its third entry is one over the depth, which is 1 in the middle of the marks.
        if homogeneous.z.is_nan() || homogeneous.z < 1e-6 {
            return None;
        }
        let surface = self.surface.undo(homogeneous.xy() / homogeneous.z);
        surface.iter().all(|it| it.is_finite()).then_some(surface)
    }
}

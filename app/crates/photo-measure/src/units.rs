//! Pixels and metres, points in the picture and on the surface.

use nalgebra::Vector2;
use serde::{Deserialize, Serialize};

use crate::error::{Reason, Refused};

/// How far a person's mark is off, one standard deviation, where nothing better
/// is known. Common practice, no source.
pub const MARK_UNCERTAINTY: Pixels = Pixels(1.5);

/// The largest side of a picture that is taken.
const SIDE_MOST: u32 = 30_000;
/// The largest uncertainty of a mark that is taken.
const UNCERTAINTY_MOST: f64 = 200.0;
/// The largest length that is taken: a light aircraft fits.
pub(crate) const LENGTH_MOST: f64 = 50.0;
/// The smallest length that is taken.
pub(crate) const LENGTH_LEAST: f64 = 1e-4;

/// A length in the picture.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Pixels(pub f64);

/// A length on the surface.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Metres(pub f64);

/// A point in the picture. (0, 0) is the picture's top left corner, so the
/// first pixel's middle is (0.5, 0.5); x goes right, y goes down.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PixelPoint {
    /// Right, in pixels.
    pub x: f64,
    /// Down, in pixels.
    pub y: f64,
}

/// A point on the measured surface, in metres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PlanePoint {
    /// Along the first side.
    pub x: f64,
    /// Across it.
    pub y: f64,
}

/// How large the picture is in which the points are given.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PictureSize {
    /// Pixels in a row.
    pub width: u32,
    /// Rows.
    pub height: u32,
}

/// A point that a person tapped, and how far off the tap may be.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tap {
    /// Where.
    pub at: PixelPoint,
    /// One standard deviation along either axis.
    pub uncertainty: Pixels,
}

/// A known point of the surface and where it was marked in the picture.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Mark {
    /// Where it was marked.
    pub at: PixelPoint,
    /// Where it is on the surface.
    pub known: PlanePoint,
}

/// A length that somebody knows, and how well.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Known {
    /// The length.
    pub length: Metres,
    /// One standard deviation; zero for a length taken as exact.
    #[serde(default = "exact")]
    pub uncertainty: Metres,
}

const fn exact() -> Metres {
    Metres(0.0)
}

impl Known {
    /// A length taken as exact.
    #[must_use]
    pub const fn exactly(length: Metres) -> Self {
        Self { length, uncertainty: exact() }
    }

    pub(crate) fn check(self, field: &str) -> Result<(), Refused> {
        Refused::unless_within(field, self.length.0, LENGTH_LEAST, LENGTH_MOST, "m")?;
        let of_uncertainty = format!("{field}.uncertainty");
        Refused::unless_within(&of_uncertainty, self.uncertainty.0, 0.0, self.length.0 * 0.2, "m")
    }
}

impl Tap {
    /// A tap that is off as much as people's marks are ([`MARK_UNCERTAINTY`]).
    #[must_use]
    pub const fn at(x: f64, y: f64) -> Self {
        Self { at: PixelPoint { x, y }, uncertainty: MARK_UNCERTAINTY }
    }

    pub(crate) fn check(self, field: &str, picture: PictureSize) -> Result<(), Refused> {
        picture.check_inside(field, self.at)?;
        check_uncertainty(&format!("{field}.uncertainty"), self.uncertainty)
    }
}

impl PictureSize {
    pub(crate) fn check(self) -> Result<(), Refused> {
        for (field, side) in [("picture.width", self.width), ("picture.height", self.height)] {
            Refused::unless_within(field, f64::from(side), 2.0, f64::from(SIDE_MOST), "px")?;
        }
        Ok(())
    }

    pub(crate) fn check_inside(self, field: &str, at: PixelPoint) -> Result<(), Refused> {
        let (width, height) = (f64::from(self.width), f64::from(self.height));
        let accepted = || format!("0 to {width} px across, 0 to {height} px down");
        if !(at.x.is_finite() && at.y.is_finite()) {
            return Err(Refused::new(field, Reason::NotFinite, accepted()));
        }
        let inside = (0.0..=width).contains(&at.x) && (0.0..=height).contains(&at.y);
        if inside { Ok(()) } else { Err(Refused::new(field, Reason::OutsidePicture, accepted())) }
    }

    pub(crate) fn centre(self) -> Vector2<f64> {
        Vector2::new(f64::from(self.width), f64::from(self.height)) / 2.0
    }

    /// From the centre to a corner.
    pub(crate) fn half_diagonal(self) -> f64 {
        self.centre().norm()
    }
}

impl PixelPoint {
    pub(crate) fn vector(self) -> Vector2<f64> {
        Vector2::new(self.x, self.y)
    }
}

impl PlanePoint {
    pub(crate) fn vector(self) -> Vector2<f64> {
        Vector2::new(self.x, self.y)
    }
}

impl From<Vector2<f64>> for PixelPoint {
    fn from(vector: Vector2<f64>) -> Self {
        Self { x: vector.x, y: vector.y }
    }
}

impl From<Vector2<f64>> for PlanePoint {
    fn from(vector: Vector2<f64>) -> Self {
        Self { x: vector.x, y: vector.y }
    }
}

pub(crate) fn check_uncertainty(field: &str, uncertainty: Pixels) -> Result<(), Refused> {
    Refused::unless_within(field, uncertainty.0, 0.01, UNCERTAINTY_MOST, "px")
}

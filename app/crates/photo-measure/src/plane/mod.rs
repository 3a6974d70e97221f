//! From marks to a calibration, from taps to positions.

mod camera;
mod fit;
mod lens;
mod marks;
mod uncertain;
mod view;

use nalgebra::{Matrix2, SMatrix, SVector, Vector2};
use serde::{Deserialize, Serialize};

pub use lens::{LENS_ALLOWANCE, Lens};
pub use uncertain::Uncertain;

use crate::error::{Reason, Refused};
use crate::units::{
    Known, MARK_UNCERTAINTY, Mark, Metres, PictureSize, PixelPoint, Pixels, PlanePoint, Tap,
    check_uncertainty,
};
use fit::Fitted;
use lens::Bend;
use view::{Frame, UNKNOWNS, View};

/// A mark is never taken to be better than this, however well it fits. Common
/// practice, no source.
const DEVIATION_LEAST: f64 = 0.1;
/// Marks may be off the best fit by this part of the picture's diagonal.
const MISFIT_MOST: f64 = 0.01;
/// The strongest lens that is taken, at the picture's corners.
const BEND_MOST: f64 = 0.3;
/// More [`Quality::stretch`] than careful marks make: over 200 rendered views of a card
/// it was at most 0.012, with the sides exchanged at least 0.057.
pub const STRETCH_MOST: f64 = 0.04;
/// Causes that all positions of one calibration share: unknowns, two sizes, lens.
const SHARED: usize = UNKNOWNS + 3;

/// What is known about picture and lens, whatever is marked on it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Setting {
    /// The picture in which marks and taps are given.
    pub picture: PictureSize,
    /// The lens.
    #[serde(default)]
    pub lens: Lens,
    /// How far marks are off, one standard deviation. `None`: as their residuals
    /// say where there are more than four, else [`MARK_UNCERTAINTY`].
    #[serde(default)]
    pub marks: Option<Pixels>,
}

impl Setting {
    /// The usual: a phone's lens, marks by hand.
    #[must_use]
    pub fn of(picture: PictureSize) -> Self {
        Self { picture, lens: Lens::default(), marks: None }
    }

    fn check(&self) -> Result<(), Refused> {
        self.picture.check()?;
        if let Lens::UpTo(part) = self.lens {
            Refused::unless_within("lens", part, 0.0, BEND_MOST, "of the distance from the centre")?;
        }
        self.marks.map_or(Ok(()), |marks| check_uncertainty("marks.uncertainty", marks))
    }
}

/// Knows where on the surface a pixel is, and how well.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibration {
    picture: PictureSize,
    fitted: Fitted,
    /// Of a mark along either axis, px, and the degrees of freedom it was estimated with.
    deviation: f64,
    freedom: Option<usize>,
    residuals: Vec<f64>,
    /// What a surface point moves by when a known size is one deviation larger.
    sizes: [Matrix2<f64>; 2],
    /// The same marks through the most bent lens.
    bent: Option<View>,
}

/// A position on the surface.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Position {
    /// Along the first side.
    pub x: Uncertain,
    /// Across it.
    pub y: Uncertain,
    /// Standard uncertainty in the worst direction.
    pub standard: Metres,
    /// The part of it that the lens may cause (at its worst, not a deviation).
    pub lens: Metres,
}

/// How well the marks hold the calibration.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Quality {
    /// Of one mark along either axis.
    pub mark_uncertainty: Pixels,
    /// With so many degrees of freedom it was estimated; `None`: stated.
    pub degrees_of_freedom: Option<usize>,
    /// How far each mark is from where the fit puts it.
    pub residuals: Vec<Pixels>,
    /// λ of the division model in half diagonals, where it was found from the
    /// marks: at a corner the picture is bent by about this part.
    pub lens: f64,
    /// How much longer one direction of the surface would have to be for a camera
    /// to see the marks like that: 0.02 is 2 %. Above [`STRETCH_MOST`] ask whether
    /// width and height are exchanged. A cropped photo raises it too.
    pub stretch: f64,
}

/// A located point with everything that may move it, one deviation each.
#[derive(Clone, Debug)]
pub(crate) struct Located {
    pub(crate) at: Vector2<f64>,
    shared: SMatrix<f64, 2, SHARED>,
    own: Matrix2<f64>,
}

impl Calibration {
    /// From the four corners of a rectangle, marked in order around it. The first
    /// is the origin, the second lies along `width`, the fourth along `height`.
    ///
    /// # Errors
    /// Marks that no rectangle makes, or that are too small to measure with.
    pub fn from_rectangle(
        setting: &Setting,
        corners: &[PixelPoint; 4],
        width: Known,
        height: Known,
    ) -> Result<Self, Refused> {
        Self::from_rectangle_twice(setting, corners, None, width, height)
    }

    /// As [`Calibration::from_rectangle`], with the corners marked a second time in
    /// the same order: how far the two are apart says how well they were marked.
    ///
    /// # Errors
    /// As there; and marks of one corner that don't fit each other.
    pub fn from_rectangle_twice(
        setting: &Setting,
        corners: &[PixelPoint; 4],
        again: Option<&[PixelPoint; 4]>,
        width: Known,
        height: Known,
    ) -> Result<Self, Refused> {
        setting.check()?;
        width.check("width")?;
        height.check("height")?;
        for corners in [Some(corners), again].into_iter().flatten() {
            marks::far_enough(corners, setting.picture)?;
            marks::rectangle(corners)?;
        }
        let (w, h) = (width.length.0, height.length.0);
        let known = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)];
        let marks: Vec<_> = corners
            .iter()
            .chain(again.into_iter().flatten())
            .zip(known.into_iter().cycle())
            .map(|(at, (x, y))| Mark { at: *at, known: PlanePoint { x, y } })
            .collect();
        let mut calibration = Self::perspective(setting, &marks)?;
        calibration.sizes = [
            Matrix2::new(width.uncertainty.0 / w, 0.0, 0.0, 0.0),
            Matrix2::new(0.0, 0.0, 0.0, height.uncertainty.0 / h),
        ];
        Ok(calibration)
    }

    /// From four and more known points of the surface, no three of four in a line.
    ///
    /// # Errors
    /// Points that leave the perspective open, or that don't fit each other.
    pub fn from_points(setting: &Setting, marks: &[Mark]) -> Result<Self, Refused> {
        setting.check()?;
        marks::points(marks, setting.picture)?;
        Self::perspective(setting, marks)
    }

    /// From two marks of a known length on a photo taken square-on. The first is
    /// the origin, the second lies along x.
    ///
    /// # Errors
    /// Marks too close together; a lens to be found, which two marks can't show.
    pub fn from_length(setting: &Setting, ends: &[PixelPoint; 2], length: Known) -> Result<Self, Refused> {
        setting.check()?;
        length.check("length")?;
        marks::far_enough(ends, setting.picture)?;
        if setting.lens == Lens::Fit {
            return Err(Refused::new("marks", Reason::Count(2), "5 or more to find the lens"));
        }
        let known = [PlanePoint { x: 0.0, y: 0.0 }, PlanePoint { x: length.length.0, y: 0.0 }];
        let marks = [0, 1].map(|place| Mark { at: ends[place], known: known[place] });
        let frame = Frame::of(setting.picture);
        let mut calibration =
            Self::around(setting, &marks, fit::square_on(&marks, frame, Bend(0.0))?, |bend| {
                fit::square_on(&marks, frame, bend)
            })?;
        calibration.sizes =
            [Matrix2::identity() * (length.uncertainty.0 / length.length.0), Matrix2::zeros()];
        Ok(calibration)
    }

    fn perspective(setting: &Setting, marks: &[Mark]) -> Result<Self, Refused> {
        let frame = Frame::of(setting.picture);
        let find = setting.lens == Lens::Fit;
        if find && marks.len() < 5 {
            return Err(Refused::new("marks", Reason::Count(marks.len()), "5 or more to find the lens"));
        }
        let fitted = fit::perspective(marks, frame, Bend(0.0), find)?;
        if fitted.view.bend().0.abs() > BEND_MOST {
            return Err(Refused::new(
                "marks",
                Reason::Undetermined,
                "marks that reach into the picture's corners",
            ));
        }
        let mut calibration =
            Self::around(setting, marks, fitted, |bend| fit::perspective(marks, frame, bend, false))?;
        let freedom = (2 * marks.len()).saturating_sub(if find { UNKNOWNS } else { UNKNOWNS - 1 });
        calibration.estimate_deviation(setting, freedom)?;
        Ok(calibration)
    }

    fn around(
        setting: &Setting,
        marks: &[Mark],
        fitted: Fitted,
        through: impl Fn(Bend) -> Result<Fitted, Refused>,
    ) -> Result<Self, Refused> {
        let bent = match setting.lens {
            Lens::UpTo(part) if part > 0.0 => Some(through(Bend(part))?.view),
            _ => None,
        };
        Ok(Self {
            picture: setting.picture,
            residuals: fit::residuals(&fitted.view, marks),
            fitted,
            deviation: setting.marks.unwrap_or(MARK_UNCERTAINTY).0,
            freedom: None,
            sizes: [Matrix2::zeros(); 2],
            bent,
        })
    }

    /// The marks' own residuals say how good they are. Source: Hartley and
    /// Zisserman, section 5.1.3, result 5.2 turned round.
    fn estimate_deviation(&mut self, setting: &Setting, freedom: usize) -> Result<(), Refused> {
        if freedom == 0 {
            return Ok(());
        }
        let deviation = (self.fitted.squares / freedom as f64).sqrt();
        let most = MISFIT_MOST * 2.0 * setting.picture.half_diagonal();
        if deviation.is_nan() || deviation > most {
            let worst =
                (0..self.residuals.len()).max_by(|a, b| self.residuals[*a].total_cmp(&self.residuals[*b]));
            let worst = worst.unwrap_or_default();
            let off = self.residuals.get(worst).copied().unwrap_or_default();
            let accepted = format!("marks that fit each other within {most:.0} px");
            return Err(Refused::new(format!("marks[{worst}]"), Reason::DoesNotFit(off), accepted));
        }
        if setting.marks.is_none() {
            self.deviation = deviation.max(DEVIATION_LEAST);
            self.freedom = Some(freedom);
        }
        Ok(())
    }

    /// How well the marks hold it.
    #[must_use]
    pub fn quality(&self) -> Quality {
        let [along, across] = self.fitted.view.directions();
        let stretch = camera::stretch(along, across);
        Quality {
            mark_uncertainty: Pixels(self.deviation),
            degrees_of_freedom: self.freedom,
            residuals: self.residuals.iter().map(|it| Pixels(*it)).collect(),
            lens: self.fitted.view.bend().0,
            stretch,
        }
    }

    /// Where on the surface a tap is.
    ///
    /// # Errors
    /// A tap outside the picture or beyond the surface's horizon.
    pub fn position(&self, tap: &Tap) -> Result<Position, Refused> {
        self.located("tap", tap).map(|it| self.position_of(&it))
    }

    /// How far two taps are apart on the surface: a pitch.
    ///
    /// # Errors
    /// As [`Calibration::position`].
    pub fn distance(&self, from: &Tap, to: &Tap) -> Result<Uncertain, Refused> {
        let (from, to) = (self.located("from", from)?, self.located("to", to)?);
        Ok(self.distance_of(&from, &to))
    }

    /// Where a point of the surface is seen; `None` where it isn't.
    #[must_use]
    pub fn pixel(&self, point: PlanePoint) -> Option<PixelPoint> {
        let seen = self.fitted.view.project(point.vector())?.at;
        self.picture.check_inside("point", seen.into()).ok().map(|()| seen.into())
    }

    /// Whether x to y turns on the surface as right to down turns in the picture.
    pub(crate) fn turns_as_seen(&self, at: Vector2<f64>) -> bool {
        self.fitted.view.project(at).is_none_or(|seen| seen.by_surface.determinant() > 0.0)
    }

    pub(crate) fn distance_of(&self, from: &Located, to: &Located) -> Uncertain {
        let way = to.at - from.at;
        let along = way.try_normalize(0.0).unwrap_or_else(Vector2::x);
        self.uncertain(way.norm(), &[(-along, from), (along, to)])
    }

    /// First-order propagation: with p = f(θ, X) the pixel of surface point X,
    /// dX = A⁻¹ (dp − B dθ), where A = ∂f/∂X and B = ∂f/∂θ. Source: Hartley and
    /// Zisserman, section 5.2 and result 5.6.
    pub(crate) fn located(&self, field: &str, tap: &Tap) -> Result<Located, Refused> {
        tap.check(field, self.picture)?;
        let beyond = || Refused::new(field, Reason::BeyondHorizon, "a point of the surface");
        let pixel = tap.at.vector();
        let at = self.fitted.view.locate(pixel).ok_or_else(beyond)?;
        let seen = self.fitted.view.project(at).ok_or_else(beyond)?;
        let inverse = seen.by_surface.try_inverse().ok_or_else(beyond)?;

        let mut shared = SMatrix::<f64, 2, SHARED>::zeros();
        let by_marks = inverse * seen.by_unknowns * self.fitted.root * -self.deviation;
        shared.fixed_columns_mut::<UNKNOWNS>(0).copy_from(&by_marks);
        for (place, size) in self.sizes.iter().enumerate() {
            shared.set_column(UNKNOWNS + place, &(size * at));
        }
        if let Some(bent) = &self.bent {
            let moved = bent.locate(pixel).ok_or_else(beyond)? - at;
            // Anywhere between the bounds: a rectangle's deviation, GUM 4.3.7.
            shared.set_column(SHARED - 1, &(moved / 3.0_f64.sqrt()));
        }
        let own = inverse * tap.uncertainty.0;
        let finite = at.iter().chain(shared.iter()).chain(own.iter()).all(|it| it.abs() < 1e6);
        if finite { Ok(Located { at, shared, own }) } else { Err(beyond()) }
    }

    pub(crate) fn position_of(&self, located: &Located) -> Position {
        let covariance = located.shared * located.shared.transpose() + located.own * located.own.transpose();
        Position {
            x: self.uncertain(located.at.x, &[(Vector2::x(), located)]),
            y: self.uncertain(located.at.y, &[(Vector2::y(), located)]),
            standard: Metres(fit::worst_direction(&covariance)),
            lens: Metres(located.shared.column(SHARED - 1).norm() * 3.0_f64.sqrt()),
        }
    }

    /// A value that moves with located points, each along a gradient. What the
    /// points share is added before it is squared.
    pub(crate) fn uncertain(&self, value: f64, parts: &[(Vector2<f64>, &Located)]) -> Uncertain {
        let mut shared = SVector::<f64, SHARED>::zeros();
        let mut own = 0.0;
        for (gradient, located) in parts {
            shared += located.shared.transpose() * gradient;
            own += (located.own.transpose() * gradient).norm_squared();
        }
        let estimated = shared.fixed_rows::<UNKNOWNS>(0).norm_squared();
        let variance = shared.norm_squared() + own;
        Uncertain {
            value: Metres(value),
            standard: Metres(variance.sqrt()),
            coverage: uncertain::coverage(variance, estimated, self.freedom),
        }
    }
}

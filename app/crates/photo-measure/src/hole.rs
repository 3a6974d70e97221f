//! A hole found in the picture, on the surface: centre and diameters.

use nalgebra::Vector2;
use serde::Serialize;

use crate::edge::EdgeDistance;
use crate::error::{Reason, Refused};
use crate::plane::{Calibration, Located, Position, Uncertain};
use crate::snap::{Ellipse, Hole};
use crate::units::{Metres, Pixels, Tap};

/// Points of the outline that are carried over to the surface.
const OUTLINE: usize = 48;
/// How far light, burr and countersink may move the edge of a hole that looks
/// sharp, px. Common practice, no source.
const EDGE_UNCERTAINTY: f64 = 0.5;

/// A hole on the surface.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PlacedHole {
    /// Where its centre is.
    pub position: Position,
    /// Across the longest way.
    pub longest: Uncertain,
    /// Across the shortest way.
    pub shortest: Uncertain,
}

impl Calibration {
    /// Where a hole is and how large. Its outline is carried over, not its
    /// centre: under perspective a circle's centre isn't its ellipse's centre.
    ///
    /// # Errors
    /// A hole outside the picture or beyond the surface's horizon.
    pub fn hole(&self, hole: &Hole) -> Result<PlacedHole, Refused> {
        let (located, ellipse) = self.placed(hole)?;
        let [longest, shortest] = self.across(&ellipse)?;
        Ok(PlacedHole { position: self.position_of(&located), longest, shortest })
    }

    /// How large it is: across the longest and the shortest way.
    pub(crate) fn across(&self, ellipse: &Ellipse) -> Result<[Uncertain; 2], Refused> {
        let across = |axis: Vector2<f64>, semi: f64| -> Result<Uncertain, Refused> {
            let end = |at: Vector2<f64>| self.at_surface(at, Pixels(EDGE_UNCERTAINTY));
            let (from, to) = (end(ellipse.centre - axis * semi)?, end(ellipse.centre + axis * semi)?);
            Ok(self.distance_of(&from, &to))
        };
        Ok([across(ellipse.along, ellipse.major)?, across(ellipse.across(), ellipse.minor)?])
    }

    /// From a found hole's centre to a tapped edge.
    ///
    /// # Errors
    /// As [`Calibration::hole`] and [`Calibration::edge_distance`].
    pub fn hole_edge_distance(
        &self,
        hole: &Hole,
        edge: &[Tap],
        minimum: Metres,
    ) -> Result<EdgeDistance, Refused> {
        let (located, _) = self.placed(hole)?;
        self.edge_distance_of(&located, edge, minimum)
    }

    pub(crate) fn placed(&self, hole: &Hole) -> Result<(Located, Ellipse), Refused> {
        Refused::unless_within("hole.minor", hole.minor.0, 0.5, 1e4, "px")?;
        Refused::unless_within("hole.major", hole.major.0, hole.minor.0, 1e4, "px")?;
        let seen = hole.ellipse();
        let mut outline = Vec::with_capacity(OUTLINE);
        for (at, _) in seen.outline(OUTLINE) {
            let tap = Tap { at: at.into(), uncertainty: hole.uncertainty };
            outline.push(self.located("hole", &tap)?.at);
        }
        let no_ellipse = || Refused::new("hole", Reason::BeyondHorizon, "a hole in the surface");
        let ellipse = Ellipse::fit(&outline).ok_or_else(no_ellipse)?;
        Ok((self.at_surface(ellipse.centre, hole.uncertainty)?, ellipse))
    }

    /// A point of the surface as if it had been tapped.
    fn at_surface(&self, at: Vector2<f64>, uncertainty: Pixels) -> Result<Located, Refused> {
        let unseen = || Refused::new("hole", Reason::OutsidePicture, "a hole that is seen whole");
        let pixel = self.pixel(at.into()).ok_or_else(unseen)?;
        self.located("hole", &Tap { at: pixel, uncertainty })
    }
}

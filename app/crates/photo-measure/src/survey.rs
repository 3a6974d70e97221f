//! A whole photo at once: marks, holes and an edge in; places in the joint's own
//! axes, pitches and edge distances out, each with its uncertainty.

mod axes;

use serde::{Deserialize, Serialize};

use crate::edge::nearest;
use crate::error::Refused;
use crate::plane::{Calibration, Located, Quality, STRETCH_MOST, Setting, Uncertain};
use crate::snap::Hole;
use crate::units::{Known, Metres, PixelPoint, Tap};
use axes::InAxes;

/// What is known and what was tapped.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Question {
    /// Picture and lens.
    pub setting: Setting,
    /// What has a known size.
    pub reference: Reference,
    /// The holes.
    pub holes: Vec<Spot>,
    /// Points along the sheet's edge, in order; may be empty.
    pub edge: Vec<PixelPoint>,
    /// The axes in which places are given.
    pub axes: Axes,
}

/// Something of known size on the surface.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reference {
    /// A rectangle: as [`Calibration::from_rectangle_twice`] takes it.
    Rectangle {
        /// Its corners in order around it; the width lies between the first two.
        corners: [PixelPoint; 4],
        /// The same marked once more.
        again: Option<[PixelPoint; 4]>,
        /// From the first corner to the second.
        width: Known,
        /// From the second to the third.
        height: Known,
    },
    /// One length on a photo taken square-on.
    Length {
        /// Its ends.
        ends: [PixelPoint; 2],
        /// How long it is.
        length: Known,
    },
}

/// A hole.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Spot {
    /// As tapped.
    Tapped(PixelPoint),
    /// As found in the picture.
    Found(Hole),
}

/// Where the axes are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Axes {
    /// Where both are nothing.
    pub origin: Origin,
    /// Which way x runs. `None`: along the edge if there is one, else along the holes.
    pub along: Option<Along>,
    /// Both axes the other way.
    pub turned: bool,
    /// x the other way: as seen from the sheet's far side.
    pub mirrored: bool,
}

/// Where the axes begin.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Origin {
    /// On the edge, beside the first hole.
    #[default]
    BesideFirst,
    /// At the edge's first point.
    EdgeStart,
    /// At the first hole.
    FirstHole,
}

/// Which way x runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Along {
    /// From the edge's first point to its last.
    Edge,
    /// Between the two holes that are farthest apart.
    Holes,
    /// Along the reference's first side.
    Reference,
}

/// A place in the axes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Corner {
    /// Along.
    pub x: Uncertain,
    /// Across.
    pub y: Uncertain,
}

/// A hole in the axes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct HoleInAxes {
    /// Where it is.
    pub at: Corner,
    /// How far it may be off against the edge and its neighbours, expanded. How
    /// far along x it is from the origin is less sure: a scale that is off moves
    /// all holes alike, and none against its neighbours.
    pub uncertainty: Metres,
    /// Across the longest and the shortest way, where it was found in the picture.
    pub across: Option<[Uncertain; 2]>,
    /// To the nearest point of the edge.
    pub edge: Option<Uncertain>,
    /// To the next hole along x.
    pub pitch: Option<Uncertain>,
}

/// What comes out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// How well the marks hold.
    pub quality: Quality,
    /// Which way round the rectangle's sides were given.
    pub sides: Sides,
    /// The holes, in the order asked.
    pub holes: Vec<HoleInAxes>,
    /// The holes' order along x.
    pub order: Vec<usize>,
    /// The edge, point by point.
    pub edge: Vec<Corner>,
    /// The origin, and a point on either axis as far from it as the reference is
    /// large: as seen in the picture, where they are seen.
    pub drawn: Option<[PixelPoint; 3]>,
}

/// Which way round a rectangle's sides were given, as far as the marks show.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Sides {
    /// As they are.
    Fit,
    /// The other way round: so they fit much better.
    Exchanged,
    /// Either way there is a camera that sees it like that: a person has to look.
    Either,
}

/// Why nothing comes out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Refusal {
    /// The input's name: `marks[2]`, `width`, `holes[0]`, `edge[1]`.
    pub field: String,
    /// What is wrong with it.
    pub reason: String,
    /// What would be accepted.
    pub accepted: String,
}

/// What a module that people's marks are handed to says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome<T> {
    /// It can be said.
    Said(T),
    /// It can't, and why.
    Refused(Refusal),
}

impl<T> From<Result<T, Refused>> for Outcome<T> {
    fn from(result: Result<T, Refused>) -> Self {
        match result {
            Ok(said) => Self::Said(said),
            Err(Refused { field, reason, accepted }) => {
                Self::Refused(Refusal { field, reason: reason.to_string(), accepted })
            }
        }
    }
}

impl Reference {
    fn calibration(&self, setting: &Setting) -> Result<Calibration, Refused> {
        match self {
            Self::Rectangle { corners, again, width, height } => {
                Calibration::from_rectangle_twice(setting, corners, again.as_ref(), *width, *height)
            }
            Self::Length { ends, length } => Calibration::from_length(setting, ends, *length),
        }
    }

    /// What the marks say about width and height, whose fit needs this stretch.
    fn sides(&self, setting: &Setting, stretch: f64) -> Sides {
        let Self::Rectangle { corners, again, width, height } = self else { return Sides::Fit };
        let longer = width.length.0.max(height.length.0) / width.length.0.min(height.length.0);
        if longer < 1.0 + STRETCH_MOST {
            return Sides::Fit;
        }
        let other = Calibration::from_rectangle_twice(setting, corners, again.as_ref(), *height, *width);
        let Ok(other) = other.map(|other| other.quality().stretch) else { return Sides::Fit };
        match (stretch <= STRETCH_MOST, other <= STRETCH_MOST) {
            (true, true) => Sides::Either,
            (false, _) if other < 0.5 * stretch => Sides::Exchanged,
            _ => Sides::Fit,
        }
    }

    fn size(&self) -> Metres {
        match self {
            Self::Rectangle { width, height, .. } => Metres(width.length.0.max(height.length.0)),
            Self::Length { length, .. } => length.length,
        }
    }
}

impl Question {
    /// Works everything out.
    ///
    /// # Errors
    /// The first input that can't be measured with.
    pub fn answer(&self) -> Result<Answer, Refused> {
        let seen = self.reference.calibration(&self.setting)?;
        let quality = seen.quality();
        let sides = self.reference.sides(&self.setting, quality.stretch);
        let taps: Vec<Tap> = self.edge.iter().map(|at| Tap::at(at.x, at.y)).collect();
        let edge = seen.edge_points(&taps)?;
        let mut located = Vec::with_capacity(self.holes.len());
        let mut sizes = Vec::with_capacity(self.holes.len());
        for (place, spot) in self.holes.iter().enumerate() {
            let (hole, size) = spot.on(&seen).map_err(|why| why.of_hole(place))?;
            located.push(hole);
            sizes.push(size);
        }
        let axes = InAxes::of(&seen, &located, &edge, self.axes)?;
        let (holes, order) = self.holes_in(&seen, &axes, &located, &sizes, &edge)?;
        Ok(Answer {
            quality,
            sides,
            holes,
            order,
            edge: edge.iter().map(|point| axes.place(&seen, point)).collect(),
            drawn: axes.drawn(&seen, self.reference.size()),
        })
    }

    fn holes_in(
        &self,
        seen: &Calibration,
        axes: &InAxes,
        located: &[Located],
        sizes: &[Option<[Uncertain; 2]>],
        edge: &[Located],
    ) -> Result<(Vec<HoleInAxes>, Vec<usize>), Refused> {
        let places: Vec<Corner> = located.iter().map(|hole| axes.place(seen, hole)).collect();
        let mut order: Vec<usize> = (0..places.len()).collect();
        order.sort_by(|one, other| places[*one].x.value.0.total_cmp(&places[*other].x.value.0));
        let mut pitches = vec![(None, None); places.len()];
        for two in order.windows(2) {
            let pitch = seen.distance_of(&located[two[0]], &located[two[1]]);
            (pitches[two[0]].1, pitches[two[1]].0) = (Some(pitch), Some(pitch));
        }
        let mut holes = Vec::with_capacity(places.len());
        for (place, hole) in located.iter().enumerate() {
            let to_edge = if edge.len() < 2 { None } else { Some(seen.to_edge(hole, &nearest(hole, edge)?)) };
            let at = places[place];
            let (before, pitch) = pitches[place];
            // Two neighbours share what is unsure between them.
            let shares = [before, pitch].into_iter().flatten().map(|it| it.expanded().0 / 2.0);
            let whole = [Some(at.y), to_edge].into_iter().flatten().map(|it| it.expanded().0);
            let uncertainty = Metres(shares.chain(whole).fold(0.0, f64::max));
            holes.push(HoleInAxes { at, uncertainty, across: sizes[place], edge: to_edge, pitch });
        }
        Ok((holes, order))
    }
}

impl Spot {
    fn on(&self, seen: &Calibration) -> Result<(Located, Option<[Uncertain; 2]>), Refused> {
        match self {
            Self::Tapped(at) => Ok((seen.located("hole", &Tap::at(at.x, at.y))?, None)),
            Self::Found(hole) => {
                let (located, ellipse) = seen.placed(hole)?;
                Ok((located, Some(seen.across(&ellipse)?)))
            }
        }
    }
}

impl Refused {
    fn of_hole(self, place: usize) -> Self {
        Self { field: format!("holes[{place}]"), ..self }
    }
}

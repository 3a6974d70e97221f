//! From a hole to a tapped edge, against a minimum.

use nalgebra::Vector2;
use serde::Serialize;

use crate::error::{Reason, Refused};
use crate::plane::{Calibration, Located, Uncertain};
use crate::units::{LENGTH_MOST, Metres, Tap};

/// The most points of a tapped edge.
const POINTS_MOST: usize = 1000;

/// What a measured distance says against a minimum.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Enough, even if it is shorter by the expanded uncertainty.
    Enough,
    /// The margin is smaller than the uncertainty: measure it.
    TooClose,
    /// Too small, even if it is longer by the expanded uncertainty.
    TooSmall,
}

/// A hole's distance to an edge.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct EdgeDistance {
    /// From the hole's centre to the nearest point of the edge.
    pub distance: Uncertain,
    /// The least that is allowed.
    pub minimum: Metres,
    /// What that comes to.
    pub verdict: Verdict,
    /// The piece of the edge that is nearest: from this point to the next.
    pub piece: usize,
}

impl Verdict {
    /// Guard bands as wide as the expanded uncertainty. Source: JCGM 106:2012, 8.3.
    #[must_use]
    pub fn of(distance: &Uncertain, minimum: Metres) -> Self {
        let (value, band) = (distance.value.0, distance.expanded().0);
        if value - band >= minimum.0 {
            Self::Enough
        } else if value + band < minimum.0 {
            Self::TooSmall
        } else {
            Self::TooClose
        }
    }

    /// For people.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Enough => "enough",
            Self::TooClose => "too close to call: measure it",
            Self::TooSmall => "too small",
        }
    }
}

impl Calibration {
    /// From a hole's tapped centre to the nearest point of a tapped edge.
    ///
    /// # Errors
    /// Taps that can't be located, an edge of fewer than two points, a minimum
    /// that is no length.
    pub fn edge_distance(&self, hole: &Tap, edge: &[Tap], minimum: Metres) -> Result<EdgeDistance, Refused> {
        let hole = self.located("hole", hole)?;
        self.edge_distance_of(&hole, edge, minimum)
    }

    pub(crate) fn edge_distance_of(
        &self,
        hole: &Located,
        edge: &[Tap],
        minimum: Metres,
    ) -> Result<EdgeDistance, Refused> {
        Refused::unless_within("minimum", minimum.0, 0.0, LENGTH_MOST, "m")?;
        let points = self.edge_points(edge)?;
        let near = nearest(hole, &points)?;
        let distance = self.to_edge(hole, &near);
        Ok(EdgeDistance { distance, minimum, verdict: Verdict::of(&distance, minimum), piece: near.piece })
    }

    pub(crate) fn edge_points(&self, edge: &[Tap]) -> Result<Vec<Located>, Refused> {
        if edge.len() > POINTS_MOST {
            return Err(too_few(edge.len()));
        }
        let located = |(place, tap)| self.located(&format!("edge[{place}]"), tap);
        edge.iter().enumerate().map(located).collect()
    }

    pub(crate) fn to_edge(&self, hole: &Located, near: &Near<'_>) -> Uncertain {
        let away = hole.at - near.at();
        let along = (near.to.at - near.from.at).try_normalize(0.0).unwrap_or_else(Vector2::x);
        // On the edge itself the direction is the edge's normal.
        let normal = away.try_normalize(1e-12).unwrap_or_else(|| Vector2::new(-along.y, along.x));
        let (from, to) = (-normal * (1.0 - near.share), -normal * near.share);
        self.uncertain(away.norm(), &[(normal, hole), (from, near.from), (to, near.to)])
    }
}

/// The point of an edge that is nearest to a hole: between two of its points.
pub(crate) struct Near<'a> {
    pub(crate) from: &'a Located,
    pub(crate) to: &'a Located,
    /// 0 at the first, 1 at the second.
    pub(crate) share: f64,
    piece: usize,
}

impl Near<'_> {
    pub(crate) fn at(&self) -> Vector2<f64> {
        self.from.at.lerp(&self.to.at, self.share)
    }
}

fn too_few(count: usize) -> Refused {
    Refused::new("edge", Reason::Count(count), format!("2 to {POINTS_MOST}"))
}

pub(crate) fn nearest<'a>(hole: &Located, edge: &'a [Located]) -> Result<Near<'a>, Refused> {
    let pieces = edge.windows(2).enumerate().map(|(piece, ends)| {
        let share = share(hole.at, ends[0].at, ends[1].at);
        Near { from: &ends[0], to: &ends[1], share, piece }
    });
    let away = |near: &Near<'_>| (hole.at - near.at()).norm();
    pieces.min_by(|one, other| away(one).total_cmp(&away(other))).ok_or_else(|| too_few(edge.len()))
}

/// Where between two points the nearest one lies: 0 at the first, 1 at the second.
fn share(point: Vector2<f64>, from: Vector2<f64>, to: Vector2<f64>) -> f64 {
    let way = to - from;
    let share = (point - from).dot(&way) / way.norm_squared();
    if share.is_nan() { 0.0 } else { share.clamp(0.0, 1.0) }
}

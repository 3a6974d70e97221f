//! The joint's own axes: laid through what was tapped, so that they share its
//! uncertainty.

use nalgebra::Vector2;

use super::{Along, Axes, Corner, Origin};
use crate::edge::nearest;
use crate::error::{Reason, Refused};
use crate::plane::{Calibration, Located, Uncertain};
use crate::units::{Metres, PixelPoint};

/// Axes on the surface.
pub(super) struct InAxes {
    /// What the origin is made of, with its weights: they add up to 1.
    origin: Vec<(f64, Located)>,
    at: Vector2<f64>,
    x: Vector2<f64>,
    y: Vector2<f64>,
    /// What x was laid through; nothing where it is the reference's own side.
    through: Option<(Located, Located)>,
}

impl InAxes {
    pub(super) fn of(
        seen: &Calibration,
        holes: &[Located],
        edge: &[Located],
        axes: Axes,
    ) -> Result<Self, Refused> {
        let through = through(holes, edge, axes.along);
        let along = match &through {
            None => Vector2::x(),
            Some((from, to)) => (to.at - from.at).try_normalize(1e-9).ok_or_else(|| {
                Refused::new("axes", Reason::TooClose, "points apart from each other to lay x through")
            })?,
        };
        let quarter = Vector2::new(-along.y, along.x);
        let somewhere = edge.first().or(holes.first()).map_or_else(Vector2::zeros, |it| it.at);
        // Where y is up when x goes right, y turns against the way of the picture's own.
        let handed = if seen.turns_as_seen(somewhere) == axes.mirrored { 1.0 } else { -1.0 };
        let y = quarter * handed;
        let forward = if holes_lie(holes, edge, y).unwrap_or_else(|| seen_rightward(seen, somewhere, along)) {
            1.0
        } else {
            -1.0
        };
        let sign = if axes.turned { -forward } else { forward };
        let (x, y) = (along * sign, y * sign);
        let origin = origin(holes, edge, x, axes.origin);
        let at = origin.iter().map(|(weight, it)| it.at * *weight).sum();
        Ok(Self { origin, at, x, y, through })
    }

    /// A place in the axes, with all that moves it: the point itself, the origin,
    /// and what x was laid through.
    pub(super) fn place(&self, seen: &Calibration, point: &Located) -> Corner {
        let way = point.at - self.at;
        let (along, across) = (way.dot(&self.x), way.dot(&self.y));
        let value = |value: f64, axis: Vector2<f64>, by_turn: f64| -> Uncertain {
            let mut parts: Vec<(Vector2<f64>, &Located)> = vec![(axis, point)];
            parts.extend(self.origin.iter().map(|(weight, it)| (-axis * *weight, it)));
            if let Some((from, to)) = &self.through {
                let line = to.at - from.at;
                let turn = Vector2::new(-line.y, line.x) / line.norm_squared() * by_turn;
                parts.extend([(turn, to), (-turn, from)]);
            }
            seen.uncertain(value, &merged(parts))
        };
        // Turned by a little, x moves towards its own quarter turn, and so does y.
        let turned = |axis: Vector2<f64>| way.dot(&Vector2::new(-axis.y, axis.x));
        Corner { x: value(along, self.x, turned(self.x)), y: value(across, self.y, turned(self.y)) }
    }

    /// The origin and a point on either axis, as seen.
    pub(super) fn drawn(&self, seen: &Calibration, length: Metres) -> Option<[PixelPoint; 3]> {
        let pixel = |at: Vector2<f64>| seen.pixel(at.into());
        // Shorter, where that would be out of the picture.
        let end = |axis: Vector2<f64>| {
            [1.0, 0.5, 0.25, 0.125].iter().find_map(|part| pixel(self.at + axis * length.0 * *part))
        };
        Some([pixel(self.at)?, end(self.x)?, end(self.y)?])
    }
}

/// A point that plays several parts moves all of them at once.
fn merged(parts: Vec<(Vector2<f64>, &Located)>) -> Vec<(Vector2<f64>, &Located)> {
    let mut merged: Vec<(Vector2<f64>, &Located)> = Vec::with_capacity(parts.len());
    for (gradient, located) in parts {
        match merged.iter_mut().find(|(_, other)| other.at == located.at) {
            Some((so_far, _)) => *so_far += gradient,
            None => merged.push((gradient, located)),
        }
    }
    merged
}

fn through(holes: &[Located], edge: &[Located], along: Option<Along>) -> Option<(Located, Located)> {
    let of_edge = || match edge {
        [first, .., last] => Some((first.clone(), last.clone())),
        _ => None,
    };
    match along {
        None => of_edge().or_else(|| farthest(holes)),
        Some(Along::Edge) => of_edge(),
        Some(Along::Holes) => farthest(holes),
        Some(Along::Reference) => None,
    }
}

/// The two holes that are farthest apart.
fn farthest(holes: &[Located]) -> Option<(Located, Located)> {
    let pairs = holes
        .iter()
        .enumerate()
        .flat_map(|(place, one)| holes[..place].iter().map(move |other| (other, one)));
    let apart = |(one, other): &(&Located, &Located)| (other.at - one.at).norm_squared();
    let pair = pairs.max_by(|one, other| apart(one).total_cmp(&apart(other)));
    pair.map(|(one, other)| (one.clone(), other.clone()))
}

/// Whether the holes lie on the positive side of the edge; nothing without either.
fn holes_lie(holes: &[Located], edge: &[Located], y: Vector2<f64>) -> Option<bool> {
    let side = |hole: &Located| nearest(hole, edge).ok().map(|near| (hole.at - near.at()).dot(&y));
    let sum = holes.iter().filter_map(side).reduce(|sum, side| sum + side)?;
    Some(sum > 0.0)
}

fn seen_rightward(seen: &Calibration, from: Vector2<f64>, along: Vector2<f64>) -> bool {
    let step = along * 1e-3;
    match (seen.pixel((from - step).into()), seen.pixel((from + step).into())) {
        (Some(one), Some(other)) => other.x >= one.x,
        _ => true,
    }
}

fn origin(holes: &[Located], edge: &[Located], x: Vector2<f64>, origin: Origin) -> Vec<(f64, Located)> {
    let first = holes.iter().min_by(|one, other| one.at.dot(&x).total_cmp(&other.at.dot(&x)));
    let at_edge = edge.first();
    let beside = || {
        let near = nearest(first?, edge).ok()?;
        Some(vec![(1.0 - near.share, near.from.clone()), (near.share, near.to.clone())])
    };
    let alone = |it: Option<&Located>| it.map(|it| vec![(1.0, it.clone())]);
    let wanted = match origin {
        Origin::BesideFirst => beside(),
        Origin::EdgeStart => alone(at_edge),
        Origin::FirstHole => alone(first),
    };
    wanted.or_else(|| alone(first)).or_else(|| alone(at_edge)).unwrap_or_default()
}

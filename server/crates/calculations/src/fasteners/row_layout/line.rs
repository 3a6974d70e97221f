//! The edge and the lines of the rows along it, in metres.

use crate::fasteners::plane::Point;
use crate::working::Working;

/// Pieces that an arc is drawn with.
const ARC_PIECES: u32 = 64;

/// An edge. The part lies to the left of it, seen from its start.
#[derive(Clone, Debug)]
pub(super) enum Edge {
    Straight {
        length: f64,
    },
    /// Radius positive where the part bulges out, negative where it is hollow.
    Arc {
        length: f64,
        radius: f64,
    },
    Bent {
        points: Vec<Point>,
    },
}

/// The line of a row: the edge, moved into the part by a distance.
#[derive(Clone, Debug)]
pub(super) enum RowLine {
    Straight { length: f64, offset: f64 },
    Arc { edge_length: f64, edge_radius: f64, radius: f64 },
    Bent { points: Vec<Point> },
}

impl Edge {
    /// The edge's own shape, for drawings.
    pub fn outline(&self) -> Vec<Point> {
        match self {
            Self::Straight { length } => {
                vec![Point { x: 0.0, y: 0.0 }, Point { x: *length, y: 0.0 }]
            }
            Self::Arc { length, radius } => {
                let line = RowLine::Arc { edge_length: *length, edge_radius: *radius, radius: radius.abs() };
                let share = |piece: u32| f64::from(piece) / f64::from(ARC_PIECES);
                (0..=ARC_PIECES).map(|piece| line.at(share(piece) * line.length())).collect()
            }
            Self::Bent { points } => points.clone(),
        }
    }

    /// The line at a distance from the edge; `None` where the edge bends too
    /// sharply for a line at that distance.
    pub fn row(&self, offset: f64) -> Option<RowLine> {
        match self {
            Self::Straight { length } => Some(RowLine::Straight { length: *length, offset }),
            Self::Arc { length, radius } => {
                let row = if *radius > 0.0 { radius - offset } else { offset - radius };
                (row > 0.2 * offset).then_some(RowLine::Arc {
                    edge_length: *length,
                    edge_radius: *radius,
                    radius: row,
                })
            }
            Self::Bent { points } => offset_polyline(points, offset).map(|points| RowLine::Bent { points }),
        }
    }
}

impl RowLine {
    /// How long the line is.
    pub fn length(&self) -> f64 {
        match self {
            Self::Straight { length, .. } => *length,
            Self::Arc { edge_length, edge_radius, radius } => edge_length * radius / edge_radius.abs(),
            Self::Bent { points } => points.windows(2).map(|ends| ends[0].distance(ends[1])).sum(),
        }
    }

    /// The point at a running dimension along the line.
    pub fn at(&self, running: f64) -> Point {
        match self {
            Self::Straight { offset, .. } => Point { x: running, y: *offset },
            Self::Arc { edge_length, edge_radius, radius } => {
                let middle = edge_length / edge_radius.abs() / 2.0;
                let angle = running / radius - middle;
                // Left of the way is towards the centre where the part bulges
                // out, away from it where it is hollow.
                let side = if *edge_radius > 0.0 { -1.0 } else { 1.0 };
                Point { x: radius * libm::sin(angle), y: side * radius * libm::cos(angle) }
            }
            Self::Bent { points } => along(points, running),
        }
    }

    /// How its length comes about, for the working.
    pub fn words(&self, working: &Working, offset: f64) -> String {
        match self {
            Self::Straight { length, .. } => working.len(*length),
            Self::Arc { edge_length, edge_radius, radius } => format!(
                "{} × {} / {}",
                working.len(*edge_length),
                working.len(*radius),
                working.len(edge_radius.abs())
            ),
            Self::Bent { points } => {
                format!("{} pieces, {} inside the edge", points.len() - 1, working.len(offset))
            }
        }
    }
}

fn along(points: &[Point], running: f64) -> Point {
    let mut left = running;
    let last = points.len() - 1;
    for (piece, ends) in points.windows(2).enumerate() {
        let length = ends[0].distance(ends[1]);
        if left <= length || piece + 1 == last {
            let share = if length > 0.0 { left / length } else { 0.0 };
            return ends[0].plus(ends[1].minus(ends[0]), share);
        }
        left -= length;
    }
    points[last]
}

/// A polyline moved to its left, its corners mitred.
fn offset_polyline(points: &[Point], offset: f64) -> Option<Vec<Point>> {
    let normals: Vec<Point> = points
        .windows(2)
        .map(|ends| {
            let along = ends[1].minus(ends[0]);
            let length = along.length();
            Point { x: -along.y / length, y: along.x / length }
        })
        .collect();
    let mut moved = Vec::with_capacity(points.len());
    for (place, point) in points.iter().enumerate() {
        let before = normals[place.saturating_sub(1)];
        let after = *normals.get(place).unwrap_or(&before);
        let open = 1.0 + before.dot(after);
        // Sharper than 120 degrees: a mitre there would run far off.
        if open < 0.5 {
            return None;
        }
        let mitre = Point { x: (before.x + after.x) / open, y: (before.y + after.y) / open };
        moved.push(point.plus(mitre, offset));
    }
    let turned_back = moved
        .windows(2)
        .zip(points.windows(2))
        .any(|(moved, edge)| moved[1].minus(moved[0]).dot(edge[1].minus(edge[0])) <= 0.0);
    (!turned_back).then_some(moved)
}

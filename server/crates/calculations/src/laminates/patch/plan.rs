//! Sizes of the plies of a patch.

use crate::laminates::mechanics::outline::Outline;

/// Which side of the part a patch goes on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    /// The outer side.
    Outer,
    /// The inner side.
    Inner,
}

impl Face {
    /// Its name in results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Outer => "outer",
            Self::Inner => "inner",
        }
    }
}

/// One ply of the patch.
#[derive(Clone, Debug)]
pub struct Piece {
    /// The number that is written on it: 1 goes in first.
    pub number: usize,
    /// The side it goes on.
    pub face: Face,
    /// Its place on that side, 1 the deepest.
    pub order: usize,
    /// Angle of its warp from x, degrees.
    pub angle: f64,
    /// Its outline, mm.
    pub outline: Outline,
    /// Whether it lies on top of the plies that replace the parent's.
    pub extra: bool,
}

/// What the sizes follow from.
pub struct Geometry {
    /// The cleaned-out hole, mm.
    pub hole: Outline,
    /// Step per ply, mm.
    pub step: f64,
    /// Angles of the parent's plies, innermost first.
    pub angles: Vec<f64>,
    /// Plies over the parent's count, on each side that is patched.
    pub extra: usize,
    /// The sides that are patched.
    pub faces: Vec<Face>,
}

impl Geometry {
    /// The parent's plies that each side replaces, deepest first: all of them, or with both sides
    /// the half that is nearer (the odd one goes to the outer side).
    fn angles_on(&self, face: Face) -> Vec<f64> {
        let inner = if self.faces.len() == 2 { self.angles.len() / 2 } else { 0 };
        match (face, self.faces.len()) {
            (Face::Outer, _) => self.angles[inner..].to_vec(),
            (Face::Inner, 2) => self.angles[..inner].iter().rev().copied().collect(),
            (Face::Inner, _) => self.angles.iter().rev().copied().collect(),
        }
    }

    /// All pieces, in the order of their numbers.
    #[must_use]
    pub fn pieces(&self) -> Vec<Piece> {
        let mut pieces = Vec::new();
        for face in &self.faces {
            let angles = self.angles_on(*face);
            let last = angles.last().copied().unwrap_or(0.0);
            let extras = std::iter::repeat_n((last, true), self.extra);
            let all = angles.into_iter().map(|angle| (angle, false)).chain(extras);
            for (order, (angle, extra)) in all.enumerate() {
                let order = order + 1;
                pieces.push(Piece {
                    number: pieces.len() + 1,
                    face: *face,
                    order,
                    angle,
                    outline: self.hole.grown(order as f64 * self.step),
                    extra,
                });
            }
        }
        pieces
    }

    /// The outline of the scarf, where the plies that replace the parent's end.
    #[must_use]
    pub fn scarf(pieces: &[Piece]) -> Option<Outline> {
        let replaced = pieces.iter().filter(|piece| !piece.extra);
        replaced.map(|piece| piece.outline).max_by(by_area)
    }

    /// The bonded area: the outermost ply of each side, without the hole.
    #[must_use]
    pub fn bond_area(&self, pieces: &[Piece]) -> f64 {
        let largest = |face: &Face| {
            let on = pieces.iter().filter(|piece| piece.face == *face);
            on.map(|piece| piece.outline).max_by(by_area)
        };
        let outermost = self.faces.iter().filter_map(largest);
        outermost.map(|outline| outline.area() - self.hole.area()).sum()
    }
}

fn by_area(one: &Outline, other: &Outline) -> core::cmp::Ordering {
    one.area().total_cmp(&other.area())
}

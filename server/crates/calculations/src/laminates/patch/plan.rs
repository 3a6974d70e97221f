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

/// A ply to cut.
#[derive(Clone, Copy, Debug)]
pub struct ToCut {
    /// Angle of its warp from x, degrees.
    pub angle: f64,
    /// Which of the patch's cloths it is cut from.
    pub cloth: usize,
    /// Its number in the repair, where that is listed.
    pub ply: Option<usize>,
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
    /// What it is cut from, and at which angle.
    pub cut: ToCut,
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
    /// Plies that replace the parent's, inner face first.
    pub plies: Vec<ToCut>,
    /// Plies over the parent's surface, deepest first, for each side that is patched.
    pub extras: Vec<Vec<ToCut>>,
    /// The sides that are patched.
    pub faces: Vec<Face>,
}

impl Geometry {
    /// The plies that each side replaces, deepest first: all of them, or with both sides the half
    /// that is nearer (the odd one goes to the outer side).
    fn replaced(&self, face: Face) -> Vec<ToCut> {
        let inner = if self.faces.len() == 2 { self.plies.len() / 2 } else { 0 };
        match (face, self.faces.len()) {
            (Face::Outer, _) => self.plies[inner..].to_vec(),
            (Face::Inner, 2) => self.plies[..inner].iter().rev().copied().collect(),
            (Face::Inner, _) => self.plies.iter().rev().copied().collect(),
        }
    }

    /// How many plies lie over the parent's surface on each side.
    #[must_use]
    pub fn extra(&self) -> usize {
        self.extras.first().map_or(0, Vec::len)
    }

    /// All pieces, in the order of their numbers.
    #[must_use]
    pub fn pieces(&self) -> Vec<Piece> {
        let mut pieces = Vec::new();
        for (face, extras) in self.faces.iter().zip(&self.extras) {
            let replaced = self.replaced(*face).into_iter().map(|cut| (cut, false));
            let all = replaced.chain(extras.iter().map(|cut| (*cut, true)));
            for (order, (cut, extra)) in all.enumerate() {
                let order = order + 1;
                pieces.push(Piece {
                    number: pieces.len() + 1,
                    face: *face,
                    order,
                    cut,
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
